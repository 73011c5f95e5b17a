"""Real streams through PortAudio, on a private sound server: `pulse.PrivatePulse`."""

from __future__ import annotations

import json
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Self

import numpy as np
import pytest
from live_programs import noise, place_of
from pulse import PrivatePulse, SpeakerRecording

from voice_trainer.audio.ports import SAMPLE_RATE_HZ

pytestmark = [pytest.mark.live, pytest.mark.slow]

CHECKOUT = Path(__file__).parents[2]

STALL_SECONDS = 0.03
"""A stream of low latency holds about as much sound."""


@pytest.fixture
def pulse() -> Iterator[PrivatePulse]:
    with PrivatePulse() as server:
        yield server


class Program:
    """One of `live_programs` in a process of its own."""

    def __init__(self, pulse: PrivatePulse, *arguments: str) -> None:
        self._process = subprocess.Popen(
            [sys.executable, str(Path(__file__).parent / "live_programs.py"), *arguments],
            env=pulse.env | {"PYTHONPATH": str(CHECKOUT)},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )
        self._watchdog = threading.Timer(60, self._process.kill)
        self._watchdog.start()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._watchdog.cancel()
        self._process.kill()
        self._process.communicate()

    def line(self) -> dict[str, Any]:
        assert self._process.stdout is not None
        text = self._process.stdout.readline()
        assert text, "the program has ended early: its error is above"
        return json.loads(text)

    def go_on(self) -> None:
        assert self._process.stdin is not None
        self._process.stdin.write("\n")
        self._process.stdin.flush()

    def ends_well(self) -> bool:
        return self._process.wait(timeout=20) == 0


def test_devices_are_listed_by_name_and_usable(pulse):
    with Program(pulse, "list_devices") as program:
        found = program.line()
        assert {"trainer_microphone", "pulse", "default"} <= set(found["inputs"])
        assert "trainer_speaker" in found["outputs"]
        assert found["default_input"] == "default"
        assert found["usable"] == [True, True, False]


class Stalls(threading.Thread):
    """How long this machine let nobody run, as far as a thread can see that wants to run every few milliseconds."""

    def __init__(self) -> None:
        super().__init__(daemon=True)
        self.longest_seconds = 0.0
        self._ended = threading.Event()

    def __enter__(self) -> Self:
        self.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._ended.set()
        self.join()

    def run(self) -> None:
        before = time.monotonic()
        while not self._ended.wait(0.004):
            now = time.monotonic()
            self.longest_seconds = max(self.longest_seconds, now - before)
            before = now


def looped(pulse: PrivatePulse, rate_hz: int) -> dict[str, Any]:
    """Sixteen clips through the speaker into the microphone, once more where the machine itself stood still meanwhile:
    a sound server that may not run tears every sound.
    """
    for _ in range(3):
        with Stalls() as stalls, Program(pulse, "loop", str(rate_hz), "16") as program:
            result = program.line()
            assert program.ends_well()
        if stalls.longest_seconds < STALL_SECONDS:
            break
    return result


@pytest.mark.alone
@pytest.mark.parametrize("rate_hz", [0, 48_000, 44_100])
def test_a_clip_sounds_soon_and_exactly_when_its_event_says(pulse, rate_hz, record_property):
    result = looped(pulse, rate_hz)
    clips = result["clips"]
    error_ms = np.array([1000 * (clip["started"] - clip["heard"]) for clip in clips])
    delay_ms = np.array([1000 * (clip["started"] - clip["asked"]) for clip in clips])
    record_property("event_error_ms", [round(float(e), 1) for e in error_ms])
    record_property("start_delay_ms", [round(float(d), 1) for d in delay_ms])
    assert result["lost"] == 0
    assert np.abs(error_ms).max() < 30
    assert np.median(delay_ms) < 40
    assert sum(clip["likeness"] > 0.95 for clip in clips) >= len(clips) - result["underflows"]
    assert all(abs(clip["ended"] - clip["started"] - 0.2) < 0.015 for clip in clips)


@pytest.mark.alone
@pytest.mark.parametrize("stall_seconds", ["0", "0.3"])
def test_ten_seconds_from_the_microphone_are_complete_also_when_the_process_was_stalled(pulse, stall_seconds):
    with Program(pulse, "listen", "13", stall_seconds) as program:
        assert program.line() == {"listening": True}
        pulse.say(noise(10, seed=2))
        result = program.line()
        assert program.ends_well()
    assert result["lost"] == 0
    # One sample missing anywhere would put what follows out of step with itself.
    assert result["likeness"] > 0.99
    assert 0.0 < result["place"] < 1.5
    assert abs(result["session_seconds"] - result["end_seconds"]) < 0.15


