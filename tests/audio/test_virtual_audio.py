"""Virtual time: every clip lands on its sample, whatever the size of the blocks and however late one asks."""

import time

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ, PlaybackEvent
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone, WavSource
from voice_trainer.audio.wav import WavWriter, read_wav

clips = st.lists(st.integers(-32768, 32767), min_size=0, max_size=60).map(
    lambda v: np.array(v, dtype=np.int16)
)


def read_through(source, sizes: list[int]) -> np.ndarray:
    blocks, first = [], 0
    for size in sizes:
        blocks.append(source.samples(first, size))
        first += size
    return np.concatenate(blocks)


@given(
    scheduled=st.lists(st.tuples(st.integers(0, 300), clips), max_size=5),
    sizes=st.lists(st.integers(1, 90), min_size=1, max_size=12),
)
def test_clips_land_on_their_samples_mixed_and_clipped(scheduled, sizes):
    source = ScheduledSource()
    total = sum(sizes)
    expected = np.zeros(total + 500, dtype=np.int64)
    for first, clip in scheduled:
        ends = source.say(first / SAMPLE_RATE_HZ, clip)
        assert ends == (first + len(clip)) / SAMPLE_RATE_HZ
        expected[first : first + len(clip)] += clip
    heard = read_through(source, sizes)
    assert heard.tolist() == np.clip(expected[:total], -32768, 32767).tolist()


@given(sizes=st.lists(st.integers(1, 400), min_size=1, max_size=10), seed=st.integers(0, 3))
def test_the_noise_of_a_room_does_not_depend_on_the_blocks(sizes, seed):
    whole = ScheduledSource(noise_dbfs=-50, seed=seed).samples(0, sum(sizes))
    assert read_through(ScheduledSource(noise_dbfs=-50, seed=seed), sizes).tolist() == whole.tolist()


def test_the_noise_of_a_room_has_the_level_that_was_asked_for_and_never_ends():
    source = ScheduledSource(noise_dbfs=-40, seed=1)
    noise = source.samples(0, 20 * SAMPLE_RATE_HZ).astype(float)
    # A full-scale sine, RMS 32768 / sqrt(2), is 0 dBFS (AES17).
    assert abs(20 * np.log10(np.sqrt(np.mean(noise**2)) * np.sqrt(2) / 32768) + 40) < 0.2
    assert ScheduledSource(noise_dbfs=-40, seed=2).samples(0, 100).tolist() != noise[:100].tolist()


def test_speech_cannot_be_scheduled_into_the_past():
    source = ScheduledSource()
    source.samples(0, SAMPLE_RATE_HZ)
    source.say(1.0, np.ones(10, dtype=np.int16))
    with pytest.raises(AudioError, match="is over"):
        source.say(0.999, np.ones(10, dtype=np.int16))
    assert source.samples(SAMPLE_RATE_HZ, 12).tolist() == [1] * 10 + [0] * 2


@given(length=st.integers(0, 2000), tail=st.integers(0, 2000))
def test_a_recording_is_followed_by_its_tail_and_then_the_end(length, tail):
    recording = np.arange(1, length + 1, dtype=np.int16)
    microphone = VirtualMicrophone(WavSource(recording, tail / SAMPLE_RATE_HZ))
    blocks = []
    while (block := microphone.read()) is not None:
        assert block.first_sample == BLOCK_SAMPLES * len(blocks)
        assert block.end_seconds == microphone.read_seconds == microphone.session_seconds(1e9)
        blocks.append(block.samples)
    assert all(len(samples) == BLOCK_SAMPLES for samples in blocks)
    assert len(blocks) == -(-(length + tail) // BLOCK_SAMPLES)
    heard = np.concatenate([np.zeros(0, dtype=np.int16), *blocks])
    assert heard[:length].tolist() == recording.tolist() and not heard[length:].any()
    assert microphone.read() is None


def test_a_closed_microphone_reads_nothing():
    microphone = VirtualMicrophone(ScheduledSource())
    assert microphone.read() is not None
    microphone.close()
    assert microphone.read() is None and not microphone.reopen()


def test_a_paced_microphone_keeps_real_time_without_drifting():
    microphone = VirtualMicrophone(ScheduledSource(), pace=True)
    started = time.monotonic()
    for _ in range(10):
        block = microphone.read()
        assert block is not None
        assert block.end_seconds <= microphone.session_seconds(time.monotonic()) + 1e-6
    time.sleep(5 * BLOCK_SAMPLES / SAMPLE_RATE_HZ)  # somebody was slow: the next blocks come at once
    for _ in range(10):
        block = microphone.read()
    elapsed = time.monotonic() - started
    assert 20 * BLOCK_SAMPLES / SAMPLE_RATE_HZ <= elapsed < 20 * BLOCK_SAMPLES / SAMPLE_RATE_HZ + 0.2


class Kept:
    def __init__(self) -> None:
        self.samples = np.zeros(0, dtype=np.int16)

    def append(self, samples: np.ndarray) -> None:
        self.samples = np.concatenate([self.samples, samples])


@given(
    steps=st.lists(
        st.tuples(st.integers(0, 80), st.one_of(st.none(), st.just("stop"), clips)), min_size=1, max_size=12
    )
)
def test_a_clip_is_reported_and_written_to_the_sample(steps):
    """Each step: time goes on by some samples; then nothing, a stop, or a new clip."""
    sink = Kept()
    speaker = ClockedSpeaker(sink)
    now, events = 0, []
    expected_sound = np.zeros(2000, dtype=np.int16)
    expected_events: list[PlaybackEvent] = []
    sounding: tuple[str, int, np.ndarray] | None = None

    def end_of_sounding(at: int) -> None:
        name, first, clip = sounding
        end = min(at, first + len(clip))
        expected_sound[first:end] = clip[: end - first]
        expected_events.append(
            PlaybackEvent("ended", name, end / SAMPLE_RATE_HZ, complete=end == first + len(clip))
        )

    for number, (advance, action) in enumerate(steps):
        now += advance
        events += speaker.events(now / SAMPLE_RATE_HZ)
        if action is None:
            continue
        if sounding is not None:
            end_of_sounding(now)
            sounding = None
        if isinstance(action, str):
            speaker.stop()
        else:
            speaker.play(f"clip {number}", action)
            expected_events.append(PlaybackEvent("started", f"clip {number}", now / SAMPLE_RATE_HZ))
            sounding = (f"clip {number}", now, action)
    events += speaker.events((now + 100) / SAMPLE_RATE_HZ)
    if sounding is not None:
        end_of_sounding(now + 100)
    assert events == expected_events
    assert sink.samples.tolist() == expected_sound[: now + 100].tolist()


def test_asking_late_changes_no_time():
    speaker = ClockedSpeaker()
    assert speaker.events(1.5) == []
    speaker.play("cue", np.ones(SAMPLE_RATE_HZ, dtype=np.int16))
    assert speaker.events(60.0) == [PlaybackEvent("started", "cue", 1.5), PlaybackEvent("ended", "cue", 2.5)]


def test_closing_lets_what_sounds_come_to_its_end_in_the_file(tmp_path):
    path = tmp_path / "out.wav"
    with WavWriter(path) as sink:
        speaker = ClockedSpeaker(sink)
        speaker.events(1.0)
        speaker.play("last words", np.full(SAMPLE_RATE_HZ, 7, dtype=np.int16))
        speaker.events(1.25)
        speaker.close()
    assert read_wav(path).tolist() == [0] * SAMPLE_RATE_HZ + [7] * SAMPLE_RATE_HZ
