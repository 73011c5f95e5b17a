"""One sentence in one drawn voice of a family, at 16 kHz: the families that a processor core speaks fast enough.

espeak-ng and flite are called in this process, from their libraries: starting a program for each clip takes longer than
the clip. Of flite's voices only those that may be trained on are ever loaded.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable
from math import gcd
from pathlib import Path
from typing import Any, ClassVar

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

from scripts.train.kokoro_input import Pronouncer
from scripts.train.rows import spoken_aloud
from scripts.train.shards import RATE
from scripts.train.voices import ESPEAK_TRAINING, FLITE_TRAINING, drawn_espeak

Sound = NDArray[np.float32]
Speaker = Callable[[str, np.random.Generator], tuple[Sound, str]]
"""A sentence, and chance: sound and the name of the voice."""

LIBRARIES = Path("/usr/lib/x86_64-linux-gnu")


class Espeak:
    """espeak-ng: many accents and variants, pace, pitch and gaps."""

    _RATE, _PITCH, _RANGE, _GAP = 1, 3, 4, 7
    _IN_STEP, _KEEP_RUNNING, _UTF8 = 2, 0x8000, 1

    def __init__(self, libraries: Path = LIBRARIES, variants: tuple[str, ...] = ESPEAK_TRAINING) -> None:
        self._variants = variants
        self._library = _loaded(libraries, "libpcaudio.so.0", "libsonic.so.0", "libespeak-ng.so.1")
        rate = self._library.espeak_Initialize(self._IN_STEP, 0, str(libraries).encode(), self._KEEP_RUNNING)
        if rate <= 0:
            raise RuntimeError(f"espeak-ng finds no espeak-ng-data in {libraries}")
        self._hertz = int(rate)
        self._parts: list[Sound] = []
        heard = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.c_void_p)
        self._heard = heard(self._take)  # must outlive the call
        self._library.espeak_SetSynthCallback(self._heard)

    def __call__(self, text: str, chance: np.random.Generator) -> tuple[Sound, str]:
        name = drawn_espeak(chance, self._variants)
        if self._library.espeak_SetVoiceByName(name.encode()) != 0:
            raise ValueError(f"espeak-ng has no voice {name}")
        for setting, low, high in ((self._RATE, 115, 225), (self._PITCH, 25, 75), (self._RANGE, 35, 65)):
            self._library.espeak_SetParameter(setting, int(chance.uniform(low, high)), 0)
        self._library.espeak_SetParameter(self._GAP, int(chance.choice([0, 0, 0, 1, 3])), 0)
        data = spoken_aloud(text).encode()
        self._parts = []
        self._library.espeak_Synth(data, ctypes.c_size_t(len(data) + 1), 0, 1, 0, self._UTF8, None, None)
        return resampled(np.concatenate(self._parts or [np.zeros(0, np.float32)]), self._hertz), name

    def _take(self, samples: Any, count: int, _events: Any) -> int:
        if samples and count > 0:
            self._parts.append(np.ctypeslib.as_array(samples, (count,)).astype(np.float32) / 32768)
        return 0


class _Wave(ctypes.Structure):
    _fields_: ClassVar = [
        ("type", ctypes.c_char_p), ("rate", ctypes.c_int), ("count", ctypes.c_int), ("channels", ctypes.c_int),
        ("samples", ctypes.POINTER(ctypes.c_short)),
    ]  # fmt: skip


class _Voice(ctypes.Structure):
    _fields_: ClassVar = [("name", ctypes.c_char_p), ("features", ctypes.c_void_p)]


class Flite:
    """flite: its voices for training, pace and pitch."""

    def __init__(self, libraries: Path = LIBRARIES) -> None:
        self._library = _loaded(libraries, "libasound.so.2", "libflite.so.1")
        _loaded(libraries, "libflite_usenglish.so.1", "libflite_cmulex.so.1")
        self._library.flite_init()
        self._library.flite_text_to_wave.restype = ctypes.POINTER(_Wave)
        self._library.flite_text_to_wave.argtypes = [ctypes.c_char_p, ctypes.POINTER(_Voice)]
        self._library.feat_set_float.argtypes = [ctypes.c_void_p, ctypes.c_char_p, ctypes.c_float]
        self._voices = {}
        for name in FLITE_TRAINING:
            register = getattr(_loaded(libraries, f"libflite_cmu_us_{name}.so.1"), f"register_cmu_us_{name}")
            register.restype = ctypes.POINTER(_Voice)
            self._voices[name] = register(None)

    def __call__(self, text: str, chance: np.random.Generator) -> tuple[Sound, str]:
        name = str(chance.choice(FLITE_TRAINING))
        voice = self._voices[name]
        for feature, low, high in ((b"duration_stretch", 0.75, 1.25), (b"int_f0_target_mean", 85, 170)):
            self._library.feat_set_float(voice.contents.features, feature, float(chance.uniform(low, high)))
        wave = self._library.flite_text_to_wave(spoken_aloud(text).encode(), voice)
        said = np.ctypeslib.as_array(wave.contents.samples, (wave.contents.count,)).astype(np.float32) / 32768
        hertz = int(wave.contents.rate)
        self._library.delete_wave(wave)
        return resampled(said, hertz), name


class Hibari(Pronouncer):
    """hibari-tts, a pupil of one voice of Kokoro: other pitch and timbre by another rate, pace put right again."""

    _PACES = (0.85, 0.95, 1.0, 1.1, 1.2, 1.35)
    _HERTZ = 24_000

    def __call__(self, text: str, chance: np.random.Generator) -> tuple[Sound, str]:
        factor = float(chance.uniform(0.66, 1.2))
        pace = float(chance.choice(self._PACES))
        sound = self._engine.from_phonemes(
            self.phonemes(spoken_aloud(text)), speed=min(2.0, max(0.5, pace / factor))
        )
        return resampled(
            np.asarray(sound, np.float32), round(self._HERTZ * factor / 800) * 800
        ), f"h{factor:.1f}"


SPEAKERS: dict[str, Callable[..., Speaker]] = {"espeak": Espeak, "flite": Flite}
"""What needs the libraries' folder; `hibari` needs its package."""


def resampled(sound: Sound, hertz: int) -> Sound:
    """At 16 kHz."""
    common = gcd(RATE, hertz)
    return np.asarray(resample_poly(sound, RATE // common, hertz // common), np.float32)


def _loaded(folder: Path, *names: str) -> ctypes.CDLL:
    """The last of these libraries; those before it are what it asks for."""
    library = None
    for name in names:
        library = ctypes.CDLL(str(folder / name), mode=ctypes.RTLD_GLOBAL)
    assert library is not None
    return library
