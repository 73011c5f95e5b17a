"""What no training line may say: the test half of the spoken corpus, read sentences, and words kept aside.

- A sentence that the test half says, for any of `SEEDS`, right or wrong, is no line and no call of a line. One of
  `LONG_WORDS` words or more stands in no line at all, not even as a part of it; digits alone are excepted, since three
  digits are a part of many numbers.
- A phrase that was written for the test half is not said with any value at all.
- The words kept aside (`tests/train/unseen_words.yaml`) stand nowhere, in singular or plural.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

import yaml

from scripts.benchmarks.lines import four_calls, right_and_twins
from scripts.benchmarks.phrases import compiled, phrases, unrelated
from scripts.train.texts import handwritten
from scripts.train.texts.lines import Line
from scripts.train.texts.wording import Words, plain
from voice_trainer.phraseology.grammar import expanded
from voice_trainer.phraseology.nodes import Choice
from voice_trainer.phraseology.numerals import DIGITS
from voice_trainer.phraseology.word_automaton import WordAutomaton

SEEDS = (1, 2, 3)
"""Seeds of the spoken corpus whose test half is held out; `scripts/bench` takes 1 unless told otherwise."""

CALLS_EACH_HALF = 1500
FOURS_EACH_HALF = 70

LONG_WORDS = 4

MOST_LETTERS = 170
"""Of a line: about twelve seconds."""

UNSEEN_WORDS = Path(__file__).parents[3] / "tests" / "train" / "unseen_words.yaml"


class HeldOut:
    """Sentences, phrases and words that training must not see."""

    def __init__(
        self, sentences: Iterable[Sequence[str]], words: Iterable[str], texts: Iterable[str] = ()
    ) -> None:
        """`texts` are patterns, of which every sentence is held out."""
        self.sentences = frozenset(tuple(each) for each in sentences if len(each) > 1)
        words = tuple(words)
        self.words = frozenset((*words, *(f"{word}s" for word in words), *(f"{word}es" for word in words)))
        self._long: dict[Words, list[Words]] = {}
        for sentence in sorted(self.sentences):
            if len(sentence) >= LONG_WORDS and not set(sentence) <= set(DIGITS):
                self._long.setdefault(sentence[:LONG_WORDS], []).append(sentence)
        opened = [compiled(text).opened() for text in texts]
        nodes = [expanded(pattern.node, pattern.region) for pattern in opened]
        self._phrases = WordAutomaton(Choice(tuple(nodes)), repeats=False) if nodes else None

    def and_also(self, sentences: Iterable[Sequence[str]], words: Iterable[str] = ()) -> HeldOut:
        """All of this, and these sentences and words."""
        more = HeldOut((*self.sentences, *sentences), ())
        more.words = self.words | frozenset(words)
        more._phrases = self._phrases
        return more

    def holds(self, words: Sequence[str]) -> bool:
        """Whether these words, as they are written, are a sentence that is held out, or have one in them."""
        words = tuple(words)
        return (
            words in self.sentences
            or not self.words.isdisjoint(words)
            or (self._phrases is not None and self._phrases.accepts(words))
            or self._has_long(words)
        )

    def _has_long(self, words: Words) -> bool:
        for at in range(len(words) - LONG_WORDS + 1):
            for sentence in self._long.get(words[at : at + LONG_WORDS], ()):
                if words[at : at + len(sentence)] == sentence:
                    return True
        return False


@cache
def sentences_of_the_test_half(seeds: tuple[int, ...], calls: int = CALLS_EACH_HALF) -> frozenset[Words]:
    """Every sentence that the spoken corpora of these seeds say in their test half; twenty seconds a seed."""
    found: set[Words] = set()
    for seed in seeds:
        pairs = right_and_twins("test", calls, seed)
        found |= {line.words for pair in pairs for line in pair if line is not None}
        fours = four_calls("test", [right for right, _ in pairs], seed, FOURS_EACH_HALF)
        found |= {line.words for line in fours}
    return frozenset(found)


def read_sentences() -> frozenset[Words]:
    """What people read in the recordings, as it is written."""
    return frozenset(plain(line.split()) for line in handwritten.read_sentences())


def unseen_words(file: Path = UNSEEN_WORDS) -> dict[str, list[str]]:
    """The words kept aside: made-up `names`, and `checklist` words."""
    found: dict[str, list[str]] = yaml.safe_load(file.read_text(encoding="utf-8"))
    return found


def held_out(seeds: tuple[int, ...] = SEEDS, calls: int = CALLS_EACH_HALF) -> HeldOut:
    """All that is held out of training; `calls` is the size of the corpora's halves."""
    kept = unseen_words()
    sentences = {
        *sentences_of_the_test_half(seeds, calls),
        *read_sentences(),
        *map(_words, unrelated("test")),
    }
    return HeldOut(sentences, [*kept["names"], *kept["checklist"]], phrases("test"))


def _words(text: str) -> Words:
    return plain(text.split())


def fits(line: Line, held: HeldOut) -> bool:
    """Whether a line has something to write, is not too long, and says nothing that is held out."""
    return (
        bool(line.written)
        and max(len(line.spoken), len(line.written)) <= MOST_LETTERS
        and not held.holds(line.written.split())
    )
