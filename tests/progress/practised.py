"""Half a year of practice, made up: entered into a logbook in memory, without journals."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from functools import cache

from voice_trainer.logbook.entries import CallEntry, FlowEntry, SessionEntry, WordOver
from voice_trainer.logbook.items import Item
from voice_trainer.logbook.rating import is_prompt, rate
from voice_trainer.logbook.store import Logbook
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.word_edits import WordEdit, word_edits
from voice_trainer.progress.report import Report, report_of

NOW = datetime(2026, 6, 25, 20, 15, tzinfo=timezone(timedelta(hours=2)))
BEGIN = datetime(2026, 1, 5, 17, 0, tzinfo=UTC)
PAUSE = (10, 11)
"""Weeks in which nothing is practised."""


@dataclass(frozen=True)
class MadeUp:
    """A drill: its flows, each with its calls and, after a bar, what is said instead when they go wrong."""

    drill: str
    title: str
    kind: str
    flows: dict[str, dict[str, str]]


DRILLS = (
    MadeUp(
        "kelda-outbound",
        "Outbound from Kelda",
        "procedure",
        {
            "overhead": {
                "time": "time",
                "turn": "turn right heading three three three|turn left heading three three three",
                "twist": "set course three three three|set course one five three",
            },
            "outbound": {
                "throttle": "power eighteen inches",
                "talk": "Kelda outbound Heron two four",
                "track": "tracking three three three|tracking three two three",
            },
        },
    ),
    MadeUp(
        "brannock-clearance",
        "Approach clearance at Brannock",
        "radio",
        {
            "clearance": {
                "heading": "turn left heading three one zero|turn left heading three two zero",
                "altitude": "maintain two thousand six hundred|maintain two thousand nine hundred",
                "approach": "cleared for the VOR runway three three approach",
            },
            "amended": {"altitude": "maintain two thousand nine hundred"},
        },
    ),
    MadeUp(
        "before-landing",
        "Before landing",
        "checklist",
        {"final": {"gear": "gear down three green", "flaps": "flaps landing", "lights": "lights on"}},
    ),
)


def entries(
    drills: Sequence[MadeUp] = DRILLS, *, student: str = "Anna", sessions: int = 75, seed: int = 7
) -> list[SessionEntry]:
    """Sessions over 24 weeks, with a pause; every share grows, some faster."""
    chance = random.Random(seed)
    found = []
    for number in range(sessions):
        begun = BEGIN + timedelta(days=170 * number / sessions, hours=number % 3)
        if (begun - BEGIN).days // 7 in PAUSE:
            continue
        drill = drills[number % len(drills)]
        skill = 0.35 + 0.6 * number / sessions
        flows = tuple(
            _flow(step, calls, begun + timedelta(minutes=3 * place + 3), skill, chance)
            for place, (step, calls) in enumerate(drill.flows.items())
        )
        found.append(
            SessionEntry(
                session=f"{begun:%Y%m%dT%H%M%SZ}-made-{number:04x}",
                student=student,
                started_utc=begun,
                seconds=chance.uniform(300.0, 1500.0),
                drill=drill.drill,
                title=drill.title,
                kind=drill.kind,
                mode="fly-through",
                ended="finished",
                flows=flows,
            )
        )
    return found


def _flow(
    step: str, calls: dict[str, str], ended: datetime, skill: float, chance: random.Random
) -> FlowEntry:
    made = tuple(_call(name, *wording.partition("|")[::2], skill, chance) for name, wording in calls.items())
    outcome, why = rate(made, level="prompted")
    pairs = len(calls) - 1
    return FlowEntry(
        step=step,
        flow=step,
        lead_in=f"{step}.",
        level="prompted",
        ended_utc=ended,
        outcome=outcome,
        why=why,
        in_order=sum(chance.random() < 0.5 + skill / 2 for _ in range(pairs)),
        pairs=pairs,
        calls=made,
    )


def _call(name: str, expected: str, instead: str, skill: float, chance: random.Random) -> CallEntry:
    after = chance.uniform(0.5, 8.0 - 6.0 * skill)
    drawn = chance.random()
    if drawn > skill + 0.35:
        return CallEntry(name, "missed", expected, "", None, False, False)
    if instead and drawn > skill:
        words = tuple(map(_word_over, word_edits(normalise(expected), normalise(instead))))
        return CallEntry(name, "wrong value", expected, instead, after, is_prompt(after, 12.0), False, words)
    verdict = "late" if after > 5.5 else "correct"
    return CallEntry(name, verdict, expected, expected, after, is_prompt(after, 12.0), False)


def _word_over(edit: WordEdit) -> WordOver:
    """Made-up calls have one wording, so its words over what was said are what a comparison finds."""
    if not edit.marked:
        return WordOver(edit.expected, edit.said, "same")
    if edit.said is None:
        return WordOver(edit.expected, None, "left out")
    return WordOver(edit.expected, edit.said, "instead" if edit.expected else "added")


@cache
def report(*, student: str = "Anna", sessions: int = 75) -> Report:
    """What is told of a student who practised so; made once, since nothing changes it."""
    return report_of_drills(DRILLS, student, sessions)


def report_of_drills(drills: Sequence[MadeUp], student: str, sessions: int) -> Report:
    """What is told of a student who practised these drills."""
    flows = [
        Item(each.drill, step, step, each.title, each.kind, f"{step}.")
        for each in drills
        for step in each.flows
    ]
    with Logbook(None) as book:
        for number, entry in enumerate(entries(drills, student=student, sessions=sessions)):
            book.enter(entry, str(number), lambda: True)
        return report_of(book, student, flows, NOW)


HOSTILE = (
    "</script><script>document.title='taken'</script><img src=x onerror=\"document.title='taken'\">"
    "' onmouseover='document.title=1' \u202etxt.exe\u2066 ../../../etc/passwd C:\\NUL \x07\x00 {{7*7}} 👩🏽‍✈️ & <b>"
)
VERY_LONG = "niner" * 2000


def hostile() -> Report:
    """A student of whom every text is hostile, and some 10,000 characters long."""
    wording = f"turn left {HOSTILE} {VERY_LONG}|{HOSTILE} {'a ' * 5000}"
    flows = {HOSTILE: {HOSTILE: wording, "heading": f"heading {HOSTILE}|{HOSTILE}"}, VERY_LONG: {"": "|"}}
    drill = MadeUp("../../etc/passwd", HOSTILE, HOSTILE, flows)
    return report_of_drills([drill, MadeUp("2", VERY_LONG, "", {"": {VERY_LONG: ""}})], HOSTILE, 75)
