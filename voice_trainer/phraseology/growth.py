"""Whether what was said last can still grow into another meaning: a question to the patterns, not a list of cases.

'Two thousand' can become 'two thousand six hundred', 'heron two' 'heron two four', 'turn left' 'turn left heading
three one zero'. A tail that says nothing more ('... until established') is no growth, nor is the next call.

Theory of operation
-------------------
The words from some place to the end are walked along one pattern. Where the walk stands when the words are over, one of
three things is open: a word or a slot is still to come (then they are the beginning of a call), a slot could hold more
(then its longer values are looked at until one is found that differs), or parts may follow that need not (then growth
is what has a value in it).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from voice_trainer.phraseology.automaton import Automaton
from voice_trainer.phraseology.nodes import Slot
from voice_trainer.phraseology.opposites import NOT
from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.phraseology.slot_reader import SlotReader, word_reader
from voice_trainer.phraseology.slots import slot_type

MOST_LONGER_VALUES = 400
"""How many longer values of a slot are looked at; where all of these mean the same, none is taken to differ."""


def may_become_more(pattern: Pattern, words: Sequence[str], start: int, reader: SlotReader) -> bool:
    """Whether the words from `start` on are the beginning of something else that the opened `pattern` can say.

    False where they are no beginning of it at all, and for no words. `reader` reads the slots of `words`.
    """
    if start >= len(words):
        return False
    graph = pattern.automaton
    standing, slots = _walk(graph, words, start, reader)
    if any(_may_hold_more(slot, at, words, reader) for slot, at in slots):
        return True
    if not standing:
        return False
    if graph.accept not in _ahead(graph, standing):
        return True
    optional = (graph.slots[state] for state in _all_ahead(graph, standing))
    return any(edge is not None and edge[0].type != NOT for edge in optional)


def _walk(
    graph: Automaton, words: Sequence[str], start: int, reader: SlotReader
) -> tuple[set[int], set[tuple[Slot, int]]]:
    """The states that a walk over `words` stands in at their end, and the slots on its way with where they began."""
    standing: set[int] = set()
    slots: set[tuple[Slot, int]] = set()
    seen: set[tuple[int, int]] = set()
    todo = [(0, start)]
    while todo:
        state, at = todo.pop()
        if (state, at) in seen:
            continue
        seen.add((state, at))
        if at == len(words):
            standing.add(state)
        if (edge := graph.words[state]) is not None:
            if at < len(words) and words[at] == edge[0]:
                todo.append((edge[1], at + 1))
        elif (slot_edge := graph.slots[state]) is not None:
            slot, after = slot_edge
            if at < len(words):
                slots.add((slot, at))
            todo.extend((after, end) for end in reader.ends(slot, at))
        else:
            todo.extend((after, at) for after in graph.skips[state])
    return standing, slots


def _may_hold_more(slot: Slot, at: int, words: Sequence[str], reader: SlotReader) -> bool:
    """Whether a slot that began at the word `at` is not over yet, or could hold another value with more words."""
    language = word_reader(slot.type)
    if not language.goes_on(words[at:]):
        return False
    if len(words) not in reader.ends(slot, at):
        return True
    value, _ = reader.value(slot, at, len(words))
    of = slot_type(slot.type)
    for more in language.longer(words[at:], MOST_LONGER_VALUES):
        found = of.value((*words[at:], *more), reader.region)
        if found is not None and found[0] != value:
            return True
    return False


def _ahead(graph: Automaton, states: set[int]) -> set[int]:
    """The states that are reached without a word."""
    found: set[int] = set()
    todo = deque(states)
    while todo:
        state = todo.popleft()
        if state not in found:
            found.add(state)
            todo.extend(graph.skips[state])
    return found


def _all_ahead(graph: Automaton, states: set[int]) -> set[int]:
    """Every state that can still be reached."""
    found: set[int] = set()
    todo = deque(states)
    while todo:
        state = todo.popleft()
        if state in found:
            continue
        found.add(state)
        todo.extend(graph.skips[state])
        for edge in (graph.words[state], graph.slots[state]):
            if edge is not None:
                todo.append(edge[1])
    return found
