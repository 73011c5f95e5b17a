"""What a house and the moment of a drill allow of callsigns: a short form, or none at all.

A short form is one more expected value beside the full one, in the same slot: what can be heard stays as open as
it was.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from voice_trainer.phraseology.callsigns import PREFIX, abbreviated
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Slot, Word
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import slot_type


@dataclass(frozen=True, slots=True)
class CallsignRules:
    """How a callsign in a call may be given.

    `after_contact`: by a short form too, the `declared` one of a (callsign, short form), or the region's.
    `unsaid`: what it means to leave it out: 'remarked', 'owed', or None where the call is not understood then.
    """

    after_contact: bool = False
    declared: tuple[str, str] | None = None
    unsaid: Literal["remarked", "owed"] | None = None

    def short_forms(self, value: str, region: Region) -> tuple[str, ...]:
        """The short forms in which `value` may be given now."""
        if not self.after_contact:
            return ()
        if self.declared is not None and self.declared[0] == value:
            return (self.declared[1],)
        return abbreviated(value, region)


def with_callsign_rules(node: Node, rules: CallsignRules, region: Region) -> Node:
    """`node` with every expected callsign as `rules` have it; one that an author made optional stays optional."""
    must_be_said = replace(rules, unsaid=None)
    match node:
        case Slot(key, kind, str(value)) if kind.startswith(PREFIX):
            options: list[Node] = [node]
            for short in rules.short_forms(value, region):
                fits = slot_type(kind).value(_plain(short, region))
                options.append(Slot(key, kind if fits else _type_name(short), short))
            given = options[0] if len(options) == 1 else Choice(tuple(options))
            return given if rules.unsaid is None else Maybe(given, rules.unsaid)
        case Parts(parts):
            return Parts(tuple(with_callsign_rules(part, rules, region) for part in parts))
        case Choice(options_):
            return Choice(
                tuple(
                    with_callsign_rules(option, must_be_said if isinstance(option, Slot) else rules, region)
                    for option in options_
                )
            )
        case Maybe(part, unsaid):
            return Maybe(with_callsign_rules(part, must_be_said, region), unsaid)
        case _:
            assert isinstance(node, Word | Slot)
            return node


def _plain(value: str, region: Region) -> tuple[str, ...]:
    return tuple("nine" if word == "niner" else word for word in slot_type("callsign").words(value, region))


def _type_name(value: str) -> str:
    refine = slot_type("callsign").refine
    assert refine is not None
    return refine(value)
