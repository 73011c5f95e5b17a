"""What must hold of every performance, whatever is said and when."""

from __future__ import annotations

from dataclasses import dataclass, replace

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.scenes import Scene, drill_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.matcher import Tick, match
from voice_trainer.grading.replay import replay
from voice_trainer.grading.score import POINTS, Grade, grade
from voice_trainer.grading.state import expect
from voice_trainer.journal.events import (
    CorrectionBegan,
    CorrectionEnded,
    Disputed,
    LevelChanged,
    Settings,
    Skipped,
    SpeechStarted,
    WentBack,
    from_line,
    to_line,
)

CALLS = ("time", "turn", "transition", "twist", "talk")
SAY = {
    "time": ("time not required", "time required"),
    "turn": ("turn right heading 333", "turn right heading 323"),
    "transition": ("descend and maintain 2600", "descend and maintain 2900"),
    "twist": ("set course 333", "set course 153"),
    "talk": ("Heron 24 kelda outbound", "Heron 42 kelda outbound"),
}
PATTERNS = {
    "time": "time not required",
    "turn": "turn right [heading] {heading: 333}",
    "transition": "descend [and maintain] {altitude: 2600}",
    "twist": "set course {course: 333}",
    "talk": "{callsign: Heron 24} kelda outbound",
}


def six_ts(order: str = "strict", *, asks: bool = False) -> Drill:
    calls = [{"call": name, "say": PATTERNS[name]} for name in CALLS]
    return drill_of({"order": order, "asks": asks, "calls": calls})


@dataclass(frozen=True)
class Act:
    """One call said: right or wrong, clear or not, so long after what came before."""

    call: str
    right: bool
    after_seconds: float
    clear: bool = True


acts = st.builds(
    Act,
    call=st.sampled_from(CALLS),
    right=st.booleans(),
    after_seconds=st.floats(0.3, 16.0).map(lambda s: round(s, 1)),
    clear=st.sampled_from((True, True, True, False)),
)
orderly = st.permutations(CALLS).flatmap(
    lambda calls: st.tuples(
        *(st.builds(Act, call=st.just(c), right=st.booleans(), after_seconds=st.just(1.0)) for c in calls)
    )
)
drills = st.builds(six_ts, order=st.sampled_from(("strict", "any")), asks=st.booleans())


LEVELS = ("read along", "prompted", "cold", "under load")


def with_interventions(drill: Drill, acts: list[Act | str], ticking: float | None = None) -> Scene:
    """A performance with what may be done about the grade on the way, each at the worst moment."""
    scene = Scene(drill, ticking=ticking).begin("step 1")
    for act in acts:
        if isinstance(act, Act):
            scene.say(
                SAY[act.call][0 if act.right else 1],
                after=act.after_seconds,
                clarity="clear" if act.clear else "unclear",
            )
            continue
        now = scene.now
        match act.split():
            case ["skip"]:
                scene.send(Skipped(at_seconds=now, step="step 1"))
            case ["dispute", call]:
                scene.send(Disputed(at_seconds=now, step="step 1", call=call))
            case ["back"]:
                scene.send(WentBack(at_seconds=now, step="step 1"))
                scene.begin("step 1")
            case ["stop", call]:
                scene.send(CorrectionBegan(at_seconds=now, step="step 1", calls=(call,)))
            case ["go", by]:
                scene.send(CorrectionEnded.model_validate({"at_seconds": now, "step": "step 1", "by": by}))
            case ["level", number]:
                scene.send(LevelChanged.model_validate({"at_seconds": now, "level": LEVELS[int(number)]}))
            case _:
                scene.say(act, after=1.0)
    scene.end()
    return scene


interventions = st.one_of(
    st.sampled_from(["skip", "back", "go student", "go instructor", "stand by", "I said that", "say again"]),
    st.sampled_from(CALLS).flatmap(lambda call: st.sampled_from([f"dispute {call}", f"stop {call}"])),
    st.sampled_from([f"level {n}" for n in range(4)]),
    st.sampled_from([f"I said {texts[0]}" for texts in SAY.values()]),
)


def performed(drill: Drill, acts: tuple[Act, ...] | list[Act], ticking: float | None = None) -> Scene:
    scene = Scene(drill, ticking=ticking).begin("step 1")
    for act in acts:
        scene.say(
            SAY[act.call][0 if act.right else 1],
            after=act.after_seconds,
            clarity="clear" if act.clear else "unclear",
        )
    scene.end()
    return scene


def points(result: Grade) -> float:
    return result.total.got


@given(drills, st.lists(acts, max_size=9))
def test_whatever_is_said_every_required_call_has_one_verdict(drill: Drill, said: list[Act]) -> None:
    result = performed(drill, said).grade()
    assert sorted(v.call for v in result.verdicts) == sorted(CALLS)
    assert all(v.reason.endswith(".") for v in result.verdicts)


@given(drills, st.lists(acts, max_size=9))
def test_grading_is_deterministic_and_ticks_change_nothing(drill: Drill, said: list[Act]) -> None:
    once, again = performed(drill, said), performed(drill, said)
    ticking = performed(drill, said, ticking=0.032)
    lines = [to_line(d) for d in once.decisions]
    assert lines == [to_line(d) for d in again.decisions]
    assert lines == [to_line(d) for d in ticking.decisions]


