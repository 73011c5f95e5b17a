"""A grammar: everything that may be said in one drill, and the reader that cuts an utterance into phrases.

The student may say several calls in one breath, with words between them that are nobody's. Reading is exact:
a phrase is read where its words are there, never where they are nearly there.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from typing import Literal

from voice_trainer.phraseology.automaton import Taken
from voice_trainer.phraseology.growth import may_become_more
from voice_trainer.phraseology.illegal_values import with_illegal_values
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Slot, Word, words_of
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.phraseology.pattern import Pattern, match_of
from voice_trainer.phraseology.slot_reader import SlotReader, first_words
from voice_trainer.phraseology.slots import Region, slot_type
from voice_trainer.phraseology.word_automaton import WordAutomaton

PhraseKind = Literal["call", "trade", "control"]
"""call: of the drill; trade: a common sentence of the trade outside it; control: said to the trainer."""

PieceKind = Literal["call", "trade", "control", "other"]

RANK: dict[PhraseKind, int] = {"call": 0, "trade": 1, "control": 2}
"""Whose phrase it is when the same words are of several kinds: the lowest wins."""

READINGS_LIMIT = 4
"""How many equally good readings of one utterance are returned."""


@dataclass(frozen=True)
class Phrase:
    """Something that may be said: its opened pattern, and whose it is."""

    pattern: Pattern
    kind: PhraseKind


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to understand a piece: the opened pattern's text, slot values by key, remarks on style."""

    phrase: str
    slots: dict[str, str]
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """The words from `first` to before `last_exclusive`, and their meanings (none for other)."""

    first: int
    last_exclusive: int
    kind: PieceKind
    meanings: tuple[Reading, ...] = ()


@dataclass(frozen=True, slots=True)
class _Found:
    """A phrase read from some word to `end`."""

    end: int
    phrase: Phrase
    taken: Taken | None


Cost = tuple[int, int, int]
"""Words that are nobody's, words of phrases that are no calls, phrases: less is better, in this order."""

NOBODYS_WORD: Cost = (1, 0, 0)


