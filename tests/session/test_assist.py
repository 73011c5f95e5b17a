"""What was not said is not done; with the instructor's help it is done late, and stays missed."""

from __future__ import annotations

from dataclasses import replace

from voice_trainer.journal.events import Commanded, Position, Settings, Settled
from voice_trainer.library.builtin import find_drill
from voice_trainer.session.performance import perform
from voice_trainer.session.rehearsal import Records, rehearse

DRILL = find_drill("kelda-outbound")
STEP = next(
    step for step in DRILL.steps if step.flow and any(call.does == "turn" for call in step.flow.calls)
)


def without_the_turn(settings: Settings) -> Records:
    whole = perform(DRILL)
    lines = tuple(line for line in whole.lines[STEP.step] if line.call != "turn")
    return rehearse(DRILL, replace(whole, lines=whole.lines | {STEP.step: lines}), settings)


def last_heading(records: Records) -> float:
    return [record for record in records if isinstance(record, Position)][-1].heading_degrees


def verdict_of_the_turn(records: Records) -> str:
    return [r.verdict for r in records if isinstance(r, Settled) and (r.step, r.call) == (STEP.step, "turn")][
        -1
    ]


def test_what_is_left_out_is_not_flown() -> None:
    records = without_the_turn(Settings(mode="fly through"))
    assert verdict_of_the_turn(records) == "missed"
    assert not any(isinstance(r, Commanded) and r.verb == "turn" for r in records)
    assert DRILL.aeroplane is not None
    assert last_heading(records) == DRILL.aeroplane.heading_degrees


def test_with_assist_it_is_flown_late_and_stays_missed() -> None:
    records = without_the_turn(Settings(mode="fly through", assist=True))
    assert verdict_of_the_turn(records) == "missed"
    turned = next(r for r in records if isinstance(r, Commanded) and r.verb == "turn")
    assert turned.by == "instructor"
    settled = next(r for r in records if isinstance(r, Settled) and r.call == "turn")
    assert turned.at_seconds >= settled.at_seconds
    flown = [r.heading_degrees for r in records if isinstance(r, Position)]
    assert float(turned.slots["heading"]) in flown


def test_the_rehearsal_of_a_drill_said_right_is_all_right() -> None:
    records = rehearse(DRILL)
    assert {r.verdict for r in records if isinstance(r, Settled)} == {"correct"}
