"""A real microphone and a real speaker, through sounddevice (PortAudio).

They are two streams, never one full-duplex stream. What PortAudio calls from its own thread does next to
nothing: the microphone's callback hands on the bytes and the times, the speaker's copies a piece of a clip
that was made ready before. Whatever goes wrong in there comes out of `read` and `events`.

Whether a device has gone is asked of PortAudio and of the device, never concluded from silence: on a busy machine, or
with a sound server that hangs, nothing comes for seconds from a device that is well. Such a stall is waited for; no
sample comes, so no time passes. A stream that PortAudio has ended is opened anew, a few times within a second or two;
only where that fails DeviceLostError is raised. A stream that runs and gives nothing is opened anew as a last resort,
after LAST_RESORT_SECONDS. The time without a device is a pause: after `reopen` the sample count goes on where
it stopped, just as it does after a laptop was suspended.
"""

from __future__ import annotations

import queue
import re
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal, Protocol

import numpy as np
import soxr

from voice_trainer.audio import portaudio
from voice_trainer.audio.clock import PAUSE_SECONDS, HostOffset, StreamClock
from voice_trainer.audio.devices import AudioDevice, AudioDevices, DeviceKind, opened_rate_hz
from voice_trainer.audio.errors import AudioError, DeviceLostError
from voice_trainer.audio.patience import opening_error, patiently
from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ, Block, PlaybackEvent, Samples

LAST_RESORT_SECONDS = 20.0
"""How long a stream may give nothing before it is opened anew, though PortAudio says that it runs (ours)."""

AT_ONCE_WAITS_SECONDS = (0.0, 0.25, 0.5)
"""When a stream has ended: how long to wait before each try to go on with it at once (ours)."""

MICROPHONE_LATENCY_SECONDS = 0.02
"""How long the driver may gather samples before it hands them over: at 0.1 s they came 13 ms later (measured)."""

SPEAKER_LATENCY_SECONDS = 0.01
"""How far ahead of the sound clips are handed over: less starts cues sooner, more survives a busy machine."""

_CARD_SUFFIX = re.compile(r"\s*\(hw:\d+,\d+\)$")


class SessionClock(Protocol):
    """What a speaker needs of the microphone."""

    def session_seconds(self, host_seconds: float) -> float:
        """The session time of a moment of the host's monotonic clock."""


@dataclass(frozen=True, slots=True)
class _Arrival:
    host_seconds: float
    stream_seconds: float
    recorded_stream_seconds: float
    overflowed: bool
    data: bytes


