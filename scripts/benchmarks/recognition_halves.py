"""How often a right call is taken for a wrong one, and the other way round: calls of every slot type, and their twins.

    scripts/bench recognition_halves [--size N] [--seed S] [--half tuning|test]

A twin is a right call with one digit or word changed, mostly nine, five and eight for each other: what a recogniser
confuses most, so the figures are worse than those of a drill. No voice and no sentence of the tuning half, on which
thresholds are set, is in the test half. SYNTHETIC SPEECH: no human is in it.
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Hashable, Iterable
from dataclasses import dataclass, field

import numpy as np

from scripts.benchmarks.spoken_corpus import (
    HALVES,
    Half,
    Utterance,
    domains,
    heard_meaning,
    lines,
    utterances,
)
from voice_trainer.journal.hearing import Hearing
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.recognition.choosing import choose_recogniser

ENGINES = ("likelihood", "pocketsphinx")
ALONE = "neural model alone"
ALONE_MARGIN_NATS = 2.0
ALONE_GAP_NATS = 12.0
"""What would be clear without the second opinion."""

BROAD_CALLS = 150


@dataclass
class Tally:
    """What one recogniser made of one half."""

    calls: int = 0
    right: int = 0
    wrong: int = 0
    taken_for_the_right_call: int = 0
    unrelated: int = 0
    unrelated_taken: int = 0
    seconds: list[float] = field(default_factory=list)

    def count(self, said: Utterance, heard: Hashable, *, clear: bool, a_call: bool) -> None:
        if said.line.kind == "unrelated":
            self.unrelated += 1
            self.unrelated_taken += clear and a_call
            return
        self.calls += 1
        self.right += clear and heard == said.line.meaning
        self.wrong += clear and heard != said.line.meaning
        self.taken_for_the_right_call += clear and said.line.kind == "twin" and heard == said.line.instead_of


def measure(halves: Iterable[Half], size: int, seed: int) -> dict[tuple[Half, str], Tally]:
    """Every recogniser over `size` utterances of each half."""
    halves = tuple(halves)
    grammars = domains()
    pronounce = {
        word: phones for name in builtin_drills() for word, phones in find_drill(name).pronounce.items()
    }
    engines = {(engine, domain): choose_recogniser(engine) for engine in ENGINES for domain in grammars}
    for (_, domain), recogniser in engines.items():
        recogniser.prepare(grammars[domain], pronounce)
    every = lines(grammars, random.Random(seed), BROAD_CALLS)
    tallies = {(half, name): Tally() for half in halves for name in (ENGINES[0], ALONE, *ENGINES[1:])}
    for half in halves:
        for said in utterances(half, every[half], random.Random(seed + 1), size):
            for engine in ENGINES:
                began = time.perf_counter()
                hearing = engines[engine, said.line.domain].hear(said.samples, 0.0)
                tallies[half, engine].seconds.append(time.perf_counter() - began)
                heard = heard_meaning(hearing)
                a_call = any(span.kind == "call" for span in hearing.best.spans) if hearing.best else False
                clear = hearing.clarity == "clear"
                tallies[half, engine].count(said, heard, clear=clear, a_call=a_call)
                if engine == ENGINES[0]:
                    tallies[half, ALONE].count(said, heard, clear=_clear_alone(hearing), a_call=a_call)
    return tallies


def _clear_alone(hearing: Hearing) -> bool:
    return (
        hearing.margin is not None
        and hearing.gap is not None
        and hearing.margin >= ALONE_MARGIN_NATS
        and hearing.gap <= ALONE_GAP_NATS
        and hearing.best is not None
    )


def table(tallies: dict[tuple[Half, str], Tally]) -> str:
    """The figures, a line for each half and recogniser."""
    lines_ = [
        f"{'':<8}{'':<20}{'calls':>6}{'right':>9}{'clear, wrong':>14}{'twin taken for it':>19}{'asked again':>13}"
        f"{'other speech taken':>20}{'p50 ms':>8}{'p95 ms':>8}"
    ]
    for (half, name), each in tallies.items():
        asked = each.calls - each.right - each.wrong
        times = [
            f"{1000 * float(np.percentile(each.seconds, p)):.0f}" if each.seconds else "" for p in (50, 95)
        ]
        lines_.append(
            f"{half:<8}{name:<20}{each.calls:>6}{100 * each.right / max(1, each.calls):>7.1f} %{each.wrong:>14}"
            f"{each.taken_for_the_right_call:>19}{100 * asked / max(1, each.calls):>11.1f} %"
            f"{f'{each.unrelated_taken} of {each.unrelated}':>20}{times[0]:>8}{times[1]:>8}"
        )
    return "\n".join(lines_)


def main() -> None:
    """Measure, and print the table."""
    arguments = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    arguments.add_argument("--size", type=int, default=300, help="utterances a half (default 300)")
    arguments.add_argument("--seed", type=int, default=2)
    arguments.add_argument("--half", choices=HALVES, action="append", help="only this one")
    options = arguments.parse_args()
    print("Synthetic speech: twelve voices, six a half; clean, engine noise at 10 dB, radio band.\n")
    print(table(measure(options.half or HALVES, options.size, options.seed)))


if __name__ == "__main__":
    main()
