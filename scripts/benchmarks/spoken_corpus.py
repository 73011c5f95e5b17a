"""A corpus of spoken calls on disk, with what was truly said: made from a seed (`scripts/bench corpus`), or recorded.

A corpus is a folder with sound files (mono or not, any rate; WAV or FLAC) and `manifest.jsonl`, one JSON object a line:

    {"file": "a.wav", "said": "turn left heading two eight four", "drill": "kelda-outbound", "speaker": "ann",
     "condition": "headset"}

`file` (relative to the folder) and `said` are required, `said` being every word in the order spoken, '' for a sound
that is no speech. `drill` names a built-in drill, or 'broad' (also where it is missing): what listens. `voice` or
`speaker`, `condition`, `half`, `kind`, `right` and more are optional: a corpus made here holds them. Where `kind` is
missing, words that are calls to that grammar are a right call, and all else is unrelated.
"""

from __future__ import annotations

import json
import random
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

import numpy as np
import soundfile

from scripts.benchmarks.conditions import Samples
from scripts.benchmarks.lines import BROAD, FOUR_CALLS, KINDS, Kind, grammar_named, meaning_of_words
from scripts.benchmarks.phrases import HALVES, Half
from scripts.benchmarks.voices import at_rate
from voice_trainer.phraseology.normaliser import normalise

MANIFEST = "manifest.jsonl"


class CorpusError(Exception):
    """A corpus that can't be read: one line that says what, where and what to do."""


@dataclass(frozen=True)
class Utterance:
    """One sound of a corpus, and what was said in it, in plain words.

    `right` holds the words of the right call of which a twin is the wrong one, and `edit` what was changed.
    `voice` is whoever speaks: the cluster of a bootstrap. `recording` is the file that a recorded sentence is from.
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
    recording: str = ""
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

    def rights(self, half: Half | None = None) -> dict[str, list[str]]:
        """The words of the right calls of a half (of both where None), by grammar."""
        found: dict[str, list[str]] = {}
        for each in self.utterances:
            if each.kind == "right" and each.half == (half or each.half):
                found.setdefault(each.drill, []).append(each.said)
        return found


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
    if kind not in (*KINDS, FOUR_CALLS):
        raise CorpusError(f"{where}: kind {kind!r} is none of {', '.join(KINDS)}")
    half = entry.get("half", "test")
    if half not in HALVES:
        raise CorpusError(f"{where}: half {half!r} is neither {' nor '.join(HALVES)}")
    known = {
        name: entry[name]
        for name in ("condition", "phrase", "edit", "right", "spoken", "pace", "recording")
        if entry.get(name)
    }
    voice = str(entry.get("voice") or entry.get("speaker") or "")
    return Utterance(
        file=entry["file"], said=said, kind=kind, drill=drill, half=half, voice=voice, folder=folder, **known
    )