class LiveMicrophone:
    """A stream of blocks from a device: a part of its name, its number, or None for the default one.

    Opened at 16 kHz where the device takes that, otherwise at its own rate (`rate_hz` forces one) and
    resampled. `while_waiting` is called, a few times a second, with how long nothing has come. Raises AudioError when
    there is no such device or it can't be opened.
    """

    def __init__(
        self,
        device: str | int | None = None,
        *,
        rate_hz: int | None = None,
        latency_seconds: float = MICROPHONE_LATENCY_SECONDS,
        while_waiting: Callable[[float], None] = lambda silent_seconds: None,
    ) -> None:
        self._while_waiting = while_waiting
        self._generation = 0
        self._asked_rate_hz = rate_hz
        self._asked_latency_seconds = latency_seconds
        self._stream: Any = None
        self._arrivals: queue.SimpleQueue[_Arrival | BaseException | None] = queue.SimpleQueue()
        self._pending: deque[Samples] = deque()
        self._pending_samples = 0
        self._delivered_samples = 0
        self._lost_spans: deque[tuple[int, int]] = deque()
        self._closed = False
        self._lost = False
        patiently(lambda: self._open(AudioDevices.list().find(device, "input")))

    def read(self) -> Block | None:
        """The next block; None after `close`. Raises DeviceLostError, and again until `reopen` succeeds."""
        if self._lost and not self._closed:
            raise self._gone()
        while self._pending_samples < BLOCK_SAMPLES:
            arrival = self._next_arrival()
            if arrival is None:
                return None
            self._take(arrival)
        joined = np.concatenate(self._pending)
        block = joined[:BLOCK_SAMPLES]
        self._pending = deque([joined[BLOCK_SAMPLES:]])
        self._pending_samples = len(joined) - BLOCK_SAMPLES
        first_sample = self._delivered_samples
        self._delivered_samples += BLOCK_SAMPLES
        return Block(first_sample, block, self._lost_in(first_sample, self._delivered_samples))

    def session_seconds(self, host_seconds: float) -> float:
        """See Microphone; while the device is lost, the session time at which it stopped."""
        if self._lost:
            return self._produced_samples / SAMPLE_RATE_HZ
        opened_at_seconds = self._opened_at_sample / SAMPLE_RATE_HZ
        stream_seconds = self._clock.frame_seconds(host_seconds)
        if stream_seconds is None:
            stream_seconds = host_seconds - self._opened_host_seconds
        return opened_at_seconds + stream_seconds

    def reopen(self) -> bool:
        """Look for the same device again and go on with it; False while it is not there."""
        if self._closed:
            return False
        self._lost = True
        self._close_stream()
        device = _found_again(self._device, "input", self._generation)
        if device is None:
            self._generation = portaudio.generation()
            return False
        if _is_opened(self._open, device):
            return True
        self._generation = portaudio.generation()
        return False

    def close(self) -> None:
        """Release the device; a `read` that waits returns None."""
        self._closed = True
        self._close_stream()
        self._arrivals.put(None)

    def _close_stream(self) -> None:
        if self._stream is not None:
            portaudio.close(self._stream)

    @property
    def _produced_samples(self) -> int:
        return self._delivered_samples + self._pending_samples

    def _open(self, device: AudioDevice) -> None:
        module = portaudio.sounddevice()
        self._device = device
        self.name = device.name
        self._generation = portaudio.generation()
        self._rate_hz = self._asked_rate_hz or opened_rate_hz(module, device, "input")
        self._resampler = (
            None
            if self._rate_hz == SAMPLE_RATE_HZ
            else soxr.ResampleStream(self._rate_hz, SAMPLE_RATE_HZ, 1, "int16")
        )
        self._arrivals = queue.SimpleQueue()
        self._opened_at_sample = self._produced_samples
        self._frames = 0
        self._offset = HostOffset()
        try:
            # No fixed block size: PortAudio would collect frames for one, and its times of recording with it
            # come out wrong by up to half a block.
            self._stream = module.RawInputStream(
                samplerate=self._rate_hz,
                blocksize=0,
                device=device.index,
                channels=1,
                dtype="int16",
                latency=self._asked_latency_seconds,
                callback=self._callback(module, self._arrivals),
            )
            portaudio.opened(self._stream)
            self._clock = StreamClock(self._rate_hz, self._stream.latency)
            self._opened_host_seconds = self._last_arrival_host_seconds = time.monotonic()
            self._stream.start()
        except module.PortAudioError as error:
            self._close_stream()
            raise opening_error(f"the microphone {device.name!r} can't be opened: {error}", error) from error
        self._lost = False

    @staticmethod
    def _callback(module: Any, arrivals: queue.SimpleQueue[_Arrival | BaseException | None]) -> Any:
        def callback(data: Any, frames: int, times: Any, status: Any) -> None:
            try:
                host = time.monotonic()
                arrivals.put(
                    _Arrival(
                        host, times.currentTime, times.inputBufferAdcTime, status.input_overflow, bytes(data)
                    )
                )
            except BaseException as error:
                arrivals.put(error)
                raise module.CallbackAbort from error

        return callback

    def _next_arrival(self) -> _Arrival | None:
        while not self._closed:
            try:
                arrival = self._arrivals.get(timeout=0.05)
            except queue.Empty:
                if self._closed:
                    return None
                silent_seconds = time.monotonic() - self._last_arrival_host_seconds
                self._while_waiting(silent_seconds)
                runs = _alive(self._stream, self._generation)
                if (runs and silent_seconds <= LAST_RESORT_SECONDS) or not self._arrivals.empty():
                    continue
                if not self._goes_on():
                    self._lost = True
                    raise self._gone() from None
                continue
            if isinstance(arrival, BaseException):
                self._lost = True
                raise DeviceLostError(f"the microphone {self.name!r} failed: {arrival}") from arrival
            return arrival
        return None

    def _goes_on(self) -> bool:
        """Whether the stream, which has ended, could be opened anew at once; what was lost meanwhile is silence."""
        silent_since = self._last_arrival_host_seconds
        if not _opened_at_once(self._open_again, self.reopen):
            return False
        silent_seconds = min(time.monotonic() - silent_since, PAUSE_SECONDS)
        lost_samples = round(silent_seconds * SAMPLE_RATE_HZ)
        self._lost_spans.append((self._produced_samples, self._produced_samples + lost_samples))
        self._pending.append(np.zeros(lost_samples, dtype=np.int16))
        self._pending_samples += lost_samples
        self._opened_at_sample = self._produced_samples
        return True

    def _open_again(self) -> bool:
        """Open the same device anew, as PortAudio saw it last: that leaves other streams alone."""
        if self._generation < portaudio.generation():
            return self.reopen()
        self._close_stream()
        return _is_opened(self._open, self._device)

    def _take(self, arrival: _Arrival) -> None:
        self._last_arrival_host_seconds = time.monotonic()
        frames = np.frombuffer(arrival.data, dtype=np.int16)
        recorded_host_seconds = None
        if arrival.stream_seconds > 0:
            self._offset.seen(arrival.host_seconds, arrival.stream_seconds)
            recorded_host_seconds = self._offset.host_seconds(arrival.recorded_stream_seconds)
        lost_frames = self._clock.block(
            self._frames, len(frames), arrival.host_seconds, recorded_host_seconds, arrival.overflowed
        )
        if lost_frames:
            start, end = self._sample_of(self._frames), self._sample_of(self._frames + lost_frames)
            self._lost_spans.append((start, end))
            self._push(np.zeros(lost_frames, dtype=np.int16))
        self._frames += lost_frames + len(frames)
        self._push(frames)

    def _push(self, frames: Samples) -> None:
        samples = frames if self._resampler is None else self._resampler.resample_chunk(frames)
        self._pending.append(samples)
        self._pending_samples += len(samples)

    def _sample_of(self, frame: int) -> int:
        return self._opened_at_sample + round(frame * SAMPLE_RATE_HZ / self._rate_hz)

    def _lost_in(self, first_sample: int, end_sample: int) -> int:
        while self._lost_spans and self._lost_spans[0][1] <= first_sample:
            self._lost_spans.popleft()
        return sum(max(0, min(end, end_sample) - max(start, first_sample)) for start, end in self._lost_spans)

    def _gone(self) -> DeviceLostError:
        # The stream is closed by `reopen`: with a sound server that hangs, closing hangs as well.
        return DeviceLostError(f"the microphone {self.name!r} has gone: plug it in again, or choose another")


