"""How fast the aeroplane flies, and whether its memory grows: six minutes of the VOR approach, with all detectors.

Flown in one go (as a rehearsal or a jump does), and by the tenth of a second (as a live session does, which takes six
minutes for it): the ratio is what the small steps cost. Then the same flight forty times over, for its memory.
"""

from __future__ import annotations

import argparse
import gc
import statistics
import time
import tracemalloc

from voice_trainer.drills.model import Drill
from voice_trainer.library.builtin import find_flown
from voice_trainer.sequencing.airborne import Airborne

PROCEDURE = "kelda-vor-15"
FLIGHT_SECONDS = 360
TO_REACH_MILLISECONDS = 100.0
REPEATS = 7
FLIGHTS = 40


def milliseconds(drill: Drill, steps: int) -> float:
    """How long the flight takes in so many equal steps: the median of some flights."""
    taken = []
    for _ in range(REPEATS):
        began = time.perf_counter()
        fly(drill, steps)
        taken.append((time.perf_counter() - began) * 1000.0)
    return statistics.median(taken)


def kilobytes_kept(drill: Drill) -> tuple[float, float]:
    """What Python holds after one flight, and after many, in kB above what it held before."""
    fly(drill, FLIGHT_SECONDS)  # what is made once, such as parsed conditions, is no growth
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    fly(drill, FLIGHT_SECONDS)
    gc.collect()
    once = tracemalloc.get_traced_memory()[0] - before
    for _ in range(FLIGHTS - 1):
        fly(drill, FLIGHT_SECONDS)
    gc.collect()
    often = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    return once / 1000.0, often / 1000.0


def fly(drill: Drill, steps: int) -> None:
    """Six minutes of the drill's flight, from its start."""
    airborne = Airborne.of(drill)
    assert airborne is not None
    for number in range(1, steps + 1):
        airborne.advance(FLIGHT_SECONDS * number / steps)


def main() -> int:
    parser = argparse.ArgumentParser(prog="scripts/bench flight", description=(__doc__ or "").split("\n")[0])
    parser.parse_args()
    drill = find_flown(PROCEDURE)
    whole, tenths = milliseconds(drill, 1), milliseconds(drill, FLIGHT_SECONDS * 10)
    once, often = kilobytes_kept(drill)
    print("| six minutes of flight | milliseconds | to reach |\n| --- | --- | --- |")
    print(f"| in one go | {whole:.0f} | {TO_REACH_MILLISECONDS:g} |")
    print(f"| by the tenth of a second | {tenths:.0f}, {tenths / whole:.1f} times as long | |")
    print(f"\nMemory kept after one flight: {once:.1f} kB; after {FLIGHTS}: {often:.1f} kB.")
    return 0 if whole <= TO_REACH_MILLISECONDS else 1


if __name__ == "__main__":
    raise SystemExit(main())
