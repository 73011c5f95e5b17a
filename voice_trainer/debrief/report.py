"""All that a debrief says, gathered from a journal, before it is laid out as text or spoken."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from voice_trainer.drills.model import Drill
from voice_trainer.grading.flight import Deviation, deviations_of
from voice_trainer.grading.overruling import overruled
from voice_trainer.grading.practised import says_something, was_cut_short
from voice_trainer.grading.replay import replay_to_the_end
from voice_trainer.grading.score import POINTS, Grade, grade
from voice_trainer.grading.window_times import WindowTimes, window_times
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    AskAgain,
    Decision,
    Ended,
    Header,
    Heard,
    Paused,
    SamplesLost,
    Settled,
)
from voice_trainer.journal.reviewing import Overruling
from voice_trainer.phraseology.counting import counted

CAUTION = (
    "Study aid only. Current charts, local procedures and your instructor come first. "
    "Recognition errs: a grade is no evidence of proficiency. Never use it while operating an aircraft or driving."
)

CORRECTIONS_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Debrief:
    """One session, ready to be told.

    `ended` is why it ended, None where the journal breaks off; `torn` is what its last, broken line was. `said` counts
    the utterances that were more than noise, or a word to the trainer.
    """

    header: Header
    drill: Drill
    grade: Grade
    ended: str | None
    seconds: float
    utterances: int
    said: int
    asked_again: int
    pauses: int
    samples_lost: int
    times_lost: int
    torn: str | None = None
    overrulings: tuple[Overruling, ...] = ()
    reviewed: Grade | None = None
    """The grade with what instructors overruled, None where they did not."""
    windows: Mapping[tuple[str, str], WindowTimes] = field(default_factory=dict)
    """When each call was on time, by step and call."""
    deviations: tuple[Deviation, ...] = ()
    """Where the flight left its limits: what the calls came to, apart from their score."""

    @property
    def practised(self) -> bool:
        """Whether there is anything to grade: not where the session was ended before anything was said."""
        return self.said > 0 or not was_cut_short(self.ended)

    def corrections(self) -> tuple[Settled, ...]:
        """The verdicts that cost most, most first, in the drill's order among equals."""
        valid = self.reviewed or self.grade
        costly = [v for v in valid.verdicts if v.need == "required" and _cost(v) > 0]
        return tuple(sorted(costly, key=_cost, reverse=True))

    def notes(self) -> tuple[str, ...]:
        """What else is worth knowing about the session, a sentence each."""
        lost = f"sound was lost by the microphone ({self.samples_lost} samples); it counts as silence"
        happened = [
            (self.grade.count("unclear"), "call", "could not be made out; that costs nothing"),
            (self.asked_again, "time", "the trainer asked to say again"),
            (len(self.grade.extras), "utterance", "belonged to no call; that costs nothing"),
            (self.pauses, "pause", "in which nothing counts"),
            (self.times_lost, "time", lost),
        ]
        notes = [f"{counted(number, thing)} {what}." for number, thing, what in happened if number]
        if self.ended is None:
            notes.append("the journal breaks off; graded up to its last fact.")
        elif self.ended != "finished":
            notes.append(f"the session ended before the drill did ({self.ended}).")
        if self.torn is not None:
            notes.append("the journal's last line is torn; all before it is whole.")
        return tuple(notes)


def _cost(settled: Settled) -> float:
    points = POINTS[settled.verdict]
    return 0.0 if points is None else 1.0 - points


def debrief_of(
    header: Header,
    records: Sequence[AnyFact | AnyDecision],
    torn: str | None = None,
    overrulings: Sequence[Overruling] = (),
) -> Debrief:
    """The debrief of a journal, and of its reviews.

    Raises ValueError where its drill is none that this version understands.
    """
    drill = Drill.model_validate(header.drill)
    state, decisions = replay_to_the_end(drill, header.settings, records)
    live = grade(drill, decisions)
    end = next((i for i, r in enumerate(records) if isinstance(r, Ended)), len(records))
    records = records[: end + 1]  # what was said about it afterwards is in the decisions
    instead = overruled(live.verdicts, overrulings)
    return Debrief(
        header=header,
        drill=drill,
        grade=live,
        overrulings=tuple(overrulings),
        reviewed=grade(drill, [*decisions, *instead]) if instead else None,
        ended=next((r.reason for r in records if isinstance(r, Ended)), None),
        seconds=max((r.at_seconds for r in records if not isinstance(r, Decision)), default=0.0),
        utterances=sum(isinstance(r, Heard) for r in records),
        said=sum(isinstance(r, Heard) and says_something(r.hearing) for r in records),
        asked_again=sum(isinstance(d, AskAgain) for d in decisions),
        pauses=sum(isinstance(r, Paused) for r in records),
        samples_lost=sum(r.samples for r in records if isinstance(r, SamplesLost)),
        times_lost=sum(isinstance(r, SamplesLost) for r in records),
        torn=torn,
        windows=window_times(state),
        deviations=deviations_of(drill, records, header.settings.tolerances),
    )


def differences(recorded: Sequence[AnyFact | AnyDecision], replayed: Sequence[AnyDecision]) -> list[str]:
    """Where the decisions made live and those made again differ, a line each; none when they are the same."""
    live = [r.model_dump_json() for r in recorded if isinstance(r, Decision)]
    again = [d.model_dump_json() for d in replayed]
    found = [
        f"decision {i}: was {was}, is now {now}"
        for i, (was, now) in enumerate(zip(live, again, strict=False), start=1)
        if was != now
    ]
    if len(live) != len(again):
        found.append(f"{len(live)} decisions were made live, {len(again)} are made now")
    return found