class _Playing:
    """A clip on its way through the speaker's callback."""

    __slots__ = ("data", "name", "offset")

    def __init__(self, name: str, data: bytes) -> None:
        self.name = name
        self.data = memoryview(data)
        self.offset = 0


@dataclass(frozen=True, slots=True)
class _Mark:
    """Something that the callback did: when the loudspeaker will sound it, on the stream's clock."""

    kind: Literal["started", "ended"]
    name: str
    host_seconds: float
    stream_seconds: float
    sounds_stream_seconds: float
    complete: bool


class LiveSpeaker:
    """Plays clips on a device: a part of its name, its number, or None for the default one.

    The stream runs all the time, silent between clips, so that a clip begins within the device's latency.
    The times of its events are those at which the sound left the device, by the stream's own clock, as
    `clock` (the microphone) puts them into the session; `offset_seconds` is added to them, for a headset that
    takes longer than it admits (Bluetooth). Raises AudioError like LiveMicrophone.
    """

    def __init__(
        self,
        device: str | int | None,
        clock: SessionClock,
        *,
        rate_hz: int | None = None,
        latency_seconds: float = SPEAKER_LATENCY_SECONDS,
        offset_seconds: float = 0.0,
    ) -> None:
        self._clock = clock
        self._generation = 0
        self._asked_rate_hz = rate_hz
        self._asked_latency_seconds = latency_seconds
        self._offset_seconds = offset_seconds
        self._stream: Any = None
        self._commands: deque[_Playing | None] = deque()
        self._sounding: _Playing | None = None
        self._marks: queue.SimpleQueue[_Mark | BaseException] = queue.SimpleQueue()
        self._events: deque[PlaybackEvent] = deque()
        self._latest_event_seconds = 0.0
        self._failure: BaseException | None = None
        self._underflows = 0
        self._closed = False
        patiently(lambda: self._open(AudioDevices.list().find(device, "output")))

    @property
    def underflows(self) -> int:
        """How often the machine was too busy to keep the loudspeaker fed."""
        return self._underflows

    def play(self, name: str, clip: Samples) -> None:
        """See Speaker. A clip that never came to sound has both events at the same moment."""
        self._ensure_open()
        samples = clip
        if self._rate_hz != SAMPLE_RATE_HZ:
            samples = soxr.resample(clip, SAMPLE_RATE_HZ, self._rate_hz)
        self._commands.append(_Playing(name, np.ascontiguousarray(samples, dtype=np.int16).tobytes()))

    def stop(self) -> None:
        """Fall silent."""
        self._commands.append(None)

    def events(self, now_seconds: float) -> list[PlaybackEvent]:
        """See Speaker. Raises DeviceLostError."""
        self._ensure_open()
        self._read_marks()
        if self._failure is not None:
            failure, self._failure = self._failure, None
            self._end_everything()
            raise DeviceLostError(f"the speaker {self.name!r} failed: {failure}") from failure
        happened: list[PlaybackEvent] = []
        while self._events and self._events[0].at_seconds <= now_seconds:
            happened.append(self._events.popleft())
        return happened

    def reopen(self) -> bool:
        """Look for the same device again; what sounded when it went has ended, incomplete."""
        if self._closed:
            return False
        self._end_everything()
        self._close_stream()
        device = _found_again(self._device, "output", self._generation)
        if device is None:
            self._generation = portaudio.generation()
            return False
        if _is_opened(self._open, device):
            return True
        self._generation = portaudio.generation()
        return False

    def close(self) -> None:
        """Let what sounds come to its end, then release the device."""
        if self._closed:
            return
        self._closed = True
        while (self._commands or self._sounding is not None) and self._plays():
            time.sleep(0.01)
        if self._plays():
            time.sleep(self._latency_seconds + 0.02)  # what was handed over last is still to sound
        self._close_stream()

    def _close_stream(self) -> None:
        if self._stream is not None:
            portaudio.close(self._stream)

    def _open(self, device: AudioDevice) -> None:
        module = portaudio.sounddevice()
        self._device = device
        self.name = device.name
        self._generation = portaudio.generation()
        self._rate_hz = self._asked_rate_hz or opened_rate_hz(module, device, "output")
        self._offset = HostOffset()
        self._marks = queue.SimpleQueue()
        try:
            self._stream = module.RawOutputStream(
                samplerate=self._rate_hz,
                blocksize=0,
                device=device.index,
                channels=1,
                dtype="int16",
                latency=self._asked_latency_seconds,
                callback=self._callback(module),
            )
            portaudio.opened(self._stream)
            self._latency_seconds: float = self._stream.latency
            self._last_callback_host_seconds = time.monotonic()
            self._stream.start()
        except module.PortAudioError as error:
            self._close_stream()
            raise opening_error(f"the speaker {device.name!r} can't be opened: {error}", error) from error

    def _callback(self, module: Any) -> Any:
        running = self._running = object()

        def callback(out: Any, frames: int, times: Any, status: Any) -> None:
            if self._running is not running:
                out[:] = bytes(len(out))
                return
            try:
                self._fill(out, times.currentTime, times.outputBufferDacTime)
                if status.output_underflow:
                    self._underflows += 1
            except BaseException as error:
                self._marks.put(error)
                raise module.CallbackAbort from error

        return callback

    def _fill(self, out: Any, stream_seconds: float, sounds_stream_seconds: float) -> None:
        host_seconds = self._last_callback_host_seconds = time.monotonic()
        self._offset.seen(host_seconds, stream_seconds)
        while self._commands:
            command = self._commands.popleft()
            if self._sounding is not None:
                self._mark("ended", host_seconds, stream_seconds, sounds_stream_seconds, complete=False)
            self._sounding = command
            if command is not None:
                self._mark("started", host_seconds, stream_seconds, sounds_stream_seconds)
        filled = 0
        sounding = self._sounding
        if sounding is not None:
            piece = sounding.data[sounding.offset : sounding.offset + len(out)]
            filled = len(piece)
            out[:filled] = piece
            sounding.offset += filled
            if sounding.offset >= len(sounding.data):
                ends = sounds_stream_seconds + filled / 2 / self._rate_hz
                self._mark("ended", host_seconds, stream_seconds, ends)
                self._sounding = None
        if filled < len(out):
            out[filled:] = bytes(len(out) - filled)

    def _mark(
        self,
        kind: Literal["started", "ended"],
        host_seconds: float,
        stream_seconds: float,
        sounds_stream_seconds: float,
        *,
        complete: bool = True,
    ) -> None:
        assert self._sounding is not None
        self._marks.put(
            _Mark(kind, self._sounding.name, host_seconds, stream_seconds, sounds_stream_seconds, complete)
        )

    def _read_marks(self) -> None:
        while not self._marks.empty():
            mark = self._marks.get()
            if isinstance(mark, BaseException):
                self._failure = mark
                continue
            if mark.sounds_stream_seconds > 0 and mark.stream_seconds > 0:
                host_seconds = self._offset.host_seconds(mark.sounds_stream_seconds)
            else:
                host_seconds = mark.host_seconds + self._latency_seconds
            self._add(
                mark.kind,
                mark.name,
                self._clock.session_seconds(host_seconds) + self._offset_seconds,
                mark.complete,
            )

    def _add(
        self, kind: Literal["started", "ended"], name: str, at_seconds: float, complete: bool = True
    ) -> None:
        # Two times that were mapped at different moments may cross by a hair: events stay in order.
        self._latest_event_seconds = max(self._latest_event_seconds, at_seconds)
        self._events.append(PlaybackEvent(kind, name, self._latest_event_seconds, complete))

    def _ensure_open(self) -> None:
        if self._closed:
            raise AudioError(f"the speaker {self.name!r} has been closed")
        if self._running is None:  # lost, and not opened again yet
            raise self._gone()
        runs = _alive(self._stream, self._generation)
        if runs and self._silent_seconds <= LAST_RESORT_SECONDS:
            return
        # Somebody else looked for devices again, which closed this stream, or PortAudio has ended it.
        if not _opened_at_once(self._open_again, self.reopen):
            self._end_everything()
            raise self._gone()

    def _open_again(self) -> bool:
        """Open the same device anew, as PortAudio saw it last: that leaves other streams alone."""
        if self._generation < portaudio.generation():
            return self.reopen()
        self._end_everything()
        self._close_stream()
        return _is_opened(self._open, self._device)

    @property
    def _silent_seconds(self) -> float:
        return time.monotonic() - self._last_callback_host_seconds

    def _plays(self) -> bool:
        """Whether waiting for the end of what sounds is of use."""
        return self._silent_seconds < PAUSE_SECONDS and _alive(self._stream, self._generation)

    def _gone(self) -> DeviceLostError:
        return DeviceLostError(f"the speaker {self.name!r} has gone: plug it in again, or choose another")

    def _end_everything(self) -> None:
        """Take over from the callback for good, and end what sounds or waits to."""
        self._running = None
        self._read_marks()
        at_seconds = self._clock.session_seconds(time.monotonic())
        if self._sounding is not None:
            self._add("ended", self._sounding.name, at_seconds, complete=False)
            self._sounding = None
        for command in self._commands:
            if command is not None:
                self._add("started", command.name, at_seconds)
                self._add("ended", command.name, at_seconds, complete=False)
        self._commands.clear()


