"""A bare answer as a reading of the call that it stands for: 'on' to 'Landing lights.' is 'landing lights on'.

An author declares it (`answers` of a call). It is heard like any phrase of the drill; to which call it belongs is found
out by grading. Here is what it means, as that call's values.
"""

from __future__ import annotations

from collections.abc import Mapping

from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word, slots_of
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.phraseology.rendering import rendered


def as_the_call(call: Pattern, answer: Pattern, slots: Mapping[str, str]) -> dict[str, str]:
    """The values of `call` where its bare `answer` was said with the values `slots`.

    Words with an opposite that the answer has no place for are those of the call: the cue and the author said them.
    """
    open_to_it = {slot.key for slot in slots_of(answer.node)}
    implied = {
        slot.key: call.expected[slot.key]
        for slot in _always_said(call.node)
        if slot.type in OPPOSITES and slot.key not in open_to_it and slot.key in call.expected
    }
    return implied | dict(slots)


def in_any_reading(call: Pattern, answer: Pattern | None) -> Pattern:
    """One pattern for the call and its bare answer: all that is a right reading of it."""
    if answer is None:
        return call
    node = Choice((call.node, answer.node))
    return Pattern(rendered(node), node, call.region)


def what_is_wrong(call: Pattern, answer: Pattern) -> tuple[str, str] | None:
    """Why `answer` can't stand for `call`, and what to do; None where it can."""
    if answer.phrase == call.phrase:
        return "'answers' is the call itself", "delete the key: the call will do"
    known = set(slots_of(call.node))
    for slot in slots_of(answer.node):
        if slot not in known:
            return (
                f"'answers' has {_shown(slot)}, and the call has not",
                "give it no other values, nor other words with an opposite, than the call has",
            )
    said = {slot.key for slot in _always_said(answer.node)}
    for slot in slots_of(call.node):
        if slot in _always_said(call.node) and slot.type not in OPPOSITES and slot.key not in said:
            return f"'answers' lacks {_shown(slot)}", "a value of the call is always said: add it"
    return None


def _always_said(node: Node) -> set[Slot]:
    """The slots that are said whichever way one goes through `node`."""
    match node:
        case Slot():
            return {node}
        case Sequence(parts):
            return set().union(*(_always_said(part) for part in parts))
        case Choice(options):
            return set.intersection(*(_always_said(option) for option in options)) if options else set()
        case Maybe() | Word():
            return set()


def _shown(slot: Slot) -> str:
    if slot.type in OPPOSITES:
        return f"'{slot.value}'"
    return f"{{{slot.type}{'' if slot.value is None else f': {slot.value}'}}}"
