"""`voice-trainer run`: put a session together from the options, run it, and debrief it."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from concurrent.futures import Future
from contextlib import ExitStack
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from typing import TYPE_CHECKING

from rich.console import Console

from voice_trainer import __version__
from voice_trainer.archive.journal_file import JournalWriter, read_journal
from voice_trainer.archive.places import new_journal_path, voice_cache_folder
from voice_trainer.cli.checks import RECORDING, check_run, without_use
from voice_trainer.cli.main import CAUTION
from voice_trainer.cli.manner import manner_of
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.profiles import profile_in_force, wanted_profile
from voice_trainer.cli.recognisers import recogniser_called
from voice_trainer.cli.terminal import LiveLines, console
from voice_trainer.debrief.report import Debrief, debrief_of
from voice_trainer.debrief.spoken import spoken_debrief
from voice_trainer.debrief.text import print_debrief
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import AnyDecision, AnyFact, Header, PaceChanged, Settings
from voice_trainer.journal.personal import Profile
from voice_trainer.library.builtin import find_drill
from voice_trainer.sequencing.commands import Speak
from voice_trainer.sequencing.load import load_of
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.background import in_background
from voice_trainer.session.diary import Diary
from voice_trainer.session.performance import MISTAKES, Mistake, Performance, perform
from voice_trainer.session.typed import TypedSession

if TYPE_CHECKING:
    from voice_trainer.audio.ports import Microphone, Samples, Speaker
    from voice_trainer.recognition.ports import Readiness, Recogniser
    from voice_trainer.session.booth import Booth
    from voice_trainer.session.student import SyntheticStudent
    from voice_trainer.voices.casting import Casting
    from voice_trainer.voices.ports import Voice

LEAST_UNHEARD_SECONDS = 0.3
"""Less than that is a breath or a click."""

ROOM_NOISE_DBFS = -66.0
"""A quiet room around the synthetic student: no microphone delivers digital silence."""


@dataclass(frozen=True, slots=True)
class Chosen:
    """Where a session listens and speaks: 'mic', 'student', 'typed' or a file; 'speaker', 'none' or a file."""

    input: str
    output: str


def run_drill(options: argparse.Namespace) -> int:
    """Run one drill to its end and print its debrief."""
    drill = find_drill(options.drill)
    mistakes = mistakes_of(options.student_errors)
    check_run(options)
    manner = manner_of(options)
    out = console()
    # Loading a model takes longest: it goes on while devices and voices are looked for.
    typed = options.input == "typed"
    profile = None if typed else wanted_profile(options)
    recogniser = (
        None
        if typed
        else in_background(lambda: recogniser_for(drill, options.engine, manner["trainer_name"]))
    )
    chosen = choose(options, out)
    for line in without_use(options, chosen.input, chosen.output):
        out.print(line, markup=False)
    out.print(f"{drill.title}. It trains {drill.trains}.", markup=False)
    out.print(CAUTION, style="dim", markup=False)
    given = {"seed": options.seed, "input": chosen.input, "output": chosen.output}
    listening = "headset" if options.headset else "half-duplex"
    settings = Settings.model_validate(given | {"listening": listening} | manner)
    performance = perform(drill, seed=options.seed, mistakes=mistakes)
    record = options.record
    for number in count(1):
        path = numbered(options.journal, number) or new_journal_path(drill.drill, datetime.now(UTC))
        if recogniser is None:
            ended = run_typed(drill, settings, path, out)
        else:
            options.record = numbered(record, number)
            if chosen.output.endswith(RECORDING):
                output = str(numbered(Path(chosen.output), number))
                settings = settings.model_copy(update={"output": output})
            ended = run_with_audio(drill, settings, path, out, options, performance, recogniser, profile)
        out.print(f"Journal: {path}", style="dim", markup=False)
        if ended != "again" or chosen.input.endswith(RECORDING):
            break
        out.print("Again, from the beginning.", markup=False)
    return 0


def numbered(wanted: Path | None, number: int) -> Path | None:
    """The file that was asked for; of a drill that is begun again, another one beside it."""
    if wanted is None or number == 1:
        return wanted
    return wanted.with_name(f"{wanted.stem}-{number}{wanted.suffix}")


def mistakes_of(text: str) -> tuple[Mistake, ...]:
    """The kinds of mistakes that `--student-errors` names. Raises UsageError."""
    if text == "all":
        return MISTAKES
    if text == "none":
        return ()
    by_name = {mistake.replace(" ", "-"): mistake for mistake in MISTAKES}
    wanted = [name.strip() for name in text.split(",")]
    if unknown := [name for name in wanted if name not in by_name]:
        raise UsageError(
            f"--student-errors: '{unknown[0]}' is no kind of mistake; use all, none, or any of {','.join(by_name)}"
        )
    return tuple(by_name[name] for name in wanted)


def choose(options: argparse.Namespace, out: Console) -> Chosen:
    """Input and output, with the defaults of this machine; says in one line where it makes do."""
    chosen_input, chosen_output = options.input, options.output
    if chosen_input == "typed":
        return Chosen("typed", chosen_output or "none")
    from voice_trainer.audio.devices import usable_microphone, usable_speaker

    if chosen_input is None:
        microphone = usable_microphone(options.microphone)
        chosen_input = "mic" if microphone else "student"
        if not microphone:
            out.print(
                f"No usable microphone ({microphone.reason}): a synthetic student speaks.", markup=False
            )
    if chosen_output is None:
        speaker = usable_speaker(options.speaker) if chosen_input in ("mic", "student") else None
        chosen_output = "speaker" if speaker else "none"
        if speaker is not None and not speaker:
            out.print(f"No usable speaker ({speaker.reason}): read what the trainer says.", markup=False)
    return Chosen(chosen_input, chosen_output)


def run_typed(drill: Drill, settings: Settings, path: Path, out: Console) -> str | None:
    """A typed session, its lines from standard input; returns why it ended."""
    if sys.stdin.isatty():
        out.print("Type what you would say; an empty line lets a second pass, +5 five seconds.", style="dim")
    header = header_of(drill, settings, path, engine="typed", model_hash="", voice="none")
    lines = iter(sys.stdin)
    with JournalWriter(path, header) as journal:
        diary = Diary(journal, (LiveLines(out),))
        grammar = domain_of(drill, settings.trainer_name)
        session = TypedSession(Sequencer(drill, settings), grammar, diary, lambda: next(lines, None))
        try:
            session.run()
        except KeyboardInterrupt:
            session.end("by the student")
    debrief = debrief_at(path)
    print_debrief(debrief, out)
    return debrief.ended


def header_of(
    drill: Drill,
    settings: Settings,
    path: Path,
    *,
    engine: str,
    model_hash: str,
    voice: str,
    profile: Profile | None = None,
) -> Header:
    """The first line of the session's journal."""
    return Header(
        program=f"voice_trainer {__version__}",
        session=path.stem,
        started_utc=datetime.now(UTC).isoformat(timespec="seconds"),
        drill=drill.model_dump(mode="json"),
        settings=settings,
        engine=engine,
        model_hash=model_hash,
        voice=voice,
        profile=profile,
    )


