"""The run of `scripts/bench recognition --natural`: families of voices heard, and what is printed of it."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scripts.benchmarks.conditions import CONDITIONS
from scripts.benchmarks.families import folder_of, planned, render, robots, robots_left_out, sentences
from scripts.benchmarks.family_table import table
from scripts.benchmarks.kokoro_voices import KOKORO, fault_of
from scripts.benchmarks.listeners import TITLES, Heard, listen
from scripts.benchmarks.spoken_corpus import Corpus, CorpusError, Utterance

SIZE = 130
"""Sentences of each family: ten by each voice of Kokoro."""


@dataclass(frozen=True)
class Run:
    """What was said by whom under which conditions, and what each listener made of each family's."""

    said: Sequence[Utterance]
    voices: Mapping[str, Sequence[str]]
    conditions: Sequence[str]
    seed: int
    heard: Mapping[str, Mapping[str, Heard]]

    def all_heard(self) -> list[Heard]:
        """Listener by listener, family by family."""
        return [one for families in self.heard.values() for one in families.values()]


def conditions_of(asked: str | None) -> list[str]:
    """The conditions of a list with commas, all of them where None. Raises CorpusError for one that is not there."""
    names = list(dict.fromkeys(name.strip() for name in asked.split(","))) if asked else list(CONDITIONS)
    if unknown := [name for name in names if name not in CONDITIONS]:
        raise CorpusError(f"there is no condition {unknown[0]!r}; there are {', '.join(CONDITIONS)}")
    return names


def voices_of(sources: Path) -> dict[str, tuple[str, ...]]:
    """The voices of each family. Raises CorpusError where a family can't speak."""
    if fault := fault_of(sources):
        raise CorpusError(fault)
    voices = {"kokoro": KOKORO, "robots": robots()}
    if not voices["robots"]:
        raise CorpusError("there is no robot to speak: install espeak-ng and flite (scripts/setup test)")
    return voices


def measured(
    corpus: Corpus,
    sources: Path,
    names: Sequence[str],
    conditions: Sequence[str],
    size: int | None,
    seed: int,
) -> Run:
    """`size` sentences of the test half (all where None) by each family, heard by each listener."""
    voices = voices_of(sources)
    said = sentences(corpus, size, seed)
    found = {
        family: render(planned(said, each, conditions, seed), folder_of(corpus, each, sources), sources)
        for family, each in voices.items()
    }
    rights = corpus.rights("test")
    heard: dict[str, dict[str, Heard]] = {}
    for name in names:
        heard[name] = {}
        for family, utterances in found.items():
            print(f"{name}, {family}: {len(utterances)} utterances", file=sys.stderr)
            one = listen(name, utterances, rights)
            heard[name][family] = replace(one, records=[each | {"family": family} for each in one.records])
    return Run(said, voices, conditions, seed, heard)


def report(run: Run) -> str:
    """Who said what, and a table for each listener."""
    lines = [_heading(run)]
    for name, families in run.heard.items():
        records = {family: one.records for family, one in families.items()}
        lines += ["", f"{TITLES[name]}:", "", table(records, run.conditions, run.seed)]
    return "\n".join(lines)


def _heading(run: Run) -> str:
    from scripts.train.texts.held_out import SEEDS  # it reads all texts of the training

    spoken = sum(each.kind != "non-speech" for each in run.said)
    lines = [
        f"{spoken} sentences of the test half, each by one voice of a family, by turns, under every condition; "
        f"{len(run.said) - spoken} sounds that are no speech, in the rows 'all' only.",
        f"- kokoro: {len(run.voices['kokoro'])} voices that the training never heard, and that chose none of its "
        "weights. It did hear other voices of the same synthesiser.",
        f"- robots: {', '.join(run.voices['robots'])}. Left out, since the training heard them: "
        f"{', '.join(robots_left_out())}.",
        "- Bounds are 95 % of a bootstrap that draws whole voices; where nothing was counted, 3 in n sentences.",
        "Synthetic speech all of it: nothing here is shown for anybody's voice.",
    ]
    if run.seed not in SEEDS:
        lines.append(
            f"The texts of seed {run.seed} were not kept out of the training, so that it may know sentences of them. "
            f"Those of {', '.join(map(str, SEEDS))} were."
        )
    return "\n".join(lines)
