"""The table 'what a fair instructor accepts', as sessions: what is said, and what it must come to. All of it common
practice, where a row names no source.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from tests.scenes import Scene, drill_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.score import Grade
from voice_trainer.journal.events import AskAgain, FlowClosed

TURN = {"call": "turn", "say": "turn right [heading] {heading: 333}"}
DOWN = {"call": "down", "say": "descend [and maintain] {altitude: 2600}"}
TWIST = {"call": "twist", "say": "set course {course: 153}"}
RIGHT = (
    "turn right heading three three three",
    "descend and maintain two thousand six hundred",
    "set course one five three",
)


@dataclass(frozen=True)
class Row:
    """`breaths` are said one after the other in the first step of `flows`; each of the others begins when the one
    before it is closed. `verdicts` are what the calls come to; `reasons` and `remarks` are parts of what is said of
    them; `asked` is the wording with which the trainer asks for it again.
    """

    name: str
    flows: tuple[dict[str, Any], ...]
    breaths: tuple[str, ...]
    verdicts: dict[str, str]
    reasons: dict[str, str] = field(default_factory=dict)
    remarks: dict[str, str] = field(default_factory=dict)
    asked: str | None = None
    critical: tuple[str, ...] = ()
    more: dict[str, Any] = field(default_factory=dict)

    def drill(self) -> Drill:
        return drill_of(*self.flows, **self.more)


def one(
    name: str,
    pattern: str,
    said: str,
    verdict: str = "correct",
    *,
    reason: str = "",
    remark: str = "",
    **more: Any,
) -> Row:
    """A row of one call, 'it'."""
    return Row(
        name,
        ({"calls": [{"call": "it", "say": pattern}]},),
        (said,),
        {"it": verdict},
        {"it": reason} if reason else {},
        {"it": remark},
        more=more,
    )


NO_TURN = {"synonyms": {"turn not required": ["no turn", "turn negative"]}}
READBACK = {
    "order": "any",
    "asks": True,
    "calls": [
        {"call": "heading", "say": "[turn] left heading {heading: 310}"},
        {"call": "altitude", "say": "maintain {altitude: 2600}"},
        {"call": "callsign", "say": "{callsign: Heron 24}"},
    ],
}
FORBIDDEN = {
    "calls": [
        TURN,
        {
            "call": "sight",
            "say": "runway in sight",
            "need": "forbidden",
            "because": "The runway is not in sight.",
        },
    ]
}
MEMORY = {"kind": "memory", "wording": "verbatim"}

NUMBERS = (
    one(
        "numbers digit by digit", "turn right heading {heading: 333}", "turn right heading three three three"
    ),
    one(
        "numbers as the radio says them",
        "turn right heading {heading: 333}",
        "turn right heading tree tree tree",
    ),
    one(
        "grouped numbers",
        "turn right heading {heading: 333}",
        "turn right heading three thirty three",
        remark="say three three three",
    ),
    one("no word 'heading' where only one can be meant", "[heading] {heading: 090}", "zero niner zero"),
    one("one plus fifteen", "outbound {duration: 1:15}", "outbound one plus fifteen"),
    one("one minute fifteen", "outbound {duration: 1:15}", "outbound one minute fifteen"),
    one("seventy-five seconds", "outbound {duration: 1:15}", "outbound seventy five seconds"),
    one(
        "another duration",
        "outbound {duration: 1:15}",
        "outbound one minute five",
        "wrong value",
        reason="Said 1:05; it is 1:15.",
    ),
    *(
        one(
            f"{word} in {region}", "tune {frequency: 114.3}", f"tune one one four {word} three", region=region
        )
        for word in ("point", "decimal")
        for region in ("faa", "icao")
    ),
    *(
        one(f"runway {said} in {region}", "runway {runway: 9}", f"runway {said}", region=region)
        for said in ("zero niner", "niner")
        for region in ("faa", "icao")
    ),
)

WORDS = (
    *(
        one(f"'{said}' for turn not required", "turn not required", said, **NO_TURN)
        for said in ("no turn", "turn not required", "turn negative")
    ),
    one(
        "the denial left out",
        "turn not required",
        "turn required",
        "wrong value",
        **NO_TURN,
    ),
    Row(
        "a readback in another order",
        (READBACK,),
        ("Heron two four, maintain two thousand six hundred, turn left heading three one zero",),
        {"heading": "correct", "altitude": "correct", "callsign": "correct"},
        remarks={"altitude": "", "callsign": "", "heading": "heading, altitude"},
    ),
    Row(
        "a short callsign after first contact",
        (
            {"calls": [{"call": "first", "say": "{callsign: N123AB} outbound"}]},
            {"calls": [{"call": "second", "say": "{callsign: N123AB} inbound"}]},
        ),
        ("november one two three alfa bravo outbound", "november three alfa bravo inbound"),
        {"first": "correct", "second": "correct"},
    ),
    Row(
        "uh, and a restart",
        ({"calls": [TURN]},),
        ("uh, turn right, uh, turn right heading three three three",),
        {"turn": "correct"},
    ),
    Row(
        "a repeated word",
        ({"calls": [TURN]},),
        ("turn turn right heading three three three",),
        {"turn": "correct"},
    ),
    Row(
        "own words, declared",
        ({"calls": [{"call": "turn", "say": "turn left [heading] {heading: 288}"}]},),
        ("coming left to two eight eight",),
        {"turn": "correct"},
        more={"synonyms": {"turn left": ["coming left to"]}},
    ),
    Row(
        "own words, not declared, then the call's",
        ({"calls": [{"call": "turn", "say": "turn left heading {heading: 288}"}]},),
        ("coming left to two eight eight", "turn left heading two eight eight"),
        {"turn": "correct"},
        asked="turn left heading ...",
    ),
    Row(
        "own words, not declared, and no more",
        ({"calls": [{"call": "turn", "say": "turn left heading {heading: 288}"}]},),
        ("coming left to two eight eight",),
        {"turn": "unclear"},
        asked="turn left heading ...",
    ),
    Row(
        "own words with another direction, declared or not",
        ({"calls": [{"call": "turn", "say": "turn left [heading] {heading: 288}"}]},),
        ("coming right to two eight eight",),
        {"turn": "wrong value"},
        {"turn": "Said right; it is left."},
        more={"synonyms": {"turn left": ["coming left to"]}},
    ),
    *(
        one(
            f"{said} for {meant}",
            pattern.format(meant),
            pattern.format(said),
            "wrong value",
            reason=f"Said {said}; it is {meant}.",
        )
        for pattern, said, meant in (
            ("mixture {}", "rich", "lean"),
            ("mixture {}", "idle", "cutoff"),
            ("established {}", "inbound", "outbound"),
            ("contact {}", "tower", "approach"),
            ("fuel {} on", "pump", "selector"),
        )
    ),
    one("memory items, verbatim: the words", "fuel selector off", "fuel selector off", **MEMORY),
    one(
        "memory items, verbatim: another inflection",
        "climbing",
        "climb",
        "wrong value",
        reason="Said climb",
        **MEMORY,
    ),
    one("memory items elsewhere: the meaning", "climbing", "climb", kind="memory"),
)

FLOWS = (
    Row(
        "one omitted call",
        ({"calls": [TURN, DOWN, TWIST]},),
        (RIGHT[0], RIGHT[2]),
        {"turn": "correct", "down": "missed", "twist": "correct"},
        {"down": "Not said."},
    ),
    Row(
        "a required call said twice",
        ({"calls": [TURN, DOWN, TWIST]},),
        (RIGHT[0], "turn right heading three two three", *RIGHT[1:]),
        {"turn": "correct", "down": "correct", "twist": "correct"},
    ),
    Row(
        "a forbidden call",
        (FORBIDDEN,),
        ("runway in sight", RIGHT[0]),
        {"turn": "correct"},
        critical=("The runway is not in sight.",),
    ),
)

ROWS = NUMBERS + WORDS + FLOWS


def performed(row: Row, scene: Scene) -> Grade:
    """Say the row's breaths, each step beginning when the one before it is closed, and grade them. What could not be
    made out is said again, as often as the trainer asks for it.
    """
    steps = [step.step for step in scene.drill.steps]
    scene.begin(steps[0])
    begun = 1
    for breath in row.breaths:
        for _ in range(1 + scene.settings.most_asks):
            known = len(scene.decisions)
            scene.say(breath)
            if not any(isinstance(d, AskAgain) and d.wording is None for d in scene.decisions[known:]):
                break
        closed = sum(isinstance(d, FlowClosed) for d in scene.decisions)
        if closed == begun < len(steps):
            scene.begin(steps[begun])
            begun += 1
    return scene.end()


def fair(row: Row, scene: Scene, grade: Grade) -> None:
    """Assert that the row came to what it must, with a reason in one sentence for every verdict."""
    verdicts = {v.call: v for v in grade.verdicts}
    assert {name: v.verdict for name, v in verdicts.items()} == row.verdicts
    for name, reason in row.reasons.items():
        assert reason in verdicts[name].reason
    for name, remark in row.remarks.items():
        remarks = " ".join(verdicts[name].remarks)
        assert (remark in remarks) if remark else not remarks
    asked = [d.wording for d in scene.decisions if isinstance(d, AskAgain) and d.wording is not None]
    assert asked == ([] if row.asked is None else [row.asked])
    assert tuple(c.reason for c in grade.critical) == row.critical
    assert all(v.reason.endswith(".") for v in grade.verdicts)
