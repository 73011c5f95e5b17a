"""When espeak-ng begins each word of what it says, as its library tells while it makes the sound."""

from __future__ import annotations

import ctypes

import numpy as np
import soxr

from voice_trainer.recognition.ports import Samples

_SYNCHRONOUS, _UTF_8, _WORD, _RATE = 2, 1, 1, 1
_LEAD_SECONDS, _TAIL_SECONDS = 0.2, 0.4


class _Event(ctypes.Structure):
    _fields_ = (
        ("type", ctypes.c_int),
        ("unique_identifier", ctypes.c_uint),
        ("text_position", ctypes.c_int),
        ("length", ctypes.c_int),
        ("audio_position_milliseconds", ctypes.c_int),
        ("sample", ctypes.c_int),
        ("user_data", ctypes.c_void_p),
        ("id", ctypes.c_char * 8),
    )


_CALLBACK = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.POINTER(ctypes.c_short), ctypes.c_int, ctypes.POINTER(_Event)
)


def speech_with_onsets(text: str, voice: str, words_a_minute: int = 155) -> tuple[Samples, list[float]]:
    """`text`, of one clause, at 16 kHz with silence around it, and the onset of each of its words in seconds."""
    library = ctypes.CDLL("libespeak-ng.so.1")
    rate = library.espeak_Initialize(_SYNCHRONOUS, 0, None, 0)
    parts: list[np.ndarray[tuple[int], np.dtype[np.int16]]] = []
    onsets: list[float] = []

    def take(sound: ctypes._Pointer[ctypes.c_short], count: int, events: ctypes._Pointer[_Event]) -> int:
        if sound and count:
            parts.append(np.ctypeslib.as_array(sound, (count,)).astype(np.int16))
        at = 0
        while events[at].type:
            if events[at].type == _WORD:
                onsets.append(_LEAD_SECONDS + events[at].audio_position_milliseconds / 1000)
            at += 1
        return 0

    callback = _CALLBACK(take)
    library.espeak_SetSynthCallback(callback)
    assert library.espeak_SetVoiceByName(voice.encode()) == 0, f"espeak-ng has no voice file {voice}"
    library.espeak_SetParameter(_RATE, words_a_minute, 0)
    written = text.encode() + b"\0"
    library.espeak_Synth(written, len(written), 0, 1, 0, _UTF_8, None, None)
    library.espeak_Synchronize()
    sound = soxr.resample(np.concatenate(parts).astype(np.float64) / 32768, rate, 16_000)
    loud = sound * (0.5 / np.abs(sound).max())
    around = [np.zeros(round(seconds * 16_000)) for seconds in (_LEAD_SECONDS, _TAIL_SECONDS)]
    return (np.concatenate([around[0], loud, around[1]]) * 32767).astype(np.int16), onsets
