"""A stretch of a microphone counts from zero; nothing is lost or heard twice between two of them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ
from voice_trainer.audio.stretches import MicrophoneStretch, SpeakerStretch, in_stretch
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone, WavSource


@given(st.lists(st.integers(0, 6), min_size=1, max_size=5))
def test_stretches_follow_each_other_without_a_gap(lengths: list[int]) -> None:
    total = sum(lengths) * BLOCK_SAMPLES
    recording = (np.arange(total) % 30_000).astype(np.int16)
    microphone = VirtualMicrophone(WavSource(recording))
    heard = []
    first_sample = 0
    for blocks in lengths:
        stretch = MicrophoneStretch(microphone, first_sample)
        for number in range(blocks):
            block = stretch.read()
            assert block is not None
            assert block.first_sample == number * BLOCK_SAMPLES
            heard.append(block.samples)
        first_sample = stretch.next_sample
    assert first_sample == total
    assert np.array_equal(np.concatenate([*heard, recording[:0]]), recording)


def test_what_sounds_in_a_later_stretch_has_its_times() -> None:
    microphone = VirtualMicrophone(ScheduledSource())
    for _ in range(100):
        microphone.read()
    first_sample = 100 * BLOCK_SAMPLES
    stretch, loudspeaker = MicrophoneStretch(microphone, first_sample), ClockedSpeaker()
    loudspeaker.events(microphone.read_seconds)
    speaker = SpeakerStretch(loudspeaker, first_sample)
    speaker.play("cue", np.ones(SAMPLE_RATE_HZ, np.int16))
    for _ in range(40):
        stretch.read()
    times = [(event.kind, event.at_seconds) for event in speaker.events(40 * BLOCK_SAMPLES / SAMPLE_RATE_HZ)]
    assert times == [("started", pytest.approx(0.0)), ("ended", pytest.approx(1.0))]


def test_a_clip_is_scheduled_on_the_clock_of_the_stretch() -> None:
    source = ScheduledSource()
    microphone = VirtualMicrophone(source)
    for _ in range(10):
        microphone.read()
    say = in_stretch(source.say, 10 * BLOCK_SAMPLES)
    assert say(0.032, np.full(160, 500, np.int16)) == pytest.approx(0.042)
    stretch = MicrophoneStretch(microphone, 10 * BLOCK_SAMPLES)
    blocks = [stretch.read() for _ in range(3)]
    loud = [block.first_sample for block in blocks if block and block.samples.any()]
    assert loud == [512]
