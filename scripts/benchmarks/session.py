"""A live session, measured from outside: the unmodified program on a private PulseAudio.

Everything is measured in one run, the engines side by side; ratios are to the first column. Absolute figures are of
the machine that it ran on.
"""

from __future__ import annotations

import itertools
import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from tests.live.reacting_student import Performing, ReactingStudent
from tests.pulse import PrivatePulse
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.audio.effects import radio
from voice_trainer.journal.events import CueStarted, Heard, SpeechEnded, StepBegan
from voice_trainer.library.builtin import find_drill
from voice_trainer.session.cues import cues_of
from voice_trainer.session.performance import perform
from voice_trainer.voices.cache import CachedVoice
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.radio_voice import RadioVoice

ENGINES = ("likelihood", "pocketsphinx")
DRILL = "brannock-clearance"
QUIET_SECONDS = 15.0
CUES = 60

MANY_CUES = {
    "drill": "many-cues",
    "title": "Many cues",
    "kind": "callouts",
    "trains": "nothing",
    "steps": [
        {"step": f"cue {i}", "when": "start" if i == 0 else "settled", "after_seconds": 0.2 + 0.013 * (i % 7),
         "cue": {"speaker": "aeroplane", "say": "check"}}
        for i in range(CUES)
    ],
}  # fmt: skip
"""Short cues at uneven times, the floor always free: how soon does each begin?"""

SILENT = {
    "drill": "silence",
    "title": "Silence",
    "kind": "callouts",
    "trains": "nothing",
    "steps": [
        {"step": "listen", "when": "start", "cue": {"speaker": "instructor", "say": "I am listening."},
         "flow": {"give_up_seconds": 300, "calls": [{"call": "gear", "say": "gear down"}]}}
    ],
}  # fmt: skip


@dataclass(frozen=True)
class Process:
    """What the kernel says of a process."""

    cpu_seconds: float
    peak_megabytes: float

    @classmethod
    def of(cls, pid: int) -> Process:
        fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
        ticks = int(fields[11]) + int(fields[12])
        status = Path(f"/proc/{pid}/status").read_text()
        peak = next(int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM"))
        return cls(ticks / os.sysconf("SC_CLK_TCK"), peak / 1024)


@dataclass(frozen=True, slots=True)
class Exchanged:
    """Milliseconds to the hearing of each utterance, from the end of its speech as it was noticed, and from the end of
    its last word where it was clear; and the peak megabytes.
    """

    noticed: list[float]
    said: list[float]
    megabytes: float


@contextmanager
def one_core_taken() -> Iterator[None]:
    """Something else computes all the while."""
    busy = subprocess.Popen([sys.executable, "-c", "while True: pass"])
    try:
        yield
    finally:
        busy.kill()
        busy.wait()


class Bench:
    """One private sound server and one home for all measurements."""

    def __init__(self, pulse: PrivatePulse, home: Path) -> None:
        self.pulse = pulse
        self.home = home
        self._exchanges = itertools.count()

    def start(self, drill: str | Path, engine: str, journal: Path) -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [
                sys.executable, "-m", "voice_trainer", "run", str(drill), "--input=mic", "--output=speaker",
                "--microphone=trainer_microphone", "--speaker=trainer_speaker", f"--engine={engine}",
                "--journal", str(journal),
            ],
            env=self.pulse.env | {"VOICE_TRAINER_HOME": str(self.home)},
            stdout=subprocess.DEVNULL,
        )  # fmt: skip

    def file(self, drill: Mapping[str, object]) -> Path:
        path = self.home / f"{drill['drill']}.yaml"
        path.write_text(json.dumps(drill))  # JSON is YAML
        return path

    def first_cue_seconds(self, engine: str, name: str) -> float:
        journal = self.home / f"first-{engine}-{name}.jsonl"
        began = time.monotonic()
        process = self.start(DRILL, engine, journal)
        while not (journal.exists() and b'"cue started"' in journal.read_bytes()):
            time.sleep(0.005)
        taken = time.monotonic() - began
        process.kill()
        process.wait()
        return taken

    def silence(self, engine: str) -> tuple[float, float]:
        """Share of one core, in percent, and peak megabytes, while nobody speaks."""
        journal = self.home / f"silence-{engine}.jsonl"
        process = self.start(self.file(SILENT), engine, journal)
        while not (journal.exists() and b'"cue ended"' in journal.read_bytes()):
            time.sleep(0.05)
        time.sleep(2.0)
        before = Process.of(process.pid)
        time.sleep(QUIET_SECONDS)
        after = Process.of(process.pid)
        process.kill()
        process.wait()
        return 100 * (after.cpu_seconds - before.cpu_seconds) / QUIET_SECONDS, after.peak_megabytes

    def exchange(self, engine: str) -> Exchanged:
        """A drill's utterances, and what is made of each, how soon."""
        drill = find_drill(DRILL)
        voice = RadioVoice(CachedVoice(Pyttsx3Voice(), self.home / "cache" / "voices"), radio)
        casting = Casting.of(voice)
        clips = {text: voice.render(text, casting.style(role)) for role, text in cues_of(drill)}
        student = ReactingStudent(
            self.pulse,
            Performing(drill, perform(drill)),
            clips,
            lambda line: voice.render(line.text, casting.style("student")),
        )
        student.start()
        journal = self.home / f"exchange-{engine}-{next(self._exchanges)}.jsonl"
        process = self.start(drill.drill, engine, journal)
        peak = 0.0
        while process.poll() is None:
            try:
                peak = max(peak, Process.of(process.pid).peak_megabytes)
            except (OSError, StopIteration):
                break
            time.sleep(0.2)
        process.wait()
        student.stop()
        noticed: list[float] = []
        said: list[float] = []
        ended = 0.0
        for record in read_journal(journal).records:
            if isinstance(record, SpeechEnded):
                ended = record.at_seconds
            elif isinstance(record, Heard):
                noticed.append(1000 * (record.at_seconds - ended))
                best = record.hearing.best
                if best is not None and record.hearing.clarity == "clear":
                    said.append(1000 * (record.at_seconds - best.spans[-1].end_seconds))
        return Exchanged(noticed, said, peak)

    def cue_delays(self) -> list[float]:
        """From the block in which a cue is due to its first sample, in milliseconds."""
        journal = self.home / "cues.jsonl"
        self.start(self.file(MANY_CUES), "pocketsphinx", journal).wait()
        due: dict[str, float] = {}
        delays: list[float] = []
        for record in read_journal(journal).records:
            if isinstance(record, StepBegan):
                due[record.step] = record.at_seconds
            elif isinstance(record, CueStarted) and record.cue in due:  # the debrief is due at no set time
                delays.append(1000 * (record.at_seconds - due[record.cue]))
        return delays