def debrief_at(path: Path) -> Debrief:
    """The debrief of a journal on disk: what is told is what was kept."""
    journal = read_journal(path)
    return debrief_of(journal.header, journal.records, journal.torn)


def run_with_audio(
    drill: Drill,
    settings: Settings,
    path: Path,
    out: Console,
    options: argparse.Namespace,
    performance: Performance,
    recogniser: Future[tuple[Recogniser, Readiness]],
    profile: Profile | None,
) -> str | None:
    """A session over sound: live, with the synthetic student, or from a recording; returns why it ended."""
    from voice_trainer.audio.wav import WavWriter
    from voice_trainer.recognition.fitting import settings_for
    from voice_trainer.recognition.personal import USUAL
    from voice_trainer.session.booth import Booth
    from voice_trainer.session.ears import Ears
    from voice_trainer.session.foresight import DrillForesight
    from voice_trainer.session.mouth import Mouth
    from voice_trainer.session.recorded import RecordedMicrophone
    from voice_trainer.session.run import AudioSession

    live = settings.input == "mic" or settings.output == "speaker"
    with ExitStack() as opened:
        voice, casting = cast_voices(
            options, out, needed=settings.output != "none" or settings.input == "student"
        )
        booth = Booth(voice, casting)
        opened.callback(booth.close)
        render_anew = render_cues(booth, drill, settings)
        microphone, student = open_microphone(drill, settings, options, performance, booth)
        opened.callback(microphone.close)
        speaker = open_speaker(settings, options, microphone, opened)
        opened.callback(speaker.close)
        if student is not None and settings.output == "speaker":
            student.on_say = lambda clip: speaker.play("student", clip)
        if options.record is not None:
            microphone = RecordedMicrophone(
                microphone, opened.enter_context(WavWriter(options.record, private=True))
            )
        ready, readiness = recogniser.result()
        if readiness.missing_words:
            out.print(f"{ready.name} cannot hear: {', '.join(readiness.missing_words)}.", markup=False)
        in_force = profile_in_force(ready, profile, out)
        personal = in_force.values if in_force else USUAL
        header = header_of(
            drill,
            settings,
            path,
            engine=ready.name,
            model_hash=ready.model_hash,
            voice=voice.name,
            profile=in_force,
        )
        journal = opened.enter_context(JournalWriter(path, header))
        watchers: list[Callable[[AnyFact | AnyDecision], None]] = [LiveLines(out), render_anew]
        if student is not None:
            watchers.append(student.observe)
        sequencer = Sequencer(drill, settings)
        ears = Ears(
            ready,
            settings_for(personal),
            in_step=not live,
            input_gain_db=personal.input_gain_db,
            foresight=DrillForesight(domain_of(drill, settings.trainer_name), sequencer),
            weighs_deafness=settings.input not in ("mic", "student"),
        )
        opened.callback(ears.close)
        session = AudioSession(
            sequencer,
            microphone,
            Mouth(speaker, booth, in_step=not live),
            ears,
            Diary(journal, tuple(watchers)),
            headset=options.headset,
            on_block=student.live_on if student else lambda now: None,
            say_what_happens=lambda line: out.print(line, markup=False),
        )
        try:
            session.run()
        except KeyboardInterrupt:
            session.end("by the student")
        if ears.unheard_seconds >= LEAST_UNHEARD_SECONDS:
            out.print(
                f"{ears.unheard_seconds:.1f} seconds of what sounds like speech fell into the trainer's cues, where it "
                "does not listen; with --headset it always does.",
                markup=False,
            )
        debrief = debrief_at(path)
        out.print()
        print_debrief(debrief, out)
        if settings.output != "none" and debrief.ended != "again":
            session.speak_out([Speak("debrief", "instructor", line) for line in spoken_debrief(debrief)])
        return debrief.ended