def _alive(stream: Any, generation: int) -> bool:
    """Whether PortAudio still runs this stream."""
    if generation < portaudio.generation():
        return False
    module = portaudio.sounddevice()
    try:
        return bool(stream.active)
    except module.PortAudioError:
        return False


def _is_opened(open_device: Callable[[AudioDevice], None], device: AudioDevice) -> bool:
    try:
        open_device(device)
    except AudioError:
        return False
    return True


def _opened_at_once(open_again: Callable[[], bool], reopen: Callable[[], bool]) -> bool:
    """Whether a device could be opened anew: as it was seen last, then by looking for devices again."""
    for attempt, wait_seconds in enumerate(AT_ONCE_WAITS_SECONDS):
        time.sleep(wait_seconds)
        if open_again() if attempt == 0 else reopen():
            return True
    return False


def _found_again(device: AudioDevice, kind: DeviceKind, generation: int) -> AudioDevice | None:
    """The device of the same name among those of this moment; its card may have another number by now."""
    try:
        if generation == portaudio.generation():
            portaudio.look_again()
        devices = AudioDevices.last_seen()
    except AudioError:
        return None
    candidates = devices.inputs if kind == "input" else devices.outputs
    stem = _CARD_SUFFIX.sub("", device.name)
    same = [found for found in candidates if found.name == device.name]
    alike = [found for found in candidates if _CARD_SUFFIX.sub("", found.name) == stem]
    return next(iter(same + alike), None)
