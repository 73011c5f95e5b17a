"""How the calls of a drill sound, by the dictionary, and which of them sound alike. No model is loaded."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from rapidfuzz.distance import Levenshtein

from voice_trainer.drills.model import Drill
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word, words_of
from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.recognition.dictionary import dictionary_file, listed
from voice_trainer.recognition.pronunciation import TRADE_PRONUNCIATIONS, by_spelling

ALIKE_PHONES = 1
"""Calls that differ in so many phones sound alike, however short they are (ours: one word's one sound)."""

ALIKE_SHARE = 0.15
"""So do those that differ in this share of the phones of the longer one (ours)."""

SHORTEST_PHONES = 2
"""Calls as short as that have no sound to spare: any two are told apart by all they have."""

Sound = tuple[str, ...]
"""Phones; a value, and a word with an opposite, is one sign: any other may be heard in its place."""


class Sounds:
    """The pronunciations of many drills' words, looked up at once: the dictionary is read a single time."""

    def __init__(self, drills: Iterable[Drill]) -> None:
        words = frozenset(word for drill in drills for word in words_heard(drill))
        try:
            self._listed = listed(words, dictionary_file()) if words else {}
        except ImportError:
            self._listed = {}

    def is_known(self, word: str, pronounce: Mapping[str, str]) -> bool:
        """Whether the word's sound is not a guess: by the drill, the trade or the dictionary."""
        return word in pronounce or word in TRADE_PRONUNCIATIONS or word in self._listed

    def of(self, word: str, pronounce: Mapping[str, str]) -> Sound:
        """The phones of a word: the usual way to say it, a rough guess where nobody knows."""
        if word in pronounce:
            return tuple(phone.rstrip("012") for phone in pronounce[word].upper().split())
        ways = (*TRADE_PRONUNCIATIONS.get(word, ()), *self._listed.get(word, ()))
        return tuple((ways[0] if ways else by_spelling(word)).split())

    def of_call(self, pattern: Pattern, pronounce: Mapping[str, str]) -> tuple[Sound, ...]:
        """The call with what may be left out, and without; of a choice, the first option."""
        node = pattern.opened().node
        return tuple(dict.fromkeys(tuple(self._sound(node, pronounce, full=full)) for full in (True, False)))

    def _sound(self, node: Node, pronounce: Mapping[str, str], *, full: bool) -> Iterator[str]:
        match node:
            case Word(text):
                yield from self.of(text, pronounce)
            case Slot(_, kind, _):
                yield f"{{{kind}}}"
            case Sequence(parts):
                for part in parts:
                    yield from self._sound(part, pronounce, full=full)
            case Choice(options):
                yield from self._sound(options[0], pronounce, full=full)
            case Maybe(part):
                if full:
                    yield from self._sound(part, pronounce, full=full)


def alike(ones: Iterable[Sound], others: Iterable[Sound]) -> bool:
    """Whether some way to say one call is hardly another sound than some way to say the other."""
    others = tuple(others)
    return any(_near(one, other) for one in ones for other in others)


def words_heard(drill: Drill) -> frozenset[str]:
    """The words that the author wrote into calls, synonyms among them, and those of their values."""
    found: set[str] = set()
    for step in drill.steps:
        for call in step.flow.calls if step.flow else ():
            pattern = drill.pattern(call)
            found |= {*words_of(pattern.node), *pattern.spoken()}
    return frozenset(found)


def _near(one: Sound, other: Sound) -> bool:
    if one == other:
        return True
    if [each for each in one if _is_value(each)] != [each for each in other if _is_value(each)]:
        return False
    shorter, longer = sorted((len(one), len(other)))
    if shorter <= SHORTEST_PHONES:
        return False
    most = max(ALIKE_PHONES, int(ALIKE_SHARE * longer))
    return Levenshtein.distance(one, other, score_cutoff=most) <= most


def _is_value(sign: str) -> bool:
    return sign.startswith("{")
