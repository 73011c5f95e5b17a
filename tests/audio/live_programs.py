"""What the live tests run in a process of its own, with the private sound server's environment.

`python live_programs.py NAME [ARGUMENT...]`: writes lines of JSON, waits for lines on standard input.
ALSA reads its configuration once a process, so none of this can run inside pytest.
"""

from __future__ import annotations

import ctypes
import json
import sys
import time

import numpy as np

from voice_trainer.audio.devices import AudioDevices, usable_microphone, usable_speaker
from voice_trainer.audio.errors import AudioError, DeviceLostError
from voice_trainer.audio.live import LiveMicrophone, LiveSpeaker
from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ
from voice_trainer.session.sleep_watch import SleepWatch


def say(**facts: object) -> None:
    print(json.dumps(facts), flush=True)


def noise(seconds: float, seed: int) -> np.ndarray:
    """A signal that is like itself at one place only; its band is low enough to survive half a sample's shift."""
    spectrum = np.fft.rfft(np.random.default_rng(seed).normal(0, 6000, round(seconds * SAMPLE_RATE_HZ)))
    frequencies = np.fft.rfftfreq(round(seconds * SAMPLE_RATE_HZ), 1 / SAMPLE_RATE_HZ)
    spectrum[(frequencies < 100) | (frequencies > 2500)] = 0
    return np.rint(np.fft.irfft(spectrum)).clip(-32768, 32767).astype(np.int16)


def place_of(clip: np.ndarray, recording: np.ndarray) -> tuple[int, float]:
    """Where a clip is in a recording, and how like it the recording is there (1 is the same)."""
    size = len(recording) + len(clip)
    match = np.fft.irfft(
        np.fft.rfft(recording.astype(float), size) * np.conj(np.fft.rfft(clip.astype(float), size))
    )
    place = int(np.argmax(match[: len(recording) - len(clip) + 1]))
    return place, float(np.corrcoef(recording[place : place + len(clip)], clip)[0, 1])


def list_devices() -> None:
    devices = AudioDevices.list()
    say(
        inputs=[device.name for device in devices.inputs],
        outputs=[device.name for device in devices.outputs],
        default_input=devices.default_input.name if devices.default_input else None,
        usable=[
            bool(usable_microphone()),
            bool(usable_speaker("trainer_speaker")),
            bool(usable_speaker("nobody")),
        ],
    )


def loop(rate_hz: str, count: str) -> None:
    """Play clips while the microphone hears the speaker: when does each sound, and when is it said to sound?"""
    rate = int(rate_hz) or None
    microphone = LiveMicrophone("speaker_loopback", rate_hz=rate)
    speaker = LiveSpeaker("trainer_speaker", microphone, rate_hz=rate)
    clip = noise(0.2, seed=1)
    blocks, events, played = [], [], {}
    next_seconds = 1.5
    end_seconds = next_seconds + 0.5 * int(count) + 1
    while not blocks or blocks[-1].end_seconds < end_seconds:
        block = microphone.read()
        assert block is not None
        assert block.first_sample == len(blocks) * BLOCK_SAMPLES
        blocks.append(block)
        if block.end_seconds > next_seconds and len(played) < int(count):
            name = f"clip {len(played)}"
            played[name] = microphone.session_seconds(time.monotonic())
            speaker.play(name, clip)
            next_seconds += 0.5
        events += speaker.events(block.end_seconds)
    recording = np.concatenate([block.samples for block in blocks])
    started = {event.name: event.at_seconds for event in events if event.kind == "started"}
    ended = {event.name: event.at_seconds for event in events if event.kind == "ended"}
    clips = []
    for name, asked_seconds in played.items():
        first = round((asked_seconds - 0.1) * SAMPLE_RATE_HZ)
        place, likeness = place_of(clip, recording[first : first + round(0.5 * SAMPLE_RATE_HZ)])
        clips.append(
            {
                "asked": asked_seconds,
                "started": started[name],
                "ended": ended[name],
                "heard": (first + place) / SAMPLE_RATE_HZ,
                "likeness": likeness,
            }
        )
    say(clips=clips, lost=sum(block.lost_samples for block in blocks), underflows=speaker.underflows)
    speaker.close()
    microphone.close()


def listen(seconds: str, stall_seconds: str) -> None:
    """Record the microphone; say when it began; hold the interpreter for a while in the middle."""
    microphone = LiveMicrophone("trainer_microphone")
    blocks = [microphone.read()]
    say(listening=True)
    stalled = False
    while blocks[-1].end_seconds < float(seconds):
        blocks.append(microphone.read())
        if not stalled and blocks[-1].end_seconds > float(seconds) / 2:
            # PyDLL does not release the interpreter's lock: no callback runs meanwhile.
            ctypes.PyDLL(None).usleep(round(float(stall_seconds) * 1e6))
            stalled = True
    assert [block.first_sample for block in blocks] == [i * BLOCK_SAMPLES for i in range(len(blocks))]
    session_seconds = microphone.session_seconds(time.monotonic())
    recording = np.concatenate([block.samples for block in blocks])
    signal = noise(float(seconds) - 3, seed=2)
    place, likeness = place_of(signal, recording)
    say(
        place=place / SAMPLE_RATE_HZ,
        likeness=likeness,
        lost=sum(block.lost_samples for block in blocks),
        session_seconds=session_seconds,
        end_seconds=blocks[-1].end_seconds,
    )
    microphone.close()