def percentile(values: Sequence[float], percent: float) -> float:
    """The value that `percent` of the values do not exceed."""
    return sorted(values)[min(len(values) - 1, int(len(values) * percent / 100))]


def main() -> None:
    """Measure, and print the table."""
    print(f"{platform.machine()}, {os.cpu_count()} cores, Python {platform.python_version()}\n")
    with tempfile.TemporaryDirectory() as folder, PrivatePulse() as pulse:
        bench = Bench(pulse, Path(folder))
        cold = bench.first_cue_seconds(ENGINES[0], "cold")
        rows: list[tuple[str, list[float], str]] = [
            (
                "command to first cue, warm, s",
                [
                    statistics.median(bench.first_cue_seconds(engine, f"warm{i}") for i in range(3))
                    for engine in ENGINES
                ],
                "2",
            ),
        ]
        quiet = [bench.silence(engine) for engine in ENGINES]
        heard = [bench.exchange(engine) for engine in ENGINES]
        with one_core_taken():
            beside = [bench.exchange(engine) for engine in ENGINES]
        rows += [
            ("CPU listening in silence, % of a core", [cpu for cpu, _ in quiet], "20"),
            ("peak memory over a drill, MB", [each.megabytes for each in heard], "400"),
            (
                "end of speech noticed to verdict, ms p50",
                [percentile(each.noticed, 50) for each in heard],
                "",
            ),
            (
                "end of speech noticed to verdict, ms p95",
                [percentile(each.noticed, 95) for each in heard],
                "",
            ),
            ("last word to verdict, ms p50", [percentile(each.said, 50) for each in heard], "600"),
            ("last word to verdict, ms p95", [percentile(each.said, 95) for each in heard], "1200"),
            ("the same with one core taken, ms p50", [percentile(each.said, 50) for each in beside], "1200"),
            ("the same with one core taken, ms p95", [percentile(each.said, 95) for each in beside], "2400"),
        ]
        delays = bench.cue_delays()
    print(f"{'':<44}{ENGINES[0]:>13}{ENGINES[1]:>14}{'ratio':>8}{'to reach':>10}")
    for what, (ours, other), goal in rows:
        ratio = f"{other / ours:.2f}" if ours else "-"
        print(f"{what:<44}{ours:>13.1f}{other:>14.1f}{ratio:>8}{goal:>10}")
    print(f"\ncommand to first cue, nothing rendered yet: {cold:.1f} s")
    print(
        f"cue begins after it is due: p50 {percentile(delays, 50):.0f} ms, p99 {percentile(delays, 99):.0f} ms "
        f"({len(delays)} cues, floor free; to reach 30)"
    )


if __name__ == "__main__":
    main()
