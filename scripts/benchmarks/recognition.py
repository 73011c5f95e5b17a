"""How well the recognisers hear: calls with random values in the built-in drills' words, by synthetic voices.

    scripts/bench recognition [--size N] [--seed S]

Every call is in one sampled voice, condition, loudness and offset; all engines hear the same sounds, in one run. The
value that a drill expects plays no part: heard right is what was said. SYNTHETIC SPEECH: no human is in it, so the
figures compare engines and versions, and promise nothing for anybody's voice.
"""

from __future__ import annotations

import argparse
import random
import subprocess
import tempfile
import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from voice_trainer.audio.effects import radio
from voice_trainer.audio.ports import Samples
from voice_trainer.audio.wav import read_wav
from voice_trainer.drills.domain import domain_of
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.recognition.choosing import choose_recogniser
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

ESPEAK_VOICES = (
    "gmw/en-us", "gmw/en-us+f3", "gmw/en-us+m3", "gmw/en-us+f4", "gmw/en-us+m7", "gmw/en-gb-x-rp", "gmw/en-029",
)  # fmt: skip
FLITE_VOICES = ("slt", "rms", "awb", "kal16")
CONDITIONS = ("clean", "10 dB noise", "radio band")
ENGINES = ("likelihood", "pocketsphinx")
UNRELATED = (
    "I would like a cup of tea and some biscuits please",
    "the meeting has been moved to thursday afternoon",
    "did you remember to feed the cat this morning",
    "we could drive to the coast if the weather holds",
    "there is a parcel for you at the front desk",
    "let me see where did I put my pencil",
    "that film was longer than I had expected",
    "she has played the violin since she was six",
)


@dataclass
class Tally:
    """What one engine made of one condition."""

    calls: int = 0
    right: int = 0
    wrong: int = 0
    unrelated: int = 0
    unrelated_taken: int = 0
    seconds: list[float] = field(default_factory=list)


class Corpus:
    """Calls and other sentences as sounds, the same for the same seed."""

    def __init__(self, seed: int, folder: Path) -> None:
        self._chance = random.Random(seed)
        self._noise = np.random.default_rng(seed)
        self._folder = folder
        self._espeak = Pyttsx3Voice()
        drills = [find_drill(name) for name in builtin_drills()]
        self.grammar = Grammar([phrase for drill in drills for phrase in domain_of(drill).phrases])
        self.pronounce = {word: phones for drill in drills for word, phones in drill.pronounce.items()}
        self._patterns = [d.pattern(c) for d in drills for s in d.steps if s.flow for c in s.flow.calls]

    def call(self) -> tuple[Pattern, str, Samples]:
        """A call with values drawn anew, its condition, and its sound."""
        pattern = self._with_other_values(self._chance.choice(self._patterns))
        condition = self._chance.choice(CONDITIONS)
        return pattern, condition, self._sound(said_aloud(pattern.spoken()), condition)

    def unrelated(self) -> tuple[str, Samples]:
        """A sentence that is no call."""
        condition = self._chance.choice(CONDITIONS)
        return condition, self._sound(self._chance.choice(UNRELATED), condition)

    def _with_other_values(self, pattern: Pattern) -> Pattern:
        values = {}
        for slot in slots_of(pattern.node):
            if slot.value is None or slot.type.startswith("callsign"):
                continue
            if "/" in slot.type and slot.type.count("/") == 1 and slot.value in slot.type.split("/"):
                values[slot.key] = self._chance.choice(slot.type.split("/"))
            elif any(c.isdigit() for c in slot.value):
                values[slot.key] = self._other_value(slot.type, slot.value)
        return pattern.with_values(values)

    def _other_value(self, type_name: str, value: str) -> str:
        if type_name == "altitude":
            return str(100 * self._chance.randrange(10, 100))
        while True:
            digits = "".join(self._chance.choice("0123456789") if c.isdigit() else c for c in value)
            try:
                if slot_type(type_name).canonical(digits) == digits:
                    return digits
            except ValueError:
                continue

    def _sound(self, text: str, condition: str) -> Samples:
        voice = self._chance.choice((*ESPEAK_VOICES, *FLITE_VOICES))
        if voice in ESPEAK_VOICES:
            clip = self._espeak.render(text, VoiceStyle(voice, 160))
        else:
            path = self._folder / "flite.wav"
            subprocess.run(["flite", "-voice", voice, "-t", text, "-o", str(path)], check=True)
            clip = read_wav(path)
        before = np.zeros(2000 + self._chance.randrange(512), np.int16)
        sound = np.concatenate([before, clip, np.zeros(4000, np.int16)])
        if condition == "radio band":
            sound = radio(sound)
        loudness = self._chance.uniform(0.3, 0.9)
        values = loudness * sound.astype(np.float64)
        noise = self._noise.normal(size=len(values))
        if condition == "10 dB noise":
            noise = np.convolve(noise, np.ones(16) / 16, "same")  # an engine's rumble: most of it below 1 kHz
            speech = float(np.sqrt(np.mean(values[values != 0] ** 2)))
            noise *= speech / 10**0.5 / float(np.std(noise))
        else:
            noise *= 8.0
        return np.clip(values + noise, -32768, 32767).astype(np.int16)


