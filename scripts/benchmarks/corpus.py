"""Makes the spoken corpus: what is said by whom under which condition, and the sounds of it.

    scripts/bench corpus [--corpus-cache FOLDER] [--seed S] [--calls N]

3,000 distinct right calls, as many wrong twins, 300 other sentences and sounds that are no speech, each in one sampled
voice, pace and condition, and 140 times four calls in one breath. Rendering takes two processes and about ten minutes;
started again it goes on where it stopped.

It is synthetic speech and read-out words: figures that come out of it compare engines and guard against regressions,
and promise nothing for anybody's voice.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import random
import sys
import time
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict
from pathlib import Path
from typing import Any

import numpy as np
import platformdirs
import soundfile

from scripts.benchmarks.conditions import CONDITIONS, Samples, finished, nonspeech, silence_before
from scripts.benchmarks.lines import FIGURES_ONLY, FOUR_CALLS, KINDS, four_calls, right_and_twins
from scripts.benchmarks.phrases import HALVES, NONSPEECH, Half, unrelated
from scripts.benchmarks.spoken_corpus import MANIFEST, Corpus, CorpusError, Utterance, load_corpus
from scripts.benchmarks.voices import (
    HUMAN,
    RATE,
    VOICES,
    Sound,
    at_rate,
    can_say,
    first_loud,
    joined,
    left_out,
    recordings,
    speech,
    trimmed,
    why_not,
)

CALLS = 3000
NONSPEECH_EACH_HALF = 30
FOURS_EACH_HALF = 70
PACES = (0.85, 1.25)
RECIPE = "recipe.json"
RECORDED = "human:sentences"
"""Stands for all recorded sentences, which are there or are not."""


def default_folder(seed: int, calls: int = CALLS) -> Path:
    """Where a corpus is kept if nobody says otherwise: one folder for each seed, size and plan."""
    said = "\n".join(f"{each.half} {each.kind} {each.drill} {each.said}" for each in planned(seed, calls))
    name = hashlib.sha256(f"{seed} {calls} {said}".encode()).hexdigest()[:12]
    return platformdirs.user_cache_path("voice-trainer") / "spoken-corpus" / name


def voices_here() -> frozenset[str]:
    """The voices that this machine has."""
    return frozenset(
        voice for voice in (*VOICES["tuning"], *VOICES["test"], HUMAN, RECORDED) if not why_not(voice)
    )


def planned(seed: int = 1, calls: int = CALLS, voices: frozenset[str] | None = None) -> list[Utterance]:
    """Everything that the corpus of a seed says with these voices; where None, with those that are there."""
    voices = voices_here() if voices is None else voices
    found: list[Utterance] = []
    for half in HALVES:
        pairs = right_and_twins(half, calls // 2, seed)
        fours = four_calls(half, [line for line, _ in pairs], seed, max(1, FOURS_EACH_HALF * calls // CALLS))
        for pair in (*pairs, *((four, None) for four in fours)):
            for each in pair:
                if each is None:
                    continue
                chance = random.Random(f"{seed}/{each.half}/{each.grammar}/{each.spoken}")
                voice = (
                    _human(each.spoken, voices)
                    if each.grammar.startswith(FIGURES_ONLY)
                    else _voice(half, chance, voices)
                )
                if voice is not None:
                    found.append(
                        _utterance(
                            each.spoken, half, voice, chance,
                            said=" ".join(each.words), kind=each.kind, drill=each.grammar, phrase=each.phrase,
                            edit=each.edit, right=" ".join(each.right),
                        )
                    )  # fmt: skip
        sentences = unrelated(half)
        count = max(1, len(sentences) * calls // CALLS)
        for text in random.Random(f"{seed}/{half}").sample(sentences, min(count, len(sentences))):
            chance = random.Random(f"{seed}/{half}/{text}")
            found.append(
                _utterance(
                    text.split(),
                    half,
                    _voice(half, chance, voices),
                    chance,
                    said=text,
                    kind="unrelated",
                    phrase=text,
                )
            )
        for at in range(max(1, NONSPEECH_EACH_HALF * calls // CALLS)):
            what = NONSPEECH[at % len(NONSPEECH)]
            chance = random.Random(f"{seed}/{half}/{what}/{at}")
            found.append(
                _utterance(
                    [what, str(at)], half, f"none:{what}", chance, said="", kind="non-speech", phrase=what
                )
            )
    for recorded in recordings() if RECORDED in voices else ():
        chance = random.Random(f"{seed}/{recorded.file.name}")
        found.append(
            _utterance(recorded.said.split(), recorded.half, recorded.voice, chance, recording=str(recorded.file),
                       said=recorded.said, kind="unrelated", phrase=recorded.said)
        )  # fmt: skip
    return found


def _voice(half: Half, chance: random.Random, voices: frozenset[str]) -> str:
    """A voice of the half; one that is not there is drawn again, so that the others keep what they say."""
    if voices.isdisjoint(VOICES[half]):
        raise CorpusError(
            "there is no voice to speak the corpus: install espeak-ng and flite (scripts/setup test)"
        )
    while (voice := chance.choice(VOICES[half])) not in voices:
        pass
    return voice


def _human(spoken: Sequence[str], voices: frozenset[str]) -> str | None:
    return HUMAN if HUMAN in voices and can_say(spoken) else None


def _utterance(
    spoken: Sequence[str], half: Half, voice: str, chance: random.Random, recording: str = "", **more: Any
) -> Utterance:
    pace = 1.0 if recording else round(chance.uniform(*PACES), 3)
    condition = "" if voice.startswith("none:") else chance.choice(CONDITIONS)
    named = hashlib.sha256(f"{voice}|{pace}|{condition}|{' '.join(spoken)}".encode()).hexdigest()[:16]
    return Utterance(
        file=f"audio/{named[:2]}/{named}.flac", half=half, voice=voice, condition=condition, pace=pace,
        spoken=" ".join(spoken), recording=recording, **more,
    )  # fmt: skip


def make_corpus(folder: Path, seed: int = 1, calls: int = CALLS, *, render_all: bool = True) -> Corpus:
    """The corpus of a seed: its manifest in `folder`, and, unless told otherwise, every sound that is missing there.

    A folder keeps the seed, the size and the voices that it was made with, so that another machine or another
    environment, which has other voices, measures the same corpus. Raises CorpusError for a folder of another seed or
    size or one that another version of this program planned (somebody may be measuring it), and for a sound that is
    missing and whose voice is not here.
    """
    folder.mkdir(parents=True, exist_ok=True)
    recipe_file = folder / RECIPE
    recipe: dict[str, Any] = {"seed": seed, "calls": calls, "voices": sorted(voices_here())}
    if recipe_file.is_file():
        try:
            kept = json.loads(recipe_file.read_text(encoding="utf-8"))
            known = (kept["seed"], kept["calls"], frozenset(kept["voices"]))
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise CorpusError(
                f"{recipe_file}: can't be read ({error}); choose another --corpus-cache"
            ) from None
        if known[:2] != (seed, calls):
            raise CorpusError(
                f"{folder} holds the corpus of seed {known[0]} with {known[1]} calls, not of seed {seed} with {calls}: "
                "choose another --corpus-cache"
            )
        recipe = kept
    elif (folder / MANIFEST).is_file():
        raise CorpusError(f"{folder} holds a corpus that was not made here; choose another --corpus-cache")
    entries = [_entry(each) for each in planned(seed, calls, frozenset(recipe["voices"]))]
    manifest = "".join(json.dumps(each) + "\n" for each in entries)
    if recipe_file.is_file() and (folder / MANIFEST).is_file():
        if (folder / MANIFEST).read_text(encoding="utf-8") != manifest:
            raise CorpusError(
                f"{folder} was planned by another version, whose phrases differ; choose another --corpus-cache"
            )
    else:
        _write(recipe_file, json.dumps(recipe))
        _write(folder / MANIFEST, manifest)
    corpus = load_corpus(folder)
    if render_all:
        render(folder, corpus.utterances)
    return corpus


def _write(file: Path, text: str) -> None:
    """Whole or not at all."""
    part = file.with_name(f"{file.name}.{os.getpid()}.part")
    part.write_text(text, encoding="utf-8")
    part.replace(file)


def render(folder: Path, utterances: Sequence[Utterance], processes: int = 2) -> None:
    """Make the sounds that are missing in `folder`; interrupted, it goes on where it stopped when called again."""
    todo = [each for each in utterances if not (folder / each.file).is_file()]
    if not todo:
        return
    for each in todo:
        if not each.voice.startswith("none:") and (reason := why_not(each.voice)):
            raise CorpusError(
                f"{folder} was made with {each.voice}, and {reason}: install it, or choose another --corpus-cache"
            )
    babble = {half: _babble(folder, half) for half in {each.half for each in todo}}
    print(f"rendering {len(todo)} utterances into {folder}", file=sys.stderr)
    began = time.monotonic()
    with ProcessPoolExecutor(processes, initializer=nicely) as pool:
        work = ((each, folder, babble[each.half]) for each in todo)
        for done, _ in enumerate(pool.map(_render, *zip(*work, strict=True), chunksize=10), start=1):
            if done % 500 == 0:
                print(f"  {done} in {time.monotonic() - began:.0f} s", file=sys.stderr)


def _entry(utterance: Utterance) -> dict[str, Any]:
    entry = asdict(utterance)
    del entry["folder"]
    return {name: value for name, value in entry.items() if value != "" or name == "said"}


def nicely() -> None:
    """For a process that makes sounds: whoever else works here comes first."""
    os.nice(10)


def _babble(folder: Path, half: Half) -> Path:
    """A file with half a minute in which four voices of a half talk at once."""
    voices = [voice for voice in VOICES[half] if not why_not(voice)]
    file = folder / f"babble-{half}-{hashlib.sha256('|'.join(voices).encode()).hexdigest()[:8]}.flac"
    if not file.is_file():
        chance = random.Random(f"babble/{half}")
        length = 30 * 16_000
        mixed = np.zeros(length)
        for voice in chance.sample(voices, min(4, len(voices))):
            said: list[Sound] = []
            while sum(map(len, said)) < length:
                said.append(speech(voice, chance.choice(unrelated(half)).split(), 1.0))
            mixed += np.concatenate(said)[:length]
        save_sound(file, np.asarray(np.rint(mixed * (0.5 / np.abs(mixed).max()) * 32767), np.int16))
    return file


def _render(each: Utterance, folder: Path, babble_file: Path) -> None:
    chance = random.Random(each.file)
    babble, _ = soundfile.read(babble_file, dtype="float64")
    if each.kind == "non-speech":
        samples = nonspeech(each.phrase, babble, chance)
    else:
        if each.recording:
            sound = trimmed(at_rate(*soundfile.read(each.recording, dtype="float64")))
        else:
            sound = speech(each.voice, each.spoken.split(), each.pace)
        samples = finished(sound, each.condition, babble, chance)
    save_sound(folder / each.file, samples)


def word_onsets(each: Utterance) -> list[float] | None:
    """Where each plain word begins in the sound, in seconds: known for joined recordings only, else None."""
    if each.voice != HUMAN or why_not(HUMAN):
        return None
    sound, times = joined(each.spoken.split(), each.pace)
    before = silence_before(random.Random(each.file)) - first_loud(sound)
    return [start + before / RATE for _, start, _ in times]


def save_sound(file: Path, samples: Samples) -> None:
    """As FLAC, whole or not at all."""
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_name(f"{file.stem}.{os.getpid()}.part")
    soundfile.write(part, samples, 16_000, format="FLAC", subtype="PCM_16")
    part.replace(file)


def counts(corpus: Corpus) -> str:
    """What a corpus holds, a line for each half."""
    lines = []
    for half in HALVES:
        here = [each for each in corpus.utterances if each.half == half]
        kinds = Counter(each.kind for each in here)
        voices = len({each.voice for each in here if each.kind != "non-speech"})
        lines.append(
            f"{half}: "
            + ", ".join(f"{kinds[kind]} {kind}" for kind in (*KINDS, FOUR_CALLS))
            + f"; {voices} voices"
        )
    return "\n".join(lines)


def main() -> int:
    """Make the corpus, and say what is in it."""
    arguments = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    arguments.add_argument("--corpus-cache", type=Path, help="where it is kept (default: your cache folder)")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--calls", type=int, default=CALLS, help=f"right calls (default {CALLS})")
    options = arguments.parse_args()
    for line in left_out():
        print(line, file=sys.stderr)
    folder = options.corpus_cache or default_folder(options.seed, options.calls)
    try:
        print(counts(make_corpus(folder, options.seed, options.calls)))
    except CorpusError as error:
        print(f"scripts/bench corpus: {error}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
