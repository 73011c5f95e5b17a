"""Nodes to a network of words: what an engine that searches one is given.

Moore's refinement of the whole deterministic automaton into the smallest one: a slot of 400 altitudes shares its
digits instead of listing them (Hopcroft, Motwani, Ullman: Introduction to Automata Theory, chapter 4).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from voice_trainer.phraseology.nodes import Node
from voice_trainer.phraseology.word_automaton import WordAutomaton


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
    return _minimised(_explored(WordAutomaton(node, repeats=False)))


def _explored(automaton: WordAutomaton) -> WordNetwork:
    """All states that can be reached, numbered in the order in which they are met."""
    numbers = {automaton.start: 0}
    arcs: list[dict[str, int]] = []
    for state in (todo := [automaton.start]):
        row: dict[str, int] = {}
        for word, target in automaton.following(state).items():
            if target not in numbers:
                numbers[target] = len(todo)
                todo.append(target)
            row[word] = numbers[target]
        arcs.append(row)
    final = frozenset(number for state, number in numbers.items() if automaton.complete(state))
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
