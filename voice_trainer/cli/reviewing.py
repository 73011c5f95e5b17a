"""`voice-trainer review`: an instructor looks at a session's verdicts again, hears what was kept, and may overrule."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
from rich.console import Console

from voice_trainer.archive.journal_file import Journal
from voice_trainer.archive.places import journals_folder
from voice_trainer.archive.review_file import add_review, read_reviews
from voice_trainer.audio.devices import usable_speaker
from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.cli.arguments import LONGEST_NAME, LONGEST_REASON
from voice_trainer.cli.debriefing import debrief_with_reviews, open_journal
from voice_trainer.cli.privacy import kept_by_choice
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.sessions import finished_journal
from voice_trainer.cli.terminal import console
from voice_trainer.debrief.report import Debrief
from voice_trainer.debrief.text import expected_over_said, review_lines, score_lines
from voice_trainer.drills.model import Drill
from voice_trainer.grading.word_pairs import pairs_of_call
from voice_trainer.journal.events import Settled
from voice_trainer.journal.reviewing import Overruling
from voice_trainer.journal.utterances import said_for
from voice_trainer.journal.verdicts import VERDICTS, Verdict
from voice_trainer.library.errors import quoted
from voice_trainer.library.wording import listed, nearest
from voice_trainer.phraseology.counting import counted
from voice_trainer.session.kept_sound import prune_leftovers, sound_of

PAUSE_SECONDS = 0.4
"""Between two utterances that are played one after the other."""

Play = Callable[[Samples], None]


def review(options: argparse.Namespace) -> int:
    """Go through the verdicts of a session, or overrule one of them. Raises UsageError, ArchiveError, AudioError."""
    path = finished_journal(options.session)
    out = console()
    for line in prune_leftovers(journals_folder(), kept_by_choice()):
        out.print(line, markup=False)
    journal = open_journal(path)
    if options.call is not None:
        _overrule_one(path, journal, options, out)
        return 0
    if given := [name for name in ("verdict", "why") if getattr(options, name) is not None]:
        raise UsageError(f"review: --{given[0]} needs the call that it is about; give --call STEP/CALL")
    debrief = debrief_with_reviews(path, journal)
    verdicts = to_review(debrief, every=options.every)
    if not verdicts:
        out.print("There is nothing to review: every call is correct. --all goes through all.", markup=False)
        return 0
    with ExitStack() as opened:
        play = opened_player(options, opened, out)
        _Review(path, journal, debrief.drill, out, play, options.by).go_through(verdicts)
    for text in score_lines(debrief_with_reviews(path, journal)):
        out.print(text)
    return 0


def to_review(debrief: Debrief, *, every: bool) -> list[Settled]:
    """The verdicts that an instructor is shown: the disputed first, then those that are not correct, or all."""
    verdicts = [each for each in debrief.grade.verdicts if every or each.verdict != "correct"]
    return sorted(verdicts, key=lambda each: each.verdict != "disputed")


def opened_player(options: argparse.Namespace, opened: ExitStack, out: Console) -> Play | None:
    """What plays an utterance, None where it is to be silent or there is no speaker. Raises AudioError."""
    if options.output == "none":
        return None
    usable = usable_speaker(options.speaker)
    if not usable:
        if options.output == "speaker" or options.speaker:
            raise AudioError(usable.reason)
        out.print(f"No usable speaker ({usable.reason}): nothing is played.", markup=False)
        return None
    from voice_trainer.audio.live import LiveSpeaker

    speaker = LiveSpeaker(options.speaker, _HostClock())
    opened.callback(speaker.close)

    def play(clip: Samples) -> None:
        speaker.play("utterance", clip)
        until = time.monotonic() + len(clip) / SAMPLE_RATE_HZ + 2.0
        while time.monotonic() < until:
            if any(event.kind == "ended" for event in speaker.events(time.monotonic())):
                return
            time.sleep(0.02)

    return play


class _HostClock:
    """Of no session: the host's own time."""

    def session_seconds(self, host_seconds: float) -> float:
        return host_seconds


