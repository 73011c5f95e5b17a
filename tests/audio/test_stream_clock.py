"""The clock of a live stream, on made-up arrivals: jitter, drift, stalls, losses, pauses."""

import random
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.audio.slow_clock import SlowClock
from voice_trainer.audio.clock import HostOffset, StreamClock

RATE_HZ = 16_000
FRAMES = 400
LATENCY_SECONDS = 0.012


class Device:
    """Records from host time `started` on, and delivers a block as soon as it is full, give or take."""

    def __init__(self, started: float = 1000.0, rate_error: float = 0.0) -> None:
        self.started = started
        self.true_rate_hz = RATE_HZ * (1 + rate_error)
        self.recorded_frames = 0

    def recorded_at(self, frame: int) -> float:
        return self.started + frame / self.true_rate_hz

    def block(self, delay_seconds: float = 0.0, wander_seconds: float = 0.0) -> tuple[int, float, float]:
        """Frames, arrival, and the driver's word on when the first of them was recorded."""
        recorded = self.recorded_at(self.recorded_frames)
        self.recorded_frames += FRAMES
        arrived = self.recorded_at(self.recorded_frames) + LATENCY_SECONDS + delay_seconds
        return FRAMES, arrived, recorded + wander_seconds


class Reader:
    """Counts frames as a microphone does."""

    def __init__(self) -> None:
        self.clock = StreamClock(RATE_HZ)
        self.frames = 0
        self.lost = 0

    def take(self, frames: int, arrived: float, recorded: float | None, overflowed: bool = False) -> int:
        lost = self.clock.block(self.frames, frames, arrived, recorded, overflowed)
        self.frames += lost + frames
        self.lost += lost
        return lost

    def error_seconds(self, device: Device, host_seconds: float) -> float:
        seconds = self.clock.frame_seconds(host_seconds)
        assert seconds is not None
        return seconds - (host_seconds - device.started)


def jitter(seed: int) -> Iterator[float]:
    chance = random.Random(seed)
    while True:
        # Mostly on time, sometimes as late as a busy interpreter makes it.
        yield chance.choice([0.0, 0.0, 0.0001, 0.001, 0.005, 0.02])


@given(seed=st.integers(0, 10_000), drift=st.sampled_from([-2e-4, 0.0, 2e-4]))
def test_late_arrivals_and_a_wandering_driver_hardly_move_the_clock(seed, drift):
    device, reader = Device(rate_error=drift), Reader()
    delays = jitter(seed)
    chance = random.Random(seed)
    wander = 0.0
    for _ in range(400):
        wander = max(-0.010, min(0.010, wander + chance.uniform(-0.001, 0.001)))
        assert reader.take(*device.block(next(delays), wander)) == 0
    now = device.recorded_at(device.recorded_frames)
    # The count is the master clock: a device that runs fast or slow by 200 ppm makes ten seconds 2 ms longer.
    count_error = reader.clock.frame_seconds(now) - device.recorded_frames / RATE_HZ
    assert abs(count_error) < 0.012


def test_before_the_first_block_there_is_no_time():
    assert StreamClock(RATE_HZ).frame_seconds(5.0) is None


def test_without_the_drivers_times_the_assumed_latency_is_used():
    device, clock, frames = Device(), StreamClock(RATE_HZ, latency_seconds=LATENCY_SECONDS), 0
    for _ in range(50):
        count, arrived, _ = device.block()
        clock.block(frames, count, arrived, None)
        frames += count
    assert clock.frame_seconds(device.started + 1) == pytest.approx(1.0, abs=1e-6)


@given(lost_frames=st.integers(1200, 14_000), seed=st.integers(0, 100))
def test_a_loss_nobody_mentions_is_found_within_a_second_and_filled(lost_frames, seed):
    device, reader = Device(), Reader()
    chance = random.Random(seed)
    for _ in range(200):
        reader.take(*device.block(chance.uniform(0, 0.01)))
    device.recorded_frames += lost_frames
    for _ in range(40):
        reader.take(*device.block(chance.uniform(0, 0.01)))
    assert abs(reader.lost - lost_frames) < 0.011 * RATE_HZ
    assert abs(reader.error_seconds(device, device.recorded_at(device.recorded_frames))) < 0.012


@given(lost_frames=st.integers(160, 14_000))
def test_a_loss_that_the_driver_flags_is_filled_where_it_happened(lost_frames):
    device, reader = Device(), Reader()
    for _ in range(100):
        reader.take(*device.block())
    device.recorded_frames += lost_frames
    assert abs(reader.take(*device.block(), overflowed=True) - lost_frames) <= 2
    for _ in range(100):
        assert reader.take(*device.block()) == 0


