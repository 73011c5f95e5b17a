"""Variables of a drill file: drawn by the seed, put into its texts, and tried before anybody flies them."""

from __future__ import annotations

import re
import time

import pytest

from voice_trainer.drills.model import Drill
from voice_trainer.library.drill_files import drill_and_drawing, read_drill
from voice_trainer.library.errors import DrillError

DRAWN = """\
drill: drawn
title: Drawn
kind: reckoning
trains: reckoning
variables:
  outbound: {from: 1, to: 360}
  inbound: =reciprocal(outbound)
  knots: {choices: [90, 100, 120]}
  nm: {from: 3, to: 6, step: 0.1}
  way: {choices: [left, right]}
steps:
  - step: one
    when: start
    cue:
      speaker: instructor
      say: "Outbound {course: =outbound}, {speed: =knots} knots, {distance: =nm} miles, to the {=way}."
    flow:
      calls:
        - call: inbound
          say: "inbound [course] {course: =inbound}"
          because: "{course: =outbound} and 180: {course: =inbound}. {=knots / 10} a minute, {altitude: =2500 + 100}."
        - call: time
          say: "{duration: =round(seconds(nm, knots))}"
          ask: "say the time for {distance: =nm} miles"
        - call: turn
          say: "turn {=way} [heading] {heading: =wrap(outbound + 45)}"
"""


def read(text: str = DRAWN, seed: int = 0) -> Drill:
    return read_drill(text.encode(), "drawn.yaml", seed=seed)


def complaints(old: str, new: str) -> list[str]:
    assert DRAWN.count(old) == 1, old
    with pytest.raises(DrillError) as caught:
        read(DRAWN.replace(old, new))
    return [line.removeprefix("drawn.yaml:") for line in str(caught.value).split("\n")]


def test_the_same_seed_draws_the_same_and_others_draw_others() -> None:
    assert read(seed=7) == read(seed=7)
    draws = [read(seed=seed).variables for seed in range(40)]
    assert len({tuple(draw.items()) for draw in draws}) > 35
    assert {draw["way"] for draw in draws} == {"left", "right"}


def test_values_are_in_every_text_as_it_needs_them() -> None:
    for seed in range(20):
        drill = read(seed=seed)
        values = drill.variables
        outbound, inbound = int(values["outbound"]), int(values["inbound"])
        assert (outbound - inbound) % 360 == 180
        (step,) = drill.steps
        assert step.cue is not None
        assert step.flow is not None
        assert step.cue.say == (
            f"Outbound {{course: {outbound:03d}}}, {{speed: {values['knots']}}} knots, "
            f"{{distance: {values['nm']}}} miles, to the {values['way']}."
        )
        reciprocal, timed, turn = step.flow.calls
        assert reciprocal.say == f"inbound [course] {{course: {inbound:03d}}}"
        a_minute = int(values["knots"]) // 10
        assert reciprocal.because == f"{outbound:03d} and 180: {inbound:03d}. {a_minute} a minute, 2,600."
        expected = int(3600 * float(values["nm"]) / int(values["knots"]) + 0.5)
        assert drill.pattern(timed).expected == {"duration": f"{expected // 60}:{expected % 60:02d}"}
        assert drill.pattern(turn).expected["left/right"] == values["way"]
        assert "{" not in drill.spoken(step.cue)


def test_a_resolved_drill_is_a_drill_by_itself() -> None:
    """What the journal keeps needs no file, no seed and no draw."""
    drill = read(seed=3)
    assert Drill.model_validate(drill.model_dump(mode="json")) == drill


def test_a_flown_drill_can_draw_where_it_begins_and_what_it_waits_for() -> None:
    text = DRAWN.replace("    when: start\n", '    when: "passing {altitude: =knots * 10}"\n').replace(
        "steps:\n",
        "station: {ident: KLD, name: Kelda, frequency: 114.3}\n"
        "aeroplane: {distance_nm: =nm / 2, radial_degrees: =inbound, heading_degrees: =outbound, "
        "course_degrees: =outbound, altitude_feet: 3000, airspeed_knots: 150}\nsteps:\n",
    )
    text = re.sub(r"aeroplane: \{(.*)\}", lambda m: "aeroplane:\n  " + m[1].replace(", ", "\n  "), text)
    drill = read(
        text.replace("=nm / 2", '"{=nm / 2}"')
        .replace(": =inbound\n", ": '{=inbound}'\n")
        .replace("degrees: =outbound", "degrees: '{=outbound}'")
    )
    assert drill.aeroplane is not None
    assert drill.aeroplane.heading_degrees == int(drill.variables["outbound"])
    assert drill.aeroplane.distance_nm == float(drill.variables["nm"]) / 2
    assert drill.steps[0].when == f"passing {int(drill.variables['knots']) * 10}"


