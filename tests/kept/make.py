"""Makes a folder of what a user has on disk, with the program as it is now, for the versions that come to read.

    .venv/bin/python -m tests.kept.make 2026-11-30      # into tests/kept/2026-11-30, some minutes

A folder that is there is never written over. Speech is synthetic, students and places are invented.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from tests import model_archives
from tests.cli.commands import voice_trainer
from tests.typed_student import lines_of
from voice_trainer.archive.delays_file import note_delay
from voice_trainer.archive.profile_file import write_profile
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.audio.wav import write_wav
from voice_trainer.drills.model import Drill
from voice_trainer.flight.wind import Wind
from voice_trainer.journal.personal import Count, Personal, Profile
from voice_trainer.library.builtin import find_drill
from voice_trainer.library.flown import Wanted
from voice_trainer.recognition.choosing import choose_recogniser
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

HERE = Path(__file__).parent
PACK = HERE.parents[1] / "voice_trainer" / "guide" / "tarlen-school"

OWN_DRILL = """\
drill: two-items
title: Two items
kind: checklist
trains: two items, in the words of the house
steps:
  - step: gear
    when: start
    cue: {speaker: instructor, say: "Gear."}
    flow:
      calls:
        - {call: gear, say: "gear down"}
  - step: flaps
    cue: {speaker: instructor, say: "Flaps."}
    flow:
      calls:
        - {call: flaps, say: "flaps approach"}
