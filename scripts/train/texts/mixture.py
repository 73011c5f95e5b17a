"""How many lines of each kind there are, and their making: distinct, none held out, in random order.

Any beginning of the result is a fair sample of it. Only what is of kind `short` is there more than once, in as many
copies as it takes: a bare 'two' must be heard from many voices, and there is one way to write it.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from scripts.train.texts.calls import Calls, hesitant
from scripts.train.texts.english import English
from scripts.train.texts.handwritten import equipment, talk
from scripts.train.texts.held_out import HeldOut, fits
from scripts.train.texts.library import DAYS, library
from scripts.train.texts.lines import GENERAL_ENGLISH, LINES, Line
from scripts.train.texts.made_up_names import made_up_names
from scripts.train.texts.missing import FREQUENT, is_word, missing_neighbours, missing_words
from scripts.train.texts.named import with_name, with_thing
from scripts.train.texts.strings import short, string
from scripts.train.texts.walks import walk
from scripts.train.texts.wording import Words, everyday, said
from voice_trainer.phraseology.codes import ALPHABET
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS

DEVELOPMENT_LINES = 400

SHARES: dict[str, float] = {
    "english": 0.28, "talk": 0.035, "words": 0.075, "call": 0.12, "illegal": 0.045, "breath": 0.085,
    "correction": 0.04, "disturbed": 0.05, "twin": 0.055, "own words": 0.045, "order": 0.015, "string": 0.07,
    "short": 0.02, "name": 0.035, "checklist": 0.035,
}  # fmt: skip
"""Parts of the whole; what one kind can't fill is left out."""

DEFINITIONS_SHARE = 0.25
"""Of everyday English, the part that is definitions of a dictionary: no sentences, but every word of it."""

HESITATING_SHARE = 0.04
"""Of lines of any kind, those with a hesitation in the sound."""

NAMES = 4000
MOST_COPIES = 40
TRIES_A_LINE = 12

Maker = Callable[[random.Random], Line]


@dataclass(frozen=True)
class Texts:
    """What is trained on, and what checkpoints are chosen on."""

    lines: tuple[Line, ...]
    development: tuple[Line, ...]


