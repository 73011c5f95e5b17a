"""Every flow by itself: it is what it was in its drill, and who says it right is graded right."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.scenes import drill_of
from tests.typed_student import header_of, typed
from voice_trainer.debrief.report import debrief_of
from voice_trainer.drills.excerpt import LEAD_IN, excerpt_of
from voice_trainer.drills.model import GENERIC, Drill
from voice_trainer.journal.events import CueStarted
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.library.flown import builtin_procedures
from voice_trainer.logbook.derivation import entry_of
from voice_trainer.logbook.items import items_of


@pytest.mark.parametrize(
    "name",
    [*builtin_drills(), *(pytest.param(name, marks=pytest.mark.slow) for name in builtin_procedures())],
)
def test_every_flow_can_be_practised_by_itself(name: str, tmp_path: Path) -> None:
    drill = find_drill(name)
    for item in items_of([drill]):
        alone = excerpt_of(drill, item.step)
        assert Drill.model_validate(alone.model_dump(mode="json")) == alone
        assert [each.step for each in alone.steps] == [LEAD_IN, item.step]
        assert alone.aeroplane is None
        records = typed(alone, tmp_path)
        debrief = debrief_of(header_of(alone), records, None)
        assert {v.verdict for v in debrief.grade.verdicts} == {"correct"}, item
        assert debrief.ended == "finished"
        # The logbook knows it for the same flow.
        entry = entry_of("session", header_of(alone), records)
        assert (entry.drill, entry.title, entry.kind) == (item.drill, item.title, item.kind)
        assert [(flow.step, flow.flow) for flow in entry.flows] == [(item.step, item.flow)]
        # It takes about as long as it says.
        assert 0.02 < alone.minutes < 2.5
        (tmp_path / "session.jsonl").unlink()


def test_what_the_calls_need_has_been_said_before() -> None:
    """A value to be given back stands in the cue or the lead-in, or can be worked out from what stands there."""
    step = excerpt_of(find_drill("approach-callouts"), "minimums")
    assert step.spoken(step.steps[0].cue).startswith(  # type: ignore[arg-type]
        "Approach callouts. You descend on final to eight two zero"
    )
    tower = excerpt_of(find_drill("yarrow-descent"), "tower")
    assert "with Yarrow Approach" in tower.spoken(tower.steps[0].cue)  # type: ignore[arg-type]


@pytest.mark.parametrize("name", builtin_procedures())
def test_every_flow_of_a_derived_procedure_has_its_own_lead_in(name: str) -> None:
    at_minimums = ("above minimums", "minimums", "runway", "step-down 1")
    for step in find_drill(name).steps:
        if step.flow is None or (step.step == "clearance" and step.when == "start"):
            continue
        assert step.lead_in, step.step
        assert step.lead_in.startswith("On final to ") == (step.step in at_minimums), step.step


def test_memory_items_are_still_those_of_no_aircraft(tmp_path: Path) -> None:
    alone = excerpt_of(find_drill("engine-failure"), "failure")
    first = next(record for record in typed(alone, tmp_path) if isinstance(record, CueStarted))
    assert first.text == GENERIC


def test_first_contact_was_before() -> None:
    """A short callsign does for a later call of a drill, and by itself it does as well (AIM 4-2-4a)."""
    flow = {"calls": [{"call": "callsign", "say": "{callsign: Heron 24}"}]}
    drill = drill_of(flow, flow)
    first, later = (step.step for step in drill.steps)
    assert not excerpt_of(drill, first).in_contact
    assert excerpt_of(drill, later).in_contact


def test_what_is_none_is_said() -> None:
    drill = find_drill("brannock-clearance")
    with pytest.raises(KeyError):
        excerpt_of(drill, "nothing of the kind")
    with pytest.raises(ValueError, match="has no calls"):
        excerpt_of(drill, "position")
    assert (
        excerpt_of(excerpt_of(drill, "amendment"), "amendment").steps[1:]
        == excerpt_of(drill, "amendment").steps[1:]
    )
