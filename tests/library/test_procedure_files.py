"""Nonsense in an approach file is refused: file, line, column, reason, and what to do."""

from __future__ import annotations

from pathlib import Path

import pytest

from voice_trainer.library.builtin import find_flown
from voice_trainer.library.errors import DrillError
from voice_trainer.library.flown import Wanted, builtin_procedures
from voice_trainer.library.procedure_files import load_procedure, read_procedure
from voice_trainer.procedures.approach import Approach

KELDA = builtin_procedures()["kelda-vor-15"].read_text(encoding="utf-8")
MARLO = builtin_procedures()["marlo-vor-15"].read_text(encoding="utf-8")


def problems(old: str, new: str, text: str = KELDA) -> list[str]:
    """What is said of the approach with one piece of text replaced, and of which line."""
    assert text.count(old) == 1, old
    changed = text.replace(old, new)
    with pytest.raises(DrillError) as raised:
        read_procedure(changed.encode(), "a.yaml")
    return [f"{p.line}: {p.what}; {p.advice}" for p in raised.value.problems]


def line_of(piece: str, text: str = KELDA) -> int:
    return text[: text.index(piece)].count("\n") + 1


@pytest.mark.parametrize("name", builtin_procedures())
def test_every_approach_that_comes_with_the_program_is_sound(name: str) -> None:
    found = load_procedure(builtin_procedures()[name])
    assert name == (found.approach if isinstance(found, Approach) else found.hold)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("navaid: KLD", "navaid: XYZ", "no navaid of this approach is called XYZ"),
        ("  altitude_feet: 1900", "  altitude_feet: 2700", "2,700 at the fix is above the 2,600 before it"),
        ("minimums_feet: 820", "minimums_feet: 1950", "are not below the 1,900 at the fix"),
        ("minimums_feet: 820", "minimums_feet: 500", "less than 200 feet above the touchdown zone"),
        ("distance_nm: 4.6", "distance_nm: 0.4", "a final of 0.4 miles is none"),
        ("distance_nm: 4.6", "distance_nm: 2.6", "415 feet a mile; 400 are the most"),
        ("limit_nm: 10", "limit_nm: 6", "goes out 6.8 miles, past its own limit of 6"),
        ("climb_feet: 3000", "climb_feet: 800", "does not climb from 820"),
        (
            "altitude_feet: 3000}\nwind",
            "altitude_feet: 2000}\nwind",
            "below the 2,600 of the course reversal",
        ),
        ("hold: {fix: KLD", "hold: {fix: BRN", "no navaid of this approach is called BRN"),
    ],
)
def test_numbers_that_do_not_belong_together_are_refused_where_they_stand(
    old: str, new: str, says: str
) -> None:
    said = problems(old, new)
    assert any(says in each for each in said), said
    assert all(each.split(":")[0].isdigit() for each in said)


def test_the_line_is_that_of_the_number() -> None:
    (said,) = problems("climb_feet: 3000", "climb_feet: 800")
    assert said.startswith(f"{line_of('climb_feet')}: ")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("minimums_feet: 820", "minimums: 820", "did you mean 'minimums_feet'?"),
        ("side: left ", "side: west ", "side"),
        ("course_degrees: 153", "course_degrees: 453", "at most 360"),
        ("runway: 15", "runway: 47", "runway"),
        ("frequency: 114.3", "frequency: 14.3", "frequency"),
        ("by: time", "by: guess", "by"),
        (", distance_nm: 4.6}", "}", "needs distance_nm"),
    ],
)
def test_a_missing_unit_or_an_illegal_value_is_one_line(old: str, new: str, says: str) -> None:
    said = problems(old, new)
    assert any(says in each for each in said), said


