"""`voice-trainer run`: put a session together from the options, run it, and debrief it."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from contextlib import ExitStack
from datetime import UTC, datetime
from itertools import count
from pathlib import Path

from rich.console import Console

from voice_trainer.archive.journal_file import read_journal
from voice_trainer.archive.places import new_journal_path
from voice_trainer.cli.checks import RECORDING, check_run
from voice_trainer.cli.finding import find_drill, is_flown
from voice_trainer.cli.interruption import Interruption
from voice_trainer.cli.main import CAUTION
from voice_trainer.cli.opening import open_studio
from voice_trainer.cli.page_files import BESIDE_THE_JOURNAL
from voice_trainer.cli.pages import write_page
from voice_trainer.cli.playing import (
    Played,
    debrief_at,
    manner_at_the_end,
    new_header,
    play,
    written_down,
)
from voice_trainer.cli.privacy import settle_sound
from voice_trainer.cli.setting_up import set_up
from voice_trainer.cli.student_errors import mistakes_of
from voice_trainer.cli.terminal import console, say
from voice_trainer.cli.today import given_today, wanted_today
from voice_trainer.cli.typed_lines import TypedLines
from voice_trainer.debrief.report import Debrief, debrief_of
from voice_trainer.debrief.spoken import spoken_debrief
from voice_trainer.debrief.text import print_debrief
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import Settings
from voice_trainer.phraseology.orders import FROM_THE_FIX
from voice_trainer.sequencing.from_the_fix import from_the_fix
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.cues import cues_of
from voice_trainer.session.diary import Diary
from voice_trainer.session.performance import perform
from voice_trainer.session.typed import TypedSession


def run_drill(options: argparse.Namespace) -> int:
    """Run one drill to its end and print its debrief."""
    drill = find_drill(options.drill, options.seed, wanted_today(options))
    mistakes = mistakes_of(options.student_errors)
    check_run(options)
    out = console()
    begun = set_up(options, out)
    settings, chosen = begun.settings, begun.chosen
    if not is_flown(options.drill):
        for option in given_today(options):
            out.print(f"{option} changes nothing here: it is of approaches and holds.", markup=False)
    say(out, f"{drill.title}. It trains {drill.trains}.")
    if drill.variables:
        say(out, f"Its numbers are those of --seed {options.seed}; another seed draws others.")
    say(out, CAUTION, style="dim")
    keep = settle_sound(out, chosen.input, options.journal)
    with ExitStack() as opened:
        studio = None
        if begun.recogniser is not None:
            studio = open_studio(
                options,
                chosen,
                begun.recogniser,
                begun.profile,
                opened,
                out,
                tail_seconds=drill.limit_seconds,
                first_lines=cues_of(drill),
            )
        flown = drill
        for number in count(1):
            path = numbered(options.journal, number) or new_journal_path(drill.drill, datetime.now(UTC))
            if studio is None:
                ended = run_typed(flown, settings, path, out, options.student or "").then
            else:
                performance = perform(flown, seed=options.seed, mistakes=mistakes)
                played = play(
                    studio,
                    flown,
                    settings,
                    path,
                    out,
                    tell=lambda debrief: told(debrief, out, aloud=settings.output != "none"),
                    performance=performance if chosen.input == "student" else None,
                    record=numbered(options.record, number),
                    keep=keep,
                    whose=options.student or "",
                )
                ended = played.then
            out.print(f"Journal: {path}", style="dim", markup=False)
            if options.report is not None:
                _report(options.report, path, number, out)
            if chosen.input.endswith(RECORDING):
                break
            if ended == FROM_THE_FIX:
                flown = from_the_fix(flown, read_journal(path).records) or drill
                out.print("Again, from the fix.", markup=False)
            elif ended == "again":
                flown = drill
                out.print("Again, from the beginning.", markup=False)
            else:
                break
    return 0


def _report(wanted: Path, path: Path, number: int, out: Console) -> None:
    place = wanted if wanted == BESIDE_THE_JOURNAL else numbered(wanted, number) or wanted
    journal = read_journal(path)
    debrief = debrief_of(journal.header, journal.records, journal.torn)
    page = write_page("--report", place, path, journal, debrief, lambda line: out.print(line, markup=False))
    out.print(f"Page: {page}", style="dim", markup=False)


def told(debrief: Debrief, out: Console, *, aloud: bool) -> list[str]:
    """Print a debrief; returns what is to be said of it."""
    out.print()
    print_debrief(debrief, out)
    return spoken_debrief(debrief) if aloud else []


def numbered(wanted: Path | None, number: int) -> Path | None:
    """The file that was asked for; of a drill that is begun again, another one beside it."""
    if wanted is None or number == 1:
        return wanted
    return wanted.with_name(f"{wanted.stem}-{number}{wanted.suffix}")


def run_typed(
    drill: Drill,
    settings: Settings,
    path: Path,
    out: Console,
    whose: str = "",
    tell: Callable[[Debrief], None] | None = None,
) -> Played:
    """A typed session, its lines from standard input; `tell` gets its debrief, which is printed where there is none."""
    header = new_header(drill, settings, path, engine="typed", model_hash="", voice="none")
    header = header.model_copy(update={"student": whose})
    lines = TypedLines(out)
    interruption = Interruption()

    def next_line() -> str | None:
        with interruption.waiting():
            return lines.read_line()

    with written_down(path, header, out) as journal:
        diary = Diary(journal, (lines,))
        grammar = domain_of(drill, settings.trainer_name)
        session = TypedSession(Sequencer(drill, settings), grammar, diary, next_line, lines)
        with interruption:
            try:
                session.run()
            except KeyboardInterrupt:
                lines.interrupted()
                session.end("by the student")
    debrief = debrief_at(path)
    if tell is None:
        print_debrief(debrief, out)
    else:
        tell(debrief)
    manner = manner_at_the_end(diary.records, settings)
    return Played(debrief, *manner, debrief.ended or "", interruption.asked)
