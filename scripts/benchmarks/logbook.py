"""How fast the logbook is, and how large its page: a year made up by this script, 1,000 sessions with 50,000 calls.

The sessions are 20 different performances (right, wrong, late, left out), each under 50 dates and eight drills' names;
their journals are whole. Real commands read them, each a process of its own, started as a user starts it; its start is
in its time.
"""

from __future__ import annotations

import argparse
import os
import random
import statistics
import subprocess
import sys
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.scenes import Scene, drill_of
from voice_trainer.archive.private_folder import private_folder
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import Header, to_line

SESSIONS, FLOWS, CALLS_A_FLOW, DRILLS, PERFORMANCES = 1000, 10, 5, 8, 20
START = datetime(2026, 1, 1, 17, 0, tzinfo=UTC)
TO_REACH_SECONDS = {"due": 1.0, "progress": 1.0, "progress --html": 5.0, "logbook rebuild": 60.0}
PAGE_MEGABYTES = 3.0
REPEATS = 5


def year(home: Path, seed: int = 1) -> int:
    """Write the journals of a year; returns how many calls were due in them."""
    chance = random.Random(seed)
    drills = [_drill(number) for number in range(DRILLS)]
    made = [_performance(drills[number % DRILLS], chance) for number in range(PERFORMANCES)]
    folder = private_folder(home / "journals")
    for number in range(SESSIONS):
        started = START + timedelta(days=365 * number / SESSIONS)
        scene, lines = made[number % PERFORMANCES]
        session = f"{started:%Y%m%dT%H%M%SZ}-{scene.drill.drill}-{number:04x}"
        header = Header(
            program="scripts/bench",
            session=session,
            started_utc=started.isoformat(),
            drill=scene.drill.model_dump(mode="json"),
            settings=scene.settings,
            student="Anna",
        )
        (folder / f"{session}.jsonl").write_text(f"{to_line(header)}\n{lines}", encoding="utf-8")
    return SESSIONS * FLOWS * CALLS_A_FLOW


def _drill(number: int) -> Drill:
    flows = [
        {
            "name": f"flow {flow}",
            "calls": [
                {"call": f"item {call}", "say": f"report {_WORDS[call]} {{altitude: {flow + 1}{call}00}}"}
                for call in range(CALLS_A_FLOW)
            ],
        }
        for flow in range(FLOWS)
    ]
    return drill_of(*flows, drill=f"year-{number}", title=f"Year {number}")


_WORDS = ("leaving", "passing", "reaching", "established", "ready")


def _performance(drill: Drill, chance: random.Random) -> tuple[Scene, str]:
    """A session in which one call in ten is wrong, one in twenty left out, one in twenty late."""
    scene = Scene(drill)
    for flow, step in enumerate(drill.steps):
        scene.begin(step.step)
        for call in range(CALLS_A_FLOW):
            drawn = chance.random()
            if drawn < 0.05:
                continue
            value = f"{flow + 1}{(call + 1) % 5}00" if drawn < 0.15 else f"{flow + 1}{call}00"
            scene.say(
                f"report {_WORDS[call]} {value}", after=9.0 if drawn > 0.95 else chance.uniform(0.3, 3.0)
            )
        scene.wait(30.0).tick()
    scene.end()
    return scene, "".join(f"{to_line(record)}\n" for record in scene.records)


def seconds_of(home: Path, *command: str) -> float:
    """How long a command takes, its start with it."""
    began = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "voice_trainer", *command],
        env=os.environ | {"VOICE_TRAINER_HOME": str(home)},
        stdout=subprocess.DEVNULL,
        check=True,
    )
    return time.perf_counter() - began


def main() -> int:
    argparse.ArgumentParser(
        prog="scripts/bench logbook", description=(__doc__ or "").split("\n")[0]
    ).parse_args()
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        calls = year(home)
        journals = sum(path.stat().st_size for path in (home / "journals").iterdir()) / 1e6
        rebuild = seconds_of(home, "logbook", "rebuild")
        found = {"logbook rebuild": rebuild}
        for command in ("due", "progress", "progress --html"):
            times = [seconds_of(home, *command.split(), "--student", "Anna") for _ in range(REPEATS)]
            found[command] = statistics.median(times)
        page = (home / "progress.html").stat().st_size / 1e6
        size = sum(path.stat().st_size for path in home.glob("logbook.sqlite*")) / 1e6
    print(f"{SESSIONS} sessions, {calls} calls, {journals:.0f} MB of journals, a logbook of {size:.1f} MB\n")
    print("| command | seconds | to reach |\n| --- | --- | --- |")
    for command, seconds in found.items():
        print(f"| {command} | {seconds:.2f} | {TO_REACH_SECONDS[command]:g} |")
    print(f"\nThe page has {page:.2f} MB, to reach less than {PAGE_MEGABYTES:g}.")
    in_time = all(seconds <= TO_REACH_SECONDS[command] for command, seconds in found.items())
    return 0 if in_time and page < PAGE_MEGABYTES else 1


if __name__ == "__main__":
    sys.exit(main())