def test_courses_that_do_not_meet_are_refused() -> None:
    teardrop = KELDA.replace("kind: procedure turn", "kind: teardrop").replace(
        "  side: left                  # seen along the outbound course: to the west\n",
        "  outbound_degrees: 260\n",
    )
    with pytest.raises(DrillError, match="the courses don't meet in one turn"):
        read_procedure(teardrop.encode(), "a.yaml")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("east_nm: -4.54", "east_nm: -3.54", "MARLO lies 0.9 miles beside the final course, 153"),
        ("east_nm: -4.54, north_nm: 8.91", "east_nm: -1.82, north_nm: 3.56", "4.0 miles before"),
        ("east_nm: -4.54, north_nm: 8.91", "east_nm: 4.54, north_nm: -8.91", "not before"),
        ("radial_degrees: 300, ", "radial_degrees: 200, ", "the turn at MARLO is 133 degrees"),
        ("distance_nm: 13, altitude_feet: 3400", "distance_nm: 13, altitude_feet: 2500", "below the 2,600"),
        ("distance_nm: 13", "distance_nm: 6", "it begins at 6 miles"),
        ("  altitude_feet: 1900", "  altitude_feet: 2700", "2,700 at the fix is above the 2,600 before it"),
        ("initial_fix: MARLO", "initial_fix: TANDO", "no navaid of this approach is called TANDO"),
        ("initial_fix: MARLO", "initial_fix: KLD", "KLD lies not before the final approach fix"),
        ("kind: no procedure turn", "kind: no proc turn", "did you mean 'no procedure turn'?"),
        ("  kind: no procedure turn\n", "", "'course_reversal' lacks the key 'kind'"),
    ],
)
def test_an_initial_fix_that_leads_nowhere_is_refused(old: str, new: str, says: str) -> None:
    said = problems(old, new, MARLO)
    assert any(says in each for each in said), said


def test_from_the_initial_fix_it_does_not_go_down_too_steeply() -> None:
    high = MARLO.replace("altitude_feet: 3400}", "altitude_feet: 6000}")
    said = problems("  altitude_feet: 2600", "  altitude_feet: 5200", high)
    assert any("are 330 feet a mile; 318 are the most" in each for each in said), said


def test_a_final_by_distance_needs_a_navaid_that_gives_one() -> None:
    said = problems("{by: time, distance_nm: 4.6}", "{by: distance, distance_nm: 4.6}")
    assert any("gives no distance" in each for each in said), said


def test_a_step_down_above_the_altitude_before_it_is_refused() -> None:
    dme = KELDA.replace("kind: vor, frequency", "kind: vor/dme, frequency")
    said = problems(
        "minimums_feet: 820\n",
        "minimums_feet: 820\n  step_downs: [{distance_nm: 2, altitude_feet: 1950}]\n",
        dme,
    )
    assert any("1,950 is not below 1,900" in each for each in said), said


def test_a_school_s_own_order_of_checks_is_a_file(tmp_path: Path) -> None:
    own = tmp_path / "own.yaml"
    own.write_text(
        "house_flow: ours\ntitle: Ours\nsource: our school\nchecks: [turn, twist, time, throttle, talk]\n"
    )
    drill = find_flown("kelda-vor-15", wanted=Wanted(flow=str(own)))
    flow = drill.step_named("crossing outbound").flow
    assert flow is not None
    assert [call.call for call in flow.calls] == ["turn", "twist", "time", "throttle", "talk"]
    own.write_text("house_flow: ours\ntitle: T\nsource: s\nchecks: [turn, twirl]\n")
    with pytest.raises(DrillError, match=r"own.yaml:4:16: "):
        find_flown("kelda-vor-15", wanted=Wanted(flow=str(own)))
    for checks, said in (
        ("turn, twist, time, talk", "nobody descends"),
        ("turn, throttle", "nobody starts the clock"),
        ("time, throttle", "nobody turns"),
        ("turn, time, throttle, turn", "'turn' stands there twice"),
    ):
        own.write_text(f"house_flow: ours\ntitle: T\nsource: s\nchecks: [{checks}]\n")
        with pytest.raises(DrillError, match=rf"own.yaml:4:9: .*{said}"):
            find_flown("kelda-vor-15", wanted=Wanted(flow=str(own)))
    with pytest.raises(DrillError, match="did you mean 'six ts'"):
        find_flown("kelda-vor-15", wanted=Wanted(flow="six t"))


def test_the_runway_is_not_descended_to_before_the_visual_descent_point() -> None:
    """AIM 5-4-5f; 1.3 miles before the missed approach point, at the groundspeed of the day."""
    seen = find_flown("kelda-vor-15", wanted=Wanted(runway_in_sight=True))
    step = seen.step_named("runway")
    missed = (
        find_flown("kelda-vor-15", wanted=Wanted(runway_in_sight=False))
        .step_named("missed approach point")
        .when
    )
    seconds = [
        int(m) * 60 + int(s)
        for m, s in (each.removeprefix("clock ").split(":") for each in (step.when, missed))
    ]
    assert seconds[1] - seconds[0] == pytest.approx(1.3 / 107.6 * 3600, abs=1.0)
    flow = seen.step_named("minimums").flow
    assert flow is not None
    assert [call.call for call in flow.calls if call.need == "forbidden"] == ["lower"]
