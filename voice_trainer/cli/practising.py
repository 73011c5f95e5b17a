"""A practice session: what is due, then what is new, one flow after the other, each with a journal of its own."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import partial
from itertools import count
from pathlib import Path

from rich.console import Console

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.journal_file import Journal, read_journal
from voice_trainer.archive.places import journals_folder, kept_sessions, new_journal_path
from voice_trainer.cli.live_lines import LiveLines
from voice_trainer.cli.playing import Played, play
from voice_trainer.cli.running import run_typed
from voice_trainer.debrief.practice import PractisedItem, print_practice
from voice_trainer.debrief.report import Debrief
from voice_trainer.debrief.spoken import number_said
from voice_trainer.drills.excerpt import excerpt_of
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import Settings, Skipped
from voice_trainer.journal.keep import Keep
from voice_trainer.library.errors import DrillError
from voice_trainer.logbook.derivation import entry_of
from voice_trainer.logbook.due import Due, DueItem
from voice_trainer.phraseology.orders import START
from voice_trainer.phraseology.pattern import PatternError
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.sequencing.commands import Speak
from voice_trainer.session.exchange import Exchange
from voice_trainer.session.performance import Mistake, perform
from voice_trainer.session.practice import PracticeItem, PracticePlan, practice_item
from voice_trainer.session.studio import Studio

USUAL_MINUTES = 10

PAUSE_SECONDS = 2.0
"""The quiet between two flows, in which a person may still speak to the trainer (ours)."""

MOST_JOURNALS = 50
"""How many journals are looked through for a drill that is not at hand."""

Draw = Callable[[str, int], Drill]
"""A drill by its own name, its numbers drawn by a seed. Raises DrillError."""

Play = Callable[[Drill, Settings, Path, int], Played]
"""Plays one drill: with which settings, into which journal, and which try of this flow it is, from 0."""


@dataclass
class Practising:
    """One session while it goes on. `settings` are those of the next flow: pace and level carry over."""

    plan: PracticePlan
    settings: Settings
    out: Console
    play: Play
    done: list[PractisedItem] = field(default_factory=list)
    interrupted: bool = False
    """Whether a Ctrl-C ended it: then nothing more is said about it."""

    def run(self) -> str:
        """Practise until nothing is left, or no time, and print how it went; returns why it is over.

        That is 'finished', 'end of the input', 'by the student', or the order that begins a drill. Raises what `play`
        raises.
        """
        then = self._run()
        self.out.print()
        print_practice(self.done, self.out)
        return then

    def _run(self) -> str:
        while (chosen := self.plan.next()) is not None:
            item, times = chosen
            then = self._practise(item, times)
            while then == "again":
                times += 1
                then = self._practise(item, times)
            if (
                self.interrupted
                or then in ("by the student", "end of the input")
                or then.startswith(f"{START} ")
            ):
                return then
        return "finished"

    def _practise(self, item: PracticeItem, times: int) -> str:
        drill = item.excerpt(times)
        seed = self.settings.seed + times
        path = new_journal_path(drill.drill, datetime.now(UTC))
        again = ", again" if times else ""
        self.out.print(f"\n{drill.title}: {drill.steps[-1].step}{again}.", style="bold", markup=False)
        played = self.play(drill, self.settings.model_copy(update={"seed": seed}), path, times)
        self.settings = self.settings.model_copy(update={"pace": played.pace, "level": played.level})
        self.out.print(f"Journal: {path}", style="dim", markup=False)
        practised, seconds = _how_it_went(path, played.debrief)
        if self.settings.input == "mic":
            seconds += PAUSE_SECONDS
        self.plan.done(item, seconds, failed=practised.failed)
        self.done.append(practised)
        self.interrupted = played.interrupted
        return played.then


def _how_it_went(path: Path, debrief: Debrief) -> tuple[PractisedItem, float]:
    """The item as the logbook rates it, and how long it took. What was skipped failed, whenever that was."""
    journal = read_journal(path)
    entry = entry_of(path.stem, journal.header, journal.records)
    flow = next(iter(entry.flows), None)
    skipped = was_skipped(journal)
    failed = skipped or (flow is not None and flow.outcome == "failed")
    cut_short = flow is None and not skipped and debrief.ended != "finished"
    why = "skipped" if skipped else "cut short, not rated" if cut_short else "" if flow is None else flow.why
    return PractisedItem(debrief, failed, skipped, why, cut_short), entry.seconds


def was_skipped(journal: Journal) -> bool:
    """Whether the student went on without the rest of it."""
    return any(isinstance(record, Skipped) for record in journal.records)


def answer_to(debrief: Debrief, path: Path) -> list[str]:
    """What is said behind a flow that was skipped: the right calls, since it comes back."""
    if not was_skipped(read_journal(path)):
        return []
    drill = debrief.drill
    flow = drill.steps[-1].flow
    calls = [call for call in flow.calls if call.need == "required"] if flow else []
    said = ", ".join(said_aloud(drill.pattern(call).spoken()) for call in calls)
    return [f"Skipped. It is: {said}. It comes back."]


def plan_of(
    found: Due, minutes: float, draw: Draw, settings: Settings, say: Callable[[str], None]
) -> PracticePlan:
    """What is due and then what is new, as it fits into the minutes; `say` gets a line for what can't be practised."""
    return PracticePlan(_items(found, draw, settings, say), minutes * 60)


