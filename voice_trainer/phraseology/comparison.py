"""A call over what was said, by what is meant: its nearest right reading, and where the words are no right reading.

All right readings of a call are on the ways through its pattern: other words of a choice, optional parts said or left
out, a value in any of its forms. The way with the fewest differences from what was said is looked for (Dijkstra's
algorithm, over the places of the pattern and of the words), so a right reading is found before any other, and marks
nothing. Where a value is another than the expected one, its words are held against the expected value in the form in
which it was said (`nearest_wording`), and no word of the rest is touched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from heapq import heappop, heappush
from itertools import count

from voice_trainer.phraseology.automaton import Automaton
from voice_trainer.phraseology.last_said import last_said
from voice_trainer.phraseology.nearest_wording import nearest_wording, standard_wording
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Slot
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.phraseology.pattern import LONGEST_VALUE_WORDS, Pattern
from voice_trainer.phraseology.slot_reader import SlotReader
from voice_trainer.phraseology.word_edits import LONE, WordEdit, cost_of, left_out, same_words, word_edits

BESIDE = frozenset(
    (
        "a", "an", "and", "at", "for", "in", "is", "it", "like", "now", "of", "okay", "please", "so", "the",
        "then", "to", "wait", "well",
    )
)  # fmt: skip
"""Words that people say while they think: beside a call they are no mistake, as what the normaliser drops is none."""

SMALL_COST = 5
"""What a word beside the call costs, so that it is none where it has a place in the call."""

MOST_FOR_A_VALUE = 2 * LONE - 1
"""What one value in another's place costs at most: less than one digit left out here and one added there."""

IsRight = Callable[[Slot, str], bool]
"""Whether a value that was heard in a slot is right though it is not the expected one."""


def exactly(_slot: Slot, _heard: str) -> bool:
    """Only the expected value is right."""
    return False


def compared(pattern: Pattern, said: Sequence[str], is_right: IsRight = exactly) -> tuple[WordEdit, ...]:
    """The nearest right reading of `pattern` over the normalised words `said`; () where nothing was said.

    Words that were taken back ('correction') stand where they were said, over no expected word, and are not marked.
    """
    holds = last_said(pattern, said)
    found = _nearest(pattern, tuple(said[at] for at in holds), is_right)
    return _in_place(found, holds, said)


def unmarked(pattern: Pattern, said: Sequence[str]) -> tuple[WordEdit, ...]:
    """The same where every value is known to be right: what holds is its own right reading."""
    holds = last_said(pattern, said)
    return _in_place(same_words([said[at] for at in holds]), holds, said)


def _in_place(edits: Sequence[WordEdit], holds: Sequence[int], said: Sequence[str]) -> tuple[WordEdit, ...]:
    """`edits` of the words that hold, in the order in which all was said, and what was taken back between them."""
    groups: dict[int, list[WordEdit]] = {
        at: [WordEdit(None, said[at], marked=False)] for at in range(len(said))
    }
    place, places = -1, iter(holds)
    before: list[WordEdit] = []
    for edit in edits:
        if edit.said is not None:
            place = next(places)
            groups[place] = [edit]
        else:  # what is left out stands behind the word before it
            (groups[place] if place >= 0 else before).append(edit)
    return (*before, *(edit for at in range(len(said)) for edit in groups[at]))


def _nearest(pattern: Pattern, said: tuple[str, ...], is_right: IsRight) -> tuple[WordEdit, ...]:
    graph = _graph(pattern)
    reader = SlotReader(said, pattern.region)
    turn = count()  # of equal costs what was found first
    todo: list[tuple[int, int, int, int, _Way]] = [(0, next(turn), 0, 0, None)]
    seen: set[tuple[int, int]] = set()
    while todo:
        cost, _, state, at, way = heappop(todo)
        if (state, at) in seen:
            continue
        seen.add((state, at))
        if state == graph.accept and at == len(said):
            return _edits_on(way)
        for more, edits, after, end in _steps(graph, state, at, said, reader, is_right):
            heappush(todo, (cost + more, next(turn), after, end, (edits, way) if edits else way))
    raise AssertionError("every word may be left out or added")


_Way = tuple[tuple[WordEdit, ...], "_Way"] | None
"""The edits on the way to a place, the last ones first."""

_Step = tuple[int, tuple[WordEdit, ...], int, int]
"""Its cost, its edits, the state behind it, and the word at which the next one begins."""


def _edits_on(way: _Way) -> tuple[WordEdit, ...]:
    chain: list[tuple[WordEdit, ...]] = []
    while way is not None:
        edits, way = way
        chain.append(edits)
    return tuple(edit for edits in reversed(chain) for edit in edits)


def _steps(
    graph: Automaton, state: int, at: int, said: Sequence[str], reader: SlotReader, is_right: IsRight
) -> Iterator[_Step]:
    for after in graph.skips[state]:
        yield 0, (), after, at
    if (word_edge := graph.words[state]) is not None:
        word, after = word_edge
        yield LONE, left_out((word,)), after, at
        if at < len(said):
            yield cost_of(word, said[at]), word_edits((word,), (said[at],)), after, at + 1
    if (slot_edge := graph.slots[state]) is not None:
        slot, after = slot_edge
        for end, edits in _values(slot, at, said, reader, is_right):
            cost = _cost(edits)
            is_value = end > at and end in reader.ends(slot, at)
            yield min(cost, MOST_FOR_A_VALUE) if is_value else cost, edits, after, end
    if at < len(said):
        is_small = said[at] in BESIDE
        added = WordEdit(None, said[at], marked=not is_small)
        yield SMALL_COST if is_small else LONE, (added,), state, at + 1


def _values(
    slot: Slot, at: int, said: Sequence[str], reader: SlotReader, is_right: IsRight
) -> Iterator[tuple[int, tuple[WordEdit, ...]]]:
    """Every way to take the slot's value from the words at `at`, and where it ends; the last, not to take it."""
    region = reader.region
    ends = reader.ends(slot, at)
    for end in ends:
        words = tuple(said[at:end])
        heard, _ = reader.value(slot, at, end)
        if slot.value is None or heard == slot.value or is_right(slot, heard):
            yield end, same_words(words)
        else:
            yield end, word_edits(nearest_wording(slot.type, slot.value, words, region), words)
    standard = (
        tuple(slot.type.split()) if slot.value is None else standard_wording(slot.type, slot.value, region)
    )
    if not any(end > at for end in ends):  # no legal value: 'heading four five zero'
        for end in range(at + 1, min(len(said), at + LONGEST_VALUE_WORDS) + 1):
            yield end, word_edits(standard, said[at:end])
    if at not in ends:
        yield at, left_out(standard)


def _cost(edits: Sequence[WordEdit]) -> int:
    """What all these edits cost, so that a right value is nearer than any other."""
    return sum(
        LONE if edit.expected is None or edit.said is None else cost_of(edit.expected, edit.said)
        for edit in edits
    )


@lru_cache(maxsize=1024)
def _graph(pattern: Pattern) -> Automaton:
    return Automaton.of(_owed(pattern.node))


def _owed(node: Node) -> Node:
    """`node` with what is owed no longer optional: left out, it is a part that is missing."""
    match node:
        case Maybe(part, unsaid):
            return _owed(part) if unsaid == "owed" else Maybe(_owed(part), unsaid)
        case Parts(parts):
            return Parts(tuple(_owed(part) for part in parts))
        case Choice(options):
            return Choice(tuple(_owed(option) for option in options))
        case _:
            return node