def test_small_ranges_are_tried_whole_and_large_ones_by_a_sample() -> None:
    _, drawing = drill_and_drawing(DRAWN.encode(), "drawn.yaml")
    assert drawing.is_exhaustive
    assert {tried.of for tried in drawing.tried} >= {360, 93, 3, 2, 1}
    large = DRAWN.replace("step: 0.1", "step: 0.001").replace(
        "{distance: =nm}", "{distance: =round(nm, 0.1)}"
    )
    _, drawing = drill_and_drawing(
        large.replace("nm, knots", "nm + outbound / 360, knots").encode(), "drawn.yaml"
    )
    assert not drawing.is_exhaustive


COURSE = "{from: 1, to: 360}"
WAYS = "{choices: [left, right]}"


@pytest.mark.parametrize(
    ("old", "new", "here", "line"),
    [
        (
            *("wrap(outbound + 45)", "outbound + 45", "outbound + 45"),
            "'361' is no heading with outbound = 316 (tried: all 360 draws); use wrap(...): write three digits, "
            "001 to 360",
        ),
        (
            *("=round(seconds(nm, knots))", "=seconds(nm, knots)", "seconds(nm"),
            "111.6 is no whole number with knots = 100, nm = 3.1 (tried: all 93 draws); round it: round(...)",
        ),
        (
            *("speed: =knots}", "speed: =knots - 70}", "knots - 70"),
            "'20' is no speed with knots = 90 (tried: all 3 draws); write knots, 30 to 600, as in 150",
        ),
        (
            *("choices: [90, 100, 120]", "choices: [90, 0]", "knots} knots"),
            "'0' is no speed with knots = 0 (tried: all 2 draws); write knots, 30 to 600, as in 150",
        ),
        (
            *("{=way}.", "{=outbound}.", "outbound}."),
            "1 is no word with outbound = 1 (tried: all 360 draws); give numbers a type, as in {heading: =course}",
        ),
        (
            *("{=knots / 10}", "{=knots / 7}", "knots / 7"),
            "12.85714286 has more than 3 decimals with knots = 90 (tried: all 3 draws); round it: round(..., 0.001)",
        ),
        (
            *("{course: =inbound}. {", "{course: =inbuond}. {", "inbuond"),
            "there is no variable 'inbuond' here; did you mean inbound or outbound?",
        ),
        (
            *("{heading: =wrap", "{headign: =wrap", "headign"),
            "there is no slot type 'headign'; did you mean heading or bearing?",
        ),
        ("(outbound + 45)", "(outbound + )", ")}", "a value is missing before ')'; write it"),
        (
            *("=reciprocal(outbound)", "=reciprocal(knots)", "knots)"),
            "'knots' is declared only below; declare it before this one",
        ),
        (
            *("=reciprocal(outbound)", "=reciprocal(x)", "x)"),
            "'x' is no variable; declare it before this one",
        ),
        (
            *("=reciprocal(outbound)", "reciprocal", "reciprocal"),
            "'inbound' is neither drawn nor computed; write {from: 1, to: 360}, {choices: [...]} or "
            "=reciprocal(course)",
        ),
        (
            *("=reciprocal(outbound)", "=1 / (outbound - 7)", "/ (outbound"),
            "this divides by zero with outbound = 7 (tried: all 360 draws); check the values below the '/'",
        ),
        (COURSE, "{from: 1, til: 360}", "til", "unknown key 'til'; use choices, from, step or to"),
        (
            *(COURSE, "{from: 1}", "{from"),
            "'outbound' has neither a range nor choices; write 'from' and 'to', or 'choices'",
        ),
        (
            *(COURSE, "{from: 9, to: 3}", "{from"),
            "'outbound' begins above its end; write the smaller number after 'from'",
        ),
        (
            *(COURSE, "{from: 1, to: 360, step: 7}", "{from"),
            "'outbound' never comes to 360 in steps of 7; change 'to' or 'step'",
        ),
        (
            *(COURSE, "{from: 1, to: 360, step: 0}", "0}"),
            "'step' must be more than 0, not 0; change the number",
        ),
        (
            *(COURSE, "{from: 1, to: 001}", "001"),
            "'to' must be a number, not '001'; write one such as 8 or 2.5, without a unit",
        ),
        (
            *(COURSE, "{from: 1, to: 360, step: 0.001}", "{from"),
            "'outbound' has more than 100,000 values; use a larger 'step'",
        ),
        (WAYS, "{choices: []}", "[]", "'choices' must have at least 1 item; add one"),
        (
            *(WAYS, "{choices: [left, '{']}", "'{'"),
            "item 2 of 'choices' must be a number or a short text without brackets; write one such as 110, left or "
            "'22 in'",
        ),
        (WAYS, "{choices: [left], to: 2}", "{choices", "'way' has choices and a range; keep one of the two"),
        (
            *("  way: {", "  Way: {", "Way"),
            "'Way' can't be the name of a variable; use another: small letters, digits and underscores, a letter "
            "first",
        ),
    ],
)
def test_what_is_wrong_is_said_with_its_place(old: str, new: str, here: str, line: str) -> None:
    first = complaints(old, new)[0]
    row, column, said = first.split(":", maxsplit=2)
    assert said.strip() == line
    assert DRAWN.replace(old, new).split("\n")[int(row) - 1][int(column) - 1 :].startswith(here)


