"""The checks at one fix, in the house's order."""

from __future__ import annotations

from collections.abc import Mapping

from voice_trainer.drills.model import Call
from voice_trainer.procedures.calls import not_required
from voice_trainer.procedures.house_flow import Check, HouseFlow

NOTHING_TO_DO: dict[Check, str] = {
    "time": "Nothing is timed from here.",
    "turn": "The course goes on as it is.",
    "transition": "Altitude and speed stay as they are.",
    "throttle": "Altitude and speed stay as they are.",
    "twist": "The course is set already.",
    "talk": "Nothing is reported here.",
    "track": "The course is kept already.",
}


def checks_at_a_fix(flow: HouseFlow, due: Mapping[Check, Call]) -> list[Call]:
    """The calls of one fix: what is `due`, and 'not required' where the house says so of what is not.

    The clock that is started once the wings are level ('time again') has a step of its own, later.
    """
    calls: list[Call] = []
    for check in flow.checks:
        call = due.get("transition" if check == "throttle" else check)
        if call is not None:
            calls.append(call.model_copy(update={"call": check}))
        elif check in flow.not_required_said and check != "time again":
            calls.append(not_required(check, NOTHING_TO_DO[check]))
    return calls