class Grammar:
    """A drill's phrases, each once."""

    def __init__(self, phrases: Iterable[Phrase]) -> None:
        """Opens every pattern; of equal ones, the first of the best kind stays."""
        best: dict[str, Phrase] = {}
        for phrase in phrases:
            opened = Phrase(phrase.pattern.opened(), phrase.kind)
            known = best.get(opened.pattern.text)
            if known is None or RANK[opened.kind] < RANK[known.kind]:
                best[opened.pattern.text] = opened
        self.phrases: tuple[Phrase, ...] = tuple(best.values())

    @cached_property
    def by_text(self) -> dict[str, Phrase]:
        """Every phrase by its text, the id that hearings carry."""
        return {phrase.pattern.text: phrase for phrase in self.phrases}

    @cached_property
    def _by_first_word(self) -> dict[str, tuple[Phrase, ...]]:
        index: dict[str, list[Phrase]] = {}
        for phrase in self.phrases:
            for word in phrase.pattern.automaton.first_words(first_words)[0]:
                index.setdefault(word, []).append(phrase)
        return {word: tuple(phrases) for word, phrases in index.items()}

    def vocabulary(self) -> frozenset[str]:
        """Every word that any phrase or slot can hold, as the normaliser leaves it."""
        return frozenset(words_of(self.node()))

    def node(self) -> Node:
        """One phrase, any of them, with the slots expanded to the words of their open languages."""
        return self._node

    @cached_property
    def _node(self) -> Node:
        return Choice(tuple(expanded(phrase.pattern.node, phrase.pattern.region) for phrase in self.phrases))

    @cached_property
    def sentences(self) -> WordAutomaton:
        """Phrases, one or more, one after the other."""
        return WordAutomaton(self.node(), repeats=True)

    @cached_property
    def sentences_with_illegal_values(self) -> WordAutomaton:
        """The same, with number words that are no value in place of a value too."""
        illegal = (
            expanded(phrase.pattern.node, phrase.pattern.region, illegal=True) for phrase in self.phrases
        )
        return WordAutomaton(Choice(tuple(illegal)), repeats=True)

    def may_go_on(self, words: Sequence[str]) -> bool:
        """Whether normalised `words` end in the middle of a phrase, or with one that might become a longer one.

        Also true of words that are not phrases only: what these are the beginning of is not known.
        """
        state = self.sentences.walk(self.sentences.start, words)
        return state is None or self.sentences.may_grow(state)

    def may_grow(self, words: Sequence[str]) -> bool:
        """Whether what normalised `words` end with may still become something of another meaning: a call that is not
        whole yet ('turn left heading'), or a value that may be longer ('two thousand').

        A tail that says nothing more is no growth, nor is a call that may follow.
        """
        return self.open_from(words) is not None

    def open_from(self, words: Sequence[str]) -> int | None:
        """Where what may still grow begins in normalised `words`, the first such place; None where nothing may."""
        words = tuple(words)
        readers: dict[Region, SlotReader] = {}
        return next(
            (
                at
                for at in sorted(self._places_of_the_last(words))
                for phrase in self._by_first_word.get(words[at], ())
                if may_become_more(phrase.pattern, words, at, self._reader(readers, words, phrase))
            ),
            None,
        )

    def reaches_over(self, words: Sequence[str], joint: int) -> bool:
        """Whether one phrase has normalised words on both sides of the place `joint`: whole, or as far as it goes."""
        words = tuple(words)
        if not 0 < joint < len(words):
            return False
        readings = self.read(words)
        if any(
            p.kind != "other" and p.first < joint < p.last_exclusive for pieces in readings for p in pieces
        ):
            return True
        readers: dict[Region, SlotReader] = {}
        return any(
            may_become_more(phrase.pattern, words, at, self._reader(readers, words, phrase))
            for at in sorted(self._places_of_the_last(words))
            if at < joint
            for phrase in self._by_first_word.get(words[at], ())
        )

    def first_reaches_over(self, words: Sequence[str], joint: int) -> bool:
        """The same of a phrase that begins with the first of the words: it is not cut anew, and another found in it."""
        words = tuple(words)
        if any(end > joint for end in self.phrases_at_the_beginning(words)):
            return True
        readers: dict[Region, SlotReader] = {}
        return any(
            may_become_more(phrase.pattern, words, 0, self._reader(readers, words, phrase))
            for phrase in self._by_first_word.get(words[0], ())
        )

    def _places_of_the_last(self, words: tuple[str, ...]) -> set[int]:
        """Where the phrase that `words` end with may begin: where any phrase is read, since a longer one may hold
        several, and anywhere in words at the end that are nobody's.
        """
        places: set[int] = set()
        for pieces in self.read(words):
            places |= {piece.first for piece in pieces}
            if pieces[-1].kind == "other":
                places |= set(range(pieces[-1].first, len(words)))
        return places

    def _reader(self, known: dict[Region, SlotReader], words: tuple[str, ...], phrase: Phrase) -> SlotReader:
        region = phrase.pattern.region
        if region not in known:
            known[region] = SlotReader(words, region)
        return known[region]

    def is_beginning(self, words: Sequence[str]) -> bool:
        """Whether normalised `words` end in the middle of a phrase and are nothing without its rest."""
        state = self.sentences.walk(self.sentences.start, words)
        return bool(words) and state is not None and not self.sentences.complete(state)

    def read(self, words: Sequence[str]) -> tuple[tuple[Piece, ...], ...]:
        """The best ways to cut normalised `words` into phrases; () for no words.

        As many words as possible belong to phrases, then as many as possible to calls (a sentence of the
        trade never swallows a call of the drill), and phrases are as few and long as possible. Where several
        readings are equally good all are returned, at most `READINGS_LIMIT`, the one with the longest early
        phrases first.
        """
        words = tuple(words)
        if not words:
            return ()
        readers: dict[Region, SlotReader] = {}
        found = [self._found_at(words, at, readers) for at in range(len(words))]
        costs = _costs(found)
        return tuple(
            tuple(self._pieces(cut, found, readers)) for cut in _best_cuts(found, costs, READINGS_LIMIT)
        )

    def most_words_from(self, word: str) -> int:
        """The most words that a phrase which begins with `word` can have; 0 where none does."""
        known = self._most_words.get(word)
        if known is None:
            phrases = self._by_first_word.get(word, ())
            known = self._most_words[word] = max((_most_words(p.pattern.node) for p in phrases), default=0)
        return known

    @cached_property
    def _most_words(self) -> dict[str, int]:
        return {}

    def phrases_at_the_beginning(self, words: tuple[str, ...]) -> dict[int, bool]:
        """How many of `words` the phrases take that begin with the first, and whether a call is among those that take
        so many.
        """
        found = self._found_at(words, 0, {}) if words else {}
        return {end: _has_a_call(each) for end, each in found.items()}

    def _found_at(
        self, words: tuple[str, ...], at: int, readers: dict[Region, SlotReader]
    ) -> dict[int, list[_Found]]:
        """Every phrase that begins at a word, by where it ends."""
        ends: dict[int, list[_Found]] = {}
        for phrase in self._by_first_word.get(words[at], ()):
            reader = self._reader(readers, words, phrase)
            for end, taken in phrase.pattern.automaton.ends(words, at, reader.ends).items():
                if end > at:
                    ends.setdefault(end, []).append(_Found(end, phrase, taken))
        return ends

    def _pieces(
        self,
        cut: tuple[tuple[int, int, bool], ...],
        found: list[dict[int, list[_Found]]],
        readers: dict[Region, SlotReader],
    ) -> Iterable[Piece]:
        for first, end, is_phrase in cut:
            if not is_phrase:
                yield Piece(first, end, "other")
                continue
            best = min(RANK[each.phrase.kind] for each in found[first][end])
            chosen = [each for each in found[first][end] if RANK[each.phrase.kind] == best]
            meanings = []
            for each in chosen:
                match = match_of(each.taken, readers[each.phrase.pattern.region])
                meanings.append(Reading(each.phrase.pattern.text, match.slots, match.remarks))
            yield Piece(first, end, chosen[0].phrase.kind, tuple(meanings))


