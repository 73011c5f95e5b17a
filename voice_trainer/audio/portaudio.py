"""The one PortAudio library of this process.

PortAudio looks for devices once, when it starts: a headset that is plugged in later is found only by starting
it again, which ends every open stream. So there is one owner of that decision, and every stream is opened
through it: `generation` counts the starts, and a stream of an older generation has been closed here.

Loading it and looking for devices makes ALSA and JACK write pages of complaints on a machine without a sound
card; they go straight to file descriptor 2, past Python, so that is where they are silenced.
"""

from __future__ import annotations

import ctypes
import importlib
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, Protocol

from voice_trainer.audio.errors import AudioError, PassingAudioError


class Closable(Protocol):
    """A stream of sounddevice, as far as it concerns us here."""

    def close(self, ignore_errors: bool = True) -> None:
        """Release the device."""


class _Library:
    """What is known of the library of this process."""

    def __init__(self) -> None:
        self.lock = threading.RLock()
        self.module: Any = None
        self.generation = 0
        self.streams: list[Closable] = []


_library = _Library()


def sounddevice() -> Any:
    """The sounddevice module, with PortAudio loaded. Raises AudioError where the library is missing."""
    with _library.lock:
        if _library.module is None:
            try:
                with quiet_stderr():
                    _library.module = importlib.import_module("sounddevice")
            except OSError as error:
                raise AudioError(
                    f"no audio devices: the PortAudio library can't be loaded ({error}): "
                    "install it (Debian and Ubuntu: sudo apt install libportaudio2)"
                ) from error
            _library.generation = 1
            _quiet_alsa()
        return _library.module


def generation() -> int:
    """How often PortAudio was started; a stream that was opened under a lower number is closed by now."""
    return _library.generation


def look_again() -> None:
    """Start PortAudio again so that it sees the devices of this moment. Closes every open stream.

    Raises AudioError when PortAudio doesn't start.
    """
    module = sounddevice()
    with _library.lock, quiet_stderr():
        while _library.streams:
            _library.streams.pop().close(ignore_errors=True)
        _library.generation += 1
        try:
            while module._initialized:
                module._terminate()
            module._initialize()
        except module.PortAudioError as error:
            raise PassingAudioError(
                f"the audio system doesn't start ({error}): is the sound server running?"
            ) from error


def opened(stream: Closable) -> None:
    """Note a stream that has just been opened."""
    with _library.lock:
        _library.streams.append(stream)


def close(stream: Closable) -> None:
    """Close a stream unless `look_again` has; that its device may have gone doesn't matter."""
    with _library.lock:
        if stream in _library.streams:
            _library.streams.remove(stream)
            stream.close(ignore_errors=True)


def has_open_streams() -> bool:
    """Whether looking for new devices would interrupt anything."""
    with _library.lock:
        return bool(_library.streams)


@contextmanager
def quiet_stderr() -> Iterator[None]:
    """Let nothing through to file descriptor 2 of this process, of whichever thread, while inside."""
    sys.stderr.flush()
    kept = os.dup(2)
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, 2)
        finally:
            os.close(nowhere)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)


def _quiet_alsa() -> None:
    """Let ALSA report no underrun on the terminal in the middle of a session: they are counted already."""
    try:
        alsa = ctypes.CDLL("libasound.so.2")
        anything_harmless = ctypes.cast(ctypes.CDLL(None).getpid, ctypes.c_void_p)
    except (OSError, AttributeError):
        return  # no ALSA here
    # ALSA calls the handler from the audio thread: a C function needs no interpreter. getpid takes nothing,
    # and ignores what it is given.
    alsa.snd_lib_error_set_handler(anything_harmless)
