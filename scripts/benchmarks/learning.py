"""Does what is due make for less practice? A simulated learner, who forgets as a published model says.

The learner is Pavlik and Anderson's model of practice, spacing and forgetting (Cognitive Science 29, 2005, 559-586; its
equations and parameters are given from memory): the activation of what was practised n times is

    m = b + ln(sum of t_i ^ -d_i),   d_i = c * exp(m at the moment of practice i) + a

with t_i the seconds since practice i, of which those between two days count as `h` of themselves only. The chance of
recall is 1 / (1 + exp((tau - m) / s)). So practice that comes while much is still active fades sooner: the spacing
effect. It is not the curve by which the schedule works, which knows nothing of it but how each practice went.

Assumptions: flows differ in difficulty (b is drawn for each, normal, mean 0, deviation `--spread`); a practised flow
takes a minute, lead-in and correction with it; who fails is told the right call, which counts as practice; who recalls
is prompt where the activation is high enough for a latency under two seconds (F * exp(-m), F = 1 s), and so rated
'easy', else 'good'. A learner practises `--minutes` a day at most, and stops when nothing is due and no new flow is
left for the day. Mastery, looked at in the evening: nine flows in ten are above the model's threshold of retrieval (an
even chance) after `--retention` days without practice.

Nothing here is a flight student. It compares orders of practice under one set of assumptions.
"""

from __future__ import annotations

import argparse
import math
import random
import statistics
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta

from voice_trainer.logbook.due import NEW_A_DAY, what_is_due
from voice_trainer.logbook.entries import Outcome
from voice_trainer.logbook.items import Item
from voice_trainer.logbook.practices import Practice

DECAY_SCALE, DECAY_LEAST = 0.217, 0.177
THRESHOLD, NOISE = -0.704, 0.255
BETWEEN_DAYS = 0.025
LATENCY_SECONDS, PROMPT_SECONDS = 1.0, 2.0

MINUTE, DAY = 60.0, 86400.0
START = datetime(2026, 1, 5, 18, 0, tzinfo=UTC)
MOST_DAYS = 365
TIMES_RIGHT_IN_A_ROW = 3


@dataclass
class Memory:
    """One flow in a learner's head: when it was practised, in seconds that count, and how fast each fades."""

    easiness: float
    practised: list[tuple[float, float]] = field(default_factory=list)

    def activation(self, now: float) -> float:
        total = sum(max(now - at, 1.0) ** -decay for at, decay in self.practised)
        return self.easiness + math.log(total) if total else -math.inf

    def recall(self, now: float) -> float:
        exponent = (THRESHOLD - self.activation(now)) / NOISE
        return 0.0 if exponent > 500 else 1 / (1 + math.exp(exponent))

    def practise(self, now: float) -> None:
        decay = DECAY_SCALE * math.exp(min(self.activation(now), 5.0)) + DECAY_LEAST
        self.practised.append((now, decay))


class Learner:
    """A head full of flows, and a day of so many minutes."""

    def __init__(self, flows: int, spread: float, seed: int) -> None:
        self.chance = random.Random(seed)
        self.flows = [Memory(self.chance.gauss(0.0, spread)) for _ in range(flows)]
        self.minutes = 0
        self.day = 0
        self.minute_of_day = 0

    @property
    def seconds(self) -> float:
        """What counts: all of a day's practice, little of what lies between."""
        return self.day * DAY * BETWEEN_DAYS + self.minute_of_day * MINUTE

    @property
    def now(self) -> datetime:
        return START + timedelta(days=self.day, minutes=self.minute_of_day)

    def practise(self, flow: int) -> Outcome:
        """A minute with one flow; how it went."""
        memory = self.flows[flow]
        activation = memory.activation(self.seconds)
        is_recalled = self.chance.random() < memory.recall(self.seconds)
        memory.practise(self.seconds)
        self.minutes += 1
        self.minute_of_day += 1
        if not is_recalled:
            return "failed"
        return "easy" if LATENCY_SECONDS * math.exp(-activation) <= PROMPT_SECONDS else "good"

    def masters(self, retention_days: float) -> bool:
        later = self.seconds + retention_days * DAY * BETWEEN_DAYS
        known = sum(memory.activation(later) >= THRESHOLD for memory in self.flows)
        return known >= 0.9 * len(self.flows)

    def end_of_day(self) -> None:
        self.day += 1
        self.minute_of_day = 0


class WhatIsDue:
    """Practise what 'due' says, in its order."""

    def __init__(self, flows: int) -> None:
        self.catalogue = [Item("drill", str(number), "", "", "", "") for number in range(flows)]
        self.practices: list[Practice] = []

    def a_day(self, learner: Learner) -> Iterator[None]:
        while True:
            found = what_is_due(self.practices, self.catalogue, learner.now, new_a_day=NEW_A_DAY)
            todo = [*found.due, *found.new]
            if not todo:
                return
            for each in todo:
                outcome = learner.practise(int(each.item.step))
                self.practices.append(_practice(each.item, learner.now, outcome))
                yield


