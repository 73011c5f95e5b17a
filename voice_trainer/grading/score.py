"""Scores: what they are made of, in words, and how the total comes about.

Every required call is worth the same. Said right, in its place and in its time it earns its whole point; with
one of these at fault (`late`, `early`, `out of order`, or `incomplete`: given only when asked) it earns half;
a wrong value or a missed call earns nothing. The total is what was earned of what could be. Calls that are
`unclear` or `disputed` are left out of both sides, optional calls too, and forbidden calls that were made are
reported apart.

The four part scores look at one thing each, and do not add up to the total:

- completeness: required calls said, of all;
- accuracy: of those said, the ones with every value right;
- timing: of those said, the ones neither early nor late;
- order: pairs of calls said in their right order, of all pairs, in flows of a set order.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from voice_trainer.drills.model import Drill
from voice_trainer.grading.order import inversions
from voice_trainer.journal.events import AnyDecision, Critical, Extra, FlowClosed, Settled
from voice_trainer.journal.verdicts import Verdict

POINTS: dict[Verdict, float | None] = {
    "correct": 1.0,
    "late": 0.5,
    "early": 0.5,
    "out of order": 0.5,
    "incomplete": 0.5,
    "wrong value": 0.0,
    "missed": 0.0,
    "unclear": None,
    "disputed": None,
}
"""What a verdict earns; None leaves the call out."""


@dataclass(frozen=True, slots=True)
class Ratio:
    """Some of all, as a percentage where there is anything to count."""

    got: float
    of: float

    @property
    def percent(self) -> float | None:
        """0..100, or None where nothing counts."""
        return 100.0 * self.got / self.of if self.of else None


@dataclass(frozen=True, slots=True)
class Grade:
    """The outcome of a session: the last verdict of every call, in the drill's order, and the scores."""

    verdicts: tuple[Settled, ...]
    total: Ratio
    completeness: Ratio
    accuracy: Ratio
    timing: Ratio
    order: Ratio
    critical: tuple[Critical, ...]
    extras: tuple[Extra, ...]

    def count(self, *verdicts: Verdict) -> int:
        """How many required calls got one of these verdicts."""
        return sum(v.verdict in verdicts and v.need == "required" for v in self.verdicts)


def grade(drill: Drill, decisions: Iterable[AnyDecision]) -> Grade:
    """The grade that a session's decisions add up to."""
    last: dict[tuple[str, str], Settled] = {}
    orders: dict[str, FlowClosed] = {}
    critical: list[Critical] = []
    extras: list[Extra] = []
    for decision in decisions:
        match decision:
            case Settled():
                last[decision.step, decision.call] = decision
            case FlowClosed():
                orders[decision.step] = decision
            case Critical():
                critical.append(decision)
            case Extra():
                extras.append(decision)
            case _:
                pass
    places = {
        (step.step, call.call): (i, j)
        for i, step in enumerate(drill.steps)
        for j, call in enumerate(step.flow.calls if step.flow else ())
    }
    verdicts = tuple(sorted(last.values(), key=lambda v: places[v.step, v.call]))
    counted = [v for v in verdicts if v.need == "required" and POINTS[v.verdict] is not None]
    said = [v for v in counted if v.verdict != "missed"]
    right = [v for v in said if v.verdict != "wrong value"]
    return Grade(
        verdicts=verdicts,
        total=Ratio(sum(POINTS[v.verdict] or 0.0 for v in counted), len(counted)),
        completeness=Ratio(len(said), len(counted)),
        accuracy=Ratio(len(right), len(said)),
        timing=Ratio(sum(v.verdict not in ("late", "early") for v in said), len(said)),
        order=_order(orders.values(), places),
        critical=tuple(critical),
        extras=tuple(extras),
    )


def _order(closed: Iterable[FlowClosed], places: dict[tuple[str, str], tuple[int, int]]) -> Ratio:
    right = pairs = 0
    for flow in closed:
        if flow.strict:
            sequence = [places[flow.step, call][1] for call in flow.order]
            here = len(sequence) * (len(sequence) - 1) // 2
            pairs += here
            right += here - inversions(sequence)
    return Ratio(right, pairs)


def in_words(result: Grade) -> tuple[str, ...]:
    """How the scores come about: the points of the total first, then what each part score counts."""
    counts = [(verdict, points, result.count(verdict)) for verdict, points in POINTS.items()]
    earned = ", ".join(
        f"{count} {verdict} at {points:g}"
        for verdict, points, count in counts
        if count and points is not None
    )
    left_out = ", ".join(
        f"{count} {verdict}" for verdict, points, count in counts if count and points is None
    )
    lines = [f"Total: {earned or 'no call counted'}{f'; not counted: {left_out}' if left_out else ''}."]
    parts = (
        ("Completeness", result.completeness, "calls were said"),
        ("Accuracy", result.accuracy, "of those have every value right"),
        ("Timing", result.timing, "of those were neither early nor late"),
        ("Order", result.order, "pairs of calls, where an order is set, were said in it"),
    )
    lines += [f"{name}: {ratio.got:g} of {ratio.of:g} {what}." for name, ratio, what in parts if ratio.of]
    return tuple(lines)