def wait_out(seconds: str) -> None:
    """Record while the sound server hangs for a moment: nothing is lost, and nothing is missing."""
    asleep = SleepWatch()
    opened = time.monotonic()
    microphone = LiveMicrophone("trainer_microphone", while_waiting=lambda silent_seconds: asleep.awake())
    speaker = LiveSpeaker("trainer_speaker", microphone)
    blocks = [microphone.read() for _ in range(20)]
    say(listening=True)
    longest = slept = 0.0
    while blocks[-1].end_seconds < float(seconds):
        asked = time.monotonic()
        blocks.append(microphone.read())
        longest = max(longest, time.monotonic() - asked)
        slept += asleep.slept_seconds()
        speaker.events(blocks[-1].end_seconds)
    say(
        longest=longest,
        slept=slept,
        lost=sum(block.lost_samples for block in blocks),
        recorded=blocks[-1].end_seconds,
        took=time.monotonic() - opened,
        behind=abs(microphone.session_seconds(time.monotonic()) - blocks[-1].end_seconds),
    )
    speaker.close()
    microphone.close()


def break_streams() -> None:
    """PortAudio ends both streams, as it does after errors that pass; their devices are there."""
    microphone = LiveMicrophone("trainer_microphone")
    speaker = LiveSpeaker("trainer_speaker", microphone)
    speaker.play("cut off", np.zeros(20 * SAMPLE_RATE_HZ, dtype=np.int16))
    blocks = [microphone.read() for _ in range(40)]
    microphone._stream.abort()
    speaker._stream.abort()
    events = []
    for _ in range(60):
        blocks.append(microphone.read())
        events += speaker.events(blocks[-1].end_seconds)
    speaker.play("again", np.zeros(1600, dtype=np.int16))
    for _ in range(40):
        blocks.append(microphone.read())
        events += speaker.events(blocks[-1].end_seconds)
    say(
        blocks=[block.first_sample for block in blocks],
        lost=sum(block.lost_samples for block in blocks),
        events=[[e.kind, e.name, e.complete] for e in events],
        behind=abs(microphone.session_seconds(time.monotonic()) - blocks[-1].end_seconds),
    )
    speaker.close()
    microphone.close()


def open_late() -> None:
    """Open a microphone and a speaker, whether or not the sound server is there yet."""
    started = time.monotonic()
    try:
        microphone = LiveMicrophone("trainer_microphone")
        speaker = LiveSpeaker("trainer_speaker", microphone)
    except AudioError as error:
        say(after=time.monotonic() - started, line=str(error))
        return
    after = time.monotonic() - started
    say(after=after, blocks=len([microphone.read() for _ in range(10)]))
    speaker.close()
    microphone.close()


def lose() -> None:
    """Work, lose both devices, wait until they are back, work again; report every step."""
    microphone = LiveMicrophone("trainer_microphone")
    speaker = LiveSpeaker("trainer_speaker", microphone)
    blocks = [microphone.read() for _ in range(40)]
    speaker.play("cut off", np.zeros(20 * SAMPLE_RATE_HZ, dtype=np.int16))
    blocks += [microphone.read() for _ in range(10)]
    say(working=True, events=[e.kind for e in speaker.events(blocks[-1].end_seconds)])
    sys.stdin.readline()
    asked = time.monotonic()
    try:
        while True:
            blocks.append(microphone.read())
    except DeviceLostError as error:
        say(lost="microphone", after=time.monotonic() - asked, line=str(error))
    try:
        while True:
            speaker.events(blocks[-1].end_seconds)
            time.sleep(0.05)
    except DeviceLostError as error:
        say(lost="speaker", line=str(error))
    frozen = microphone.session_seconds(time.monotonic())
    say(too_early=[microphone.reopen(), speaker.reopen()])
    sys.stdin.readline()
    deadline = time.monotonic() + 10
    reopened = False
    while not reopened and time.monotonic() < deadline:
        reopened = microphone.reopen() and speaker.reopen()
        time.sleep(0.1)
    after = [microphone.read() for _ in range(20)]
    events = speaker.events(after[-1].end_seconds)
    speaker.play("again", np.zeros(1600, dtype=np.int16))
    after += [microphone.read() for _ in range(20)]
    events += speaker.events(after[-1].end_seconds)
    say(
        reopened=reopened,
        frozen=frozen,
        before=blocks[-1].first_sample,
        after=[block.first_sample for block in after],
        events=[[e.kind, e.name, e.complete] for e in events],
        session_seconds=microphone.session_seconds(time.monotonic()),
        end_seconds=after[-1].end_seconds,
    )
    speaker.close()
    microphone.close()


def interrupt() -> None:
    """Start clips over one another, stop, and close while one sounds."""
    microphone = LiveMicrophone("trainer_microphone")
    speaker = LiveSpeaker("trainer_speaker", microphone)
    long_clip = noise(5, seed=3)
    blocks, events = [microphone.read() for _ in range(20)], []
    actions = {
        30: lambda: speaker.play("first", long_clip),
        45: lambda: (speaker.play("never heard", long_clip), speaker.play("second", long_clip)),
        60: speaker.stop,
        75: lambda: speaker.play("short", noise(0.1, seed=4)),
    }
    while len(blocks) < 100:
        blocks.append(microphone.read())
        events += speaker.events(blocks[-1].end_seconds)
        actions.get(len(blocks), lambda: None)()
    speaker.play("last", noise(0.5, seed=5))
    asked = time.monotonic()
    speaker.close()
    say(
        events=[[e.kind, e.name, e.at_seconds, e.complete] for e in events],
        closing_took=time.monotonic() - asked,
        after_close=microphone.read() is not None,
    )
    microphone.close()
    say(after_close=microphone.read() is None)


if __name__ == "__main__":
    globals()[sys.argv[1]](*sys.argv[2:])
