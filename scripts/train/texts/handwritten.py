"""What was written by hand for the training texts, in the files of `material/`: patterns, and words of checklists."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path

import yaml

from voice_trainer.phraseology.nodes import words_of
from voice_trainer.phraseology.pattern import Pattern, compile_pattern

MATERIAL = Path(__file__).with_name("material")


def _lines(name: str) -> list[str]:
    text = (MATERIAL / name).read_text(encoding="utf-8")
    return [line for line in text.splitlines() if line and not line.startswith("#")]


def _opened(texts: Iterable[str]) -> tuple[Pattern, ...]:
    """Patterns with every slot open: a word with an opposite may be the opposite."""
    return tuple(compile_pattern(text).opened() for text in texts)


@cache
def own_words() -> tuple[Pattern, ...]:
    """What calls are about, said as people say it."""
    return _opened(_lines("own_words.txt"))


@cache
def talk() -> tuple[Pattern, ...]:
    """Talk that is about no flight: at home, on the telephone, on television."""
    return _opened(_lines("talk.txt"))


@cache
def sentences_for(what: str) -> tuple[Pattern, ...]:
    """Patterns in which a word stands for another; `what` is 'names', 'things' or 'words'."""
    return _opened(_lists("named.yaml")[what])


@cache
def _lists(name: str) -> dict[str, tuple[str, ...]]:
    """Lists of words or phrases; a text is a list of its words."""
    lists: dict[str, str | list[str]] = yaml.safe_load((MATERIAL / name).read_text(encoding="utf-8"))
    return {key: tuple(each.split() if isinstance(each, str) else each) for key, each in lists.items()}


def equipment(what: str) -> tuple[str, ...]:
    """Words of checklists; `what` is 'things', 'systems', 'states', 'deeds' or 'phrases'."""
    return _lists("equipment.yaml")[what]


def around_digits(what: str) -> tuple[str, ...]:
    """Words 'before' digits, 'behind' them, and 'short' ones that stand alone."""
    return _lists("strings.yaml")[what]


@cache
def words_by_hand() -> frozenset[str]:
    """Every word of the patterns and of the checklists, things apart, which may be kept aside."""
    patterns = (
        *own_words(),
        *talk(),
        *(each for what in ("names", "things", "words") for each in sentences_for(what)),
    )
    of_checklists = " ".join(
        word for what in ("systems", "states", "deeds", "phrases") for word in equipment(what)
    )
    return frozenset(word for pattern in patterns for word in words_of(pattern.node)) | set(
        of_checklists.split()
    )


def read_sentences() -> list[str]:
    """What people read in the recordings of Debian's `pocketsphinx-testdata`, single digits left out."""
    return _lines("read_sentences.txt")
