"""A corpus of spoken calls on disk, with what was truly said: made from a seed, or recorded by people.

    python -m scripts.benchmarks.spoken_corpus [--corpus-cache FOLDER] [--seed S] [--calls N]

makes it: 3,000 distinct right calls, as many wrong twins, 300 other sentences and sounds that are no speech, each in
one sampled voice, pace and condition. Rendering takes two processes; started again it goes on where it stopped.

A corpus is a folder with sound files (mono or not, any rate; WAV or FLAC) and `manifest.jsonl`, one JSON object a line:

    {"file": "a.wav", "said": "turn left heading two eight four", "drill": "kelda-outbound", "speaker": "ann",
     "condition": "headset"}

`file` (relative to the folder) and `said` are required, `said` being every word in the order spoken, '' for a sound
that is no speech. `drill` names a built-in drill, or 'broad' (also where it is missing): what listens. `voice` or
`speaker`, `condition`, `half`, `kind`, `right` and more are optional: a corpus made here holds them. Where `kind` is
missing, words that are calls to that grammar are a right call, and all else is unrelated.

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
from collections.abc import Hashable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any

import numpy as np
import platformdirs
import soundfile

from scripts.benchmarks.conditions import CONDITIONS, Samples, finished, nonspeech
from scripts.benchmarks.lines import (
    BROAD,
    FIGURES_ONLY,
    KINDS,
    Kind,
    grammar_named,
    meaning_of_words,
    right_and_twins,
)
from scripts.benchmarks.phrases import HALVES, NONSPEECH, Half, unrelated
from scripts.benchmarks.voices import (
    HUMAN,
    VOICES,
    Sound,
    at_rate,
    can_say,
    left_out,
    recordings,
    speech,
    trimmed,
    why_not,
)
from voice_trainer.phraseology.normaliser import normalise

MANIFEST = "manifest.jsonl"
CALLS = 3000
NONSPEECH_EACH_HALF = 30
PACES = (0.85, 1.25)


class CorpusError(Exception):
    """A corpus that can't be read: one line that says what, where and what to do."""


@dataclass(frozen=True)
class Utterance:
    """One sound of a corpus, and what was said in it, in plain words.

    `right` holds the words of the right call of which a twin is the wrong one, and `edit` what was changed.
    `voice` is whoever speaks: the cluster of a bootstrap.
    """

    file: str
    said: str
    kind: Kind
    drill: str = BROAD
    half: Half = "test"
    voice: str = ""
    condition: str = ""
    pace: float = 1.0
    phrase: str = ""
    edit: str = ""
    right: str = ""
    spoken: str = ""
    folder: Path = field(default=Path(), compare=False)

    def samples(self) -> Samples:
        """The sound, mono PCM at 16 kHz. Raises CorpusError where it can't be read."""
        try:
            sound, rate = soundfile.read(self.folder / self.file, dtype="float64")
        except (OSError, soundfile.LibsndfileError) as error:
            raise CorpusError(
                f"{self.folder / self.file}: can't be read as sound ({error}); make it again"
            ) from None
        return np.asarray(np.rint(np.clip(at_rate(sound, rate), -1, 1) * 32767), np.int16)

    @cached_property
    def meaning(self) -> Hashable | None:
        """What was said, to compare with `lines.heard_meaning`; None where it is no call, or not one only."""
        return meaning_of_words(tuple(self.said.split()), grammar_named(self.drill)) if self.said else None

    @cached_property
    def right_meaning(self) -> Hashable | None:
        """For a twin, what the right call means; for a right call, what it means itself."""
        words = self.right if self.kind == "twin" else self.said if self.kind == "right" else ""
        return meaning_of_words(tuple(words.split()), grammar_named(self.drill)) if words else None


@dataclass(frozen=True)
class Corpus:
    """The utterances of a folder, in the order of its manifest."""

    folder: Path
    utterances: tuple[Utterance, ...]

    def select(
        self, half: Half | None = None, size: int | None = None, seed: int = 1, kinds: Sequence[Kind] = KINDS
    ) -> list[Utterance]:
        """The utterances of a half (of both where None), in a random order that depends on `seed` only.

        `size` takes so many of them, stratified: as large a share of each kind and condition.
        """
        chosen = [each for each in self.utterances if each.half == (half or each.half) and each.kind in kinds]
        chance = random.Random(seed)
        chance.shuffle(chosen)
        if size is None or size >= len(chosen):
            return chosen
        # Every stratum is spread evenly over 0..1; the first `size` are then in proportion.
        strata: dict[tuple[str, str], list[Utterance]] = {}
        for each in chosen:
            strata.setdefault((each.kind, each.condition), []).append(each)
        placed = [
            ((place + chance.random()) / len(stratum), each)
            for stratum in strata.values()
            for place, each in enumerate(stratum)
        ]
        placed.sort(key=lambda pair: pair[0])
        return [each for _, each in placed[:size]]


