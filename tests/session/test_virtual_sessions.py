"""Whole sessions over recognised audio in virtual time: the synthetic student, both drills, several voices.

The voices were chosen before any result was seen, and stay. What is asserted is fairness: a call that was said
right is never graded wrong, and a deliberate mistake gets its verdict; whatever could not be made out is asked
for again once and then left out. How often that happened is printed (`pytest -s`), for all voices.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.debrief.report import Debrief, debrief_of, differences
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import AskAgain, Heard
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.session.performance import MISTAKES, perform

pytestmark = pytest.mark.slow

VOICES = ("gmw/en-us", "gmw/en-us+f3", "gmw/en-us+m3", "gmw/en-us+f4", "gmw/en-gb-x-rp")
DRILLS = ("brannock-clearance", "kelda-outbound")

ONE_OF_A_KIND = (
    "holding-clearance",
    "piston-before-start",
    "engine-fire-in-flight",
    "brannock-callouts",
    "departure-brief",
    "reckon-descent",
    "yarrow-descent",
)
"""What CI plays: a radio exchange in each wording, and one drill of every other kind."""


def on_demand_but(in_ci: Collection[object], every: Iterable[object]) -> list[object]:
    """Every parameter; those that are not in `in_ci` are played on demand only."""
    return [each if each in in_ci else pytest.param(each, marks=pytest.mark.long) for each in every]


FAULTS_OF_DOUBT = ("unclear", "missed", "incomplete", "late")
"""What a right call may come to when it could not be made out, or was drowned by the trainer asking again."""

LEFT_OF_A_SWAP = "correct"
"""Of two swapped calls one may not have been made out: the other is then in its place."""


def session(drill: str, voice: str, errors: str, seed: int, folder: Path, engine: str = "auto") -> Journal:
    journal = folder / "session.jsonl"
    done = voice_trainer(
        "run",
        drill,
        "--input=student",
        "--output=none",
        f"--student-errors={errors}",
        f"--student-voice={voice}",
        f"--seed={seed}",
        f"--engine={engine}",
        "--journal",
        journal,
        home=folder,
        timeout=240,
    )
    assert (done.returncode, done.stderr) == (0, "")
    return read_journal(journal)


def replays_to_the_byte(drill: Drill, journal: Journal) -> bool:
    again = replay(drill, journal.header.settings, journal.records)
    return differences(journal.records, again) == []


def doubtful(journal: Journal) -> bool:
    """Whether any utterance could not be made out for sure."""
    return any(isinstance(r, Heard) and r.hearing.clarity != "clear" for r in journal.records)


def report(name: str, voice: str, journal: Journal, debrief: Debrief) -> None:
    utterances = [r.hearing.clarity for r in journal.records if isinstance(r, Heard)]
    asked = sum(isinstance(r, AskAgain) for r in journal.records)
    unclear = debrief.grade.count("unclear")
    print(
        f"{name:<25}{voice:<16}{len(utterances):>3} utterances, asked again {asked}, left unclear {unclear}"
    )


@pytest.mark.parametrize("voice", on_demand_but(("gmw/en-us", "gmw/en-gb-x-rp"), VOICES))
@pytest.mark.parametrize("name", DRILLS)
def test_without_mistakes_nothing_is_graded_wrong(name: str, voice: str, tmp_path: Path) -> None:
    drill = find_drill(name)
    journal = session(name, voice, "none", 1, tmp_path)
    debrief = debrief_of(journal.header, journal.records)
    report(name, voice, journal, debrief)
    for verdict in debrief.grade.verdicts:
        assert verdict.verdict == "correct" or (doubtful(journal) and verdict.verdict in FAULTS_OF_DOUBT), (
            verdict
        )
    assert replays_to_the_byte(drill, journal)


FLOWN = "kelda-vor-approach"
"""It has a test of its own, with its flight: `test_flown_approach`."""


@pytest.mark.parametrize(
    "name", on_demand_but(ONE_OF_A_KIND, [name for name in builtin_drills() if name not in (*DRILLS, FLOWN)])
)
def test_every_other_drill_is_heard_right(name: str, tmp_path: Path) -> None:
    """One voice, the first; what each drill says is told apart from the trade's other sentences."""
    drill = find_drill(name, seed=1)
    journal = session(name, VOICES[0], "none", 1, tmp_path)
    debrief = debrief_of(journal.header, journal.records)
    report(name, VOICES[0], journal, debrief)
    assert Drill.model_validate(journal.header.drill) == drill
    for verdict in debrief.grade.verdicts:
        assert verdict.verdict == "correct" or (doubtful(journal) and verdict.verdict in FAULTS_OF_DOUBT), (
            verdict
        )
    assert replays_to_the_byte(drill, journal)


@pytest.mark.parametrize("seed", on_demand_but((1,), (1, 2, 3)))
@pytest.mark.parametrize("name", DRILLS)
def test_each_deliberate_mistake_gets_its_verdict(name: str, seed: int, tmp_path: Path) -> None:
    drill = find_drill(name)
    made = {(m.step, m.call): m for m in perform(drill, seed=seed, mistakes=MISTAKES).mistakes}
    journal = session(name, VOICES[0], "all", seed, tmp_path)
    debrief = debrief_of(journal.header, journal.records)
    report(name, VOICES[0], journal, debrief)
    for verdict in debrief.grade.verdicts:
        mistake = made.get((verdict.step, verdict.call))
        wanted = mistake.verdict if mistake else "correct"
        allowed = (*FAULTS_OF_DOUBT, LEFT_OF_A_SWAP) if wanted == "out of order" else FAULTS_OF_DOUBT
        assert verdict.verdict == wanted or (doubtful(journal) and verdict.verdict in allowed), verdict
    assert replays_to_the_byte(drill, journal)
