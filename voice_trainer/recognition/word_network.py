"""Nodes to a network of words: what an engine that searches one is given.

Thompson's construction (an automaton with silent steps), then the subset construction, then Moore's
refinement into the smallest automaton: a slot of 400 altitudes shares its digits instead of listing them.
All three are textbook (Hopcroft, Motwani, Ullman: Introduction to Automata Theory, chapters 2 to 4).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word


@dataclass(frozen=True, slots=True)
class WordNetwork:
    """A deterministic automaton over words; states are indices into `arcs`, the start is `start`."""

    start: int
    arcs: tuple[dict[str, int], ...]
    """For each state, the next state for each word."""
    final: frozenset[int]

    def step(self, state: int | None, words: Iterable[str]) -> int | None:
        """The state after `words`, None where the automaton has no such path."""
        for word in words:
            if state is None:
                return None
            state = self.arcs[state].get(word)
        return state

    def accepts(self, words: Iterable[str]) -> bool:
        """Whether `words` are one sentence of the automaton."""
        return self.step(self.start, words) in self.final

    @property
    def words(self) -> frozenset[str]:
        """Every word on an arc."""
        return frozenset(word for arcs in self.arcs for word in arcs)


def compile_node(node: Node) -> WordNetwork:
    """The smallest deterministic automaton of `node`; slots must have been expanded into words."""
    return _minimised(_determinised(_Nondeterministic(node)))


class _Nondeterministic:
    def __init__(self, node: Node) -> None:
        self.silent: list[list[int]] = []
        self.spoken: list[list[tuple[str, int]]] = []
        self.start = self._new()
        self.end = self._add(node, self.start)

    def _new(self) -> int:
        self.silent.append([])
        self.spoken.append([])
        return len(self.silent) - 1

    def _add(self, node: Node, start: int) -> int:
        match node:
            case Word(text):
                end = self._new()
                self.spoken[start].append((text, end))
            case Sequence(parts):
                end = start
                for part in parts:
                    end = self._add(part, end)
            case Choice(options):
                end = self._new()
                for option in options:
                    fork = self._new()
                    self.silent[start].append(fork)
                    self.silent[self._add(option, fork)].append(end)
            case Maybe(part):
                end = self._new()
                fork = self._new()
                self.silent[start] += [fork, end]
                self.silent[self._add(part, fork)].append(end)
            case Slot(key):
                raise ValueError(f"slot '{key}' has not been expanded into words")
        return end

    def closure(self, states: Iterable[int]) -> frozenset[int]:
        seen = set(states)
        todo = list(seen)
        while todo:
            for state in self.silent[todo.pop()]:
                if state not in seen:
                    seen.add(state)
                    todo.append(state)
        return frozenset(seen)


def _determinised(source: _Nondeterministic) -> WordNetwork:
    first = source.closure([source.start])
    index = {first: 0}
    todo = [first]
    arcs: list[dict[str, int]] = []
    for states in todo:
        targets: dict[str, set[int]] = {}
        for state in sorted(states):
            for word, target in source.spoken[state]:
                targets.setdefault(word, set()).add(target)
        row: dict[str, int] = {}
        for word, reached in targets.items():
            closed = source.closure(reached)
            if closed not in index:
                index[closed] = len(todo)
                todo.append(closed)
            row[word] = index[closed]
        arcs.append(row)
    final = frozenset(number for states, number in index.items() if source.end in states)
    return WordNetwork(0, tuple(arcs), final)


def _minimised(network: WordNetwork) -> WordNetwork:
    group = [int(state in network.final) for state in range(len(network.arcs))]
    count = len(set(group))
    while True:
        names: dict[tuple[int, frozenset[tuple[str, int]]], int] = {}
        refined = [
            names.setdefault(
                (group[state], frozenset((word, group[to]) for word, to in arcs.items())), len(names)
            )
            for state, arcs in enumerate(network.arcs)
        ]
        group = refined
        if len(names) == count:
            break
        count = len(names)
    rows: list[dict[str, int]] = [{} for _ in range(count)]
    for state, arcs in enumerate(network.arcs):
        rows[group[state]] = {word: group[to] for word, to in arcs.items()}
    return WordNetwork(group[network.start], tuple(rows), frozenset(group[s] for s in network.final))
