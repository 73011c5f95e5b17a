"""Every built-in drill is set in the one invented country of `world.yaml`, and says how hard it is."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import yaml

from voice_trainer.drills.model import Drill
from voice_trainer.library import builtin
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.phraseology.slots import slot_type

WORLD: dict[str, Any] = yaml.safe_load(
    (Path(builtin.__file__).parent / "world.yaml").read_text(encoding="utf-8")
)
FIELDS = WORLD["fields"]
NAVAIDS = WORLD["navaids"]
FACILITIES = (
    {(name, facility, value) for name, of in FIELDS.items() for facility, value in of["frequencies"].items()}
    | {(of["name"], "v o r", of["frequency"]) for of in NAVAIDS.values()}
    | {(WORLD["center"]["name"], "center", WORLD["center"]["frequency"])}
)


def texts(drill: Drill) -> str:
    cues = [step.cue.say for step in drill.steps if step.cue]
    calls = [call.say for step in drill.steps if step.flow for call in step.flow.calls]
    return "\n".join([*cues, *calls])


def values(drill: Drill, kind: str) -> set[str]:
    return {
        slot_type(kind).canonical(value) for value in re.findall(rf"\{{{kind}: ([^}}]+)\}}", texts(drill))
    }


@pytest.mark.parametrize("name", builtin_drills())
def test_a_drill_has_no_place_navaid_frequency_or_callsign_but_those_of_the_world(name: str) -> None:
    drill = find_drill(name)
    frequencies = {value for _, _, value in FACILITIES} | {WORLD["emergency_frequency"]}
    assert values(drill, "frequency") <= {slot_type("frequency").canonical(value) for value in frequencies}
    runways = {each for of in FIELDS.values() for each in of["runways"]}
    assert values(drill, "runway") <= {slot_type("runway").canonical(each) for each in runways}
    assert values(drill, "callsign") | ({drill.callsign} - {None}) <= set(WORLD["aircraft"])
    assert set(drill.fixes) <= set(WORLD["fixes"])
    for word, sounds in drill.pronounce.items():
        assert WORLD["pronounce"].get(word, sounds) == sounds
    if drill.station:
        navaid = NAVAIDS[drill.station.ident]
        assert (drill.station.name, drill.station.frequency) == (navaid["name"], navaid["frequency"])
    words = set(re.findall(r"[a-z]+", texts(drill).lower()))
    made_up = set(WORLD["pronounce"]) & words
    assert made_up <= set(drill.pronounce), "says a made-up name without saying how it sounds"


@pytest.mark.parametrize("name", builtin_drills())
def test_a_frequency_is_that_of_the_facility_that_is_named_with_it(name: str) -> None:
    text = re.sub(r"\[|\]", "", texts(find_drill(name)))
    facility = r"(ground|tower|approach|center|v o r)"
    for place, what, value in re.findall(
        rf"(?i)\b([a-z]+) {facility}(?: is| on)? \{{frequency: ([^}}]+)\}}", text
    ):
        if place.title() in FIELDS or place.title() in {"Tarlen", "Kelda"}:
            assert (place.title(), what.lower(), value) in FACILITIES


@pytest.mark.parametrize("name", builtin_drills())
def test_a_drill_says_what_it_trains_how_hard_and_how_long_it_is_and_where_its_rules_are_from(
    name: str,
) -> None:
    drill = find_drill(name)
    assert drill.trains
    assert drill.difficulty
    assert drill.minutes
    assert drill.sources
    assert "minutes:" in builtin_drills()[name].read_text(encoding="utf-8")


def test_the_library_has_every_kind_at_the_first_and_a_later_stage() -> None:
    drills = [find_drill(name) for name in builtin_drills()]
    assert {drill.difficulty for drill in drills} == {"first", "second", "third"}
    assert len(drills) >= 40
    assert len({drill.title for drill in drills}) == len(drills)
