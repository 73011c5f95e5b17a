"""What is written down of a hearing: nothing of what is no call, and the grade is the same as with all of it."""

from __future__ import annotations

from dataclasses import dataclass

from hypothesis import given
from hypothesis import strategies as st

from tests.scenes import Scene, drill_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.discretion import what_is_kept
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    AskAgain,
    Extra,
    Heard,
    Paused,
    Resumed,
    to_line,
)
from voice_trainer.journal.hearing import NOT_KEPT, Clarity, Hearing
from voice_trainer.recognition.typed import hear_text

DRILL = drill_of(
    {
        "order": "strict",
        "calls": [
            {"call": "turn", "say": "turn right [heading] {heading: 333}"},
            {"call": "altitude", "say": "descend [and maintain] {altitude: 2600}"},
            {"call": "gear", "say": "gear down"},
        ],
    },
    {"asks": True, "calls": [{"call": "course", "say": "set course {course: 333}"}]},
)
PRIVATE = ("grandmother", "telephoned", "yesterday", "let me see", "so what was it", "and then")
"""Words of no phrase of the drill, the trade or the trainer."""
CALLS = (
    "turn right heading 333", "turn left heading 333", "turn right 323", "descend and maintain 2600", "gear down",
    "set course 333", "set course 153", "gear up", "stand by", "say again", "correction", "disregard", "roger",
    "landing gear is down", "turn to the right heading 333", "coming right 333", "please descend 2600",
    "trainer what did I miss", "I said that", "I said gear down",
)  # fmt: skip

utterances = st.lists(st.sampled_from([*CALLS, *PRIVATE]), min_size=1, max_size=5).map(" ".join)


@dataclass(frozen=True)
class Act:
    """An utterance, what else it may have been, and whether the session is frozen meanwhile."""

    text: str
    rival: str
    after_seconds: float
    clarity: Clarity
    frozen: bool


acts = st.builds(
    Act,
    text=utterances,
    rival=utterances,
    after_seconds=st.floats(0.3, 12.0).map(lambda s: round(s, 1)),
    clarity=st.sampled_from(("clear", "clear", "clear", "unclear", "not a call")),
    frozen=st.sampled_from((False, False, False, True)),
)


class Discreet(Scene):
    """A scene in which only what may be kept reaches the matcher and the facts, as behind the sequencer."""

    def send(self, fact: AnyFact) -> None:
        if isinstance(fact, Heard):
            fact = fact.model_copy(update={"hearing": what_is_kept(self.state, fact.hearing)})
        super().send(fact)


def performed(scene: Scene, said: list[Act]) -> Scene:
    scene.begin("step 1")
    for act in said:
        if act.frozen:
            scene.send(Paused(at_seconds=scene.now, reason="asked by the student"))
        rival = hear_text(act.rival, scene.grammar, scene.now + act.after_seconds, 0.3)
        scene.say(act.text, after=act.after_seconds, clarity=act.clarity, rivals=rival.interpretations)
        if act.frozen:
            scene.send(Resumed(at_seconds=scene.now))
    scene.begin("step 2")
    scene.say("set course 333")
    scene.end()
    return scene


def without_what_they_quote(decisions: list[AnyDecision]) -> list[str]:
    """Words of nobody are in no verdict; the outline of a call that is asked for again goes by them."""
    nothing = {"said": "", "wording": ""}
    quoting = {Extra: {"said"}, AskAgain: {"wording"}}
    return [
        to_line(d.model_copy(update={key: nothing[key] for key in quoting.get(type(d), set())}))
        for d in decisions
    ]


@given(st.lists(acts, max_size=6))
def test_the_grade_is_the_same_as_with_every_word(said: list[Act]) -> None:
    told, kept = performed(Scene(DRILL), said), performed(Discreet(DRILL), said)
    assert without_what_they_quote(told.decisions) == without_what_they_quote(kept.decisions)


@given(st.lists(acts, max_size=6))
def test_a_replay_of_what_is_kept_is_the_live_session_to_the_byte(said: list[Act]) -> None:
    kept = performed(Discreet(DRILL), said)
    assert [to_line(d) for d in replay(DRILL, kept.settings, kept.facts)] == [
        to_line(d) for d in kept.decisions
    ]


@given(st.lists(acts, max_size=6))
def test_what_was_kept_once_is_not_changed_again(said: list[Act]) -> None:
    kept = performed(Discreet(DRILL), said)
    again = Discreet(DRILL)
    for fact in kept.facts:
        again.send(fact)
    assert [to_line(f) for f in again.facts] == [to_line(f) for f in kept.facts]


@given(st.lists(st.sampled_from(PRIVATE), min_size=1, max_size=6).map(" ".join), st.booleans())
def test_of_talk_that_is_no_call_only_time_and_length_are_left(text: str, clear: bool) -> None:
    kept = performed(Discreet(DRILL), [Act(text, text, 1.0, "clear" if clear else "not a call", False)])
    lines = "".join([*map(to_line, kept.facts), *map(to_line, kept.decisions)])
    assert not any(word in lines for phrase in PRIVATE for word in phrase.split() if len(word) > 4)
    hearing = next(fact.hearing for fact in kept.facts if isinstance(fact, Heard))
    assert hearing.end_seconds > hearing.start_seconds
    assert hearing.text == (NOT_KEPT if clear else "")


def kept_of(text: str, clarity: Clarity = "clear", drill: Drill = DRILL) -> Hearing:
    scene = Discreet(drill).begin("step 1").say(text, clarity=clarity)
    return next(fact.hearing for fact in scene.facts if isinstance(fact, Heard))


def test_self_talk_before_a_call_gives_way_and_the_call_stays() -> None:
    hearing = kept_of("grandmother telephoned turn right heading 333")
    assert hearing.text == f"{NOT_KEPT} turn right heading three three three"
    words = [word for span in hearing.best.spans for word in span.words] if hearing.best else []
    assert words[0].end_seconds - words[0].start_seconds > 0.5


def test_own_words_for_a_call_are_kept_since_they_are_asked_for_again() -> None:
    own_words = "turn to the right heading 333"
    scene = Discreet(DRILL).begin("step 1").say(own_words)
    assert any(isinstance(decision, AskAgain) for decision in scene.decisions)
    assert kept_of(own_words).text == "turn to the right heading three three three"


def test_in_what_is_unclear_only_words_of_phrases_are_left() -> None:
    assert kept_of("grandmother gear down", "unclear").text == f"{NOT_KEPT} gear down"


def test_talk_while_frozen_leaves_nothing_not_even_a_call() -> None:
    scene = Discreet(DRILL).begin("step 1")
    scene.send(Paused(at_seconds=scene.now, reason="asked by the student"))
    scene.say("gear down").say("trainer continue")
    talk, order = [fact.hearing for fact in scene.facts if isinstance(fact, Heard)]
    assert talk.interpretations == ()
    assert order.text == "trainer continue"