def _items(found: Due, draw: Draw, settings: Settings, say: Callable[[str], None]) -> Iterator[PracticeItem]:
    drills: dict[tuple[str, int], Drill] = {}

    def drawn(name: str, step: str, seed: int) -> Drill:
        if (name, seed) not in drills:
            try:
                drill = draw(name, seed)
            except DrillError as problem:
                if (practised := _from_journals(name, step)) is None:
                    raise DrillError(*problem.problems) from None
                return practised
            drills[name, seed] = drill
        return drills[name, seed]

    def excerpt(each: DueItem, times: int) -> Drill:
        # Numbers are others every time, or the answer would be learnt instead of the way to it.
        seed = settings.seed + each.practised + times
        return excerpt_of(drawn(each.item.drill, each.item.step, seed), each.item.step)

    for each in (*found.due, *found.new):
        try:
            yield practice_item(each.item.key, partial(excerpt, each), settings.pace)
        except DrillError as problem:
            say(f"{each.item.drill}, {each.item.step}: left out, the drill can't be read ({problem})")
        except KeyError:
            say(f"{each.item.drill}, {each.item.step}: left out, the drill has no such step now")
        except (PatternError, ValueError) as problem:
            say(f"{each.item.drill}, {each.item.step}: left out, it can't be practised alone ({problem})")


def _from_journals(name: str, step: str) -> Drill | None:
    """A drill as it was practised last: one from a file that is not at hand."""
    sessions = [session for session in reversed(kept_sessions()) if f"-{name}-" in session]
    for session in sessions[:MOST_JOURNALS]:
        try:
            drill = Drill.model_validate(read_journal(journals_folder() / f"{session}.jsonl").header.drill)
        except (ArchiveError, ValueError):
            continue
        if drill.drill == name and any(each.step == step for each in drill.steps):
            return drill
    return None


def mistakes_in(mistakes: Sequence[Mistake]) -> Callable[[int], tuple[Mistake, ...]]:
    """The mistakes of the synthetic student in each flow: one kind after the other, and none where it comes back."""
    number = count()

    def of(times: int) -> tuple[Mistake, ...]:
        if times or not mistakes:
            return ()
        return (mistakes[next(number) % len(mistakes)],)

    return of


def announced(plan: PracticePlan) -> list[str]:
    """What is said before it begins: for how long, and of how many things."""
    minutes, things = round(plan.seconds / 60), len(plan.items)
    time = "One minute" if minutes == 1 else f"{number_said(minutes).capitalize()} minutes"
    return [f"{time}. {number_said(things).capitalize()} {'thing' if things == 1 else 'things'}."]


def typed_player(out: Console, whose: str) -> Play:
    """How one flow is played by somebody who types."""

    def played(drill: Drill, settings: Settings, path: Path, times: int) -> Played:
        return run_typed(drill, settings, path, out, whose, tell=lambda debrief: None)

    return played


def player(
    studio: Studio,
    out: Console,
    whose: str,
    keep: Keep,
    performs: Callable[[int], Sequence[Mistake]] | None,
    pronounce: dict[str, str] | None = None,
) -> Play:
    """How one flow is played in a studio. `performs` says which mistakes the synthetic student makes at each try."""

    def played(drill: Drill, settings: Settings, path: Path, times: int) -> Played:
        performance = None
        if performs is not None:
            performance = perform(drill, seed=settings.seed, mistakes=performs(times))
        return play(
            studio,
            drill,
            settings,
            path,
            out,
            tell=lambda debrief: answer_to(debrief, path),
            performance=performance,
            pronounce=pronounce,
            keep=keep,
            whose=whose,
            questions_seconds=PAUSE_SECONDS,
        )

    return played


def say_out(studio: Studio, lines: Sequence[str], pace: float, out: Console) -> None:
    """Say sentences to their end, deaf to what comes in meanwhile. Raises AudioError, VoiceError."""
    stretch = studio.begin()
    exchange = Exchange(stretch.microphone, stretch.mouth, stretch.ears, headset=studio.headset)
    for line in lines:
        stretch.mouth.speak(Speak("debrief", "instructor", line, pace))
    exchange.speak_out(LiveLines(out))
