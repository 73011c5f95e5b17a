"""The ears where somebody goes on: talk that is no call, and a call that had been told before it was over.

Speech is numbers (`tests/difficult_student/numbered_words.py`); the ears and the endpointer are the real ones.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.difficult_student.numbered_words import (
    EverybodyIsNear,
    KnownActivity,
    NumberedRecogniser,
    WordTrack,
)
from tests.scenes import drill_of
from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ, Block
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.matcher import Tick
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    Accepted,
    AnyDecision,
    AnyFact,
    CueEnded,
    CueStarted,
    Fault,
    Heard,
    Settings,
    Settled,
    SpeechDoubted,
    SpeechStarted,
    Withdrawn,
)
from voice_trainer.journal.hearing import Hearing
from voice_trainer.sequencing.commands import Speak
from voice_trainer.sequencing.floor import IllegalEventError
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.ears import Ears
from voice_trainer.session.foresight import DrillForesight

BLOCK_SECONDS = BLOCK_SAMPLES / SAMPLE_RATE_HZ
ALTITUDE = {"calls": [{"call": "altitude", "say": "descend and maintain {altitude: 2000}"}]}
TALK = "the minister said on monday that prices would rise again before the summer and nobody believed a word of it"


class CountingRecogniser(NumberedRecogniser):
    longest_seconds = 0.0

    def hear(self, samples, start_seconds: float) -> Hearing:  # type: ignore[no-untyped-def]
        self.longest_seconds = max(self.longest_seconds, len(samples) / SAMPLE_RATE_HZ)
        return super().hear(samples, start_seconds)


class Room:
    """A drill whose cues take a second; what is said is said when it is asked for."""

    def __init__(self, drill: Drill) -> None:
        self.drill, self.settings = drill, Settings(listening="headset")
        grammar = domain_of(drill)
        self.sequencer = Sequencer(drill, self.settings)
        self.track = WordTrack(1.0)
        self.recogniser = CountingRecogniser(self.track, grammar)
        self.ears = Ears(
            self.recogniser,
            in_step=True,
            foresight=DrillForesight(grammar, self.sequencer),
            activity=KnownActivity(),
            nearness=EverybodyIsNear(),
        )
        self.records: list[AnyFact | AnyDecision] = []
        self.cues: list[tuple[float, str]] = []
        self.now = 0.0
        self._sample = 0
        self._sounding: tuple[float, Speak] | None = None
        self._queue: list[Speak] = []

    def wait(self, seconds: float) -> None:
        until = self.now + seconds
        while self.now < until:
            number = self.track.next_block()
            block = Block(self._sample, np.full(BLOCK_SAMPLES, number, np.int16))
            self._sample += BLOCK_SAMPLES
            self.now = block.end_seconds
            self.ears.take(block)
            for fact in self.ears.facts(self.now):
                self.take(fact)
            if self._sounding is None and self._queue:
                speak = self._queue.pop(0)
                self._sounding = (self.now + 1.0, speak)
                self.cues.append((self.now, speak.text))
                self.take(
                    CueStarted(at_seconds=self.now, cue=speak.cue, speaker=speak.speaker, text=speak.text)
                )
            elif self._sounding is not None and self.now >= self._sounding[0]:
                cue, self._sounding = self._sounding[1].cue, None
                self.take(CueEnded(at_seconds=self.now, cue=cue))
            self.take(Tick(self.now))

    def say(self, text: str) -> None:
        self.track.say(text)
        self.wait(self.track.seconds_of(text))

    def take(self, event: AnyFact | Tick) -> None:
        outcome = self.sequencer.receive(event)
        self.records += outcome.records
        self._queue += [command for command in outcome.commands if isinstance(command, Speak)]

    def replays(self) -> bool:
        decisions = [r for r in self.records if r.event in DECISIONS]
        again = [d for d in replay(self.drill, self.settings, self.records) if d.event in DECISIONS]
        return again[: len(decisions)] == decisions


DECISIONS = ("accepted", "withdrawn", "settled", "ask again")


def said(room: Room, kind: type) -> list[str]:
    return [record.said for record in room.records if isinstance(record, kind)]


def test_talk_lets_go_of_the_floor_within_three_seconds_and_is_heard_in_pieces() -> None:
    room = Room(drill_of(ALTITUDE, {"calls": [{"call": "gear", "say": "gear down"}]}))
    room.wait(3.0)
    room.track.say(" ".join([TALK] * 5))
    began = room.now
    room.wait(20.0)
    onset = next(r for r in room.records if isinstance(r, SpeechStarted)).onset_seconds
    first = next(r for r in room.records if isinstance(r, SpeechDoubted)).at_seconds
    assert first - onset <= 3.0
    assert room.recogniser.longest_seconds <= 6.0
    assert any("other talk" in text for at, text in room.cues if at > began)


def test_a_call_behind_talk_without_a_pause_is_heard() -> None:
    room = Room(drill_of(ALTITUDE))
    room.wait(3.0)
    room.track.say(f"{TALK} descend and maintain two thousand")
    room.wait(20.0)
    heard = [
        r.hearing.text for r in room.records if isinstance(r, Heard) and r.hearing.clarity != "not a call"
    ]
    assert any("descend and maintain two thousand" in text for text in heard)


def test_what_is_right_is_acted_upon_at_once_and_withdrawn_where_it_grows() -> None:
    room = Room(drill_of(ALTITUDE, {"calls": [{"call": "gear", "say": "gear down"}]}))
    room.wait(3.0)
    room.say("descend and maintain two thousand")
    ended = room.now
    room.wait(1.0)
    accepted = [r for r in room.records if isinstance(r, Accepted)]
    assert [(r.said, r.slots["altitude"]) for r in accepted] == [
        ("descend and maintain two thousand", "2000")
    ]
    assert accepted[0].at_seconds - ended < 0.8
    room.say("six hundred")
    room.wait(4.0)
    assert said(room, Withdrawn) == ["descend and maintain two thousand"]
    room.wait(8.0)
    last = [r for r in room.records if isinstance(r, Settled) and r.call == "altitude"]
    assert (last[-1].verdict, last[-1].said) == (
        "wrong value",
        "descend and maintain two thousand six hundred",
    )
    assert room.replays()


def test_the_trainer_speaks_into_no_call_that_may_go_on() -> None:
    room = Room(drill_of(ALTITUDE, {"calls": [{"call": "gear", "say": "gear down"}]}))
    room.wait(3.0)
    room.say("descend and maintain two thousand")
    ended = room.now
    room.wait(6.0)
    following = [at for at, _ in room.cues if at > ended]
    assert following and following[0] - ended >= Settings().thinking_seconds


def test_a_wrong_value_is_not_held_against_anybody_before_the_thinking_pause_is_over() -> None:
    room = Room(drill_of(ALTITUDE))
    room.wait(3.0)
    room.say("descend and maintain three thousand")
    ended = room.now
    room.wait(1.9)
    assert not [text for at, text in room.cues if at > ended]
    room.say("correction two thousand")
    room.wait(4.0)
    (verdict,) = [r for r in room.records if isinstance(r, Settled)]
    assert (verdict.verdict, verdict.corrected) == ("correct", True)
    assert room.replays()


def test_a_fault_is_written_down_and_the_session_goes_on() -> None:
    sequencer = Sequencer(drill_of(ALTITUDE), Settings())
    nothing = Hearing(start_seconds=0.0, end_seconds=0.5, clarity="not a call", engine="none")
    event = Heard(at_seconds=1.0, hearing=nothing)
    with pytest.raises(IllegalEventError, match="Heard while the student is silent") as fault:
        sequencer.receive(event)
    outcome = sequencer.go_on_after(fault.value, event)
    assert [r.event for r in outcome.records if isinstance(r, Fault | Heard)] == ["fault", "heard"]
    started = sequencer.receive(SpeechStarted(at_seconds=2.0, onset_seconds=1.9))
    assert [r.event for r in started.records if isinstance(r, SpeechStarted)] == ["speech started"]