@dataclass(slots=True)
class _Review:
    """One sitting."""

    path: Path
    journal: Journal
    drill: Drill
    out: Console
    play: Play | None
    by: str | None

    def go_through(self, verdicts: list[Settled]) -> None:
        """Show one after the other; with a terminal, ask about each."""
        asks = sys.stdin.isatty()
        for number, settled in enumerate(verdicts, start=1):
            self.out.print()
            self._show(settled, f"{number} of {len(verdicts)}")
            clip = self._sound(settled)
            if clip is not None and self.play is not None and asks:
                self.play(clip)
            if asks and not self._ask(settled, clip):
                break
        self.out.print()
        if not asks:
            self.out.print(
                "Without a terminal nothing is asked: overrule with --call, --verdict, --why and --by.",
                markup=False,
            )

    def _show(self, settled: Settled, number: str) -> None:
        self.out.print(f"{number}: {name_of(settled)}: {settled.verdict}. {settled.reason}", markup=False)
        for line in expected_over_said(settled, pairs_of_call(self.drill, settled)):
            self.out.print(line)
        for line in review_lines(read_reviews(self.path), settled):
            self.out.print(line)

    def _sound(self, settled: Settled) -> Samples | None:
        """What was kept of the utterances that it was said in, or may have been."""
        clips = [
            clip
            for each in said_for(self.journal.records, settled.step, settled.call)
            if (clip := sound_of(self.path, each)) is not None
        ]
        if not clips:
            self.out.print("      sound     none was kept", markup=False)
            return None
        seconds = sum(len(clip) for clip in clips) / SAMPLE_RATE_HZ
        self.out.print(f"      sound     {counted(len(clips), 'utterance')}, {seconds:.1f} s", markup=False)
        pause = np.zeros(round(PAUSE_SECONDS * SAMPLE_RATE_HZ), np.int16)
        return np.concatenate([part for clip in clips for part in (clip, pause)])

    def _ask(self, settled: Settled, clip: Samples | None) -> bool:
        """Ask for another verdict; whether to go on."""
        again = ", p to hear it again" if clip is not None and self.play is not None else ""
        while True:
            try:
                answer = (
                    self.out.input(f"Verdict (Enter leaves it{again}, q ends): ", markup=False)
                    .strip()
                    .lower()
                )
            except EOFError:
                return False
            if answer in ("", "q"):
                return answer == ""
            if answer == "p" and clip is not None and self.play is not None:
                self.play(clip)
                continue
            likely = [each for each in VERDICTS if each.startswith(answer)]
            if len(likely) != 1:
                self.out.print(f"Say {listed(VERDICTS)}.", markup=False)
                continue
            why = self._line("Why: ", LONGEST_REASON)
            self.by = self.by or self._line("Your name: ", LONGEST_NAME)
            if not why or not self.by:
                self.out.print("Left as it was: it needs a reason and a name.", markup=False)
                return True
            overrule(self.path, settled, likely[0], why, self.by)
            return True

    def _line(self, prompt: str, longest: int) -> str:
        try:
            line = " ".join(self.out.input(prompt, markup=False).split())
        except EOFError:
            return ""
        return "".join(c for c in line if c.isprintable())[:longest]


def name_of(settled: Settled) -> str:
    """How a call is named on the command line."""
    return f"{settled.step}/{settled.call}"


def overrule(path: Path, settled: Settled, verdict: Verdict, why: str, by: str) -> None:
    """Write it down; what was written before stays. Raises ArchiveError."""
    earlier = [each for each in read_reviews(path) if (each.step, each.call) == (settled.step, settled.call)]
    add_review(
        path,
        Overruling(
            step=settled.step,
            call=settled.call,
            was=earlier[-1].verdict if earlier else settled.verdict,
            verdict=verdict,
            why=why,
            by=by,
            at_utc=datetime.now(UTC).isoformat(timespec="seconds"),
        ),
    )


def _overrule_one(path: Path, journal: Journal, options: argparse.Namespace, out: Console) -> None:
    if lacking := [f"--{name}" for name in ("verdict", "why", "by") if not getattr(options, name)]:
        raise UsageError(f"review: {lacking[0]} is missing; --call needs --verdict, --why and --by")
    debrief = debrief_with_reviews(path, journal)
    known = {name_of(each): each for each in debrief.grade.verdicts}
    settled = known.get(options.call)
    if settled is None:
        likely = nearest(options.call, known)
        advice = f"did you mean '{likely}'?" if likely else f"those are {listed(list(known)[:8])}"
        raise UsageError(f"--call: {quoted(options.call)} has no verdict in this session; {advice}")
    overrule(path, settled, options.verdict, options.why, options.by)
    after = debrief_with_reviews(path, journal)
    for line in [*review_lines(read_reviews(path), settled), *score_lines(after)]:
        out.print(line)
