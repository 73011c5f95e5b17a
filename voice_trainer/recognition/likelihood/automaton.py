"""Every sentence of the domain as one automaton over words.

Nodes are compiled backwards, from their end, so that equal tails ('... {altitude}') are one piece, into a
nondeterministic automaton; subsets of its places are the states that are handed out, worked out when they are
first asked for. After a whole phrase another may follow: two calls in one breath are a sentence too.

The expected values of slots are taken off before anything else, so that nothing here can depend on them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from voice_trainer.phraseology import nodes
from voice_trainer.phraseology.nodes import Node, Slot, Word

OpenSlot = Callable[[Slot], Node]
"""The language of a slot, whatever its value: every way to say every value of its type."""

_END = 0


@dataclass(slots=True)
class _Place:
    """A place of the nondeterministic automaton: words that lead on, and places that are as good as this one."""

    words: list[tuple[str, int]] = field(default_factory=list)
    same_as: list[int] = field(default_factory=list)


class WordAutomaton:
    """A deterministic automaton over words: states are whole numbers, `start` is before the first word."""

    def __init__(self, phrases: Iterable[Node], open_slot: OpenSlot) -> None:
        self._places = [_Place()]
        self._built: dict[tuple[Node, int], int] = {}
        self._languages: dict[str, Node] = {}
        self._open_slot = open_slot
        begin = _Place()
        for phrase in phrases:
            begin.same_as.append(self._build(self._opened(phrase), _END))
        self._places.append(begin)
        self._begin = len(self._places) - 1
        self._built.clear()
        self._states: dict[frozenset[int], int] = {}
        self._members: list[frozenset[int]] = []
        self._following: list[dict[str, int] | None] = []
        self.start = self._state(self._closure({self._begin}))

    @property
    def vocabulary(self) -> tuple[str, ...]:
        """Every word of every sentence, in alphabetical order."""
        return tuple(sorted({word for place in self._places for word, _ in place.words}))

    def following(self, state: int) -> dict[str, int]:
        """The words that may come next and where each leads, in alphabetical order."""
        known = self._following[state]
        if known is None:
            members = self._members[state]
            if _END in members:
                members = members | self._members[self.start]
            targets: dict[str, set[int]] = {}
            for place in members:
                for word, target in self._places[place].words:
                    targets.setdefault(word, set()).add(target)
            known = {word: self._state(self._closure(targets[word])) for word in sorted(targets)}
            self._following[state] = known
        return known

    def begins_phrase(self, state: int, word: str) -> bool:
        """Whether `word`, one of those that follow `state`, can only be the first of another phrase."""
        members = self._members[state]
        return _END in members and all(
            word != each for place in members for each, _ in self._places[place].words
        )

    def complete(self, state: int) -> bool:
        """Whether the words so far are one or more whole phrases."""
        return _END in self._members[state]

    def walk(self, state: int, words: Sequence[str]) -> int | None:
        """Where `words` lead from `state`; None where no sentence goes on so."""
        for word in words:
            following = self.following(state).get(word)
            if following is None:
                return None
            state = following
        return state

    def accepts(self, words: Sequence[str]) -> bool:
        """Whether `words` are one or more whole phrases."""
        state = self.walk(self.start, words)
        return bool(words) and state is not None and self.complete(state)

    def _state(self, members: frozenset[int]) -> int:
        number = self._states.get(members)
        if number is None:
            number = self._states[members] = len(self._members)
            self._members.append(members)
            self._following.append(None)
        return number

    def _closure(self, places: set[int]) -> frozenset[int]:
        found: set[int] = set()
        waiting = list(places)
        while waiting:
            place = waiting.pop()
            if place not in found:
                found.add(place)
                waiting.extend(self._places[place].same_as)
        return frozenset(place for place in found if place == _END or self._places[place].words)

    def _opened(self, node: Node) -> Node:
        """`node` with the language of its type in place of each slot."""
        match node:
            case Slot(_, kind, _):
                if kind not in self._languages:
                    self._languages[kind] = self._opened(self._open_slot(node))
                return self._languages[kind]
            case nodes.Sequence(parts):
                return nodes.Sequence(tuple(self._opened(part) for part in parts))
            case nodes.Choice(options):
                return nodes.Choice(tuple(self._opened(option) for option in options))
            case nodes.Maybe(part):
                return nodes.Maybe(self._opened(part))
            case Word():
                return node

    def _build(self, node: Node, then: int) -> int:
        """The place before `node`, when the place behind it is `then`."""
        key = (node, then)
        known = self._built.get(key)
        if known is not None:
            return known
        match node:
            case Word(text):
                place = self._new(_Place(words=[(text, then)]))
            case nodes.Sequence(parts):
                place = then
                for part in reversed(parts):
                    place = self._build(part, place)
            case nodes.Choice(options):
                place = self._new(_Place(same_as=[self._build(option, then) for option in options]))
            case nodes.Maybe(part):
                place = self._new(_Place(same_as=[self._build(part, then), then]))
            case Slot():
                raise AssertionError("slots are opened before")
        self._built[key] = place
        return place

    def _new(self, place: _Place) -> int:
        self._places.append(place)
        return len(self._places) - 1