def load_corpus(folder: Path) -> Corpus:
    """The corpus in a folder, made or recorded. Raises CorpusError, with file and line, for one that is broken."""
    file = folder / MANIFEST
    try:
        lines = file.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise CorpusError(f"{file}: can't be read ({error}); a corpus is a folder with {MANIFEST}") from None
    return Corpus(
        folder,
        tuple(
            _read_line(line, f"{file}:{n}", folder) for n, line in enumerate(lines, start=1) if line.strip()
        ),
    )


def _read_line(line: str, where: str, folder: Path) -> Utterance:
    try:
        entry = json.loads(line)
    except json.JSONDecodeError as error:
        raise CorpusError(f"{where}: no JSON ({error.msg}); write one object a line") from None
    if (
        not isinstance(entry, dict)
        or not isinstance(entry.get("file"), str)
        or not isinstance(entry.get("said"), str)
    ):
        raise CorpusError(f'{where}: needs "file" and "said", as in {{"file": "a.wav", "said": "gear down"}}')
    drill = entry.get("drill") or BROAD
    try:
        grammar = grammar_named(drill)
    except Exception as error:  # an unknown or broken drill: the library's own line says which
        raise CorpusError(f"{where}: drill {drill!r}: {error}") from None
    said = " ".join(normalise(entry["said"]))
    kind = entry.get("kind")
    if kind is None:
        kind = "right" if said and meaning_of_words(tuple(said.split()), grammar) is not None else "unrelated"
    if kind not in KINDS:
        raise CorpusError(f"{where}: kind {kind!r} is none of {', '.join(KINDS)}")
    half = entry.get("half", "test")
    if half not in HALVES:
        raise CorpusError(f"{where}: half {half!r} is neither {' nor '.join(HALVES)}")
    known = {
        name: entry[name]
        for name in ("condition", "phrase", "edit", "right", "spoken", "pace")
        if entry.get(name)
    }
    voice = str(entry.get("voice") or entry.get("speaker") or "")
    return Utterance(
        file=entry["file"], said=said, kind=kind, drill=drill, half=half, voice=voice, folder=folder, **known
    )


# --- making one ------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Job:
    """An utterance that is to be rendered; `recording` is the source file of a recorded sentence."""

    utterance: Utterance
    recording: str = ""


def default_folder() -> Path:
    """Where a corpus is kept if nobody says otherwise."""
    return platformdirs.user_cache_path("voice-trainer") / "spoken-corpus"


