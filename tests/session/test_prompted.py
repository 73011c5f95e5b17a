"""Prompted recording, in virtual time: what is taken, what is asked for again, and when it is deaf."""

from __future__ import annotations

import numpy as np
import pytest

from voice_trainer.audio.ports import Samples
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone, WavSource
from voice_trainer.recognition.endpointing import Utterance
from voice_trainer.session.prompted import EndOfInputError, Fault, PromptedRecording, implausible, is_clipped
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice


@pytest.fixture(scope="module")
def call() -> Samples:
    spoken = Pyttsx3Voice().render("turn left heading two eight four", VoiceStyle("gmw/en-us"))
    return (spoken * (16_000 / np.abs(spoken.astype(np.int32)).max())).astype(np.int16)


def too_loud(clip: Samples) -> Samples:
    return np.clip(clip.astype(np.int32) * 8, -32768, 32767).astype(np.int16)


def takes(
    clips: dict[float, Samples], speaker: ClockedSpeaker | None = None
) -> tuple[float | None, list[Fault]]:
    """How many seconds of speech the first usable take holds, and why others were not."""
    source = ScheduledSource(noise_dbfs=-66.0)
    for at_seconds, clip in clips.items():
        source.say(at_seconds, clip)
    faults: list[Fault] = []
    recording = PromptedRecording(VirtualMicrophone(source), speaker)
    utterance = recording.record(None, lambda fault, again: faults.append(fault))
    if utterance is None:
        return None, faults
    return utterance.speech_end_seconds - utterance.speech_start_seconds, faults


def test_a_call_is_taken_whole(call: Samples) -> None:
    seconds, faults = takes({1.0: call})
    assert faults == []
    assert seconds == pytest.approx(len(call) / 16_000, abs=0.25)


def test_a_pause_for_thought_does_not_end_it(call: Samples) -> None:
    half = len(call) // 2
    seconds, faults = takes({1.0: call[:half], 1.0 + half / 16_000 + 0.8: call[half:]})
    assert faults == []
    assert seconds == pytest.approx(len(call) / 16_000 + 0.8, abs=0.3)


def test_clipped_and_short_takes_are_made_again(call: Samples) -> None:
    seconds, faults = takes({1.0: too_loud(call), 6.0: call[2400:6000], 10.0: call})
    assert faults == ["clipped", "too short"]
    assert seconds == pytest.approx(len(call) / 16_000, abs=0.25)


def test_it_is_asked_for_again_at_most_twice(call: Samples) -> None:
    loud = too_loud(call)
    assert takes({1.0: loud, 6.0: loud, 11.0: loud, 16.0: call}) == (None, ["clipped"] * 3)


def test_nobody_is_waited_for_forever() -> None:
    assert takes({}) == (None, ["nothing heard"] * 3)


def test_what_sounds_in_the_room_while_the_trainer_speaks_is_nobodys(call: Samples) -> None:
    """The prompt's own sound, a tone and the tail of the room: 0.5 + 0.12 + 0.15 s."""
    seconds, faults = takes({0.0: call[: int(0.6 * 16_000)], 3.0: call}, ClockedSpeaker())
    assert faults == []
    assert seconds == pytest.approx(len(call) / 16_000, abs=0.25)


def test_the_end_of_a_recording_ends_the_last_utterance_then_everything(call: Samples) -> None:
    recording = PromptedRecording(VirtualMicrophone(WavSource(call, 0.2)), None)
    assert recording.record(None, lambda fault, again: None) is not None
    with pytest.raises(EndOfInputError):
        recording.record(None, lambda fault, again: None)


def test_a_full_scale_click_is_no_clipping(call: Samples) -> None:
    clicked = call.copy()
    clicked[1000:1003] = 32767
    assert not is_clipped(clicked)
    clicked[1000:1004] = 32767
    assert is_clipped(clicked)
    assert not is_clipped(np.zeros(2, np.int16))


def utterance_of(clip: Samples) -> Utterance:
    seconds = len(clip) / 16_000
    return Utterance(0.0, seconds, 0.0, seconds, clip)


def test_length_and_level_say_what_can_not_be_the_prompt(call: Samples) -> None:
    assert implausible(6, utterance_of(call)) is None
    assert "too short to be this prompt" in str(implausible(30, utterance_of(call)))
    assert "for 1 word: too long" in str(implausible(1, utterance_of(np.tile(call, 4))))
    assert "too faint" in str(implausible(6, utterance_of(call // 200)))


def test_what_is_objected_to_is_said_again(call: Samples) -> None:
    source = ScheduledSource(noise_dbfs=-66.0)
    for at_seconds in (1.0, 6.0):
        source.say(at_seconds, call)
    reasons, faults = iter(["not this", None]), []
    recording = PromptedRecording(VirtualMicrophone(source), None)
    taken = recording.record(
        None, lambda fault, again: faults.append((fault, again)), lambda said: next(reasons)
    )
    assert taken is not None
    assert taken.start_seconds > 5
    assert faults == [("not this", True)]
