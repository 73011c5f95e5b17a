"""A drill over audio that is broken off, in virtual time: what was said is heard out, and nothing is said any more."""

from __future__ import annotations

import io
import os
import signal
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from rich.console import Console

from tests.scenes import drill_of
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.audio.errors import DeviceLostError
from voice_trainer.audio.ports import Block, Samples
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone
from voice_trainer.cli.playing import Played, play
from voice_trainer.cli.running import told
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    CueEnded,
    Ended,
    Heard,
    Settings,
    SpeechEnded,
    SpeechStarted,
)
from voice_trainer.journal.hearing import Hearing
from voice_trainer.recognition.scripted import ScriptedRecogniser
from voice_trainer.session.booth import Booth
from voice_trainer.session.studio import Studio
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.scripted import ScriptedVoice

GEAR = {"calls": [{"call": "gear", "say": "gear down", "window": {"within_seconds": 8}}]}
FLAPS = {"calls": [{"call": "flaps", "say": "flaps up"}]}
DRILL = drill_of(GEAR, FLAPS)


@pytest.fixture(scope="module")
def gear_down() -> Samples:
    return Pyttsx3Voice().render("gear down", VoiceStyle("gmw/en-us"))


class SlowRecogniser(ScriptedRecogniser):
    """Takes its time, as a model does; `begun` once something is being recognised."""

    def __init__(self, script: tuple[str, ...], seconds: float) -> None:
        super().__init__(script)
        self.seconds = seconds
        self.begun = threading.Event()

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        self.begun.set()
        time.sleep(self.seconds)
        return super().hear(samples, start_seconds)


class SlowVoice(ScriptedVoice):
    """Takes its time over every text."""

    def render(self, text: str, style: VoiceStyle) -> Samples:
        time.sleep(0.05)
        return super().render(text, style)


@dataclass
class Room:
    """What a drill is played in; `script` is what its recogniser hears."""

    folder: Path
    clip: Samples
    script: tuple[str, ...] = ("gear down",)
    hearing_seconds: float = 0.0
    in_step: bool = True
    voice: ScriptedVoice = field(default_factory=ScriptedVoice)
    microphone: Callable[[ScheduledSource], VirtualMicrophone] = VirtualMicrophone

    def play(
        self, said: dict[float, Samples], pressed: Callable[[float], list[str]]
    ) -> tuple[Played, Journal]:
        source = ScheduledSource(noise_dbfs=-66.0)
        for at_seconds, clip in said.items():
            source.say(at_seconds, clip)
        self.recogniser = SlowRecogniser(self.script, self.hearing_seconds)
        booth = Booth(self.voice, Casting.of(self.voice))
        studio = Studio(
            self.microphone(source),
            ClockedSpeaker(),
            booth,
            self.recogniser,
            headset=True,
            in_step=self.in_step,
        )
        studio.keys = pressed
        path = self.folder / "session.jsonl"
        out = Console(file=io.StringIO(), width=200)
        try:
            played = play(
                studio, DRILL, Settings(), path, out, tell=lambda debrief: told(debrief, out, aloud=True)
            )
        finally:
            studio.close()
            booth.close()
        journal = read_journal(path)
        assert differences(journal.records, replay(DRILL, Settings(), journal.records)) == []
        return played, journal


def ctrl_c(when: Callable[[float], bool]) -> Callable[[float], list[str]]:
    """Ctrl-C, once."""
    pressed: list[float] = []

    def press(now: float) -> list[str]:
        if not pressed and when(now):
            pressed.append(now)
            raise KeyboardInterrupt
        return []

    return press


def verdicts(journal: Journal) -> dict[str, str]:
    return {v.call: v.verdict for v in debrief_of(journal.header, journal.records).grade.verdicts}


def cue_end(gear_down: Samples, folder: Path) -> float:
    _, journal = Room(folder, gear_down).play({}, lambda now: [])
    return next(r.at_seconds for r in journal.records if isinstance(r, CueEnded))


@pytest.mark.parametrize("after", [0.2, 0.75, 1.0, 1.4, 2.0])
def test_what_is_said_or_recognised_at_that_moment_is_heard_yet(
    after: float, gear_down: Samples, tmp_path: Path
) -> None:
    """The call lasts 0.75 s: 0.2 s into it, at its end, in the hangover, and when all is known."""
    ended = cue_end(gear_down, tmp_path / "first")
    said = ended + 1.0
    room = Room(tmp_path / "second", gear_down)
    played, journal = room.play({said: gear_down}, ctrl_c(lambda now: now >= said + after))
    assert played.interrupted
    (end,) = (r for r in journal.records if isinstance(r, Ended))
    assert end.reason == "by the student"
    assert end.at_seconds == pytest.approx(said + after, abs=0.05)
    assert verdicts(journal) == {"gear": "correct"}  # and 'flaps' was not reached


def test_with_nothing_said_nothing_is_held_against_anybody(gear_down: Samples, tmp_path: Path) -> None:
    ended = cue_end(gear_down, tmp_path / "first")
    _, journal = Room(tmp_path / "second", gear_down).play({}, ctrl_c(lambda now: now >= ended + 2.0))
    assert verdicts(journal) == {}