class RoundRobin:
    """Practise all flows in turn, every day from where it was left."""

    def __init__(self, flows: int) -> None:
        self.next = 0
        self.flows = flows

    def a_day(self, learner: Learner) -> Iterator[None]:
        while True:
            learner.practise(self.next)
            self.next = (self.next + 1) % self.flows
            yield


class OneAfterTheOther:
    """Repeat a flow until it was right three times in a row, then the next; after the last one the first again."""

    def __init__(self, flows: int) -> None:
        self.flows = flows
        self.current = 0
        self.in_a_row = 0

    def a_day(self, learner: Learner) -> Iterator[None]:
        while True:
            outcome = learner.practise(self.current)
            self.in_a_row = 0 if outcome == "failed" else self.in_a_row + 1
            if self.in_a_row == TIMES_RIGHT_IN_A_ROW:
                self.current, self.in_a_row = (self.current + 1) % self.flows, 0
            yield


PLANS: dict[str, type[WhatIsDue] | type[RoundRobin] | type[OneAfterTheOther]] = {
    "what is due": WhatIsDue,
    "plain repetition: a flow until right three times, then the next": OneAfterTheOther,
    "plain repetition: all flows in turn": RoundRobin,
}


@dataclass(frozen=True)
class Reached:
    """Mastery, after so many days and minutes of practice; None where it was not reached."""

    days: int | None
    minutes: int


def learn(
    plan: str, flows: int, minutes_a_day: int, retention_days: float, spread: float, seed: int
) -> Reached:
    """One learner, day after day, until mastery."""
    learner = Learner(flows, spread, seed)
    practising = PLANS[plan](flows)
    while learner.day < MOST_DAYS:
        for _ in practising.a_day(learner):
            if learner.minute_of_day >= minutes_a_day:
                break
        if learner.masters(retention_days):
            return Reached(learner.day + 1, learner.minutes)
        learner.end_of_day()
    return Reached(None, learner.minutes)


def _practice(item: Item, ended_utc: datetime, outcome: Outcome) -> Practice:
    return Practice(
        drill=item.drill,
        step=item.step,
        flow="",
        title="",
        kind="",
        lead_in="",
        ended_utc=ended_utc,
        outcome=outcome,
        why="",
        is_rated_level=True,
        calls=1,
        said=1,
        right=1,
        timely=1,
        prompt=1,
        after_seconds=0.0,
        in_order=0,
        pairs=0,
    )


def table(results: Mapping[str, Sequence[Reached]]) -> str:
    """A row for each way to practise."""
    lines = [
        "| practised | reached mastery | minutes, median | minutes, quartiles | days, median |",
        "| --- | --- | --- | --- | --- |",
    ]
    for plan, each in results.items():
        reached = [one for one in each if one.days is not None]
        if len(reached) < 2:
            lines.append(f"| {plan} | {len(reached)}/{len(each)} | - | - | - |")
            continue
        minutes = statistics.quantiles([one.minutes for one in reached], n=4, method="inclusive")
        days = statistics.median(one.days or 0 for one in reached)
        lines.append(
            f"| {plan} | {len(reached)}/{len(each)} | {minutes[1]:.0f} "
            f"| {minutes[0]:.0f}-{minutes[2]:.0f} | {days:.0f} |"
        )
    return "\n".join(lines)


def main() -> int:
    arguments = argparse.ArgumentParser(
        prog="scripts/bench learning", description=(__doc__ or "").split("\n")[0]
    )
    arguments.add_argument("--learners", type=int, default=20)
    arguments.add_argument("--flows", type=int, default=30)
    arguments.add_argument("--minutes", type=int, default=30, help="of practice a day, at most")
    arguments.add_argument(
        "--retention", type=float, default=7.0, help="days after which it must still be known"
    )
    arguments.add_argument("--spread", type=float, default=0.5, help="how much flows differ in difficulty")
    arguments.add_argument("--seed", type=int, default=1)
    options = arguments.parse_args()
    results = {
        plan: [
            learn(
                plan, options.flows, options.minutes, options.retention, options.spread, options.seed + number
            )
            for number in range(options.learners)
        ]
        for plan in PLANS
    }
    print(
        f"{options.learners} simulated learners (Pavlik and Anderson 2005, parameters from memory), {options.flows} "
        f"flows of a minute each, at most {options.minutes} minutes a day. Mastery: nine flows in ten are more likely "
        f"than not remembered after {options.retention:g} days.\n"
    )
    print(table(results))
    return 0


if __name__ == "__main__":
    sys.exit(main())
