"""Every drill, approach and hold that comes with the program, over recognised audio in virtual time.

The perfect student says every call with a synthetic voice and the recogniser hears it; what is not graded correct is
the program's fault. Printed as a table for Markdown: utterances, how many were asked for again, and calls whose verdict
was not `correct`. A call that was said right and graded wrong makes the exit code 1.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from tests.cli.commands import voice_trainer
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.debrief.report import debrief_of
from voice_trainer.journal.events import AskAgain, Heard
from voice_trainer.library.builtin import everything

HELD_AGAINST = {"wrong value", "out of order", "late", "early", "incomplete", "missed", "forbidden"}
"""Verdicts that a student who says all right must not get. What stays `unclear` is left out of a score."""


@dataclass(frozen=True, slots=True)
class Played:
    """One drill: how much was said, what was not made out, and what was decided."""

    drill: str
    utterances: int
    asked_again: int
    verdicts: dict[str, int]
    wrong: tuple[str, ...]
    problem: str = ""


def play(drill: str, seed: int, cache: Path) -> Played:
    """One drill, alone in its own data folder but for the voices' cache."""
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "cache").symlink_to(cache, target_is_directory=True)
        journal = home / "journal.jsonl"
        try:
            done = voice_trainer(
                "run", drill, "--input=student", "--student-errors=none", "--output=none", "--mode=fly-through",
                f"--seed={seed}", "--journal", journal, home=home, timeout=3600,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            return Played(drill, 0, 0, {}, (), "did not end within an hour")
        if done.returncode:
            return Played(drill, 0, 0, {}, (), done.stderr.strip().splitlines()[-1])
        session = read_journal(journal)
    verdicts = debrief_of(session.header, session.records, session.torn).grade.verdicts
    return Played(
        drill,
        sum(isinstance(record, Heard) for record in session.records),
        sum(isinstance(record, AskAgain) for record in session.records),
        dict(Counter(each.verdict for each in verdicts)),
        tuple(f"{v.step}/{v.call}: {v.verdict}. {v.reason}" for v in verdicts if v.verdict in HELD_AGAINST),
    )


def table(played: list[Played]) -> Iterator[str]:
    """The lines of the table, and below it whatever was graded wrong."""
    yield "| drill | utterances | asked again | calls | unclear in the end | graded wrong |"
    yield "| --- | ---: | ---: | ---: | ---: | ---: |"
    for each in played:
        calls = sum(each.verdicts.values())
        unclear = each.verdicts.get("unclear", 0)
        row = (each.utterances, each.asked_again, calls, unclear, len(each.wrong))
        yield f"| `{each.drill}` | " + " | ".join(map(str, row)) + " |"
    utterances, again = sum(p.utterances for p in played), sum(p.asked_again for p in played)
    calls, wrong = sum(sum(p.verdicts.values()) for p in played), sum(len(p.wrong) for p in played)
    unclear = sum(p.verdicts.get("unclear", 0) for p in played)
    yield f"| all {len(played)} | {utterances} | {again} | {calls} | {unclear} | {wrong} |"
    yield ""
    yield (
        f"Asked again: {again / max(utterances, 1):.1%} of utterances. Unclear in the end: "
        f"{unclear / max(calls, 1):.1%} of calls. Graded wrong: {wrong / max(calls, 1):.1%}."
    )
    for each in played:
        if each.problem:
            yield f"- `{each.drill}`: {each.problem}"
        yield from (f"- `{each.drill}`: {wrong}" for wrong in each.wrong)


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="scripts/bench library", description=__doc__)
    parser.add_argument("drills", nargs="*", help="only these (default: all)")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--at-once", type=int, default=1, help="drills at the same time (default: 1)")
    options = parser.parse_args(arguments)
    names = options.drills or sorted(everything())
    with tempfile.TemporaryDirectory() as cache, ThreadPoolExecutor(options.at_once) as pool:
        played = []
        for each in pool.map(lambda name: play(name, options.seed, Path(cache)), names):
            played.append(each)
            wrong = f", {len(each.wrong)} wrong" if each.wrong else ""
            print(
                f"{each.drill}: {each.asked_again} of {each.utterances} asked again{wrong}", file=sys.stderr
            )
    print("\n".join(table(played)))
    return 1 if any(each.wrong or each.problem for each in played) else 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