def measure(size: int, seed: int, engines: Sequence[str] = ENGINES) -> dict[tuple[str, str], Tally]:
    """Every engine over `size` calls and a fifth as many other sentences."""
    tallies = {(engine, condition): Tally() for engine in engines for condition in CONDITIONS}
    with tempfile.TemporaryDirectory() as folder:
        corpus = Corpus(seed, Path(folder))
        recognisers = {engine: choose_recogniser(engine) for engine in engines}
        for recogniser in recognisers.values():
            recogniser.prepare(corpus.grammar, corpus.pronounce)
        for number in range(size):
            pattern, condition, sound = corpus.call()
            for engine, recogniser in recognisers.items():
                tally = tallies[engine, condition]
                began = time.perf_counter()
                hearing = recogniser.hear(sound, 0.0)
                tally.seconds.append(time.perf_counter() - began)
                meanings = [m for s in (hearing.best.spans if hearing.best else ()) for m in s.meanings]
                said = any(m.phrase == pattern.phrase and not pattern.differences(m.slots) for m in meanings)
                tally.calls += 1
                tally.right += hearing.clarity == "clear" and said
                tally.wrong += hearing.clarity == "clear" and not said
            if number % 5 == 0:
                condition, sound = corpus.unrelated()
                for engine, recogniser in recognisers.items():
                    tally = tallies[engine, condition]
                    tally.unrelated += 1
                    tally.unrelated_taken += recogniser.hear(sound, 0.0).clarity == "clear"
    return tallies


def table(tallies: dict[tuple[str, str], Tally]) -> str:
    """The figures, a line for each engine and condition."""
    lines = [
        f"{'':<14}{'':<13}{'calls':>6}{'right':>8}{'wrong':>8}{'asked again':>13}{'other speech taken':>20}"
        f"{'p50 ms':>8}{'p95 ms':>8}"
    ]
    for (engine, condition), t in tallies.items():
        if t.calls:
            doubt = t.calls - t.right - t.wrong
            taken = f"{t.unrelated_taken} of {t.unrelated}"
            p50, p95 = (_percentile(t.seconds, percent) for percent in (50, 95))
            lines.append(
                f"{engine:<14}{condition:<13}{t.calls:>6}{_percent(t.right, t.calls):>8}{t.wrong:>8}"
                f"{_percent(doubt, t.calls):>13}{taken:>20}{p50:>8}{p95:>8}"
            )
    return "\n".join(lines)


def _percent(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %"


def _percentile(seconds: Sequence[float], percent: float) -> str:
    return f"{1000 * float(np.percentile(seconds, percent)):.0f}"


def main() -> None:
    """Measure, and print the table."""
    arguments = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    arguments.add_argument("--size", type=int, default=300, help="how many calls (default 300: some minutes)")
    arguments.add_argument("--seed", type=int, default=11)
    arguments.add_argument("--engine", action="append", help="only this one; may be given again")
    options = arguments.parse_args()
    print(
        "Synthetic speech, eleven voices; calls heard clearly and right, clearly and wrong, or asked for again.\n"
    )
    print(table(measure(options.size, options.seed, options.engine or ENGINES)))


if __name__ == "__main__":
    main()