def render_cues(booth: Booth, drill: Drill, settings: Settings) -> Callable[[AnyFact | AnyDecision], None]:
    """Begin to render what will be said; returns a watcher that does so again when the pace changes."""
    from voice_trainer.session.cues import cues_of

    lines = cues_of(drill)
    if settings.level == "under load":
        lines += [(speak.speaker, speak.text) for _, speak in load_of(drill, settings.seed)]
    booth.prepare(lines, settings.pace)

    def watch(record: AnyFact | AnyDecision) -> None:
        if isinstance(record, PaceChanged):
            booth.prepare(lines, record.pace)

    return watch


def cast_voices(options: argparse.Namespace, out: Console, *, needed: bool) -> tuple[Voice, Casting]:
    """The voice engine, cached, and who speaks how; without an engine, silence of the right length."""
    from voice_trainer.audio.effects import radio
    from voice_trainer.voices.cache import CachedVoice
    from voice_trainer.voices.casting import Casting, Role
    from voice_trainer.voices.ports import VoiceError
    from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
    from voice_trainer.voices.radio_voice import RadioVoice
    from voice_trainer.voices.scripted import ScriptedVoice

    try:
        voice: Voice = Pyttsx3Voice()
        chosen: dict[Role, str] = {"student": options.student_voice} if options.student_voice else {}
        casting = Casting.of(voice, chosen)
    except VoiceError as missing:
        if needed:
            raise
        out.print(f"{missing}: the cues are printed only.", markup=False)
        voice = ScriptedVoice()
        casting = Casting.of(voice)
    return RadioVoice(CachedVoice(voice, voice_cache_folder()), radio), casting


def recogniser_for(drill: Drill, engine: str, trainer_name: str) -> tuple[Recogniser, Readiness]:
    """The recogniser, ready for the drill."""
    recogniser = recogniser_called(engine)
    return recogniser, recogniser.prepare(domain_of(drill, trainer_name), drill.pronounce)


def open_microphone(
    drill: Drill, settings: Settings, options: argparse.Namespace, performance: Performance, booth: Booth
) -> tuple[Microphone, SyntheticStudent | None]:
    """Whoever is listened to; the synthetic student comes with a microphone of their own."""
    if settings.input == "mic":
        from voice_trainer.audio.live import LiveMicrophone

        return LiveMicrophone(options.microphone), None
    from voice_trainer.audio.virtual import ScheduledSource, VirtualMicrophone, WavSource

    pace = settings.output == "speaker"
    if settings.input != "student":
        from voice_trainer.audio.wav import read_wav

        return VirtualMicrophone(WavSource(read_wav(settings.input), drill.limit_seconds), pace=pace), None
    from voice_trainer.session.student import SyntheticStudent

    def voice(text: str) -> Samples:
        return booth.clip("student", text).result()

    booth.prepare(("student", line.text) for lines in performance.lines.values() for line in lines)
    source = ScheduledSource(noise_dbfs=ROOM_NOISE_DBFS, seed=settings.seed)
    without_cue = frozenset(
        step.step for step in drill.steps if step.cue is None or step.cue.is_silent(settings.level)
    )
    return VirtualMicrophone(source, pace=pace), SyntheticStudent(performance, source, voice, without_cue)


def open_speaker(
    settings: Settings, options: argparse.Namespace, microphone: Microphone, opened: ExitStack
) -> Speaker:
    """Where the trainer speaks."""
    from voice_trainer.audio.virtual import ClockedSpeaker

    if settings.output == "speaker":
        from voice_trainer.audio.live import LiveSpeaker

        return LiveSpeaker(options.speaker, microphone)
    if settings.output == "none":
        return ClockedSpeaker()
    from voice_trainer.audio.wav import WavWriter

    return ClockedSpeaker(opened.enter_context(WavWriter(settings.output)))