def cost_of_phrase(words: int, *, is_call: bool) -> Cost:
    """The cost of one phrase of so many words."""
    return (0, 0 if is_call else words, 1)


def _cost(at: int, end: int, found: list[_Found]) -> Cost:
    return cost_of_phrase(end - at, is_call=_has_a_call(found))


def _has_a_call(found: list[_Found]) -> bool:
    return any(each.phrase.kind == "call" for each in found)


def sum_of(one: Cost, other: Cost) -> Cost:
    """Both costs together."""
    return (one[0] + other[0], one[1] + other[1], one[2] + other[2])


def _costs(found: list[dict[int, list[_Found]]]) -> list[Cost]:
    """The best cost of reading from each word to the end."""
    costs: list[Cost] = [(0, 0, 0)] * (len(found) + 1)
    for at in range(len(found) - 1, -1, -1):
        best = sum_of(NOBODYS_WORD, costs[at + 1])
        for end, each in found[at].items():
            best = min(best, sum_of(_cost(at, end, each), costs[end]))
        costs[at] = best
    return costs


def _best_cuts(
    found: list[dict[int, list[_Found]]], costs: list[Cost], limit: int
) -> list[tuple[tuple[int, int, bool], ...]]:
    """The cuts of least cost as (first, end, is a phrase), long early phrases first; nobody's words joined."""
    cuts: list[tuple[tuple[int, int, bool], ...]] = []
    todo: list[tuple[int, tuple[tuple[int, int, bool], ...]]] = [(0, ())]
    while todo and len(cuts) < limit:
        at, cut = todo.pop()
        if at == len(found):
            cuts.append(cut)
            continue
        if costs[at] == sum_of(NOBODYS_WORD, costs[at + 1]):
            joins = bool(cut) and not cut[-1][2]
            before, first = (cut[:-1], cut[-1][0]) if joins else (cut, at)
            todo.append((at + 1, (*before, (first, at + 1, False))))
        todo.extend(
            (end, (*cut, (at, end, True)))
            for end, each in sorted(found[at].items())
            if costs[at] == sum_of(_cost(at, end, each), costs[end])
        )
    return cuts


def expanded(node: Node, region: Region, *, illegal: bool = False) -> Node:
    """`node` with every slot replaced by the words of its open language, with `illegal` also by those of no value."""
    match node:
        case Slot(_, kind, _):
            language = slot_type(kind).language(region)
            return with_illegal_values(language) if illegal else language
        case Parts(parts):
            return Parts(tuple(expanded(part, region, illegal=illegal) for part in parts))
        case Choice(options):
            return Choice(tuple(expanded(option, region, illegal=illegal) for option in options))
        case Maybe(part):
            return Maybe(expanded(part, region, illegal=illegal))
        case Word():
            return node


def _most_words(node: Node) -> int:
    match node:
        case Word():
            return 1
        case Slot(_, kind, _):
            return _most_words_of_slot(kind)
        case Parts(parts):
            return sum(map(_most_words, parts))
        case Choice(options):
            return max(map(_most_words, options), default=0)
        case Maybe(part):
            return _most_words(part)


@cache
def _most_words_of_slot(kind: str) -> int:
    return _most_words(slot_type(kind).language())
