"""`voice-trainer run --due`: one interleaved session of what is due, then of what is new."""

from __future__ import annotations

import argparse
from contextlib import ExitStack
from datetime import datetime

from voice_trainer.cli.checks import check_run
from voice_trainer.cli.due import due_now
from voice_trainer.cli.finding import find_drill
from voice_trainer.cli.main import CAUTION
from voice_trainer.cli.opening import open_studio
from voice_trainer.cli.practising import (
    USUAL_MINUTES,
    Practising,
    announced,
    mistakes_in,
    plan_of,
    player,
    say_out,
    typed_player,
)
from voice_trainer.cli.privacy import settle_sound
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.setting_up import set_up
from voice_trainer.cli.student_errors import mistakes_of
from voice_trainer.cli.terminal import console
from voice_trainer.cli.today import wanted_today
from voice_trainer.debrief.practice import practice_said
from voice_trainer.logbook.entries import SYNTHETIC_STUDENT
from voice_trainer.logbook.spoken import due_in_brief


def run_due(options: argparse.Namespace) -> int:
    """Run the session, say and print its debrief.

    Raises UsageError, AudioError, RecogniserError, VoiceError, DrillError, LogbookError or ArchiveError.
    """
    _check(options)
    mistakes = mistakes_of(options.student_errors)
    check_run(options)
    out = console()
    begun = set_up(options, out)
    settings, chosen = begun.settings, begun.chosen
    whose = options.student or (SYNTHETIC_STUDENT if chosen.input == "student" else "")
    found = due_now(whose, datetime.now().astimezone(), options.new)
    out.print(due_in_brief(found) or NOTHING, markup=False)
    today = wanted_today(options)
    minutes = USUAL_MINUTES if options.minutes is None else options.minutes
    plan = plan_of(
        found,
        minutes,
        lambda name, seed: find_drill(name, seed, today),
        settings,
        lambda line: out.print(line, markup=False),
    )
    if plan.is_over:
        return 0
    out.print(CAUTION, style="dim", markup=False)
    keep = settle_sound(out, chosen.input)
    with ExitStack() as opened:
        studio = None
        if begun.recogniser is not None:
            begin = announced(plan)
            studio = open_studio(
                options,
                chosen,
                begun.recogniser,
                begun.profile,
                opened,
                out,
                tail_seconds=0.0,
                first_lines=[("instructor", line) for line in begin],
            )
            say_out(studio, begin, settings.pace, out)
        performs = mistakes_in(mistakes) if chosen.input == "student" else None
        name = options.student or ""
        play_one = typed_player(out, name) if studio is None else player(studio, out, name, keep, performs)
        practising = Practising(plan, settings, out, play_one)
        practising.run()
        if studio is not None and settings.output != "none" and not practising.interrupted:
            say_out(studio, practice_said(practising.done), practising.settings.pace, out)
    return 0


NOTHING = "Nothing is due, and nothing is new today; 'run --due --new NUMBER' begins more."


def _check(options: argparse.Namespace) -> None:
    """The options that a session of many drills has no use for. Raises UsageError."""
    if options.drill is not None:
        raise UsageError(
            f"--due chooses what is practised; leave {options.drill} out, or run it without --due"
        )
    for option in ("journal", "record", "report"):
        if getattr(options, option) is not None:
            raise UsageError(
                f"--{option}: every flow of --due has a journal of its own; leave it out, and see 'debrief' and "
                "'privacy'"
            )
    if options.input not in (None, "mic", "student", "typed"):
        raise UsageError("--input: --due listens to mic, student or typed; a recording is of one drill")
