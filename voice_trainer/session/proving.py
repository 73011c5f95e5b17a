"""Whether a flown procedure can be flown today: it is, without anybody, and its limits are looked at."""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.drills.model import Drill
from voice_trainer.grading.flight import deviations_of
from voice_trainer.grading.score import grade
from voice_trainer.journal.events import Decision, Ended, Position
from voice_trainer.library.errors import DrillError, Problem
from voice_trainer.session.rehearsal import Records, rehearse


@dataclass(frozen=True, slots=True)
class Proof:
    """A rehearsal in which everything was right and inside its limits."""

    records: Records
    seconds: float
    farthest_nm: float
    lowest_feet: float

    @property
    def said(self) -> str:
        """In one sentence."""
        return (
            f"{self.seconds / 60:.1f} minutes, all calls right, {self.farthest_nm:.1f} miles from the fix at most, "
            f"never below {self.lowest_feet:,.0f} feet."
        )


def prove(drill: Drill) -> Proof:
    """Fly `drill` with every call right. Raises DrillError, with the reason, where it can't be flown so."""
    records = rehearse(drill)
    reasons = _reasons(drill, records)
    if reasons:
        raise DrillError(
            *(
                Problem(drill.drill, f"can't be flown today: {reason}", "give less wind, or another profile")
                for reason in reasons
            )
        )
    positions = [record for record in records if isinstance(record, Position)]
    return Proof(
        records,
        positions[-1].at_seconds if positions else 0.0,
        max(((each.east_nm**2 + each.north_nm**2) ** 0.5 for each in positions), default=0.0),
        min((each.altitude_feet for each in positions), default=0.0),
    )


def _reasons(drill: Drill, records: Records) -> list[str]:
    found = [each.said.rstrip(".") for each in deviations_of(drill, records)]
    if found:
        return found
    ended = next((record.reason for record in records if isinstance(record, Ended)), "")
    graded = grade(drill, [record for record in records if isinstance(record, Decision)])
    wrong = [each for each in graded.verdicts if each.verdict != "correct"]
    if wrong:
        first = wrong[0]
        why = first.reason.rstrip(".")
        return [f"'{first.step}, {first.call}' comes out {first.verdict}, though said at once: {why}"]
    begun = {each.step for each in graded.verdicts}
    waiting = next((step for step in drill.steps if step.flow and step.step not in begun), None)
    if waiting is not None:
        return [f"'{waiting.step}' never comes: '{waiting.when}' does not happen in time"]
    return [] if ended == "finished" else [f"it does not end ({ended})"]