def test_devices_that_go_and_come_back(pulse):
    with Program(pulse, "lose") as program:
        assert program.line() == {"working": True, "events": ["started"]}
        pulse.kill()
        program.go_on()
        lost = program.line()
        assert lost["lost"] == "microphone" and "trainer_microphone" in lost["line"] and lost["after"] < 2
        assert "trainer_speaker" in program.line()["line"]
        assert program.line() == {"too_early": [False, False]}
        pulse.start()
        program.go_on()
        result = program.line()
        assert program.ends_well()
    assert result["reopened"]
    # The time without a device is a pause: the count goes on, block after block.
    first = result["before"] + 512
    assert result["after"] == list(range(first, first + 40 * 512, 512))
    assert abs(result["frozen"] - first / SAMPLE_RATE_HZ) < 0.05
    assert abs(result["session_seconds"] - result["end_seconds"]) < 0.15
    assert result["events"] == [
        ["ended", "cut off", False],
        ["started", "again", True],
        ["ended", "again", True],
    ]


def test_a_server_that_hangs_for_a_while_is_waited_for(pulse):
    """Its devices are there all the time. What was played meanwhile comes when it goes on."""
    with Program(pulse, "wait_out", "13") as program:
        assert program.line() == {"listening": True}
        time.sleep(1.0)
        pulse.suspend(4.5)
        result = program.line()
        assert program.ends_well()
    assert result["longest"] > 3
    assert result["slept"] == 0
    assert result["lost"] == 0
    assert abs(result["took"] - result["recorded"]) < 0.5  # its clock went on, and so all of it came
    assert result["behind"] < 0.3


def test_streams_that_end_though_their_devices_are_there_go_on_at_once(pulse):
    with Program(pulse, "break_streams") as program:
        result = program.line()
        assert program.ends_well()
    assert result["blocks"] == list(range(0, 140 * 512, 512))
    assert 0 < result["lost"] <= SAMPLE_RATE_HZ
    assert result["events"] == [
        ["started", "cut off", True],
        ["ended", "cut off", False],
        ["started", "again", True],
        ["ended", "again", True],
    ]
    assert result["behind"] < 0.3


def test_a_server_that_is_a_moment_late_is_waited_for_at_the_start(pulse):
    pulse.kill()
    with Program(pulse, "open_late") as program:
        time.sleep(0.7)
        pulse.start()
        result = program.line()
        assert program.ends_well()
    assert result.get("blocks") == 10, result


def test_without_any_sound_server_it_is_said_after_a_few_seconds(pulse):
    pulse.kill()
    with Program(pulse, "open_late") as program:
        result = program.line()
    assert result["line"].startswith("no microphone")
    assert 1.5 < result["after"] < 8


def test_clips_that_are_interrupted_stopped_and_closed_over(pulse):
    with SpeakerRecording(pulse) as recording, Program(pulse, "interrupt") as program:
        result = program.line()
        assert program.line() == {"after_close": True} and program.ends_well()
        heard = recording.read(4.5)
    events = [(kind, name, complete) for kind, name, _, complete in result["events"]]
    assert events == [
        ("started", "first", True),
        ("ended", "first", False),
        ("started", "never heard", True),
        ("ended", "never heard", False),
        ("started", "second", True),
        ("ended", "second", False),
        ("started", "short", True),
        ("ended", "short", True),
    ]
    at_seconds = [at for _, _, at, _ in result["events"]]
    assert at_seconds == sorted(at_seconds)
    assert 0.4 < result["closing_took"] < 1.5 and result["after_close"]
    # The clip that sounded at the close is there to its end.
    assert place_of(noise(0.5, seed=5), heard)[1] > 0.9


def test_the_speaker_recording_hears_what_is_played_to_the_speaker(pulse):
    """The fixture itself: what goes into one end comes out of the other."""
    clip = noise(0.5, seed=6)
    with SpeakerRecording(pulse) as recording:
        subprocess.run(
            ["paplay", "--raw", "--rate=16000", "--channels=1", "--format=s16le", "--device=speaker"],
            input=clip.astype("<i2").tobytes(),
            env=pulse.env,
            check=True,
        )
        assert place_of(clip, recording.read(1.5))[1] > 0.99
