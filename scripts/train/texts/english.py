"""Everyday English from free texts: sayings, and the example sentences and definitions of a dictionary.

A folder holds, as `sources.py` lays them there: `fortunes` (Debian's package of that name), `wordnet` (data files of
WordNet 3.0) and `frequency.txt`, the words of English, the most frequent first.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from scripts.train.texts.wording import Words
from voice_trainer.phraseology.numerals import TEENS, TENS, cardinal_words

LEFT_OUT = frozenset(
    {"art", "ascii-art", "perl", "translate-me", "zippy", "debian", "knghtbrd", "linuxcookie"}
)
"""Fortunes that are pictures, programs, other languages, or talk with computers."""

LEAST_WORDS, MOST_WORDS = 2, 20
MOST_LETTERS = 110
"""Longer ones take more than eight seconds to say."""

ARTEFACT = "06"
"""WordNet's file of things that people make: valves, brackets, harnesses."""

_SHORT_FORMS = {
    "mr": "mister", "mrs": "missus", "dr": "doctor", "st": "saint", "vs": "versus", "etc": "and so on", "jr": "junior",
    "esp": "especially", "usu": "usually",
}  # fmt: skip
_UNSAYABLE = re.compile(r"[@#*<>_=\[\]{}|~^/\\$%+]|\b[A-Z]{3,}|\.\w|\w\.\w|\d[^\d\s.,;:!?)\"']")
_SENTENCE_ENDS = re.compile(r"(?<=[.!?;:])[\"')]*\s+|\n\s*\n|\s--\s?|\s\"|\(|\)")


@dataclass(frozen=True)
class English:
    """Everyday English: sentences as people write them, definitions, words by frequency, and the names of things."""

    sentences: tuple[Words, ...]
    definitions: tuple[Words, ...]
    frequent: tuple[str, ...]
    things: tuple[str, ...]


def english_in(folder: Path) -> English:
    """What a folder of sources holds, in an order that depends on the texts only. Raises OSError for a missing one."""
    frequent = tuple((folder / "frequency.txt").read_text(encoding="utf-8").split())
    known = frozenset(frequent)
    examples, definitions = _dictionary(folder / "wordnet")
    sentences = _sayable((*_fortunes(folder / "fortunes"), *examples), known)
    return English(
        tuple(sentences), tuple(_sayable(definitions, known)), frequent, things_in(folder / "wordnet", known)
    )


def _sayable(passages: Iterable[str], known: frozenset[str]) -> dict[Words, None]:
    """Each sentence once. What a list of 100,000 words lacks is a typing error, a foreign word or a rare name."""
    return {
        words: None
        for passage in passages
        for words in sentences_of(passage)
        if all(word in known or "'" in word for word in words)
    }


def sentences_of(passage: str) -> Iterator[Words]:
    """The sentences of a passage in lower-case words, those left out that can't be read out as they stand."""
    for part in _SENTENCE_ENDS.split(passage):
        sentence = " ".join(part.split())
        if not sentence or _UNSAYABLE.search(sentence):
            continue
        words = words_of(sentence)
        if (
            words is not None
            and LEAST_WORDS <= len(words) <= MOST_WORDS
            and sum(map(len, words)) + len(words) <= MOST_LETTERS
        ):
            yield words


def words_of(sentence: str) -> Words | None:
    """A sentence in lower-case words, its numbers written out; None where a word can't be said."""
    text = sentence.lower().replace("’", "'").replace("‘", "'")
    found: list[str] = []
    for token in re.findall(r"[a-z0-9']+", re.sub(r"(?<=\d),(?=\d{3})", "", text)):
        word = token.strip("'")
        if word.isdigit():
            number = _number(word)
            if number is None:
                return None
            found += number
        elif not re.fullmatch(r"[a-z]+(?:'[a-z]+)?", word):
            return None
        elif word in _SHORT_FORMS:
            found += _SHORT_FORMS[word].split()
        elif (len(word) > 1 and not re.search(r"[aeiouy]", word) and word not in ("hmm", "shh")) or (
            len(word) == 1 and word not in ("a", "i", "o")
        ):
            return None
        else:
            found.append(word)
    return tuple(found)


def _number(digits: str) -> Words | None:
    """A number below one thousand as people count, a year in pairs; None for others."""
    number = int(digits)
    if digits != str(number):
        return None
    if number < 1000:
        return cardinal_words(number)
    if 1100 <= number < 2100 and number % 100:
        late = number % 100
        after = cardinal_words(late) if late >= 10 else ("oh", *cardinal_words(late))
        early = (*TEENS, *TENS[:1])[number // 100 - 10]
        return (early, *after)
    return None


def _fortunes(folder: Path) -> Iterator[str]:
    for file in sorted(folder.iterdir()):
        if "." in file.name or file.name in LEFT_OUT:
            continue
        yield from re.split(r"\n%\n", file.read_text(encoding="utf-8", errors="ignore"))


def _dictionary(folder: Path) -> tuple[list[str], list[str]]:
    """The example sentences of WordNet, and its definitions."""
    examples: list[str] = []
    definitions: list[str] = []
    for part in ("adj", "adv", "noun", "verb"):
        for _, gloss in _entries(folder / f"data.{part}"):
            examples += re.findall(r'"([^"]+)"', gloss)
            definitions.append(re.sub(r'"[^"]*"|\([^)]*\)', "", gloss).split(";")[0])
    return examples, definitions


def _entries(file: Path) -> Iterator[tuple[list[str], str]]:
    """The fields of each entry of a data file of WordNet, and its text."""
    for line in file.read_text(encoding="utf-8").splitlines():
        if not line.startswith("  "):
            fields, _, gloss = line.partition(" | ")
            yield fields.split(), gloss


def things_in(folder: Path, known: frozenset[str]) -> tuple[str, ...]:
    """The names, of one word that is known, of things that people make, in alphabetical order."""
    found: set[str] = set()
    for fields, _ in _entries(folder / "data.noun"):
        if fields[1] == ARTEFACT:
            count = int(fields[3], 16)
            found |= {name for name in fields[4 : 4 + 2 * count : 2] if re.fullmatch(r"[a-z]{3,14}", name)}
    return tuple(sorted(found & known))
