"""What typed words that are no call come near to: the beginning of one, or its wording with a slip.

No value is ever told, and of words with opposites none that was not typed. How a call goes is told where the student
has begun it; what a line is like only of calls that are due, at the levels that help, and of orders.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache

from rapidfuzz import fuzz

from voice_trainer.drills.model import Level
from voice_trainer.grading.state import CallState, MatchState
from voice_trainer.phraseology.grammar import expanded
from voice_trainer.phraseology.illegal_values import NUMBER_WORDS
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.orders import ORDERS
from voice_trainer.phraseology.pattern import Pattern, compile_pattern
from voice_trainer.phraseology.shape import slot_shape
from voice_trainer.phraseology.slot_reader import first_words
from voice_trainer.phraseology.word_automaton import WordAutomaton

HELPING_LEVELS: tuple[Level, ...] = ("read along", "prompted")
"""The levels at which a student may be shown how a call goes."""

NEAR = 60.0
"""Words at least this like a wording (0..100, RapidFuzz's ratio) are a slip of it (ours)."""


def due_calls(state: MatchState) -> list[tuple[str, CallState]]:
    """The calls that may be said now, by step: not those that were said already, nor what must not be said."""
    return [
        (flow.step, call)
        for _, flow in state.open_flows()
        for call in flow.calls
        if call.said is None and call.call.need != "forbidden" and not call.disputed
    ]


def beginning(words: Sequence[str], state: MatchState) -> tuple[int, str] | None:
    """How many of the last of these normalised words only begin a call, and what they want; None where they don't.

    Calls that are due come first, then the drill's others.
    """
    due = [call.pattern for _, call in due_calls(state)]
    others = [call.pattern for flow in state.flows for call in flow.calls]
    patterns = list(dict.fromkeys([*due, *others]))
    for first in range(len(words)):
        tail = tuple(words[first:])
        wants = [what for pattern in patterns if (what := _wants(pattern.opened(), tail)) is not None]
        if wants:
            return len(tail), wants[0]
    return None


def nearest(words: Sequence[str], state: MatchState, trainer_name: str) -> str | None:
    """The wording that these words are a slip of, in a sentence; None where they are like nothing."""
    said = _without_numbers(words)
    if not said:
        return None
    rated = [(fuzz.ratio(said, _bare(name, trainer_name)), name) for name in ORDERS]
    rated += [(fuzz.ratio(said, f"{trainer_name} {_bare(name, trainer_name)}"), name) for name in ORDERS]
    score, order = max(rated)
    found = (score, f"an order is '{trainer_name}, {order}'")
    if state.level in HELPING_LEVELS:
        for _, call in due_calls(state):
            outline = call.pattern.outline(words)
            like = fuzz.ratio(said, _without_numbers(word for word in outline if word != "..."))
            found = max(found, (like, f"nearest: '{' '.join(outline)}'"))
    return found[1] if found[0] >= NEAR else None


def _bare(order: str, trainer_name: str) -> str:
    return " ".join(compile_pattern(f"{trainer_name} {ORDERS[order]}").brief()[len(trainer_name.split()) :])


def _without_numbers(words: Iterable[str]) -> str:
    return " ".join(word.strip("()") for word in words if word not in NUMBER_WORDS)


def _wants(opened: Pattern, words: tuple[str, ...]) -> str | None:
    """What the beginning of a phrase still wants; None where `words` are no beginning, or the whole of it."""
    automaton = _automaton(opened)
    state = automaton.walk(automaton.start, words)
    if state is None or automaton.complete(state):
        return None
    following = automaton.following(state).keys()
    for slot in slots_of(opened.node):
        firsts, _ = first_words(slot)
        if firsts and firsts <= following:
            return slot_shape(slot.type)
    return "its rest"


@lru_cache(maxsize=256)
def _automaton(opened: Pattern) -> WordAutomaton:
    return WordAutomaton(expanded(opened.node, opened.region), repeats=False)
