"""`voice-trainer grade`: a recording of an earlier session is graded as if it were live, in virtual time."""

from __future__ import annotations

import argparse
from contextlib import ExitStack
from datetime import UTC, datetime

from rich.console import Console

from voice_trainer.archive.journal_file import Journal, JournalWriter
from voice_trainer.archive.places import models_folders, new_journal_path
from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.audio.virtual import VirtualMicrophone, WavSource
from voice_trainer.audio.wav import check_recording, read_wav
from voice_trainer.cli.debriefing import open_journal
from voice_trainer.cli.finding import find_drill
from voice_trainer.cli.live_lines import LiveLines
from voice_trainer.cli.playing import LEAST_UNHEARD_SECONDS, debrief_at, new_header
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.profiles import profile_in_force, wanted_profile
from voice_trainer.cli.recognisers import recogniser_called
from voice_trainer.cli.sessions import finished_journal
from voice_trainer.cli.terminal import console
from voice_trainer.debrief.text import print_debrief
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.state import expect
from voice_trainer.journal.events import Settings
from voice_trainer.library.errors import quoted
from voice_trainer.recognition.choosing import check_engine
from voice_trainer.recognition.fitting import settings_for
from voice_trainer.recognition.personal import USUAL
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.background import in_background
from voice_trainer.session.diary import Diary
from voice_trainer.session.ears import Ears
from voice_trainer.session.foresight import DrillForesight, Foresight, OrderForesight
from voice_trainer.session.from_recording import AlongJournal, InOrder, all_heard

TAIL_SECONDS = 2.0
"""Silence after the recording, so that its last words are heard out."""

OTHER_LENGTH_SECONDS = 2.0
"""A recording that is so much shorter or longer than its session may be of another one."""

IN_ORDER = (
    "Graded in order, without a journal: nobody knows when cues sounded, so they are silent, and what is said is taken "
    "in order. Timing is not graded: nothing is late or early. What was said again counts as corrected, what was given "
    "counts as given, also where the trainer had asked for it. With --journal all of this is known."
)


def grade_recording(options: argparse.Namespace) -> int:
    """Grade it, and print the debrief. Raises UsageError, AudioError, RecogniserError, ArchiveError, DrillError."""
    drill = find_drill(options.drill, options.seed)
    check_engine(options.engine, models_folders())
    check_recording(options.recording)
    path = None if options.journal is None else finished_journal(options.journal)
    session = None if path is None else open_journal(path)
    if session is not None:
        drill = _drill_of(session, drill, options.drill)
    out = console()
    profile = wanted_profile(options)
    recogniser = in_background(lambda: recogniser_called(options.engine))
    samples = read_wav(options.recording)
    seconds = len(samples) / SAMPLE_RATE_HZ
    settings = _settings(options, session)
    out.print(f"{drill.title}: {options.recording}, {seconds:.1f} s.", markup=False)
    out.print(IN_ORDER if session is None else _along(session, seconds), markup=False)
    ready = recogniser.result()
    in_force = profile_in_force(ready, profile, out)
    personal = in_force.values if in_force else USUAL
    grammar = domain_of(drill, settings.trainer_name, settings.drills)
    readiness = ready.prepare(grammar, drill.pronounce)
    if readiness.missing_words:
        out.print(f"{ready.name} cannot hear: {', '.join(readiness.missing_words)}.", markup=False)
    microphone = VirtualMicrophone(WavSource(samples, TAIL_SECONDS))

    def ears_with(foresight: Foresight) -> Ears:
        ears = Ears(
            ready,
            settings_for(personal),
            in_step=True,
            foresight=foresight,
            input_gain_db=personal.input_gain_db,
            thinking_seconds=settings.thinking_seconds,
            weighs_deafness=True,
        )
        opened.callback(ears.close)
        return ears

    with ExitStack() as opened:
        hearings = [] if session else all_heard(microphone, ears_with(OrderForesight(grammar)))
        new = new_journal_path(drill.drill, datetime.now(UTC))
        header = new_header(
            drill,
            settings,
            new,
            engine=ready.name,
            model_hash=ready.model_hash,
            voice="none",
            profile=in_force,
        ).model_copy(update={"student": options.student or (session.header.student if session else "")})
        diary = Diary(opened.enter_context(JournalWriter(new, header)), (LiveLines(out),))
        if session is None:
            InOrder(Sequencer(drill, settings), diary, hearings).run()
        else:
            again = AlongJournal(expect(drill, settings), session.records, diary)
            ears = ears_with(DrillForesight(grammar, again))
            again.run(microphone, ears)
            _tell_unheard(ears, out)
    print_debrief(debrief_at(new), out)
    out.print(f"Journal: {new}", style="dim", markup=False)
    return 0


def _drill_of(session: Journal, drill: Drill, asked: str) -> Drill:
    """The session's own drill, with the numbers that it had. Raises UsageError where another one was asked for."""
    own = Drill.model_validate(session.header.drill)
    if own.drill != drill.drill:
        raise UsageError(
            f"--journal: its drill is {quoted(own.drill)}, not {quoted(asked)}; name that, or another journal"
        )
    return own


def _settings(options: argparse.Namespace, session: Journal | None) -> Settings:
    heard_from = {"input": str(options.recording), "output": "none"}
    if session is not None:
        return session.header.settings.model_copy(update=heard_from)
    return Settings.model_validate(
        {"seed": options.seed, "listening": "headset", "mode": "fly through"} | heard_from
    )


def _along(session: Journal, seconds: float) -> str:
    """What is done with a journal; and whether the recording can be of its session."""
    line = (
        f"Graded along the journal of {session.header.session}: its cues, its flight and its pauses happen again "
        "at their times; what is said is heard anew. The aeroplane flies as it flew."
    )
    lasted = max((record.at_seconds for record in session.records), default=0.0)
    if abs(lasted - seconds) <= OTHER_LENGTH_SECONDS:
        return line
    lengths = f"The session lasted {lasted:.1f} s, the recording {seconds:.1f} s"
    return f"{line}\n{lengths}: is it whole, and of this session?"


def _tell_unheard(ears: Ears, out: Console) -> None:
    if ears.unheard_seconds >= LEAST_UNHEARD_SECONDS:
        out.print(
            f"{ears.unheard_seconds:.1f} seconds of what sounds like speech fell where the trainer did not listen: "
            "into its own cues.",
            markup=False,
        )
