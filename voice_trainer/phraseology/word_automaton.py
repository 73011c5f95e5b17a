"""All sentences of a node as one deterministic automaton over words, made as far as it is asked for.

Nodes are compiled backwards, from their end, so that equal tails ('... {altitude}') are one piece, into a
nondeterministic automaton; subsets of its places are the states that are handed out, worked out when they are
first asked for (Hopcroft, Motwani, Ullman: Introduction to Automata Theory, chapter 2). With `repeats`, another
sentence may follow a whole one: two calls in one breath.

A grammar's node holds the open languages of its slots and no expected values: nothing here can depend on them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from voice_trainer.phraseology import nodes
from voice_trainer.phraseology.nodes import Node, Slot, Word

_END = 0


@dataclass(slots=True)
class _Place:
    """A place of the nondeterministic automaton: words that lead on, and places that are as good as this one."""

    words: list[tuple[str, int]] = field(default_factory=list)
    same_as: list[int] = field(default_factory=list)


class WordAutomaton:
    """A deterministic automaton over words: states are whole numbers, `start` is before the first word."""

    def __init__(self, node: Node, *, repeats: bool) -> None:
        """Raises ValueError for a node with slots: they must have been expanded into words (`Grammar.node`)."""
        self._repeats = repeats
        self._places = [_Place()]
        self._built: dict[tuple[int, int], int] = {}
        self._identities: dict[int, int] = {}
        self._shapes: dict[tuple[object, ...], int] = {}
        begin = self._build(node, _END)
        for while_built in (self._built, self._identities, self._shapes):
            while_built.clear()
        self._closures: dict[int, frozenset[int]] = {}
        self._states: dict[frozenset[int], int] = {}
        self._members: list[frozenset[int]] = []
        self._following: list[dict[str, int] | None] = []
        self._going_on: dict[int, frozenset[str]] = {}
        self.start = self._state(self._closure({begin}))

    @property
    def vocabulary(self) -> tuple[str, ...]:
        """Every word of every sentence, in alphabetical order."""
        return tuple(sorted({word for place in self._places for word, _ in place.words}))

    def following(self, state: int) -> dict[str, int]:
        """The words that may come next and where each leads, in alphabetical order."""
        known = self._following[state]
        if known is None:
            members = self._members[state]
            if self._repeats and _END in members:
                members = members | self._members[self.start]
            targets: dict[str, set[int]] = {}
            for place in members:
                for word, target in self._places[place].words:
                    targets.setdefault(word, set()).add(target)
            known = {word: self._state(self._closure(targets[word])) for word in sorted(targets)}
            self._following[state] = known
        return known

    def begins_phrase(self, state: int, word: str) -> bool:
        """Whether `word`, one of those that follow `state`, can only be the first of another sentence."""
        if not self.complete(state):
            return False
        going_on = self._going_on.get(state)
        if going_on is None:
            words = (each for place in self._members[state] for each, _ in self._places[place].words)
            going_on = self._going_on[state] = frozenset(words)
        return word not in going_on

    def complete(self, state: int) -> bool:
        """Whether the words so far are a whole sentence, or more than one."""
        return _END in self._members[state]

    def may_grow(self, state: int) -> bool:
        """Whether the sentence that the words so far end with is not over, or might still become a longer one."""
        return self._members[state] != {_END}

    def walk(self, state: int, words: Sequence[str]) -> int | None:
        """Where `words` lead from `state`; None where no sentence goes on so."""
        for word in words:
            following = self.following(state).get(word)
            if following is None:
                return None
            state = following
        return state

    def accepts(self, words: Sequence[str]) -> bool:
        """Whether `words` are a whole sentence; with `repeats`, one or more."""
        state = self.walk(self.start, words)
        return state is not None and self.complete(state) and bool(words or not self._repeats)

    def _state(self, members: frozenset[int]) -> int:
        number = self._states.get(members)
        if number is None:
            number = self._states[members] = len(self._members)
            self._members.append(members)
            self._following.append(None)
        return number

    def _closure(self, places: set[int]) -> frozenset[int]:
        return frozenset().union(*map(self._closure_of, places))

    def _closure_of(self, place: int) -> frozenset[int]:
        """The places with words, and the end, that are as good as `place`."""
        todo = [
            place
        ]  # no recursion: a hundred parts in a row that may be left out are a way of a hundred places
        while todo:
            here = self._places[todo[-1]]
            missing = [each for each in here.same_as if each not in self._closures]
            if todo[-1] in self._closures or not missing:
                at = todo.pop()
                itself = {at} if at == _END or here.words else set()
                self._closures[at] = frozenset(itself).union(*(self._closures[each] for each in here.same_as))
            todo += missing
        return self._closures[place]

    def _build(self, node: Node, then: int) -> int:
        """The place before `node`, when the place behind it is `then`."""
        key = (self._identity(node), then)
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
            case Slot(name):
                raise ValueError(f"slot '{name}' has not been expanded into words")
        self._built[key] = place
        return place

    def _identity(self, node: Node) -> int:
        """A number that equal nodes have in common. A node's own hash is worked out from all its parts every time."""
        known = self._identities.get(id(node))
        if known is None:
            match node:
                case Word(text) | Slot(text):
                    parts: tuple[object, ...] = (text,)
                case nodes.Sequence(nested) | nodes.Choice(nested):
                    parts = tuple(self._identity(each) for each in nested)
                case nodes.Maybe(part):
                    parts = (self._identity(part),)
            known = self._shapes.setdefault((type(node), *parts), len(self._shapes))
            self._identities[id(node)] = known
        return known

    def _new(self, place: _Place) -> int:
        self._places.append(place)
        return len(self._places) - 1
