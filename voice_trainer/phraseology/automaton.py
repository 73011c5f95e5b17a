"""Reading words along a node: an automaton that never tries the same place twice.

A node becomes a graph whose edges are words, slots or nothing. Reading walks the graph depth first, in the
order in which the pattern is written, and remembers every (state, word) pair that it has been at, so the
work is at most states times words however deeply optional parts are nested.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Slot, Word
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.phraseology.word_automaton import WordAutomaton


@dataclass(frozen=True, slots=True)
class Taken:
    """The slots that were taken on the way to a place, last one first."""

    slot: Slot
    start: int
    end: int
    before: Taken | None

    def in_order(self) -> list[Taken]:
        """All of them, first one first."""
        chain: list[Taken] = []
        taken: Taken | None = self
        while taken is not None:
            chain.append(taken)
            taken = taken.before
        return chain[::-1]


FirstWords = tuple[frozenset[str], bool]
"""The words that something can begin with, and whether it can be empty."""

SlotEnds = Callable[[Slot, int], Sequence[int]]
"""Where a slot that starts at a word can end, longest first."""


@dataclass
class Automaton:
    """The graph of one node. State 0 is the start, `accept` the end."""

    accept: int = 0
    skips: list[list[int]] = field(default_factory=list)
    words: list[tuple[str, int] | None] = field(default_factory=list)
    slots: list[tuple[Slot, int] | None] = field(default_factory=list)

    @classmethod
    def of(cls, node: Node) -> Automaton:
        """Build the graph of a node."""
        made = cls()
        start = made._state()
        made.accept = made._add(node, start)
        return made

    def _state(self) -> int:
        self.skips.append([])
        self.words.append(None)
        self.slots.append(None)
        return len(self.skips) - 1

    def _add(self, node: Node, start: int) -> int:
        """Add `node` from the state `start`, which has no edge yet; returns the state behind it."""
        match node:
            case Word(text):
                end = self._state()
                self.words[start] = (text, end)
                return end
            case Slot():
                end = self._state()
                self.slots[start] = (node, end)
                return end
            case Parts(parts):
                for part in parts:
                    start = self._add(part, start)
                return start
            case Choice(options):
                ends = []
                for option in options:
                    first = self._state()
                    self.skips[start].append(first)
                    ends.append(self._add(option, first))
                return self._join(ends)
            case Maybe(part):
                first = self._state()
                self.skips[start].append(first)
                end = self._add(part, first)
                after = self._join([end])
                self.skips[start].append(after)
                return after

    def _join(self, ends: list[int]) -> int:
        after = self._state()
        for end in ends:
            self.skips[end].append(after)
        return after

    def ends(self, words: Sequence[str], start: int, slot_ends: SlotEnds) -> dict[int, Taken | None]:
        """Every place where a reading from `start` can end, with the slots of the first way to get there."""
        width = len(words) + 1
        found: dict[int, Taken | None] = {}
        seen: set[int] = set()
        todo: list[tuple[int, int, Taken | None]] = [(0, start, None)]
        while todo:
            state, at, taken = todo.pop()
            place = state * width + at
            if place in seen:
                continue
            seen.add(place)
            if state == self.accept:
                found.setdefault(at, taken)
            if (edge := self.words[state]) is not None:
                if at < len(words) and words[at] == edge[0]:
                    todo.append((edge[1], at + 1, taken))
            elif (slot_edge := self.slots[state]) is not None:
                slot, after = slot_edge
                # The last pushed is tried first: push the shortest end first.
                todo.extend(
                    (after, end, Taken(slot, at, end, taken)) for end in reversed(slot_ends(slot, at))
                )
            else:
                todo.extend((after, at, taken) for after in reversed(self.skips[state]))
        return found

    def holds(self, words: Sequence[str], slot_ends: SlotEnds) -> bool:
        """Whether all of `words` stand one behind the other in some reading, wherever in it they begin and end."""
        width = len(words) + 1
        todo = [(state, 0) for state in range(len(self.skips))]
        seen: set[int] = set()
        while todo:
            state, at = todo.pop()
            if at == len(words):
                return True
            place = state * width + at
            if place in seen:
                continue
            seen.add(place)
            if (edge := self.words[state]) is not None:
                if words[at] == edge[0]:
                    todo.append((edge[1], at + 1))
            elif (slot_edge := self.slots[state]) is not None:
                todo.extend((slot_edge[1], end) for end in slot_ends(slot_edge[0], at))
            else:
                todo.extend((after, at) for after in self.skips[state])
        return False

    def first_words(
        self, slot_words: Callable[[Slot], tuple[frozenset[str], bool]]
    ) -> tuple[frozenset[str], bool]:
        """The words that a reading can begin with, and whether it can be empty."""
        firsts: set[str] = set()
        seen: set[int] = set()
        todo = [0]
        while todo:
            state = todo.pop()
            if state in seen:
                continue
            seen.add(state)
            if (edge := self.words[state]) is not None:
                firsts.add(edge[0])
            elif (slot_edge := self.slots[state]) is not None:
                slot_firsts, nullable = slot_words(slot_edge[0])
                firsts |= slot_firsts
                if nullable:
                    todo.append(slot_edge[1])
            else:
                todo.extend(self.skips[state])
        return frozenset(firsts), self.accept in seen


class WordReader:
    """Where the words of a slot's language can end."""

    def __init__(self, node: Node) -> None:
        """Read the words of `node`, which has no slots."""
        self._automaton = WordAutomaton(node, repeats=False)

    def ends(self, words: Sequence[str], start: int) -> tuple[int, ...]:
        """Every end of a reading from `start`, longest first."""
        return tuple(self._ends(words, start))[::-1]

    def _ends(self, words: Sequence[str], start: int) -> Iterator[int]:
        state: int | None = self._automaton.start
        for at in range(start, len(words) + 1):
            if state is None:
                return
            if self._automaton.complete(state):
                yield at
            if at < len(words):
                state = self._automaton.following(state).get(words[at])

    def goes_on(self, words: Sequence[str]) -> bool:
        """Whether `words` are the beginning of a longer sentence of the language."""
        state = self._automaton.walk(self._automaton.start, words)
        return state is not None and bool(self._automaton.following(state))

    def longer(self, words: Sequence[str], most: int) -> Iterator[tuple[str, ...]]:
        """What may follow `words` to make a longer sentence, the shortest first: at most so many."""
        state = self._automaton.walk(self._automaton.start, words)
        todo: deque[tuple[int, tuple[str, ...]]] = deque([] if state is None else [(state, ())])
        found = 0
        while todo and found < most:
            state, more = todo.popleft()
            if more and self._automaton.complete(state):
                found += 1
                yield more
            todo.extend((after, (*more, word)) for word, after in self._automaton.following(state).items())

    def accepts(self, words: Sequence[str]) -> bool:
        """Whether all of `words` are a sentence of the language."""
        return self._automaton.accepts(words)

    @property
    def nullable(self) -> bool:
        """Whether silence is a sentence of the language."""
        return self._automaton.complete(self._automaton.start)

    @property
    def firsts(self) -> frozenset[str]:
        """The words that a sentence can begin with."""
        return frozenset(self._automaton.following(self._automaton.start))