"""
HOUSE = "house: gull school\nregion: faa\nsynonyms:\n  gear down: [wheels out]\n"

CHECKLIST = (
    "+12", "two nine eight four set", "+3", "trainer, slower", "trainer, say again", "+4", "fullest tanks", "+4",
    "heat off", "+4", "trainer, freeze", "+7", "trainer, continue", "+1", "armed", "+5",
    "trainer, what did I miss", "+8", "down three green", "+3", "flaps approach set", "+4",
    "trainer, skip", "+3", "lights on", "+4", "before landing checklist complete", "+12",
    "trainer, I said heat on", "+20",
)  # fmt: skip
MEMORY = (
    "+12", "airspeed best glide", "best field selected", "fuel pump on", "carburetor heat on",
    "fuel selector other tank", "mixture lean", "correction, mixture rich", "ignition both",
    "squawk seven six zero zero", "correction seven seven zero zero", "mayday mayday mayday heron two four",
    "fuel off", "the weather is nice today",
    "ignition off", "+12", "trainer, I said doors unlatched", "+30",
)  # fmt: skip
RADIO = (
    "+25", "left heading three two zero, correction, three one zero", "maintain two thousand six hundred",
    "cleared approach", "+6", "heron two four", "+12", "maintain two thousand nine hundred", "disregard",
    "maintain two thousand nine hundred", "altimeter two nine eight five", "+20", "+20",
)  # fmt: skip
OUTBOUND = (
    "+45", "time not required", "turn right three three three", "descend two thousand six hundred",
    "set course three three three",
    "heron two four kelda outbound", "+20", "trainer, faster", "+5", "start the clock", "trainer, next event",
    "turn left two eight eight", "set course one five three", "trainer, back", "+5", "turn left two eight eight",
    "set course one five three", "+10", "start the clock", "+30",
)  # fmt: skip
HOLD = (
    "+30",
    "teardrop entry",
    "+20",
    "trainer, next event",
    "time not required",
    "+10",
    "trainer, end",
    "+5",
)
FINCH = (
    "+6", "adjusted and locked", "+3", "set", "+3", "left", "+3", "on and bright", "+3",
    "before start checklist complete", "+20",
)  # fmt: skip
DUE = ("+10", "trainer, skip", "+10", "trainer, skip") * 6


class Maker:
    """Runs the program as a user does, its files below `home`, and notes what each session is."""

    def __init__(self, work: Path) -> None:
        self.work = work
        self.home = work / "home"
        self.drills = work / "drills"
        self.contents: dict[str, str] = {}
        self.voice = Pyttsx3Voice()

    def program(
        self, *arguments: str | Path, lines: Sequence[str] = (), may_be: tuple[int, ...] = (0,)
    ) -> str:
        print("voice-trainer", *arguments, flush=True)
        typed = "".join(f"{line}\n" for line in lines)
        done = voice_trainer(*arguments, home=self.home, stdin=typed, timeout=900)
        if done.returncode not in may_be:
            raise SystemExit(f"{arguments}: exit {done.returncode}\n{done.stdout}{done.stderr}")
        return done.stdout

    def session(self, what: str, *arguments: str | Path, lines: Sequence[str] = ()) -> Path:
        """A command that leaves a session, or several; the journal of the first."""
        before = set(self._journals())
        manner = ("--input=typed",) if lines else ()
        self.program(*arguments, *manner, lines=lines)
        new = sorted(set(self._journals()) - before)
        if not new:
            raise SystemExit(f"{arguments}: no session came of it")
        self.contents |= {path.stem: what for path in new}
        return new[0]

    def killed(self, what: str, drill: str, lines: Sequence[str]) -> None:
        """A session whose process is killed, and its last line torn as by a power cut."""
        before = set(self._journals())
        command = [sys.executable, "-m", "voice_trainer", "run", drill, "--input=typed"]
        process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, env=self._environment()
        )
        assert process.stdin is not None
        process.stdin.write("".join(f"{line}\n" for line in lines).encode())
        process.stdin.flush()
        journal, size, before_size = None, 0, -1
        while journal is None or not size or size != before_size:  # until all lines are taken in
            time.sleep(3)
            journal = next(iter(set(self._journals()) - before), None)
            size, before_size = (journal.stat().st_size if journal else 0), size
        process.send_signal(signal.SIGKILL)
        process.wait()
        with journal.open("r+b") as file:
            file.truncate(journal.stat().st_size - 25)
        self.contents[journal.stem] = what

    def spoken(self, name: str, *parts: tuple[float, str, float]) -> Path:
        """A recording: after so many seconds a text, in noise of that share of full scale."""
        found: list[Samples] = []
        chance = np.random.default_rng(3)
        for quiet_seconds, text, noise in parts:
            clip = self.voice.render(text, VoiceStyle("gmw/en-us")) // 2
            quiet = np.zeros(round(quiet_seconds * SAMPLE_RATE_HZ), np.int16)
            found += [
                quiet,
                (clip + chance.normal(0, noise * 32768, len(clip))).clip(-32768, 32767).astype(np.int16),
            ]
        path = self.work / name
        sound = np.concatenate(found)
        write_wav(path, (sound + chance.normal(0, 12, len(sound))).clip(-32768, 32767).astype(np.int16))
        return path

    def _environment(self) -> dict[str, str]:
        return os.environ | {"VOICE_TRAINER_HOME": str(self.home), "NO_COLOR": "1"}

    def _journals(self) -> list[Path]:
        found = (self.home / "journals").glob("*.jsonl")
        return [path for path in found if not path.stem.endswith(".reviews")]


def with_slips(drill: Drill) -> list[str]:
    """What somebody types who says every call right as soon as it is due, but for every seventh, which has a slip."""
    lines = lines_of(drill)
    said = [at for at, line in enumerate(lines) if not line.startswith("+")]
    for at in said[3::7]:
        words = lines[at].split()
        lines[at] = " ".join([*words[:-1], "two" if words[-1] == "three" else "three"])
    return [*lines, *["+20"] * 10]


def profile() -> Profile:
    """As `enrol` makes one of somebody who pauses: it takes minutes, and what comes of it is what is kept."""
    engine = choose_recogniser()
    return Profile(
        made_utc="2026-11-30T15:00:00+00:00", engine=engine.name, model_hash=engine.model_hash,
        microphone="Gull headset", noise_floor_dbfs=-66.2, speech_dbfs=-24.8,
        values=Personal(margin_shift_nats=-0.5, gap_shift_nats=-0.25, fit_shift_nats=0.1, hangover_seconds=0.9),
        before=Count(prompts=8, right=3, wrong=1), after=Count(prompts=8, right=8, wrong=0),
    )  # fmt: skip


def make(work: Path) -> Maker:
    """Everything, in `work`: the data folder `home`, and what a user keeps elsewhere."""
    maker = Maker(work)
    maker.drills.mkdir(parents=True)
    (maker.drills / "two-items.yaml").write_text(OWN_DRILL)
    (maker.drills / "house.yaml").write_text(HOUSE)
    silent = ("--input=student", "--output=none")

    maker.program("packs", "add", PACK)
    archive = model_archives.write_zip(work / "model.zip")
    maker.program("models", "add", archive)
    maker.program("logbook", "consent", "Anna Berg", "yes")
    note_delay(maker.home / "speaker-delays.json", "Gull headset", 0.12)
    maker.program("handsfree", *silent, "--student-says", "end")

    anna = ("--student", "Anna Berg")
    typed = maker.session
    typed(
        "a checklist, typed, read along: orders, a pause, a dispute",
        "run",
        "before-landing-checklist",
        "--level=read-along",
        *anna,
        lines=CHECKLIST,
    )
    memory = typed(
        "memory items, typed, cold, fly through: corrections, a dispute",
        "run",
        "engine-failure",
        "--level=cold",
        "--mode=fly-through",
        *anna,
        lines=MEMORY,
    )
    typed(
        "radio, typed: a correction, a disregard, a wrong value put right",
        "run",
        "brannock-clearance",
        *anna,
        lines=RADIO,
    )
    typed(
        "a flown flow, typed, under load: next event, and back",
        "run",
        "kelda-outbound",
        "--level=under-load",
        lines=OUTBOUND,
    )
    typed("a hold, typed, ended early", "run", "hold-kelda-direct", "--wind=240/18", lines=HOLD)
    typed("a checklist of a pack, typed", "run", "tarlen-school/finch-before-start", lines=FINCH)
    typed("a sum, the synthetic student", "run", "reckon-wind", "--seed=4", *silent)
    typed(
        "a brief, typed, a value wrong",
        "run",
        "departure-brief",
        "--seed=2",
        lines=with_slips(find_drill("departure-brief", 2)),
    )
    typed(
        "a flown flow, the synthetic student, stop and correct", "run", "kelda-outbound", "--seed=3", *silent
    )
    approach = find_drill("marlo-vor-15", 5, Wanted(wind=Wind(240, 18), runway_in_sight=True, amended=True))
    typed(
        "an approach, typed to its end, fly through, with assist: every seventh call is wrong",
        "run",
        "marlo-vor-15",
        "--seed=5",
        "--mode=fly-through",
        "--assist",
        "--wind=240/18",
        "--runway=in-sight",
        "--amend=yes",
        lines=with_slips(approach),
    )
    maker.killed(
        "radio, typed; the process was killed, the last line is torn", "brannock-clearance", RADIO[:5]
    )
    typed(
        "practice of what is due, typed: flows that were skipped",
        "run",
        "--due",
        "--minutes=2",
        "--new=3",
        *anna,
        lines=DUE,
    )

    write_profile(maker.home / "profile.json", profile())
    maker.program("privacy", "--keep", "calls")
    said = maker.spoken(
        "said.wav",
        (4.0, "wheels out", 0.0),
        (4.0, "flaps approach", 0.05),
        (5.0, "flaps approach", 0.0),
        (8.0, "flaps approach", 0.0),
    )
    own = maker.drills / "two-items.yaml"
    session = typed(
        "an own drill of a house, from a recording, with a profile: an unclear hearing, its sound kept",
        "run",
        own,
        "--input",
        said,
        "--output=none",
    )
    typed("the same recording, graded along its journal", "grade", own, said, "--journal", session.stem)

    by = ("--by", "Bo Lind")
    maker.program(
        "review",
        memory.stem,
        "--call",
        "failure/doors",
        "--verdict",
        "late",
        "--why",
        "It came, but late.",
        *by,
    )
    maker.program(
        "review",
        memory.stem,
        "--call",
        "failure/pump",
        "--verdict",
        "correct",
        "--why",
        "The order is free here.",
        *by,
    )

    (work / "prompts.txt").write_text("gear down\nflaps up\n")
    read = maker.spoken("read.wav", (2.0, "gear down", 0.0), (2.5, "flaps up", 0.0))
    maker.program(
        "record",
        work / "prompts.txt",
        "--out",
        work / "recorded",
        "--speaker",
        "S 1",
        "--input",
        read,
        may_be=(0, 1, 2),
    )
    maker.program("due")
    return maker


def keep(maker: Maker, folder: Path) -> None:
    """Put what was made into `folder`, with a golden grade for every session."""
    folder.mkdir()
    shutil.rmtree(maker.home / "cache", ignore_errors=True)
    for part in ("home", "drills", "recorded"):
        shutil.copytree(maker.work / part, folder / part)
    (folder / "golden").mkdir()
    for session in sorted(maker.contents):
        (folder / "golden" / f"{session}.json").write_text(maker.program("debrief", session, "--json"))
    lines = [f"{session}: {what}\n" for session, what in sorted(maker.contents.items())]
    (folder / "contents.txt").write_text("".join(lines))
    (folder / "SHA256SUMS").write_text(sums(folder))


def sums(folder: Path) -> str:
    """A line for every file of a kept folder, but for those that later versions add to: as `sha256sum` writes them."""
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    named = [(path, path.relative_to(folder).as_posix()) for path in files]
    return "".join(
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {name}\n"
        for path, name in named
        if name not in ("SHA256SUMS", "changed.yaml")
    )


def main() -> None:
    if len(sys.argv) != 2 or "/" in sys.argv[1]:
        raise SystemExit(__doc__)
    folder = HERE / sys.argv[1]
    if folder.exists():
        raise SystemExit(f"{folder} is there already, and is never written over: give a new name")
    with tempfile.TemporaryDirectory() as work:
        keep(make(Path(work)), folder)
    print(f"kept in {folder}; commit it, and never change it")


if __name__ == "__main__":
    main()