def test_it_waits_for_a_recogniser_that_is_at_work(gear_down: Samples, tmp_path: Path) -> None:
    room = Room(tmp_path, gear_down, hearing_seconds=0.3, in_step=False)
    _, journal = room.play({8.0: gear_down}, ctrl_c(lambda now: room.recogniser.begun.is_set()))
    assert [
        type(r) for r in journal.records if isinstance(r, SpeechStarted | SpeechEnded | Heard | Ended)
    ] == [
        SpeechStarted,
        SpeechEnded,
        Heard,
        Ended,
    ]


def test_but_not_for_ever(gear_down: Samples, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("voice_trainer.session.run.LAST_HEARING_SECONDS", 0.1)
    room = Room(tmp_path, gear_down, hearing_seconds=0.6, in_step=False)
    _, journal = room.play({8.0: gear_down}, ctrl_c(lambda now: room.recogniser.begun.is_set()))
    assert not any(isinstance(r, Heard) for r in journal.records)
    assert verdicts(journal) == {}


def test_a_second_ctrl_c_ends_at_once(
    gear_down: Samples, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def pressed_again(seconds: float) -> None:
        raise KeyboardInterrupt

    room = Room(tmp_path, gear_down, hearing_seconds=0.6, in_step=False)
    broken_off = ctrl_c(lambda now: room.recogniser.begun.is_set())

    def first(now: float) -> list[str]:
        try:
            return broken_off(now)
        except KeyboardInterrupt:
            monkeypatch.setattr("voice_trainer.session.run.time.sleep", pressed_again)
            raise

    _, journal = room.play({8.0: gear_down}, first)
    monkeypatch.undo()
    assert not any(isinstance(r, Heard) for r in journal.records)
    assert [r.reason for r in journal.records if isinstance(r, Ended)] == ["by the student"]


def test_after_a_ctrl_c_nothing_is_rendered_and_nothing_said(gear_down: Samples, tmp_path: Path) -> None:
    """The voice is slower than the drill: at its end most of the cues are still to be rendered."""
    room = Room(tmp_path, gear_down, voice=SlowVoice(), in_step=False)
    rendered: list[int] = []

    def at_once(now: float) -> bool:
        rendered.append(len(room.voice.spoken))
        return True

    played, _ = room.play({}, ctrl_c(at_once))
    assert len(room.voice.spoken) <= rendered[0] + 2  # what two threads were at
    assert "Nothing was practised." not in [text for text, _ in room.voice.spoken]
    assert played.then == "by the student"


def test_the_key_that_ends_a_drill_hears_out_what_was_said(gear_down: Samples, tmp_path: Path) -> None:
    ended = cue_end(gear_down, tmp_path / "first")
    said = ended + 1.0
    room = Room(tmp_path / "second", gear_down)
    played, journal = room.play({said: gear_down}, lambda now: ["end"] if now >= said + 0.9 else [])
    assert verdicts(journal) == {"gear": "correct"}
    assert not played.interrupted
    assert any("1 of 1" in text or "One of one" in text for text, _ in room.voice.spoken), room.voice.spoken


def test_an_order_to_end_leaves_what_had_time_alone(gear_down: Samples, tmp_path: Path) -> None:
    ended = cue_end(gear_down, tmp_path / "first")
    room = Room(tmp_path / "second", gear_down, script=("trainer end",))
    _, journal = room.play({ended + 1.0: gear_down}, lambda now: [])
    assert verdicts(journal) == {}
    assert [r.reason for r in journal.records if isinstance(r, Ended)] == ["by the student"]


class Gone(VirtualMicrophone):
    """A microphone that goes away for good; somebody presses Ctrl-C while it is looked for."""

    def __init__(self, source: ScheduledSource) -> None:
        super().__init__(source)
        self.looked_for = 0

    def read(self) -> Block | None:
        if self.read_seconds >= 1.0:
            raise DeviceLostError("the microphone has gone.")
        return super().read()

    def reopen(self) -> bool:
        self.looked_for += 1
        os.kill(os.getpid(), signal.SIGINT)
        return False


def test_ctrl_c_ends_the_wait_for_a_device(gear_down: Samples, tmp_path: Path) -> None:
    made: list[Gone] = []

    def microphone(source: ScheduledSource) -> Gone:
        made.append(Gone(source))
        return made[-1]

    _, journal = Room(tmp_path, gear_down, microphone=microphone).play({}, lambda now: [])
    assert made[0].looked_for == 1
    assert [r.reason for r in journal.records if isinstance(r, Ended)] == ["by the student"]
    assert verdicts(journal) == {}


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_a_signal_is_taken_up_between_two_blocks(
    number: signal.Signals, gear_down: Samples, tmp_path: Path
) -> None:
    at_first = signal.signal(
        number, signal.default_int_handler
    )  # under nohup a hang-up is ignored, and stays so
    before = signal.getsignal(number)
    sent: list[float] = []

    def send(now: float) -> list[str]:
        if not sent:
            sent.append(now)
            os.kill(os.getpid(), number)
        return []

    try:
        played, journal = Room(tmp_path, gear_down).play({}, send)
        assert signal.getsignal(number) == before
    finally:
        signal.signal(number, at_first)
    assert played.interrupted
    (end,) = (r for r in journal.records if isinstance(r, Ended))
    assert end.at_seconds == pytest.approx(sent[0] + 0.032, abs=0.002)
