"""Speech by pyttsx3 and espeak-ng: small, everywhere to be had, and quick; not beautiful.

Each text is spoken by a process of its own (`pyttsx3_child`), the only way that was found reliable. A voice
is one of espeak-ng's ('gmw/en-us'), alone or with a variant after a plus ('gmw/en-us+f3'): a variant is
another speaker.
"""

from __future__ import annotations

import importlib.metadata
import json
import os
import subprocess
import sys
import tempfile
import wave
from pathlib import Path
from typing import Any

import numpy as np
import soxr

from voice_trainer.voices.errors import VoiceError
from voice_trainer.voices.ports import Samples, VoiceStyle

SAMPLE_RATE_HZ = 16_000
SLOWEST_WORDS_PER_MINUTE = 80
FASTEST_WORDS_PER_MINUTE = 450
"""espeak-ng keeps to the rate that is asked for within these (its speak_lib.h: espeakRATE)."""

_AUDIBLE = 100
"""A sample beyond this (of 32768) belongs to the speech and not to the silence around it."""

_KEPT_SECONDS = 0.02


class Pyttsx3Voice:
    """Text to audio by pyttsx3 with espeak-ng. Raises VoiceError where espeak-ng is missing."""

    def __init__(self, *, timeout_seconds: float = 20.0) -> None:
        self._timeout_seconds = timeout_seconds
        about = self._ask({"list": True})
        self.name = f"pyttsx3 {importlib.metadata.version('pyttsx3')}, espeak-ng {about['version']}"
        self._voices: tuple[str, ...] = tuple(about["voices"])
        self._variants: tuple[str, ...] = tuple(about["variants"])

    def voices(self) -> tuple[str, ...]:
        """The voices by name, of every language; any of them may be followed by '+' and a variant."""
        return self._voices

    def variants(self) -> tuple[str, ...]:
        """The variants: other speakers of the same voice."""
        return self._variants

    def render(self, text: str, style: VoiceStyle) -> Samples:
        """See Voice. `style.radio` is not this engine's business: see RadioVoice."""
        spoken = " ".join("".join(c if c.isprintable() else " " for c in text).split())
        # pyttsx3 waits for ever for the end of a text that has nothing in it.
        if not any(c.isalnum() for c in spoken):
            raise VoiceError(f"there is nothing to say in {text!r}: give it words")
        if not SLOWEST_WORDS_PER_MINUTE <= style.words_per_minute <= FASTEST_WORDS_PER_MINUTE:
            raise VoiceError(
                f"{style.words_per_minute} words a minute can't be spoken: "
                f"choose {SLOWEST_WORDS_PER_MINUTE} to {FASTEST_WORDS_PER_MINUTE}"
            )
        with tempfile.TemporaryDirectory(prefix="voice-") as folder:
            path = Path(folder) / "speech.wav"
            self._ask(
                {
                    "text": spoken,
                    "voice": style.voice,
                    "words_per_minute": style.words_per_minute,
                    "path": str(path),
                }
            )
            return _trimmed(_read(path, spoken))

    def _ask(self, request: dict[str, Any]) -> dict[str, Any]:
        """The child's answer. Raises VoiceError."""
        package_folder = str(Path(__file__).resolve().parents[2])
        paths = [package_folder, os.environ.get("PYTHONPATH", "")]
        environment = os.environ | {"PYTHONPATH": os.pathsep.join(path for path in paths if path)}
        try:
            child = subprocess.run(
                # -P: a file called json.py in the student's own folder is none of the child's business
                [sys.executable, "-P", "-m", "voice_trainer.voices.pyttsx3_child"],
                input=json.dumps(request),
                capture_output=True,
                text=True,
                encoding="utf-8",
                errors="replace",
                timeout=self._timeout_seconds,
                env=environment,
                check=False,
                process_group=0,  # a Ctrl-C in the terminal is for the program, which ends a drill in good order
            )
        except subprocess.TimeoutExpired as error:
            raise VoiceError(
                f"espeak-ng did not finish within {self._timeout_seconds:g} seconds: shorten the text or try again"
            ) from error
        except OSError as error:
            raise VoiceError(f"no process could be started to speak: {error}") from error
        try:
            answer: dict[str, Any] = json.loads(child.stdout)
        except json.JSONDecodeError as error:
            last = child.stderr.strip().splitlines()[-1:] or ["it said nothing"]
            raise VoiceError(f"espeak-ng failed (exit status {child.returncode}): {last[0]}") from error
        if "missing" in answer:
            raise VoiceError(
                "no voice: espeak-ng is not installed, or can't be loaded: "
                "install it (Debian and Ubuntu: sudo apt install espeak-ng)"
            )
        if "error" in answer:
            raise VoiceError(f"espeak-ng can't speak: {answer['error']}")
        return answer


def _read(path: Path, text: str) -> Samples:
    try:
        with wave.open(str(path), "rb") as recording:
            rate_hz = recording.getframerate()
            count = recording.getnframes()
            samples = np.frombuffer(recording.readframes(count), dtype="<i2").astype(np.int16)
    except (OSError, EOFError, wave.Error) as error:
        raise VoiceError(f"espeak-ng gave no audio for {text!r}: {error}") from error
    if len(samples) < count:
        raise VoiceError(f"espeak-ng gave only a part of the audio for {text!r}: try again")
    if rate_hz == SAMPLE_RATE_HZ or len(samples) == 0:
        return samples
    resampled: Samples = soxr.resample(samples, rate_hz, SAMPLE_RATE_HZ)
    return resampled


def _trimmed(samples: Samples) -> Samples:
    """Without the silence around it, but for 20 ms. Raises VoiceError when nothing is left."""
    audible = np.flatnonzero(np.abs(samples.astype(np.int32)) > _AUDIBLE)
    if len(audible) == 0:
        raise VoiceError("espeak-ng gave only silence: choose another voice")
    kept = round(_KEPT_SECONDS * SAMPLE_RATE_HZ)
    return samples[max(0, audible[0] - kept) : audible[-1] + 1 + kept].copy()