@given(drills, st.lists(acts, max_size=9))
def test_replay_of_the_journal_equals_live_byte_for_byte(drill: Drill, said: list[Act]) -> None:
    scene = performed(drill, said, ticking=0.1)
    facts = [from_line(to_line(fact)) for fact in scene.facts]
    replayed = replay(drill, scene.settings, facts)  # type: ignore[arg-type]
    assert [to_line(d) for d in replayed] == [to_line(d) for d in scene.decisions]


@given(drills, st.lists(st.one_of(acts, interventions), max_size=12))
def test_whatever_is_done_about_the_grade_a_replay_comes_to_the_same(
    drill: Drill, done: list[Act | str]
) -> None:
    scene = with_interventions(drill, done, ticking=0.1)
    facts = [from_line(to_line(fact)) for fact in scene.facts]
    replayed = replay(drill, scene.settings, facts)  # type: ignore[arg-type]
    assert [to_line(d) for d in replayed] == [to_line(d) for d in scene.decisions]
    unticked = with_interventions(drill, done)
    assert [to_line(d) for d in unticked.decisions] == [to_line(d) for d in scene.decisions]
    assert sorted(v.call for v in scene.grade().verdicts) == sorted(CALLS)
    disputed = {f.call for f in scene.facts if isinstance(f, Disputed)}
    assert {v.call for v in scene.grade().verdicts if v.verdict == "disputed"} <= disputed


@given(drills, st.lists(acts, max_size=9))
def test_a_wrong_value_is_never_correct_and_never_worth_more_than_a_missed_call(
    drill: Drill, said: list[Act]
) -> None:
    result = performed(drill, said).grade()
    for verdict in result.verdicts:
        if verdict.said and verdict.said == " ".join(_normal(SAY[verdict.call][1])):
            assert verdict.verdict == "wrong value"
    assert POINTS["wrong value"] == POINTS["missed"] == 0.0


@given(orderly, st.data())
def test_leaving_out_a_correct_required_call_never_raises_the_score(
    said: tuple[Act, ...], data: st.DataObject
) -> None:
    drill = six_ts()
    before = performed(drill, said).grade()
    correct = [v.call for v in before.verdicts if v.verdict == "correct"]
    if not correct:
        return
    gone = data.draw(st.sampled_from(correct))
    after = performed(drill, [act for act in said if act.call != gone]).grade()
    assert points(after) <= points(before)
    assert (after.total.percent or 0.0) <= (before.total.percent or 0.0)


@given(
    st.lists(acts.map(lambda a: replace(a, clear=True)), min_size=5, max_size=5, unique_by=lambda a: a.call),
    st.data(),
)
def test_leaving_out_a_correct_call_never_raises_the_score_whatever_the_timing(
    said: list[Act], data: st.DataObject
) -> None:
    """The other calls are said at the very moments at which they were said before."""
    whole = performed(six_ts(), said)
    onsets = [f.onset_seconds for f in whole.facts if isinstance(f, SpeechStarted)]
    before = whole.grade()
    correct = [v.call for v in before.verdicts if v.verdict == "correct"]
    if not correct:
        return
    gone = data.draw(st.sampled_from(correct))
    scene = Scene(six_ts()).begin("step 1")
    for act, onset in zip(said, onsets, strict=True):
        if act.call != gone:
            scene.say(SAY[act.call][0 if act.right else 1], after=round(onset - scene.now, 3))
    assert points(scene.end()) <= points(before)


@given(st.permutations(CALLS), st.data())
def test_swapping_two_that_were_in_order_never_raises_the_order_score(
    calls: list[str], data: st.DataObject
) -> None:
    i, j = sorted(data.draw(st.lists(st.integers(0, 4), min_size=2, max_size=2, unique=True)))
    if CALLS.index(calls[i]) > CALLS.index(calls[j]):
        i, j = j, i
        calls[i], calls[j] = calls[j], calls[i]
        i, j = j, i
    before = performed(six_ts(), [Act(c, True, 1.0) for c in calls]).grade()
    calls[i], calls[j] = calls[j], calls[i]
    after = performed(six_ts(), [Act(c, True, 1.0) for c in calls]).grade()
    assert (after.order.percent or 0.0) <= (before.order.percent or 0.0)
    assert points(after) <= points(before) or before.count("out of order") > 0


@given(st.lists(acts, max_size=6), st.floats(1.0, 300.0))
def test_a_deaf_interval_makes_nothing_missed_or_late(said: list[Act], deaf_seconds: float) -> None:
    drill = six_ts()
    scene = Scene(drill).begin("step 1").deaf(round(deaf_seconds, 3)).tick()
    assert scene.decisions == []
    for act in said:
        scene.say(SAY[act.call][0], after=0.5)
    plain = Scene(drill).begin("step 1")
    for act in said:
        plain.say(SAY[act.call][0], after=0.5)
    scene.end()
    plain.end()
    assert scene.verdicts() == plain.verdicts()


@settings(max_examples=50)
@given(st.lists(st.floats(0, 1000), min_size=1, max_size=20))
def test_ticks_alone_decide_nothing_before_a_step_begins(times: list[float]) -> None:
    state = expect(six_ts(), Settings())
    for moment in sorted(times):
        state, decisions = match(state, Tick(moment))
        assert decisions == []
    assert grade(state.drill, []).verdicts == ()


def _normal(text: str) -> tuple[str, ...]:
    from voice_trainer.phraseology.normaliser import normalise

    return normalise(text)