def planned(seed: int, calls: int) -> list[_Job]:
    """Everything that the corpus of a seed says, with the voices that are there."""
    jobs: list[_Job] = []
    for half in HALVES:
        for line, twin in right_and_twins(half, calls // 2, seed):
            for each in (line, twin):
                if each is None:
                    continue
                chance = random.Random(f"{seed}/{each.half}/{each.grammar}/{each.spoken}")
                voice = _human(each.spoken) if each.grammar == FIGURES_ONLY else _voice(half, chance)
                if voice is not None:
                    jobs.append(
                        _job(
                            each.spoken, half, voice, chance,
                            said=" ".join(each.words), kind=each.kind, drill=each.grammar, phrase=each.phrase,
                            edit=each.edit, right=" ".join(each.right),
                        )
                    )  # fmt: skip
        sentences = unrelated(half)
        count = max(1, len(sentences) * calls // CALLS)
        for text in random.Random(f"{seed}/{half}").sample(sentences, min(count, len(sentences))):
            chance = random.Random(f"{seed}/{half}/{text}")
            jobs.append(
                _job(
                    text.split(), half, _voice(half, chance), chance, said=text, kind="unrelated", phrase=text
                )
            )
        for at in range(max(1, NONSPEECH_EACH_HALF * calls // CALLS)):
            what = NONSPEECH[at % len(NONSPEECH)]
            chance = random.Random(f"{seed}/{half}/{what}/{at}")
            jobs.append(
                _job([what, str(at)], half, f"none:{what}", chance, said="", kind="non-speech", phrase=what)
            )
    for each in recordings():
        chance = random.Random(f"{seed}/{each.file.name}")
        jobs.append(
            _job(each.said.split(), each.half, each.voice, chance, recording=str(each.file), said=each.said,
                 kind="unrelated", phrase=each.said)
        )  # fmt: skip
    return jobs


def _voice(half: Half, chance: random.Random) -> str:
    """A voice of the half; one that is not there is drawn again, so that the others keep what they say."""
    if all(why_not(voice) for voice in VOICES[half]):
        raise CorpusError(
            "there is no voice to speak the corpus: install espeak-ng and flite (scripts/setup test)"
        )
    while why_not(voice := chance.choice(VOICES[half])):
        pass
    return voice


def _human(spoken: Sequence[str]) -> str | None:
    return HUMAN if not why_not(HUMAN) and can_say(spoken) else None


def _job(
    spoken: Sequence[str], half: Half, voice: str, chance: random.Random, recording: str = "", **more: Any
) -> _Job:
    pace = 1.0 if recording else round(chance.uniform(*PACES), 3)
    condition = "" if voice.startswith("none:") else chance.choice(CONDITIONS)
    named = hashlib.sha256(f"{voice}|{pace}|{condition}|{' '.join(spoken)}".encode()).hexdigest()[:16]
    utterance = Utterance(
        file=f"audio/{named[:2]}/{named}.flac", half=half, voice=voice, condition=condition, pace=pace,
        spoken=" ".join(spoken), **more,
    )  # fmt: skip
    return _Job(utterance, recording)


def make_corpus(folder: Path, seed: int = 1, calls: int = CALLS, processes: int = 2) -> Corpus:
    """Render what is missing in `folder`, write its manifest, and load it."""
    folder.mkdir(parents=True, exist_ok=True)
    jobs = planned(seed, calls)
    babble = {half: _babble(folder, half) for half in HALVES}
    todo = [job for job in jobs if not (folder / job.utterance.file).is_file()]
    if todo:
        print(f"rendering {len(todo)} of {len(jobs)} utterances into {folder}", file=sys.stderr)
        began = time.monotonic()
        with ProcessPoolExecutor(processes, initializer=_nicely) as pool:
            work = ((job, folder, babble[job.utterance.half]) for job in todo)
            for done, _ in enumerate(pool.map(_render, *zip(*work, strict=True), chunksize=20), start=1):
                if done % 500 == 0:
                    print(f"  {done} in {time.monotonic() - began:.0f} s", file=sys.stderr)
    manifest = "".join(json.dumps(_entry(job.utterance)) + "\n" for job in jobs)
    _written(folder / MANIFEST, manifest.encode())
    return load_corpus(folder)


def _entry(utterance: Utterance) -> dict[str, Any]:
    entry = asdict(utterance)
    del entry["folder"]
    return {name: value for name, value in entry.items() if value != "" or name == "said"}


def _nicely() -> None:
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
        _save(file, np.asarray(np.rint(mixed * (0.5 / np.abs(mixed).max()) * 32767), np.int16))
    return file


def _render(job: _Job, folder: Path, babble_file: Path) -> None:
    each = job.utterance
    chance = random.Random(each.file)
    babble, _ = soundfile.read(babble_file, dtype="float64")
    if each.kind == "non-speech":
        samples = nonspeech(each.phrase, babble, chance)
    else:
        if job.recording:
            sound = trimmed(at_rate(*soundfile.read(job.recording, dtype="float64")))
        else:
            sound = speech(each.voice, each.spoken.split(), each.pace)
        samples, _ = finished(sound, each.condition, babble, chance)
    _save(folder / each.file, samples)


def _save(file: Path, samples: Samples) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    part = file.with_name(f"{file.stem}.{os.getpid()}.part")
    soundfile.write(part, samples, 16_000, format="FLAC", subtype="PCM_16")
    part.replace(file)


def _written(file: Path, content: bytes) -> None:
    part = file.with_suffix(".part")
    part.write_bytes(content)
    part.replace(file)


def counts(corpus: Corpus) -> str:
    """What a corpus holds, a line for each half."""
    lines = []
    for half in HALVES:
        here = [each for each in corpus.utterances if each.half == half]
        kinds = Counter(each.kind for each in here)
        voices = len({each.voice for each in here if each.kind != "non-speech"})
        lines.append(
            f"{half}: " + ", ".join(f"{kinds[kind]} {kind}" for kind in KINDS) + f"; {voices} voices"
        )
    return "\n".join(lines)


def all_words(corpus: Corpus) -> Iterator[str]:
    """Every word that is said."""
    for each in corpus.utterances:
        yield from each.said.split()


def main() -> None:
    """Make the corpus, and say what is in it."""
    arguments = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    arguments.add_argument("--corpus-cache", type=Path, default=default_folder())
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--calls", type=int, default=CALLS, help=f"right calls (default {CALLS})")
    options = arguments.parse_args()
    for line in left_out():
        print(line, file=sys.stderr)
    print(counts(make_corpus(options.corpus_cache, options.seed, options.calls)))


if __name__ == "__main__":
    main()
