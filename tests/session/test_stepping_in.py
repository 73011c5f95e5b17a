"""Said wrong, the wrong thing is flown; where that leaves a limit the instructor may step in."""

from __future__ import annotations

from dataclasses import replace

import pytest

from voice_trainer.grading.flight import deviations_of
from voice_trainer.journal.events import Commanded, CueStarted, Flown, Position, Settings, Settled
from voice_trainer.library.builtin import find_flown
from voice_trainer.session.performance import perform
from voice_trainer.session.rehearsal import Records, rehearse

DRILL = find_flown("kelda-vor-15")
STEP = "crossing outbound"


def descended_too_low(settings: Settings) -> Records:
    whole = perform(DRILL)
    lines = tuple(
        replace(line, text="descend and maintain one thousand six hundred")
        if line.call == "transition"
        else line
        for line in whole.lines[STEP]
    )
    return rehearse(DRILL, replace(whole, lines=whole.lines | {STEP: lines}), settings)


@pytest.mark.parametrize("steps_in", [False, True])
def test_a_wrong_altitude_is_flown_until_the_instructor_takes_it(steps_in: bool) -> None:
    records = descended_too_low(Settings(mode="fly through", steps_in=steps_in))
    verdict = next(r for r in records if isinstance(r, Settled) and (r.step, r.call) == (STEP, "transition"))
    assert verdict.verdict == "wrong value"
    left = next(r for r in records if isinstance(r, Flown) and r.name == "below lowest")
    lowest = min(
        r.altitude_feet for r in records if isinstance(r, Position) and r.at_seconds < left.at_seconds + 90
    )
    taken = [r for r in records if isinstance(r, Commanded) and r.by == "instructor"]
    told = [r for r in records if isinstance(r, CueStarted) and r.text.startswith("My aeroplane.")]
    if steps_in:
        assert [(r.verb, r.slots) for r in taken] == [("altitude", {"altitude": "2600"})]
        assert "two thousand six hundred" in told[0].text
        assert lowest > 2300
    else:
        assert not taken
        assert not told
        assert lowest < 1700
        assert any(each.kind == "too low" for each in deviations_of(DRILL, records))
