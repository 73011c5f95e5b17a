"""What a session must come to: the verdicts of the same meaning said cleanly, in the same windows.

Compared is, for every call of the drill, its last verdict (None where the session ended before it was due), whether the
student has corrected it, and the values that were taken for said: these are what a student is told, and what flies the
aeroplane. Not compared are times, and the words in between: when something is known may differ, what comes of it may
not. Late and early are verdicts, by the onset of the first word.

A call that could not be made out was asked for again: no wrong verdict, but counted, and none is allowed where nothing
but words were said.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from tests.difficult_student.manners import Plan
from voice_trainer.journal.events import Accepted, AnyDecision, AnyFact, AskAgain, Settled, Withdrawn

Key = tuple[str, str]


@dataclass(frozen=True)
class Came:
    """What a call came to."""

    verdict: str | None = None
    corrected: bool = False
    values: tuple[tuple[str, str], ...] | None = None


@dataclass
class Held:
    """A session held against its oracle: the calls that differ, and what had to be asked for again."""

    wrong: list[str] = field(default_factory=list)
    asked: int = 0
    calls: int = 0


def came_to(records: Iterable[AnyFact | AnyDecision]) -> dict[Key, Came]:
    """What each call came to, those that came to anything."""
    verdicts: dict[Key, Settled] = {}
    values: dict[Key, tuple[tuple[str, str], ...] | None] = {}
    for record in records:
        match record:
            case Settled():
                verdicts[record.step, record.call] = record
            case Accepted():
                values[record.step, record.call] = tuple(sorted(record.slots.items()))
            case Withdrawn():
                values[record.step, record.call] = None
            case _:
                pass
    return {key: Came(v.verdict, v.corrected, values.get(key)) for key, v in verdicts.items()}


def asked_again(records: Iterable[AnyFact | AnyDecision]) -> int:
    """How often something was asked for again."""
    return sum(isinstance(record, AskAgain) for record in records)


def held(plan: Plan, told: list[AnyFact | AnyDecision], clean: list[AnyFact | AnyDecision]) -> Held:
    """Hold what came of the student's telling against what comes of the clean one."""
    found, wanted = came_to(told), came_to(clean)
    result = Held(asked=max(0, asked_again(told) - asked_again(clean)), calls=len(wanted))
    in_doubt = (
        {record.step for record in told if isinstance(record, AskAgain)} if plan.may_be_asked else set()
    )
    for key in dict.fromkeys((*wanted, *found)):
        came, want = found.get(key, Came()), wanted.get(key, Came())
        if key[0] in in_doubt and came.verdict == want.verdict:
            came = replace(came, corrected=want.corrected)  # asked again, the student says only what is right
        if came.verdict == "unclear" and want.verdict != "unclear":
            result.asked += 1
        elif came != want:
            result.wrong.append(f"{key[0]}, {key[1]}: {_shown(came)}, not {_shown(want)}")
    return result


MADE_OUT_WRONG = ("wrong value", "out of order", "early")
"""What a call may never come to because it was not made out."""


def held_by_ear(plan: Plan, told: list[AnyFact | AnyDecision], clean: list[AnyFact | AnyDecision]) -> Held:
    """The same for what a real recogniser heard: where it was in doubt in a step, and asked again, what comes of that
    is not wrong, but counted.
    """
    found, wanted = came_to(told), came_to(clean)
    in_doubt = {record.step for record in told if isinstance(record, AskAgain)}
    result = Held(calls=len(wanted))
    for key in dict.fromkeys((*wanted, *found)):
        came, want = found.get(key, Came()), wanted.get(key, Came())
        if came == want:
            continue
        if came.verdict == "unclear" or (key[0] in in_doubt and came.verdict not in MADE_OUT_WRONG):
            continue
        result.wrong.append(f"{key[0]}, {key[1]}: {_shown(came)}, not {_shown(want)}")
    result.asked = max(0, asked_again(told) - asked_again(clean))
    return result


def undecided(plan: Plan, clean: list[AnyFact | AnyDecision]) -> list[str]:
    """Where the clean telling does not come to what was planned: then the plan, or the matcher, is at fault."""
    if plan.verdicts is None:
        return []
    found = came_to(clean)
    return [
        f"{key[0]}, {key[1]}: told cleanly it is {_shown(found.get(key, Came()))}, planned was "
        f"{verdict}{' (corrected)' if corrected else ''}"
        for key, (verdict, corrected) in plan.verdicts.items()
        if (found.get(key, Came()).verdict, found.get(key, Came()).corrected) != (verdict, corrected)
    ]


def _shown(came: Came) -> str:
    values = ", ".join(f"{value}" for _, value in came.values) if came.values else "no value"
    return f"{came.verdict}{' (corrected)' if came.corrected else ''} [{values}]"
