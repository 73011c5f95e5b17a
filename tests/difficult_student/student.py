"""The student of a plan: says its lines in their manner, or cleanly, and reacts as a polite person does.

It holds its tongue while the trainer speaks. Who is interrupted in the middle of a call says it anew; what is asked for
again is said again in one go; what the trainer has stopped for is said right.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, replace

from tests.difficult_student.manners import Line, Plan, Sounds
from voice_trainer.drills.cue_names import question_about
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    AskAgain,
    CorrectionBegan,
    CueEnded,
    StepBegan,
)
from voice_trainer.sequencing.sequencer import CORRECTION

REACTION_SECONDS = 0.6
WAITS_AT_MOST_SECONDS = 8.0


@dataclass(frozen=True)
class Run:
    """Words said in one go, `after_seconds` of quiet."""

    text: str
    after_seconds: float
    line: Line
    begins: bool
    """Whether with it the line begins."""
    waits: bool = False


class DifficultStudent:
    """`seconds_of` tells how long a text takes. `clean`: says the clean lines."""

    def __init__(self, plan: Plan, seconds_of: Callable[[str], float], *, clean: bool) -> None:
        self._plan, self._seconds_of, self._clean = plan, seconds_of, clean
        self._due: deque[Run] = deque()
        self._quiet_since = 0.0
        self._line: Line | None = None
        self._repeats: set[str] = set()
        self._corrections: dict[str, tuple[Line, ...]] = {}
        self._waiting_until = 0.0

    def observe(self, record: AnyFact | AnyDecision) -> None:
        """Take notice of what a person in the chair would notice."""
        match record:
            case StepBegan(step=step, at_seconds=now) if self._plan.drill.step_named(step).cue is None:
                self._quiet_since = max(self._quiet_since, now)
                self._begin(step)
            case AskAgain(step=step):
                self._repeats.add(question_about(step))
            case CorrectionBegan(step=step, calls=calls):
                rights = [self._plan.rights[step, each] for each in calls]
                self._corrections[f"{CORRECTION}{step}"] = tuple(rights)
            case CueEnded(cue=cue, at_seconds=now):
                self._quiet_since = max(self._quiet_since, now)
                self._waiting_until = 0.0
                self._trainer_said(cue)
            case _:
                pass

    def _trainer_said(self, cue: str) -> None:
        interrupted = self._due and not self._due[0].begins
        asked = cue in self._repeats
        self._repeats.discard(cue)
        while self._due and not self._due[0].begins:
            self._due.popleft()
        if (interrupted or asked) and self._line is not None:
            self._due.appendleft(Run(self._line.text, REACTION_SECONDS, self._line, begins=True))
        for line in reversed(self._corrections.pop(cue, ())):
            self._due.extendleft(reversed(self._runs(line)))
        self._begin(cue)

    def live_on(self, now_seconds: float, *, trainer_speaks: bool) -> str | None:
        """Time has passed: what is begun to be said now, None where nothing is."""
        if trainer_speaks or not self._due:
            return None
        run = self._due[0]
        if now_seconds < max(self._quiet_since, self._waiting_until) + run.after_seconds - 1e-6:
            return None
        self._due.popleft()
        self._line = run.line if run.line.what[0] else self._line
        self._quiet_since = now_seconds + self._seconds_of(run.text)
        self._waiting_until = self._quiet_since + WAITS_AT_MOST_SECONDS if run.waits else 0.0
        return run.text

    def _begin(self, step: str) -> None:
        for line in self._plan.lines.get(step, ()):
            self._due.extend(self._runs(line))

    def _runs(self, line: Line) -> list[Run]:
        after = line.after_seconds
        runs: list[Run] = []
        if line.before and self._clean:
            after += self._seconds(line.before)
        elif line.before:
            remark, pause = line.before
            assert isinstance(remark, str) and isinstance(pause, float)
            runs.append(Run(remark, after, line, begins=True))
            after = pause
        begins = True
        for each in line.clean if self._clean else line.how:
            if isinstance(each, float):
                after = each
            else:
                runs.append(Run(each, after, line, begins))
                after, begins = 0.0, False
        runs[-1] = replace(runs[-1], waits=line.waits)
        return runs

    def _seconds(self, sounds: Sounds) -> float:
        return sum(each if isinstance(each, float) else self._seconds_of(each) for each in sounds)
