"""A student at the desk flies the VOR approach to Brannock runway 15, hands-free, from the first run on.

The approach is the one that the program derives from its chart for this wind, with the hold, as anybody flies it. The
student reacts to what it hears; the recogniser, the voices and the menu are the program's own, the time is virtual.
Each numbered part asserts what one line of the story must lead to. On demand the student pauses once inside all that
they say, for up to two seconds, where the story does not say otherwise. Where the derived approach differs from the
story: self-talk is another voice's, since the first one's may be asked for again (3); five calls over the fix, since
the second 'time' is the clock once the wings are level, and they may be heard in parts (5); it asks for no heading
bug, so that the truck passes over 'set course' (9); the controller amends on the outbound leg, before the procedure
turn (10); that there is no runway is wanted of the day, not left to its draw (17).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.html_outline import Outline
from tests.session.story_run import Session, Told, tell
from tests.story_student import Line, thinking, turn
from voice_trainer.archive.consent_file import read_consent
from voice_trainer.archive.first_run_file import settled_questions
from voice_trainer.debrief.wording import SIGNS, earned
from voice_trainer.drills.model import Drill, House
from voice_trainer.flight.wind import Wind
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    Accepted,
    AskAgain,
    AskFor,
    AskForRest,
    Commanded,
    CueStarted,
    Disputed,
    Ended,
    Extra,
    Flown,
    Heard,
    Jumped,
    Paused,
    Resumed,
    Settings,
    Settled,
    StepBegan,
)
from voice_trainer.journal.utterances import said_for
from voice_trainer.library.builtin import find_drill
from voice_trainer.library.flown import Wanted
from voice_trainer.library.house_files import spoken_in
from voice_trainer.session.first_run import QUESTIONS
from voice_trainer.session.kept_sound import sound_of

WANTED = Wanted(wind=Wind(240, 18), runway_in_sight=False, amended=True)
DRAWN = 54
"""The seed that amends to 2,900 feet, altimeter 29.84."""
HOUSE = House(house="heron", without_callsign="remark")
SEED = 1

READILY = ("let me see, so", "say heading", "correction, turn left two eight eight")
"""Self-talk, no call, with pauses of its own; and what has to be said before the turn is over."""

TURNS = (
    turn("keep none, keep disputed", "keep disputed"),
    turn("Keep disputed. Is that right?", "yes"),
    turn("radio check", "radio check one two three"),
    turn("Say: fly", "trainer, fly kelda one five"),
    turn(
        "Set up and brief.",
        Line("altimeter two niner niner two", 1.5),
        Line("tune kelda one one four point three", 1.5),
        Line("let me see, so", 2.0, voice="gmw/en-gb-x-rp"),
        Line("final course one five three", 1.5),
        Line("procedure turn two thousand six hundred", 1.5),
        Line("minimums eight two zero", 1.5),
        Line("time two plus thirty four", 1.5),
        Line("missed approach three thousand", 1.5),
        Line("right turn direct kelda and hold", 1.5),
    ),
    turn("Anything else?", Line("trainer, next event", 13.0), Line("slowing one five zero", 1.0)),
    turn(
        "Flag flips",
        Line(
            "time not required | turn right three two six | descend two thousand six hundred"
            " | set course three three three | heron two four kelda outbound",
            voice="gmw/en-gb-x-rp",
            words_per_minute=140,
        ),
    ),
    turn("Wings level", Line("start the clock", 9.5), Line("intercept course three three three", 1.5)),
    turn(
        "altimeter two niner eight four", "maintain two thousand niner hundred", Line("heron two four", 1.0)
    ),
    turn("say the altimeter", "altimeter two niner eight four", Line("trainer, next event", 3.0)),
    turn("One minute.", "turn left two niner eight", Line("say heading", 3.0)),
    turn(
        "Heading",
        "correction, turn left two eight eight",
        Line("set course one five three", 2.0, noise="truck", noise_db=3.0),
    ),
    turn("Say again", Line("set course one five three", 1.1)),
    turn("Wings level", "start the clock", Line("trainer, next event", 3.0)),
    turn(
        "One minute.",
        "turn right one zero eight",
        Line("intercept course one five three", 1.5),
        Line("trainer, freeze", 2.0),
        Line("", 2.0, noise="bell"),
        Line("trainer, continue", 20.0),
        Line("descend one thousand niner hundred", 20.0),
        Line("trainer, next event", 3.0),
    ),
    turn("Needle is coming in", "heron two four procedure turn inbound", Line("trainer, next event", 3.0)),
    turn(
        "Level, one thousand niner hundred",
        "slowing one one zero",
        Line("flaps approach", 1.5),
        Line("gear down three green", 1.5, noise="truck", noise_db=16.0),
        Line("before landing checklist complete", 1.5),
        Line("trainer, next event", 12.0),
    ),
    turn(
        "Flag flips. From",
        "start the clock",
        Line("turn not required", 1.2),
        Line("descending to eight hundred twenty", 1.2),
        Line("course one five three set", 1.2),
        Line("final approach fix gear down", 1.2),
        Line("", 3.0, unplugs=True),
        Line("trainer, next event", 15.0),
    ),
    turn("niner two zero", "one hundred above"),
    turn("eight two zero.", "minimums no runway", Line("trainer, next event", 3.0)),
    turn(
        "Two minutes thirty four",
        Line("missed approach going around", 7.5),
        Line("maximum power", 1.2),
        Line("climb three thousand", 1.2),
        Line("positive rate gear up", 1.2),
        Line("flaps up", 1.2),
        Line("heron two four missed approach", 1.2),
        Line("trainer, next event", 3.0),
    ),
    turn("Level, three thousand", "turn right direct kelda"),
    turn("Kelda ahead", "teardrop entry", Line("trainer, next event", 3.0)),
    turn(
        "Flag flips. From",
        "time not required",
        Line("turn left two niner five", 1.2),
        Line("set course one five three", 1.2),
    ),
    turn("Wings level", "start the clock", Line("trainer, next event", 3.0)),
    turn(
        "One minute.",
        "turn right one five three",
        Line("intercept course one five three", 1.5),
        Line("trainer, next event", 3.0),
    ),
    turn("Needle is coming in", "established inbound"),
    turn("clock: late", Line("I said gear down", 1.5)),
    turn("Disputed", Line("again from the fix", 1.5)),
    turn("Flag flips. From", "start the clock", Line("trainer, end", 2.0)),
    turn("Say: fly", "trainer, end"),
)


def drill_of_the_day() -> Drill:
    """The approach as the program derives it from its chart for this wind."""
    return spoken_in(HOUSE, find_drill("kelda-vor-15", DRAWN, WANTED))


def told_at_the_desk(folder: Path, thoughts: int | None = None) -> Told:
    """The story as it is told with these pauses for thought, a seed, or readily."""
    settings = Settings(input="mic", listening="headset", mode="fly through", seed=SEED)
    turns = TURNS if thoughts is None else thinking(TURNS, thoughts, readily=READILY)
    return tell(turns, [drill_of_the_day()], folder, questions=QUESTIONS, settings=settings)


@pytest.mark.slow
@pytest.mark.parametrize(
    "thoughts", [None, *(pytest.param(each, marks=pytest.mark.long) for each in (1, 2, 3))]
)
def test_at_the_desk(thoughts: int | None, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    told = told_at_the_desk(tmp_path, thoughts)
    heard = told.heard
    flight = Session(told, 0)

    # 1: cautions once, consent asked once with 'none' for who skips it, a level check.
    assert sum("Never while you drive or fly" in line for line in heard) == 1
    assert sum("This is a study aid" in line for line in heard) == 1
    assert sum("May I keep sound" in line and "skip, and I keep none" in line for line in heard) == 1
    assert sum("Say: radio check, one two three" in line for line in heard) == 1
    assert "I hear you well." in heard
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "disputed"
    assert settled_questions(tmp_path / "first-run.json") == {question.name for question in QUESTIONS}

    # 2: started by voice alone; told where the aeroplane is, its speed, altitude and clearance.
    assert flight.journal.header.drill["drill"] == "kelda-vor-15"
    start = flight.all(CueStarted)[0]
    for part in ("niner miles from Kelda", "one eight zero knots", "three thousand", "Cleared for"):
        assert part in start.text

    # 3: in the student's own order, self-talk free, 'anything else?', what was forgotten is missed.
    brief = {call: v.verdict for (step, call), v in flight.verdicts.items() if step == "set-up and brief"}
    assert brief.pop("alert") == "missed"
    assert set(brief.values()) == {"correct"}
    assert [a.text for a in flight.all(AskForRest)] == ["Anything else?"]
    first = flight.accepted("set-up and brief", "frequency")[0].at_seconds
    second = flight.accepted("set-up and brief", "final course")[0].at_seconds
    between = flight.between(first + 0.01, second - 0.01)
    assert {r.said for r in between if isinstance(r, Extra)} == {""}
    assert not any(isinstance(r, AskAgain) for r in between)

    # 4: slowed down before being told: the window was open before the event.
    (slowed,) = flight.accepted("close to the fix", "speed")
    assert flight.flown("distance 4.0 KLD") < slowed.onset_seconds < flight.flown("distance 2.0 KLD")
    assert flight.verdict("close to the fix", "speed") == "correct"

    # 5: all calls in one breath, in order; several of them from one hearing.
    all_of_it = [a for a in flight.all(Accepted) if a.step == "crossing outbound"]
    assert [a.call for a in all_of_it] == ["time", "turn", "transition", "twist", "talk"]
    assert {flight.verdict("crossing outbound", a.call) for a in all_of_it} == {"correct"}
    assert len({a.at_seconds for a in all_of_it}) < len(all_of_it)
    meanwhile = flight.between(all_of_it[0].onset_seconds, all_of_it[-1].at_seconds)
    assert not any(isinstance(r, CueStarted) for r in meanwhile)

    # 6 and 7: the aeroplane flies the wrong heading; in fly-through nobody says so. The panel answers, and the
    # correction counts.
    wrong, right = flight.accepted("procedure turn", "turn")
    assert (wrong.slots["heading"], right.slots["heading"], right.corrects) == ("298", "288", True)
    turns = [c.slots["heading"] for c in flight.all(Commanded) if c.verb == "turn"]
    assert turns[turns.index("298") + 1] == "288"
    asked = flight.cue("Heading")
    assert wrong.at_seconds < asked.at_seconds < right.at_seconds
    assert 298 < flight.position(asked.at_seconds).heading_degrees < 327
    assert not any("it is two eight eight" in line for line in heard)
    turned = flight.verdicts["procedure turn", "turn"]
    assert (turned.verdict, turned.corrected) == ("correct", True)
    assert turned.reason.startswith("Corrected, and right")

    # 8: the clock starts late, and the leg is as much longer.
    assert flight.verdict("outbound", "clock") == "late"
    (clock,) = flight.accepted("outbound", "clock")
    wings_level = flight.flown("wings level")
    minute = flight.flown("clock 1:00")
    left_out = flight.left_out(clock.at_seconds, minute)
    assert minute - clock.at_seconds + left_out == pytest.approx(60.0, abs=0.2)
    assert minute - wings_level + left_out > 65.0

    # The aeroplane, which has something to say while the student speaks, waits until that was heard.
    cues = {c.cue: c.at_seconds for c in flight.all(CueStarted)}
    for due in flight.all(StepBegan):
        for spoken in flight.all(Heard):
            if spoken.hearing.start_seconds < due.at_seconds < spoken.at_seconds and due.step in cues:
                assert cues[due.step] >= spoken.at_seconds

    # 9: a truck passes: asked for again once, and graded from the first onset.
    (bug,) = flight.accepted("procedure turn", "twist")
    again = [a for a in flight.all(AskAgain) if right.at_seconds < a.at_seconds < bug.at_seconds]
    assert [a.step for a in again] == ["procedure turn"]
    (unclear,) = [h.hearing for h in flight.all(Heard) if h.at_seconds == again[0].at_seconds]
    assert unclear.clarity == "unclear"
    assert bug.onset_seconds < unclear.end_seconds
    assert flight.verdict("procedure turn", "twist") == "correct"

    # 10: an amended altitude; the altimeter is asked for; what follows is graded against 2,900.
    assert [(a.step, a.call) for a in flight.all(AskFor)] == [("amended altitude", "altimeter")]
    assert flight.cue("say the altimeter").speaker == "controller"
    readback = {call: v.verdict for (step, call), v in flight.verdicts.items() if step == "amended altitude"}
    assert readback == {"altitude": "correct", "altimeter": "incomplete", "callsign": "correct"}
    assert flight.accepted("amended altitude", "altimeter")[0].slots == {"altimeter": "29.84"}
    (descended,) = flight.accepted("established inbound", "transition")
    assert flight.position(descended.at_seconds).altitude_feet == pytest.approx(2900, abs=20)
    assert flight.verdict("established inbound", "talk") == "correct"

    # 11: the doorbell: everything stands still, and nothing is missed.
    frozen = next(p for p in flight.all(Paused) if p.reason == "asked by the student")
    going_on = next(r.at_seconds for r in flight.all(Resumed) if r.at_seconds > frozen.at_seconds)
    assert going_on - frozen.at_seconds > 20
    meanwhile = flight.between(frozen.at_seconds, going_on)
    assert not any(isinstance(r, Settled | Flown | Accepted) for r in meanwhile)
    before, after = flight.position(frozen.at_seconds), flight.position(going_on)
    assert abs(after.east_nm - before.east_nm) + abs(after.north_nm - before.north_nm) < 0.15

    # 12: descent before the needle is within limits: early, and below the amended altitude until they are.
    established = flight.flown("established 153")
    assert descended.onset_seconds < established
    assert flight.verdict("established inbound", "transition") == "early"
    (low,) = flight.debrief.deviations
    assert (low.kind, low.segment, low.limit, low.critical) == ("too low", "amended altitude", 2900, False)
    assert descended.at_seconds < low.at_seconds < established
    assert low.by == pytest.approx(2900 - flight.position(established).altitude_feet, abs=40)

    # 13: the jump ends just before the event, and the clock reads what it would have.
    leg = flight.accepted("procedure turn leg", "clock")[0].at_seconds
    reading = flight.flown("clock 1:00", after=leg)
    assert flight.left_out(leg, reading) > 20
    assert reading - leg + flight.left_out(leg, reading) == pytest.approx(60.0, abs=0.2)
    jump = max(j.at_seconds for j in flight.all(Jumped) if j.at_seconds < reading)
    assert reading - jump == pytest.approx(3.0, abs=0.2)

    # 14: no callsign: a remark in this house, and `incomplete` in one that says so.
    report = flight.verdicts["final approach fix", "talk"]
    assert (report.verdict, len(report.remarks)) == ("correct", 1)
    assert "callsign" in report.remarks[0]
    strict = Drill.model_validate(flight.journal.header.drill | {"without_callsign": "incomplete"})
    decided = replay(strict, flight.journal.header.settings, flight.records)
    talk = [
        d for d in decided if isinstance(d, Settled) and (d.step, d.call) == ("final approach fix", "talk")
    ]
    assert talk[-1].verdict == "incomplete"
    (restart,) = flight.accepted("final approach fix", "time")
    missed_approach_point = flight.flown("clock 2:34", after=restart.at_seconds)
    assert missed_approach_point - restart.at_seconds + flight.left_out(
        restart.at_seconds, missed_approach_point
    ) == pytest.approx(154.0, abs=0.2)

    # 15: 'eight two zero' in the brief, 'eight hundred twenty' at the fix: the same value, both right.
    (briefed,) = flight.accepted("set-up and brief", "minimums")
    (told_to,) = flight.accepted("final approach fix", "transition")
    assert "eight two zero" in briefed.said
    assert "eight hundred twenty" in told_to.said
    assert briefed.slots["minimums"] == told_to.slots["minimums"] == "820"
    assert flight.verdict("final approach fix", "transition") == "correct"

    # 16: the headset drops out: a pause, the trainer says so, nothing is missed.
    lost = next(p for p in flight.all(Paused) if p.reason == "device lost")
    assert told.room.unplugged == 1
    assert any(r.at_seconds >= lost.at_seconds for r in flight.all(Resumed))
    assert "The audio device is back. Going on." in heard

    # 17: down to the minimums, nothing in sight as the seed drew it; late at the missed approach point, then right.
    assert flight.cue("eight two zero.").text.endswith("No runway.")
    assert flight.verdict("above minimums", "approaching minimums") == "correct"
    assert flight.verdict("minimums", "minimums") == "correct"
    missed = {
        call: v.verdict for (step, call), v in flight.verdicts.items() if step == "missed approach point"
    }
    assert missed.pop("missed approach") == "late"
    assert set(missed.values()) == {"correct"}
    hold = {step for step, _ in flight.verdicts if step.startswith("missed hold")}
    assert len(hold) == 5
    back = {v.verdict for (step, _), v in flight.verdicts.items() if step in {"turn to the fix", *hold}}
    assert back == {"correct"}
    entered = flight.flown("passage KLD", after=missed_approach_point)
    assert flight.position(entered).altitude_feet == pytest.approx(3000, abs=20)
    # Outbound 303, 30 degrees into the holding side (AIM 5-3-8); the wind: sin 63 x 18 / 110 knots is 8 degrees.
    assert flight.accepted("missed hold over the fix", "turn")[0].slots["heading"] == "295"
    assert [e.reason for e in flight.all(Ended)] == ["finished"]

    # 18: a spoken debrief of three things at most; what is disputed after it is out of the score, and its sound kept.
    debrief = heard.index(next(line for line in heard if line.startswith("Debrief.")))
    assert "Disputed: gear." in heard[debrief + 1 : debrief + 5]
    assert "Begun after niner point five seconds; four were allowed." in heard[debrief + 3]
    (dispute,) = flight.all(Disputed)
    (ended,) = flight.all(Ended)
    assert (dispute.step, dispute.call) == ("slow and configure", "gear")
    assert dispute.at_seconds > ended.at_seconds
    assert flight.verdict("slow and configure", "gear") == "disputed"
    assert flight.grade.total.of == len(flight.verdicts) - 1
    path = tmp_path / "journals" / f"{flight.journal.header.session}.jsonl"
    sounds = [sound_of(path, each) for each in said_for(flight.records, "slow and configure", "gear")]
    assert any(sound is not None for sound in sounds)
    shown = voice_trainer("review", path, home=tmp_path).stdout
    assert "1 of 6: slow and configure/gear: disputed." in shown

    # 19: from before the final fix, in the same wind.
    again_from_fix = Session(told, 1)
    begins, before = (
        again_from_fix.journal.header.drill["aeroplane"],
        flight.journal.header.drill["aeroplane"],
    )
    assert begins["wind_from_degrees"] == before["wind_from_degrees"]
    assert begins["wind_knots"] == before["wind_knots"]
    assert 0.3 < begins["distance_nm"] < 1.5
    assert begins["airspeed_knots"] == 110
    assert begins["altitude_feet"] == pytest.approx(1900, abs=20)
    assert 15 < again_from_fix.flown("passage KLD") < 35
    assert again_from_fix.verdict("final approach fix", "time") == "correct"

    # 20: the page: every verdict is on it, with its sign and its reason; the track and the profile are drawn.
    written = voice_trainer("debrief", path, "--html", tmp_path / "page.html", home=tmp_path)
    assert (written.returncode, written.stderr) == (0, "")
    page = Outline((tmp_path / "page.html").read_text(encoding="utf-8"))
    text = " ".join(page.text.split())
    becauses = {
        (step.step, call.call): call.because or ""
        for step in drill_of_the_day().steps
        if step.flow is not None
        for call in step.flow.calls
    }
    for (step, call), settled in flight.verdicts.items():
        because = becauses[step, call]
        reason = settled.reason.removesuffix(because).strip()
        why = f" Why {because}" if because and settled.verdict != "correct" else ""
        assert f"{call} {SIGNS[earned(settled.verdict)]} {settled.verdict} {reason}{why}" in text
    assert f"too low: {low.said}" in text
    drawings = [attributes["aria-labelledby"] for tag, attributes in page.elements if tag == "svg"]
    assert drawings == ["track-title track-desc", "profile-title profile-desc"]
    assert {"plot-path", "plot-course"} <= {attributes.get("class") for _, attributes in page.elements}

    # Nothing else was held against the student.
    others = {key: v.verdict for key, v in flight.verdicts.items() if v.verdict != "correct"}
    assert others == {
        ("set-up and brief", "alert"): "missed",
        ("outbound", "clock"): "late",
        ("amended altitude", "altimeter"): "incomplete",
        ("established inbound", "transition"): "early",
        ("slow and configure", "gear"): "disputed",
        ("missed approach point", "missed approach"): "late",
    }
