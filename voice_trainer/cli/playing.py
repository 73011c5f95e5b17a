"""One drill in a studio: its journal, its cues, its student, and the debrief of what was kept."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from rich.console import Console

from voice_trainer import __version__
from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.journal_file import JournalWriter, read_journal
from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import Samples
from voice_trainer.audio.virtual import SampleSink
from voice_trainer.audio.wav import WavWriter
from voice_trainer.cli.interruption import Interruption
from voice_trainer.cli.live_lines import LiveLines
from voice_trainer.debrief.report import Debrief, debrief_of
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill, Level
from voice_trainer.journal.events import AnyDecision, AnyFact, Header, LevelChanged, PaceChanged, Settings
from voice_trainer.journal.keep import Keep
from voice_trainer.journal.personal import Profile
from voice_trainer.phraseology.counting import counted
from voice_trainer.phraseology.orders import FROM_THE_FIX, START
from voice_trainer.sequencing.commands import Speak
from voice_trainer.sequencing.load import load_of
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.booth import Booth
from voice_trainer.session.cues import cues_of
from voice_trainer.session.diary import Diary
from voice_trainer.session.foresight import DrillForesight
from voice_trainer.session.kept_sound import Spool, prune
from voice_trainer.session.performance import Performance
from voice_trainer.session.recorded import UntilTheEnd
from voice_trainer.session.run import AudioSession
from voice_trainer.session.student import SyntheticStudent
from voice_trainer.session.studio import Stretch, Studio

QUESTIONS_SECONDS = 6.0
"""How long after the debrief, in quiet, a person may still say something about it (ours)."""

LEAST_UNHEARD_SECONDS = 0.3
"""Less than that is a breath or a click."""

Watcher = Callable[[AnyFact | AnyDecision], None]


@dataclass(frozen=True, slots=True)
class Played:
    """A drill that is over: what is told of it, pace and level at its end, and what is to come next.

    `then` is why it ended, or what was asked for when it was over: 'again', 'start NAME' and such. `interrupted`: it
    was ended by Ctrl-C or the like, and so is all that would come next.
    """

    debrief: Debrief
    pace: float
    level: Level
    then: str
    interrupted: bool = False


def play(
    studio: Studio,
    drill: Drill,
    settings: Settings,
    path: Path,
    out: Console,
    *,
    tell: Callable[[Debrief], list[str]] = lambda debrief: [],
    performance: Performance | None = None,
    pronounce: dict[str, str] | None = None,
    record: Path | None = None,
    keep: Keep = "none",
    whose: str = "",
    questions_seconds: float = QUESTIONS_SECONDS,
) -> Played:
    """Run one drill to its end; its journal goes to `path`.

    `tell` gets the debrief when the drill is over, and once more where it has changed since; it returns what is to be
    said. Then a person has `questions_seconds` of quiet to dispute a verdict, or to ask for more, before the journal is
    closed. Where a Ctrl-C ended the drill nothing is said. `keep` is what of its sound stays when it is over, `whose`
    the name of who is to be graded. `performance` is what the synthetic student does, where there is one; `pronounce`
    adds to the drill's own. Raises AudioError, RecogniserError, VoiceError or ArchiveError.
    """
    grammar = domain_of(drill, settings.trainer_name, settings.drills)
    with ExitStack() as opened:
        opened.callback(_prune, path, keep, out)
        render_anew = render_cues(studio.booth, drill, settings)
        sequencer = Sequencer(drill, settings)
        readiness = studio.prepare(grammar, {**(pronounce or {}), **drill.pronounce})
        if readiness.missing_words:
            out.print(
                f"{studio.recogniser.name} cannot hear: {', '.join(readiness.missing_words)}.", markup=False
            )
        sink = sound_sink(path, record, keep, opened, out)
        now_over = sink.end if sink else lambda: None
        stretch = studio.begin(DrillForesight(grammar, sequencer), sink, settings.thinking_seconds)
        student = student_of(studio, stretch, drill, settings, performance) if performance else None
        watchers: list[Watcher] = [LiveLines(out), render_anew]
        if student is not None:
            watchers.append(student.observe)
        header = header_of(studio, drill, settings, path).model_copy(
            update={
                "student": whose,
                "keeps_sound": keep,
                "recording": str(record.absolute().resolve()) if record else "",
            }
        )
        journal = opened.enter_context(written_down(path, header, out))
        diary = Diary(journal, tuple(watchers))
        interruption = Interruption()
        session = AudioSession(
            sequencer,
            stretch.microphone,
            stretch.mouth,
            stretch.ears,
            diary,
            headset=studio.headset,
            on_block=interruption.looking(student.live_on if student else lambda now: None),
            keys=studio.keys,
            sleep_watch=studio.sleep_watch,
            say_what_happens=lambda line: out.print(line, markup=False),
        )
        if studio.sleep_watch is not None:
            studio.sleep_watch.begin_anew()
        with interruption:
            interrupted = not _run_to_its_end(session) or interruption.asked
        studio.booth.drop_waiting()
        if stretch.ears.unheard_seconds >= LEAST_UNHEARD_SECONDS:
            out.print(
                f"{stretch.ears.unheard_seconds:.1f} seconds of what sounds like speech fell into the trainer's cues, "
                "where it does not listen; with --headset it always does.",
                markup=False,
            )
        now_over()
        debrief = debrief_at(path)
        then = debrief.ended or ""
        told = [Speak("debrief", "instructor", line, sequencer.pace) for line in tell(debrief)]
        if not begins_another(then) and not interrupted:
            questions = questions_seconds if settings.input == "mic" and debrief.practised else 0.0
            with suppress(KeyboardInterrupt):  # enough of the debrief
                then = session.speak_out(told, questions) or then
            if (disputed := debrief_at(path)).grade != debrief.grade:
                debrief = disputed
                tell(debrief)
        return Played(debrief, *manner_at_the_end(diary.records, settings), then, interrupted)


def _run_to_its_end(session: AudioSession) -> bool:
    """Whether it came there without being interrupted."""
    try:
        session.run()
    except KeyboardInterrupt:
        with suppress(KeyboardInterrupt):  # a second one: it does not wait for what was said last
            session.break_off()
        session.end("by the student")
        return False
    return True


def manner_at_the_end(records: Iterable[AnyFact | AnyDecision], settings: Settings) -> tuple[float, Level]:
    """The pace and the level that a session ended with."""
    pace, level = settings.pace, settings.level
    for record in records:
        match record:
            case PaceChanged():
                pace = record.pace
            case LevelChanged():
                level = record.level
            case _:
                pass
    return pace, level


def begins_another(then: str) -> bool:
    """Whether what comes next is another drill, or this one again: nothing is said about it before that."""
    return then in ("again", FROM_THE_FIX) or then.startswith(f"{START} ")


@contextmanager
def written_down(path: Path, header: Header, out: Console) -> Iterator[JournalWriter]:
    """The journal of a session while it runs; when it is over, however it ends, it is entered in the logbook."""
    try:
        with JournalWriter(path, header) as journal:
            yield journal
    finally:
        # What holds the logbook takes a quarter of a second to load: not before anybody has spoken.
        from voice_trainer.cli.logbook import enter_session

        enter_session(path, out)


def sound_sink(
    path: Path, record: Path | None, keep: Keep, opened: ExitStack, out: Console
) -> UntilTheEnd | None:
    """Where the microphone's sound goes while the drill runs: a recording, the spool, both, or neither.

    Raises AudioError.
    """
    sinks: list[SampleSink] = []
    if record is not None:
        sinks.append(opened.enter_context(WavWriter(record, private=True, new=True)))
    if keep != "none":
        spool = Spool(path, lambda line: out.print(line, markup=False))
        opened.callback(spool.close)
        sinks.append(spool)
    if not sinks:
        return None
    sink = UntilTheEnd(*sinks)
    opened.callback(sink.end)
    return sink


def _prune(path: Path, keep: Keep, out: Console) -> None:
    try:
        kept = prune(path, keep)
    except (ArchiveError, AudioError) as problem:
        out.print(f"Of the sound nothing is kept: {problem}", markup=False)
    else:
        if keep != "none":
            out.print(f"Kept of the sound: {counted(kept, 'utterance')} ({keep}).", style="dim", markup=False)


def student_of(
    studio: Studio, stretch: Stretch, drill: Drill, settings: Settings, performance: Performance
) -> SyntheticStudent:
    """The synthetic student of one drill; where the trainer is heard, it is heard as well."""
    assert stretch.say is not None
    booth = studio.booth

    def voice(text: str) -> Samples:
        return booth.clip("student", text).result()

    booth.prepare(("student", line.text) for lines in performance.lines.values() for line in lines)
    without_cue = frozenset(
        step.step for step in drill.steps if step.cue is None or step.cue.is_silent(settings.level)
    )
    student = SyntheticStudent(performance, stretch.say, voice, without_cue)
    if settings.output == "speaker":
        student.on_say = lambda clip: stretch.speaker.play("student", clip)
    return student


def render_cues(booth: Booth, drill: Drill, settings: Settings) -> Callable[[AnyFact | AnyDecision], None]:
    """Begin to render what will be said; returns a watcher that does so again when the pace changes."""
    lines = cues_of(drill)
    if settings.level == "under load":
        lines += [(speak.speaker, speak.text) for _, speak in load_of(drill, settings.seed)]
    booth.prepare(lines, settings.pace)

    def watch(record: AnyFact | AnyDecision) -> None:
        if isinstance(record, PaceChanged):
            booth.prepare(lines, record.pace)

    return watch


def header_of(studio: Studio, drill: Drill, settings: Settings, path: Path) -> Header:
    """The first line of the journal of a drill over audio."""
    return new_header(
        drill,
        settings,
        path,
        engine=studio.recogniser.name,
        model_hash=studio.recogniser.model_hash,
        voice=studio.booth.voice.name,
        profile=studio.profile,
    )


def new_header(
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
