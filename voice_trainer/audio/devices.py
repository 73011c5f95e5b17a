"""Which microphones and speakers this machine has, and finding one by a part of its name."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from typing import Any, Literal

from voice_trainer.audio import portaudio
from voice_trainer.audio.errors import AudioError, PassingAudioError
from voice_trainer.audio.patience import opening_error, patiently
from voice_trainer.audio.ports import SAMPLE_RATE_HZ

DeviceKind = Literal["input", "output"]
_WORDS: dict[DeviceKind, str] = {"input": "microphone", "output": "speaker"}


@dataclass(frozen=True, slots=True)
class AudioDevice:
    """One device as PortAudio lists it. `index` holds until PortAudio looks for devices again."""

    name: str
    host_api: str
    index: int
    input_channels: int
    output_channels: int
    native_rate_hz: float


@dataclass(frozen=True, slots=True)
class AudioDevices:
    """The devices of this machine; the defaults are None where there are none."""

    inputs: tuple[AudioDevice, ...]
    outputs: tuple[AudioDevice, ...]
    default_input: AudioDevice | None
    default_output: AudioDevice | None

    @classmethod
    def list(cls) -> AudioDevices:
        """What is there now (while a stream is open: what was there when PortAudio last looked).

        Raises AudioError where PortAudio can't be loaded or used.
        """
        portaudio.sounddevice()
        if not portaudio.has_open_streams():
            portaudio.look_again()
        return cls.last_seen()

    @classmethod
    def last_seen(cls) -> AudioDevices:
        """What was there when PortAudio last looked. Raises AudioError like `list`."""
        module = portaudio.sounddevice()
        try:
            with portaudio.quiet_stderr():
                apis = module.query_hostapis()
                found = [_device(entry, apis) for entry in module.query_devices()]
                defaults = _defaults(module, apis)
        except module.PortAudioError as error:
            raise AudioError(f"the audio devices can't be listed: {error}") from error
        by_index = {device.index: device for device in found}
        return cls(
            tuple(device for device in found if device.input_channels),
            tuple(device for device in found if device.output_channels),
            by_index.get(defaults[0]),
            by_index.get(defaults[1]),
        )

    def find(self, name_part: str | int | None, kind: DeviceKind) -> AudioDevice:
        """The one device that is meant: None is the default, a number its index, a text a part of its name.

        A full name goes before a beginning, a beginning before a part; case doesn't matter. Raises AudioError
        when nothing fits (naming what is nearest) or more than one does (naming them); PassingAudioError where there
        is no device at all, as with a sound server that is about to start.
        """
        candidates = self.inputs if kind == "input" else self.outputs
        word = _WORDS[kind]
        if not candidates:
            raise PassingAudioError(
                f"no {word}: this machine has none that PortAudio can see: plug one in, then try again"
            )
        if name_part is None:
            default = self.default_input if kind == "input" else self.default_output
            if default is not None:
                return default
            return candidates[0]
        if isinstance(name_part, int):
            for device in candidates:
                if device.index == name_part:
                    return device
            raise AudioError(f"no {word} has the number {name_part}: choose from {_numbered(candidates)}")
        wanted = name_part.casefold().strip()
        names = [device.name.casefold() for device in candidates]
        for fits in (
            [d for d, name in zip(candidates, names, strict=True) if name == wanted],
            [d for d, name in zip(candidates, names, strict=True) if name.startswith(wanted)],
            [d for d, name in zip(candidates, names, strict=True) if wanted in name],
        ):
            if len(fits) == 1:
                return fits[0]
            if fits:
                raise AudioError(
                    f"more than one {word} is called {name_part!r}: give more of the name: {_numbered(fits)}"
                )
        nearest = difflib.get_close_matches(wanted, names, n=3, cutoff=0.3)
        fitting = [candidates[names.index(name)] for name in nearest] or list(candidates)
        raise AudioError(f"no {word} is called {name_part!r}: nearest are {_numbered(fitting)}")


@dataclass(frozen=True, slots=True)
class DeviceCheck:
    """Whether there is a device to work with; `reason` is one line, empty when it is usable."""

    usable: bool
    reason: str = ""

    def __bool__(self) -> bool:
        return self.usable


def usable_microphone(device: str | int | None = None, *, patient: bool = False) -> DeviceCheck:
    """Ask quietly whether a microphone could be opened, without recording anything; quickly, unless `patient`: then
    what may pass is given a moment to.
    """
    return _usable(device, "input", patient=patient)


def usable_speaker(device: str | int | None = None, *, patient: bool = False) -> DeviceCheck:
    """The same of a speaker, without playing anything."""
    return _usable(device, "output", patient=patient)


def _usable(device: str | int | None, kind: DeviceKind, *, patient: bool) -> DeviceCheck:
    def ask() -> int:
        return opened_rate_hz(portaudio.sounddevice(), AudioDevices.list().find(device, kind), kind)

    try:
        patiently(ask) if patient else ask()
    except AudioError as error:
        return DeviceCheck(False, str(error))
    return DeviceCheck(True)


def opened_rate_hz(module: Any, device: AudioDevice, kind: DeviceKind) -> int:
    """The rate to open a device at: 16 kHz if it takes that, otherwise its own. Or raises AudioError."""
    check = module.check_input_settings if kind == "input" else module.check_output_settings
    failure: Any = None
    for rate_hz in (SAMPLE_RATE_HZ, round(device.native_rate_hz)):
        try:
            with portaudio.quiet_stderr():
                check(device=device.index, channels=1, dtype="int16", samplerate=rate_hz)
        except module.PortAudioError as error:
            failure = error
        else:
            return rate_hz
    raise opening_error(
        f"the {_WORDS[kind]} {device.name!r} can't be opened ({failure}): is another program using it?",
        failure,
    )


def _device(entry: dict[str, Any], apis: tuple[dict[str, Any], ...]) -> AudioDevice:
    return AudioDevice(
        name=entry["name"],
        host_api=apis[entry["hostapi"]]["name"],
        index=entry["index"],
        input_channels=entry["max_input_channels"],
        output_channels=entry["max_output_channels"],
        native_rate_hz=entry["default_samplerate"],
    )


def _defaults(module: Any, apis: tuple[dict[str, Any], ...]) -> tuple[int, int]:
    """The indexes of the default devices, -1 for none."""
    if not apis:
        return -1, -1
    first = apis[0]
    return first["default_input_device"], first["default_output_device"]


def _numbered(devices: tuple[AudioDevice, ...] | list[AudioDevice]) -> str:
    return ", ".join(f"{device.index} {device.name!r}" for device in devices)
