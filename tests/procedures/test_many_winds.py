"""Every procedure flown in winds from anywhere, with every call right: all correct, inside its limits, on time."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from voice_trainer.drills.model import Drill
from voice_trainer.flight.timing import duration_seconds
from voice_trainer.flight.wind import Wind
from voice_trainer.grading.flight import deviations_of
from voice_trainer.grading.score import grade
from voice_trainer.journal.events import Commanded, Decision, Ended, Flown
from voice_trainer.library.flown import Wanted, builtin_procedures, flown_drill
from voice_trainer.library.procedure_files import load_procedure
from voice_trainer.procedures.approach import Approach
from voice_trainer.session.rehearsal import Records, rehearse

SEEDS = (range(1, 4), pytest.param(range(4, 201), marks=pytest.mark.long))
NAMES = list(builtin_procedures())


def of_the_day(name: str, seed: int) -> Drill:
    return flown_drill(load_procedure(builtin_procedures()[name]), name, Wanted(), seed)


def told(drill: Drill) -> str:
    assert drill.aeroplane is not None
    return f"{drill.drill}, wind {drill.aeroplane.wind_from_degrees:03.0f}/{drill.aeroplane.wind_knots:.0f}"


def check(drill: Drill, records: Records) -> None:
    graded = grade(drill, [record for record in records if isinstance(record, Decision)])
    wrong = [(v.step, v.call, v.verdict, v.reason) for v in graded.verdicts if v.verdict != "correct"]
    assert not wrong, (told(drill), wrong)
    owed = sum(call.need == "required" for step in drill.steps if step.flow for call in step.flow.calls)
    assert len(graded.verdicts) == owed, (told(drill), [step.step for step in drill.steps][-3:])
    assert [record.reason for record in records if isinstance(record, Ended)] == ["finished"], told(drill)
    assert not deviations_of(drill, records), (
        told(drill),
        [each.said for each in deviations_of(drill, records)],
    )
    assert not graded.critical


@pytest.mark.slow
@pytest.mark.parametrize("seeds", SEEDS)
@pytest.mark.parametrize("name", NAMES)
def test_said_right_it_is_right_and_stays_inside_its_limits(name: str, seeds: range) -> None:
    for seed in seeds:
        drill = of_the_day(name, seed)
        check(drill, rehearse(drill))


@pytest.mark.parametrize("name", NAMES)
def test_the_day_of_the_file_can_be_flown(name: str) -> None:
    drill = of_the_day(name, 0)
    check(drill, rehearse(drill))


@pytest.mark.parametrize(("wind", "distances", "leg"), [
    (Wind(240, 20), (5, 4), "1:39"),
    (Wind(220, 21), (4, 3), "1:31"),
    (Wind(60, 20), (6, 4), "1:00"),
])  # fmt: skip
def test_a_teardrop_entry_is_inbound_before_the_fix(wind: Wind, distances: tuple[int, int], leg: str) -> None:
    """Against the wind its leg is longer than a minute (ICAO Doc 8168, allowance in timing; from memory)."""
    procedure = load_procedure(builtin_procedures()["hold-dunmar-teardrop"])
    drill = flown_drill(procedure, "hold-dunmar-teardrop", Wanted(wind, profile="piston"))
    waits = [step.when for step in drill.steps]
    assert waits[1:3] == [f"distance {miles}.0 DNM" for miles in distances]
    assert f"clock {leg}" in waits
    check(drill, rehearse(drill))


def test_a_runway_is_seen_by_whoever_is_level_only_after_the_visual_descent_point() -> None:
    """1,080 feet at 500 a minute take 2:10; 3.3 miles to the point at 91 knots over the ground as long."""
    procedure = load_procedure(builtin_procedures()["kelda-vor-15"])
    wanted = Wanted(Wind(40, 2), profile="piston", runway_in_sight=True)
    drill = flown_drill(procedure, "kelda-vor-15", wanted)
    assert drill.step_named("runway").when == "settled"
    check(drill, rehearse(drill))
    faster = flown_drill(procedure, "kelda-vor-15", replace(wanted, profile="turboprop"))
    assert faster.step_named("runway").when.startswith("clock ")


@pytest.mark.parametrize("name", ["kelda-vor-15", "dunmar-vor-04"])
def test_the_missed_approach_point_comes_when_the_rule_says(name: str) -> None:
    """t = 3600 d / GS, within 3 seconds; GS by the wind triangle, worked out here from its parts."""
    procedure = load_procedure(builtin_procedures()[name])
    assert isinstance(procedure, Approach)
    drill = flown_drill(procedure, name, Wanted(runway_in_sight=False), seed=0)
    records = rehearse(drill)
    when = drill.step_named("missed approach point").when
    missed = next(r.at_seconds for r in records if isinstance(r, Flown) and r.name == when)
    started = max(
        r.at_seconds
        for r in records
        if isinstance(r, Commanded) and r.verb == "clock" and r.at_seconds < missed
    )
    start = drill.aeroplane
    assert start is not None
    knots = {"turboprop": 110.0, "piston": 90.0}[start.profile]
    angle = math.radians(start.wind_from_degrees - procedure.final.course_degrees)
    correction = math.asin(start.wind_knots * math.sin(angle) / knots)
    groundspeed = knots * math.cos(correction) - start.wind_knots * math.cos(angle)
    distance = procedure.final.missed_approach_point.distance_nm
    assert distance is not None
    assert missed - started == pytest.approx(3600 * distance / groundspeed, abs=3.0)
    assert duration_seconds(when.removeprefix("clock ")) == pytest.approx(
        3600 * distance / groundspeed, abs=0.6
    )