@given(stall_seconds=st.floats(0.05, 0.9))
def test_a_stall_of_the_reader_is_no_loss(stall_seconds):
    device, reader = Device(), Reader()
    for _ in range(100):
        reader.take(*device.block())
    stalled_until = device.recorded_at(device.recorded_frames) + stall_seconds
    for _ in range(100):
        frames, arrived, recorded = device.block()
        reader.take(frames, max(arrived, stalled_until), recorded)
    assert reader.lost == 0
    assert abs(reader.error_seconds(device, device.recorded_at(device.recorded_frames))) < 0.002


def test_a_suspended_laptop_is_a_pause_in_which_a_second_was_lost():
    device, reader = Device(), Reader()
    for _ in range(100):
        reader.take(*device.block())
    counted = reader.frames
    device.started += 3600
    for _ in range(10):
        assert reader.take(*device.block()) == 0
    assert reader.frames == counted + 10 * FRAMES
    assert abs(reader.error_seconds(device, device.recorded_at(device.recorded_frames))) < 0.001
    for _ in range(60):
        reader.take(*device.block())
    assert reader.lost == RATE_HZ  # whoever spoke when the lid was closed has to be asked again
    device.started -= 1
    assert abs(reader.error_seconds(device, device.recorded_at(device.recorded_frames))) < 0.001


@given(stall_seconds=st.floats(1.1, 20.0))
def test_what_comes_in_late_after_a_long_stall_was_not_lost(stall_seconds):
    device, reader = Device(), Reader()
    for _ in range(100):
        reader.take(*device.block())
    stalled_until = device.recorded_at(device.recorded_frames) + stall_seconds
    for _ in range(1000):
        frames, arrived, recorded = device.block()
        reader.take(frames, max(arrived, stalled_until), recorded)
    assert reader.lost == 0
    assert abs(reader.error_seconds(device, device.recorded_at(device.recorded_frames))) < 0.002


def test_the_offset_between_two_clocks_is_measured_by_the_quickest_callbacks_and_follows_a_clock_that_is_set():
    offset, chance = HostOffset(), random.Random(1)
    for i in range(100):
        offset.seen(500 + i * 0.025 + chance.choice([0.0001, 0.004, 0.03]), 1_700_000_000 + i * 0.025)
    assert offset.host_seconds(1_700_000_001) == pytest.approx(501, abs=0.001)
    for i in range(100):
        offset.seen(502.5 + i * 0.025 + 0.0001, 1_700_003_600 + i * 0.025)
    assert offset.host_seconds(1_700_003_600) == pytest.approx(502.5, abs=0.001)


@st.composite
def arrivals(draw: st.DrawFn) -> list[tuple[int, float, float | None, bool]]:
    """Blocks in their order: frames, how long after the one before it came, when it was recorded, and a flag.

    Mostly in step; now and then late for a while (what was lost, or a stall), or after a pause.
    """
    chance = random.Random(draw(st.integers(0, 2**32)))
    found, behind_seconds = [], 0.0
    for _ in range(draw(st.integers(1, 6))):
        kind = draw(st.sampled_from(["in step", "lost", "stall", "pause", "untold"]))
        if kind in ("lost", "stall"):
            behind_seconds = draw(st.floats(0.0, 0.9))
        for at in range(draw(st.integers(1, 400))):
            frames = chance.choice((80, 240, 240, 240, 512))
            since = frames / RATE_HZ + chance.uniform(-0.004, 0.004)
            if at == 0:
                since += 2.0 * (kind == "pause") + behind_seconds * (kind in ("lost", "stall"))
            elif kind == "stall" and behind_seconds > 0.0:
                since, behind_seconds = 0.0, behind_seconds - frames / RATE_HZ
            recorded = None if kind == "untold" else -0.03 + chance.uniform(-0.01, 0.01)
            found.append((frames, max(0.0, since), recorded, chance.random() < 0.01))
    return found


@settings(max_examples=60, deadline=None)
@given(arrivals())
def test_it_knows_what_a_clock_knows_that_looks_at_everything_for_each_block(
    blocks: list[tuple[int, float, float | None, bool]],
) -> None:
    clock, slow = StreamClock(RATE_HZ, 0.02), SlowClock(RATE_HZ, 0.02)
    host_seconds, first_frame = 100.0, 0
    for frames, since, recorded, overflowed in blocks:
        host_seconds += since
        told = None if recorded is None else host_seconds - frames / RATE_HZ + recorded
        lost = clock.block(first_frame, frames, host_seconds, told, overflowed)
        assert lost == slow.block(first_frame, frames, host_seconds, told, overflowed)
        assert clock.frame_seconds(host_seconds) == slow.frame_seconds(host_seconds)
        first_frame += lost + frames
