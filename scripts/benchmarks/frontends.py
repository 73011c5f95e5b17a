"""What helps before the recogniser: the same utterances through every front end, compared pairwise with none.

    scripts/bench frontends [--each N] [--half tuning|test] [--front-ends peak,GTCRN,...] [--json FILE] [--report]

N right calls in each condition (default 10) are heard once through each front end. Every hearing is a line of the
JSON file; a run that is stopped goes on from there, and a larger N adds to it. `--report` only prints.

- right: the best interpretation means what was said, clear or not.
- clear, wrong: heard clearly as something else.
- +a -b: how many utterances became right, and how many were right without the front end and are no longer.

Choose on the tuning half. Two conditions are made here of the clean recordings of the half: vehicle noise
(rumble and hiss, 5 dB), and other people's words over a loudspeaker (10 dB) on vehicle noise (10 dB). Synthetic,
like the corpus.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scripts.benchmarks.conditions import CONDITIONS, Samples, band
from scripts.benchmarks.corpus import default_folder
from scripts.benchmarks.lines import grammar_named, heard_meaning, pronunciations
from scripts.benchmarks.phrases import HALVES, Half
from scripts.benchmarks.spoken_corpus import Corpus, CorpusError, Utterance, load_corpus
from scripts.benchmarks.suppressors import Suppressor, suppressors
from scripts.benchmarks.voices import RATE
from voice_trainer.audio.effects import radio
from voice_trainer.recognition.choosing import choose_recogniser
from voice_trainer.recognition.denoising import denoised

Sound = NDArray[np.float64]
FrontEnd = Callable[[Samples], Samples]
Record = dict[str, Any]

NONE = "none"
CORPUS_SEED = 1
"""The one that 'scripts/bench corpus' makes unless told otherwise."""

MADE_HERE = ("vehicle 5 dB", "announcement")
FRAME = RATE // 50
BANDS_HERTZ = tuple(100 * 2 ** (n / 2) for n in range(13))
"""Edges of half octaves, 100 to 6400 Hz, over which a spectrum is equalised."""

MOST_GAIN_DECIBELS = 12.0
REFERENCE_UTTERANCES = 60


# --- front ends ------------------------------------------------------------------------------------------


def _as_sound(samples: Samples) -> Sound:
    return samples.astype(np.float64) / 32768


def _as_samples(sound: Sound) -> Samples:
    return np.asarray(np.rint(np.clip(sound, -1, 32767 / 32768) * 32768), np.int16)


def to_peak(samples: Samples) -> Samples:
    """The whole utterance at half of full scale."""
    sound = _as_sound(samples)
    return _as_samples(sound * (0.5 / max(1e-6, float(np.abs(sound).max()))))


def _loudness(sound: Sound) -> Sound:
    frames = sound[: len(sound) // FRAME * FRAME].reshape(-1, FRAME)
    return np.asarray(np.sqrt((frames**2).mean(axis=1)))


def to_level(samples: Samples) -> Samples:
    """The loud frames (95th percentile) at -16 dB of full scale, whatever a click does; clipped where it must be."""
    sound = _as_sound(samples)
    return _as_samples(sound * (10 ** (-16 / 20) / max(1e-6, float(np.percentile(_loudness(sound), 95)))))


def without_rumble(samples: Samples) -> Samples:
    """A high-pass at 90 Hz, 24 dB an octave, without delay."""
    return _as_samples(band(_as_sound(samples), 90, 1e6))


def band_decibels(sound: Sound) -> Sound:
    """The mean power of the loud frames in half octaves, in decibels, as a shape: its mean is zero."""
    frames = sound[: len(sound) // FRAME * FRAME].reshape(-1, FRAME)
    loudness = (frames**2).mean(axis=1)
    loud = frames[loudness > 0.03 * np.percentile(loudness, 95)]
    power = (np.abs(np.fft.rfft(loud * np.hanning(FRAME))) ** 2).mean(axis=0)
    hertz = np.fft.rfftfreq(FRAME, 1 / RATE)
    each = [
        10 * math.log10(power[(hertz >= low) & (hertz < high)].mean() + 1e-12)
        for low, high in pairwise(BANDS_HERTZ)
        if ((hertz >= low) & (hertz < high)).any()
    ]
    shape: NDArray[np.float64] = np.asarray(each) - np.mean(each)
    return shape


def equaliser(reference: Sound) -> FrontEnd:
    """Towards a long-term spectrum: half of the way in decibels, at most 12 dB in a band."""
    hertz = np.fft.rfftfreq(FRAME, 1 / RATE)
    centres = [
        math.sqrt(low * high)
        for low, high in pairwise(BANDS_HERTZ)
        if ((hertz >= low) & (hertz < high)).any()
    ]

    def equalised(samples: Samples) -> Samples:
        sound = _as_sound(samples)
        gain = np.clip(0.5 * (reference - band_decibels(sound)), -MOST_GAIN_DECIBELS, MOST_GAIN_DECIBELS)
        spectrum = np.fft.rfft(sound)
        at = np.maximum(np.fft.rfftfreq(len(sound), 1 / RATE), 1)
        out = np.fft.irfft(spectrum * 10 ** (np.interp(np.log(at), np.log(centres), gain) / 20), len(sound))
        return _as_samples(out * min(1.0, 0.95 / max(1e-6, float(np.abs(out).max()))))

    return equalised


def _suppressing(suppressor: Suppressor, share: float = 1.0) -> FrontEnd:
    def suppressed(samples: Samples) -> Samples:
        sound = samples.astype(np.float32) / np.float32(32768)
        clean = suppressor(sound)
        return _as_samples((share * clean + (1 - share) * sound).astype(np.float64))

    return suppressed


def front_ends(corpus: Corpus) -> dict[str, FrontEnd]:
    """All that can be used here. The reference spectrum is of clean utterances of the tuning half."""
    clean = [each for each in corpus.select("tuning", None, 2, ("right",)) if each.condition == "clean"]
    shapes = [band_decibels(_as_sound(each.samples())) for each in clean[:REFERENCE_UTTERANCES]]
    found: dict[str, FrontEnd] = {
        NONE: lambda samples: samples,
        "peak": to_peak,
        "level": to_level,
        "high-pass": without_rumble,
        "subtraction": denoised,
        "equaliser": equaliser(np.mean(shapes, axis=0)),
    }
    for name, suppressor in suppressors().items():
        found[name] = _suppressing(suppressor)
        found[f"{name}/2"] = _suppressing(suppressor, 0.5)
    return found


# --- what is heard ---------------------------------------------------------------------------------------


def _speech_power(sound: Sound) -> float:
    loudness = _loudness(sound)
    return float((loudness[loudness > 0.1 * np.percentile(loudness, 95)] ** 2).mean())


def _scaled(sound: Sound, power: float) -> Sound:
    return np.asarray(sound * math.sqrt(power / max(1e-12, float((sound**2).mean()))))


def vehicle(length: int, noise: np.random.Generator) -> Sound:
    """Rumble of the road and wheels, hiss of the air: no recording, a likeness."""
    rumble = _scaled(band(noise.standard_normal(length), 20, 180), 1.0)
    return rumble + _scaled(band(noise.standard_normal(length), 150, 5000), 0.15)


def in_condition(said: Utterance, condition: str, others: Sequence[Utterance]) -> Samples:
    """An utterance as it is in the corpus, or a clean one put into vehicle noise, with an announcement or without."""
    if condition not in MADE_HERE:
        return said.samples()
    chance = random.Random(f"{condition}/{said.file}")
    noise = np.random.default_rng(chance.getrandbits(32))
    sound = _as_sound(said.samples())
    power = _speech_power(sound)
    decibels = 5 if condition == "vehicle 5 dB" else 10
    there = sound + _scaled(vehicle(len(sound), noise), power / 10 ** (decibels / 10))
    if condition == "announcement":
        other = chance.choice([each for each in others if each.voice != said.voice])
        words = _as_sound(radio(other.samples(), seed=chance.getrandbits(16)))
        there = there + np.resize(words, len(sound)) * math.sqrt(power / 10 / _speech_power(words))
    return _as_samples(there * min(1.0, 0.9 / float(np.abs(there).max())))


def sample(corpus: Corpus, half: Half, each: int, seed: int) -> list[tuple[str, Utterance]]:
    """Right calls with one meaning, so many in each condition; the same ones first for any `each`."""
    by_condition: dict[str, list[Utterance]] = defaultdict(list)
    for said in corpus.select(half, None, seed, ("right",)):
        by_condition[said.condition].append(said)
    clean = by_condition["clean"]
    by_condition["clean"], by_condition[MADE_HERE[0]], by_condition[MADE_HERE[1]] = (
        clean[0::3],
        clean[1::3],
        clean[2::3],
    )
    chosen = []
    for condition in (*CONDITIONS, *MADE_HERE):
        usable = (said for said in by_condition[condition] if said.meaning is not None)
        chosen += [(condition, said) for _, said in zip(range(each), usable, strict=False)]
    return chosen


def measure(
    corpus: Corpus,
    chosen: Sequence[tuple[str, Utterance]],
    names: Sequence[str],
    done: list[Record],
    file: Path,
) -> None:
    """Hear what is not in `done` yet; every hearing is written to the file at once."""
    there = front_ends(corpus)
    if unknown := [name for name in names if name not in there]:
        raise CorpusError(f"there is no front end {unknown[0]!r} here; there are {', '.join(there)}")
    known = {(record["condition"], record["file"], record["front_end"]) for record in done}
    others = [
        each for each in corpus.select(chosen[0][1].half, None, 3, ("right",)) if each.condition == "clean"
    ]
    recogniser = choose_recogniser("likelihood", [])
    grammar = ""
    with file.open("a", encoding="utf-8") as out:
        for condition, said in sorted(chosen, key=lambda pair: pair[1].drill):
            missing = [name for name in names or there if (condition, said.file, name) not in known]
            if not missing:
                continue
            if said.drill != grammar:
                grammar = said.drill
                recogniser.prepare(grammar_named(grammar), pronunciations(grammar))
            samples = in_condition(said, condition, others)
            for name in missing:
                began = time.perf_counter()
                changed = there[name](samples)
                milliseconds = 1000 * (time.perf_counter() - began)
                hearing = recogniser.hear(changed, 0.0)
                record = {
                    "condition": condition,
                    "file": said.file,
                    "half": said.half,
                    "front_end": name,
                    "right": heard_meaning(hearing) == said.meaning,
                    "clarity": hearing.clarity,
                    "milliseconds": round(milliseconds, 1),
                    "seconds": round(len(samples) / RATE, 2),
                }
                done.append(record)
                out.write(json.dumps(record) + "\n")
                out.flush()


# --- tables ----------------------------------------------------------------------------------------------


def sign_test(gained: int, lost: int) -> float:
    """Two-sided probability of a difference as large as this where the front end changes nothing."""
    n = gained + lost
    tail: float = sum(math.comb(n, k) for k in range(min(gained, lost) + 1)) / 2**n
    return min(1.0, 2 * tail)


def report(records: Sequence[Record]) -> str:
    """A row for each front end; columns are conditions. Only utterances that all of a row's pair heard are compared."""
    heard: dict[str, dict[tuple[str, str], Record]] = defaultdict(dict)
    for record in records:
        heard[record["front_end"]][(record["condition"], record["file"])] = record
    base = heard.get(NONE, {})
    conditions = [each for each in (*CONDITIONS, *MADE_HERE) if any(key[0] == each for key in base)]
    counts = Counter(key[0] for key in base)
    lines = [
        "| front end | "
        + " | ".join(f"{each} ({counts[each]})" for each in conditions)
        + " | all right | clear, right | clear, wrong | ms a second |",
        "|" + " --- |" * (len(conditions) + 5),
    ]
    for name, own in heard.items():
        both = [key for key in own if key in base]
        took = sum(own[key]["milliseconds"] for key in both)
        sound = max(0.01, sum(own[key]["seconds"] for key in both))
        cells = [
            *(
                _pair([key for key in both if key[0] == condition], own, base, name, _right)
                for condition in conditions
            ),
            _pair(both, own, base, name, _right, test=True),
            _pair(both, own, base, name, _clear_right, test=True),
            str(sum(own[key]["clarity"] == "clear" and not own[key]["right"] for key in both)),
            f"{took / sound:.0f}",
        ]
        lines.append(f"| {name} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def _right(record: Record) -> bool:
    return bool(record["right"])


def _clear_right(record: Record) -> bool:
    return bool(record["right"] and record["clarity"] == "clear")


def _pair(
    keys: Sequence[tuple[str, str]],
    own: dict[tuple[str, str], Record],
    base: dict[tuple[str, str], Record],
    name: str,
    counted: Callable[[Record], bool],
    *,
    test: bool = False,
) -> str:
    text = (
        f"{sum(counted(own[key]) for key in keys)}/{len(keys)}"
        if test
        else str(sum(counted(own[key]) for key in keys))
    )
    if name == NONE:
        return text
    gained = sum(counted(own[key]) and not counted(base[key]) for key in keys)
    lost = sum(counted(base[key]) and not counted(own[key]) for key in keys)
    if gained or lost:
        text += f" (+{gained} -{lost}" + (f", p {sign_test(gained, lost):.2f})" if test else ")")
    return text


def _read(file: Path, half: Half) -> list[Record]:
    if not file.is_file():
        return []
    records = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    return [record for record in records if record["half"] == half]


def main() -> int:
    """Measure, and print the table."""
    arguments = argparse.ArgumentParser(
        prog="scripts/bench frontends",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    arguments.add_argument("--each", type=int, default=10, help="utterances in each condition (default 10)")
    arguments.add_argument("--half", choices=HALVES, default="tuning")
    arguments.add_argument("--front-ends", default="", help="default: all that are there")
    arguments.add_argument("--seed", type=int, default=1, help="of the sample")
    arguments.add_argument(
        "--corpus-cache", type=Path, help="a corpus, all rendered (default: that of 'scripts/bench corpus')"
    )
    arguments.add_argument(
        "--json", type=Path, default=None, help="default: frontends.jsonl beside the corpus"
    )
    arguments.add_argument(
        "--report", action="store_true", help="print what was measured before, hear nothing"
    )
    options = arguments.parse_args()
    cache = options.corpus_cache or default_folder(CORPUS_SEED)
    file = options.json or cache / "frontends.jsonl"
    try:
        done = _read(file, options.half)
        if not options.report:
            corpus = load_corpus(cache)
            chosen = sample(corpus, options.half, options.each, options.seed)
            if not chosen:
                raise CorpusError(f"{corpus.folder}: there are no right calls in the {options.half} half")
            names = [NONE, *(each for each in options.front_ends.split(",") if each and each != NONE)]
            measure(corpus, chosen, names if len(names) > 1 else [], done, file)
    except CorpusError as error:
        print(f"scripts/bench frontends: {error}", file=sys.stderr)
        return 2
    print(f"The {options.half} half; right calls out of those in brackets.\n")
    print(report(done))
    return 0


if __name__ == "__main__":
    sys.exit(main())