def test_other_mistakes_are_still_found_where_the_author_made_them() -> None:
    assert complaints("turn {=way} [heading]", "turn {=way} [heading") == [
        "26:29: '[' is not closed; ']' is missing"
    ]
    (line,) = complaints("Outbound {course: =outbound}, {speed", "Outbound {course: =outbound}, 7 {speed")
    assert line.startswith("16:43: the figure '7' would be misread aloud")


def test_a_file_that_computes_much_is_tried_in_bearable_time() -> None:
    many = "".join(f"  v{n}: {{from: 0, to: 99999}}\n" for n in range(20))
    many += "".join(f"  c{n}: =round(({'+'.join(f'v{m}' for m in range(20))}) / 7, 0.1)\n" for n in range(25))
    call = "        - call: c{n}\n          say: 'yes'\n          because: '{{={sum}}}'\n"
    calls = "".join(call.format(n=n, sum="+".join(f"c{m}" for m in range(25))) for n in range(30))
    text = DRAWN.replace("variables:\n", f"variables:\n{many}")
    text = text.replace("      calls:\n", f"      calls:\n{calls}")
    began = time.process_time()
    _, drawing = drill_and_drawing(text.encode(), "drawn.yaml")
    assert time.process_time() - began < 10
    assert not drawing.is_exhaustive


def test_a_file_can_t_compute_without_end() -> None:
    formulas = [f"{{={n}}}" for n in range(2600)]
    texts = ["".join(formulas[n * 200 : n * 200 + 200]) for n in range(13)]
    call = "        - call: c{n}\n          say: 'yes'\n          because: '{text}'\n"
    calls = "".join(call.format(n=n, text=text) for n, text in enumerate(texts))
    began = time.process_time()
    (line,) = complaints("      calls:\n", f"      calls:\n{calls}")
    assert line.endswith("more than 2,000 computed values; split it into several drills")
    assert time.process_time() - began < 10


def test_a_draw_that_no_sample_had_shown_is_refused_when_it_is_drawn() -> None:
    """One of 30,000 draws divides by zero: a sample need not meet it, the seed that draws it must."""
    text = DRAWN.replace("{from: 1, to: 360}", "{from: 1, to: 30000}").replace(
        "{course: =outbound}", "{=way}"
    )
    text = text.replace("=reciprocal(outbound)", "=reciprocal(0 / (outbound - 0.5))")
    shown = []
    for seed in range(5):
        drawn = read(text, seed=seed).variables["outbound"]
        with pytest.raises(DrillError) as caught:
            read(text.replace("outbound - 0.5", f"outbound - {drawn}"), seed=seed)
        shown.append(str(caught.value))
    assert all(re.match(r"drawn.yaml:7:\d+: this divides by zero with ", each) for each in shown)
    assert any(re.search(r"with seed \d, which no draw that was tried had shown", each) for each in shown)