def make_texts(
    english: English,
    held: HeldOut,
    seed: int,
    count: int = LINES,
    development: int = DEVELOPMENT_LINES,
    days: int = DAYS,
) -> Texts:
    """About `count` lines, and those of the development set, whose sentences and made-up names training has not."""
    kept_names = made_up_names(development // 10, f"{seed}/development names", held.words)
    makers = _Makers(english, held, f"{seed}/development", kept_names, days)
    kept = _filled(makers, held, development, fit_for_development)
    sentences = (line.written.split() for line in kept if line.kind != "short")
    without = held.and_also(sentences, kept_names)
    names = made_up_names(NAMES, f"{seed}/names", without.words)
    lines = _filled(_Makers(english, without, f"{seed}", names, days), without, count)
    lines += missing_words(lines, english, without, f"{seed}/words", count, days)
    lines += missing_neighbours(lines, without, f"{seed}/neighbours", count)
    random.Random(f"{seed}/order").shuffle(lines)
    random.Random(f"{seed}/order").shuffle(kept)
    return Texts(tuple(lines), tuple(kept))


def fit_for_development(line: Line) -> bool:
    """Whether training can do without a line: not without calls that are always said in the same words.

    Of bare words training has the same ones: there are no others.
    """
    words = line.written.split()
    if line.kind == "short":
        return len(words) == 1
    return len(words) > 3 and (line.kind in (*GENERAL_ENGLISH, "name") or not _SAID_OFTEN.isdisjoint(words))


_SAID_OFTEN = frozenset((*DIGITS, *TEENS, *TENS, *ALPHABET))


class _Makers:
    """A maker of lines for each kind."""

    def __init__(self, english: English, held: HeldOut, seed: str, names: Sequence[str], days: int) -> None:
        self.seed = seed
        self._names = names
        self._calls = Calls(library(days), held)
        self._things = [
            thing
            for thing in dict.fromkeys((*equipment("things"), *english.things))
            if thing not in held.words
        ]
        self._frequent = tuple(word for word in english.frequent[:FREQUENT] if is_word(word, held))
        chance = random.Random(f"{seed}/english")
        self._sentences = iter(chance.sample(english.sentences, len(english.sentences)))
        self._definitions = iter(chance.sample(english.definitions, len(english.definitions)))

    def kinds(self) -> Mapping[str, Maker]:
        calls = self._calls
        of_trade: dict[str, Callable[[random.Random], Words]] = {
            "call": calls.every(), "illegal": calls.illegal, "breath": calls.breath, "correction": calls.correction,
            "disturbed": calls.disturbed, "twin": calls.twin, "own words": calls.own_words, "order": calls.order,
            "string": string, "short": short, "name": self._name, "checklist": self._checklist,
        }  # fmt: skip
        made = {kind: _of_trade(kind, draw) for kind, draw in of_trade.items()}
        everyday_kinds: dict[str, Callable[[random.Random], Words]] = {
            "english": self._english, "talk": self._talk, "words": self._words
        }  # fmt: skip
        return made | {kind: _everyday(kind, draw) for kind, draw in everyday_kinds.items()}

    def _english(self, chance: random.Random) -> Words:
        first, second = self._sentences, self._definitions
        if chance.random() < DEFINITIONS_SHARE:
            first, second = second, first
        words = next(first, None) or next(second, ())
        if len(words) > 8 and chance.random() < 0.1:  # what is broken off, or begun before somebody listened
            begin = chance.choice((0, chance.randrange(len(words) - 4)))
            words = words[begin : chance.randint(begin + 3, len(words))]
        return words

    def _talk(self, chance: random.Random) -> Words:
        return walk(chance.choice(talk()).node, chance)

    def _words(self, chance: random.Random) -> Words:
        return tuple(
            chance.choice(self._frequent) for _ in range(chance.choices((1, 2, 3, 4, 5), (3, 3, 2, 1, 1))[0])
        )

    def _name(self, chance: random.Random) -> Words:
        return with_name(chance.choice(self._names), chance.choice(self._names), chance)

    def _checklist(self, chance: random.Random) -> Words:
        return with_thing(chance.choice(self._things), chance.choice(self._things), chance)


def _of_trade(kind: str, draw: Callable[[random.Random], Words]) -> Maker:
    def make(chance: random.Random) -> Line:
        words = draw(chance)
        if kind != "short" and chance.random() < HESITATING_SHARE:
            words = hesitant(words, chance)
        return said(words, kind, chance)

    return make


def _everyday(kind: str, draw: Callable[[random.Random], Words]) -> Maker:
    def make(chance: random.Random) -> Line:
        words = draw(chance)
        if words and kind != "words" and chance.random() < HESITATING_SHARE:
            words = hesitant(words, chance)
        return everyday(words, kind)

    return make


def _filled(
    makers: _Makers, held: HeldOut, count: int, also: Callable[[Line], bool] = lambda line: True
) -> list[Line]:
    """The lines of each kind, as many as its share, or as many as there are."""
    lines: list[Line] = []
    known: Counter[tuple[str, str]] = Counter()
    for kind, maker in makers.kinds().items():
        chance = random.Random(f"{makers.seed}/{kind}")
        # Half of the words are said later: those that are missing.
        share = SHARES[kind] / 2 if kind == "words" else SHARES[kind]
        wanted = round(count * share)
        most = max(1, MOST_COPIES * count // LINES) if kind == "short" else 1
        for _ in range(wanted * TRIES_A_LINE):
            if wanted <= 0:
                break
            line = maker(chance)
            if fits(line, held) and also(line) and known[line.spoken, line.written] < most:
                known[line.spoken, line.written] += 1
                lines.append(line)
                wanted -= 1
    return lines
