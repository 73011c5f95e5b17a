"""A controller amends an altitude on the way: it is read back with the altimeter setting, and flown, and graded."""

from __future__ import annotations

from dataclasses import replace

import pytest

from voice_trainer.drills.model import Drill
from voice_trainer.flight.wind import Wind
from voice_trainer.grading.flight import deviations_of
from voice_trainer.journal.events import CueStarted, Settings, Settled
from voice_trainer.library.errors import DrillError
from voice_trainer.library.flown import Wanted, builtin_procedures, flown_drill, today_for
from voice_trainer.library.procedure_files import load_procedure, read_procedure
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.procedures.approach import Approach
from voice_trainer.procedures.card import card_of
from voice_trainer.session.performance import perform
from voice_trainer.session.rehearsal import Records, rehearse

STEP = "amended altitude"
PROCEDURES = {name: load_procedure(path) for name, path in builtin_procedures().items()}
APPROACHES = {name: each for name, each in PROCEDURES.items() if isinstance(each, Approach)}

ONE_OF_A_KIND = {each.course_reversal.kind: name for name, each in APPROACHES.items()}.values()
"""An approach of every kind of course reversal."""


def amended(name: str, wanted: Wanted | None = None) -> Drill:
    return flown_drill(APPROACHES[name], name, replace(wanted or Wanted(), amended=True))


def flown_saying(drill: Drill, call: str, words: str | None) -> Records:
    """The flight in which one item of the readback is other words, or is left out."""
    whole = perform(drill)
    lines = tuple(
        replace(line, text=words or "") if line.call == call else line
        for line in whole.lines[STEP]
        if line.call != call or words is not None
    )
    performance = replace(whole, lines=whole.lines | {STEP: lines})
    return rehearse(drill, performance, Settings(mode="fly through"))


@pytest.mark.slow
@pytest.mark.parametrize(
    "name",
    [name if name in ONE_OF_A_KIND else pytest.param(name, marks=pytest.mark.long) for name in APPROACHES],
)
def test_who_reads_back_and_flies_the_charted_altitude_is_too_low(name: str) -> None:
    drill, charted = amended(name), APPROACHES[name].course_reversal.altitude_feet
    flow = drill.step_named(STEP).flow
    assert flow is not None
    pattern = drill.pattern(next(call for call in flow.calls if call.call == "altitude"))
    words = said_aloud(pattern.with_values({"altitude": str(charted)}).spoken())
    records = flown_saying(drill, "altitude", words)
    verdict = next(r for r in records if isinstance(r, Settled) and (r.step, r.call) == (STEP, "altitude"))
    assert verdict.verdict == "wrong value"
    low = [each for each in deviations_of(drill, records) if each.kind == "too low"]
    assert STEP in {each.segment for each in low}, [each.said for each in low]


def test_an_altimeter_that_is_left_out_of_the_readback_is_asked_for() -> None:
    """What is read back: AIM 4-4-7b; the altimeter setting: ICAO Doc 4444 4.5.7.5.1 c."""
    records = flown_saying(amended("kelda-vor-15"), "altimeter", None)
    assert any("say the altimeter" in r.text for r in records if isinstance(r, CueStarted))


@pytest.mark.parametrize("name", APPROACHES)
def test_the_seed_draws_it_and_nothing_else_changes_with_it(name: str) -> None:
    approach = APPROACHES[name]
    days = [today_for(approach, Wanted(), seed) for seed in range(9)]
    assert days[0].amendment is None
    assert {day.amendment is None for day in days[1:]} == {True, False}
    for seed, day in enumerate(days):
        asked, refused = (today_for(approach, Wanted(amended=each), seed) for each in (True, False))
        assert (asked.wind, asked.runway_in_sight) == (day.wind, day.runway_in_sight)
        assert replace(asked, amendment=None) == refused
        assert day.amendment in (None, asked.amendment)
        assert asked.amendment is not None
        charted = approach.course_reversal.altitude_feet
        assert charted + 200 <= asked.amendment.altitude_feet <= approach.start.altitude_feet


def test_the_card_has_it_and_what_follows_begins_at_the_amended_altitude() -> None:
    drill = amended("kelda-vor-15", Wanted(wind=Wind(240, 18)))
    card = card_of(drill)
    ((step, call), *_) = card.explained(f"{STEP}, altitude")
    assert call.because.startswith("3,000 holds until established, in place of 2,600")
    assert step.cue.startswith(
        "Heron 24, amend altitude, maintain 3,000 until established inbound, Brannock altimeter 29."
    )
    ((_, down),) = card.explained("established inbound, transition")
    assert down.because == "3,000 holds until established inbound; then 1,900 to the fix."
    assert (STEP, "not below 3,000") in card.facts


def test_where_icao_rules_hold_the_setting_is_a_qnh() -> None:
    text = builtin_procedures()["kelda-vor-15"].read_text(encoding="utf-8") + "region: icao\n"
    drill = flown_drill(read_procedure(text.encode(), "a.yaml"), "a.yaml", Wanted(amended=True))
    ((_, call),) = card_of(drill).explained(f"{STEP}, qnh")
    # 29.60 to 30.20 inches of mercury: 1002 to 1023 hectopascals (33.8639 each, NIST SP 811; from memory).
    assert call.said.startswith("brannock qnh ")
    assert 1002 <= int(call.said.split()[-1]) <= 1023


@pytest.mark.parametrize(
    ("name", "old", "new"),
    [
        ("kelda-vor-15", "altitude_feet: 3000}\nwind", "altitude_feet: 2700}\nwind"),
        ("kelda-vor-15", "  limit_nm: 10\n", "  limit_nm: 10\n  outbound_seconds: 40\n"),
        ("hold-kelda-left", "KLD", "KLD"),
    ],
)
def test_where_there_is_no_room_for_one_that_is_asked_for_is_refused_and_none_is_drawn(
    name: str, old: str, new: str
) -> None:
    text = builtin_procedures()[name].read_text(encoding="utf-8")
    assert old in text
    procedure = read_procedure(text.replace(old, new).encode(), "a.yaml")
    with pytest.raises(DrillError, match="fly it without"):
        flown_drill(procedure, "a.yaml", Wanted(amended=True))
    assert all(today_for(procedure, Wanted(), seed).amendment is None for seed in range(1, 9))
