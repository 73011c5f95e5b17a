"""The schedule, against what the library that works it out publishes of itself."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.logbook.entries import Outcome
from voice_trainer.logbook.scheduling import Schedule, schedule_of

START = datetime(2022, 11, 29, 12, 30, tzinfo=UTC)


def scheduled(practices: list[tuple[datetime, Outcome]]) -> Schedule:
    schedule = schedule_of(practices)
    assert schedule is not None
    return schedule


def intervals(outcomes: list[Outcome]) -> list[timedelta]:
    """Each practised when it is due, the first at START."""
    now, practices, found = START, [], []
    for outcome in outcomes:
        practices.append((now, outcome))
        due = scheduled(practices).due_utc
        found.append(due - now)
        now = due
    return found


def test_the_published_intervals() -> None:
    """fsrs 6.3.2, its source distribution, tests/test_basic.py; the same was had by running it."""
    outcomes: list[Outcome] = [*["good"] * 6, *["failed"] * 2, *["good"] * 5]  # type: ignore[list-item]
    days = [each.days for each in intervals(outcomes)]
    assert days == [0, 2, 11, 46, 163, 498, 0, 0, 2, 4, 7, 12, 21]


def test_the_published_state_of_memory() -> None:
    """fsrs 6.3.2, tests/test_basic.py: stability 53.62691 after A G G G G G with these gaps, then Good."""
    now, practices = START, []
    for gap, outcome in zip((0, 0, 1, 3, 8, 21), ("failed", *["good"] * 5), strict=True):
        now += timedelta(days=gap)
        practices.append((now, outcome))
    schedule = scheduled([*practices])  # type: ignore[list-item]
    assert schedule.stability_days == pytest.approx(53.62691, abs=1e-4)


@pytest.mark.parametrize(
    ("outcome", "seconds"), [("failed", 60), ("hard", 330), ("good", 600), ("easy", 8 * 86400)]
)
def test_the_first_interval(outcome: Outcome, seconds: int) -> None:
    """fsrs 6.3.2, tests/test_basic.py; eight days had by running it."""
    assert intervals([outcome])[0].total_seconds() == seconds


def test_always_easy() -> None:
    """Had by running fsrs 6.3.2."""
    assert [each.days for each in intervals(["easy"] * 5)] == [8, 66, 397, 1875, 7265]


def test_when_it_is_due_the_chance_of_recall_is_nine_in_ten() -> None:
    schedule = scheduled([(START, "easy"), (START + timedelta(days=8), "easy")])
    assert schedule.recall(schedule.due_utc) == pytest.approx(0.9, abs=0.005)
    assert schedule.recall(schedule.last_utc) == 1.0


def test_without_practice_there_is_no_schedule() -> None:
    assert schedule_of([]) is None


moments = st.integers(0, 400 * 86400).map(lambda seconds: START + timedelta(seconds=seconds))
outcomes = st.sampled_from(["failed", "hard", "good", "easy"])
practices = st.lists(st.tuples(moments, outcomes), min_size=1, max_size=12)


@given(practices, st.randoms())
def test_the_order_in_which_practices_are_told_makes_no_difference(
    told: list[tuple[datetime, Outcome]], random: object
) -> None:
    unique = list({moment: (moment, outcome) for moment, outcome in told}.values())
    shuffled = [*unique]
    random.shuffle(shuffled)  # type: ignore[attr-defined]
    assert schedule_of(shuffled) == schedule_of(unique)


@given(practices)
def test_a_flow_is_due_after_its_last_practice_and_is_forgotten_with_time(
    told: list[tuple[datetime, Outcome]],
) -> None:
    schedule = scheduled(told)
    last = max(moment for moment, _ in told)
    assert schedule.last_utc == last < schedule.due_utc
    recalls = [schedule.recall(last + timedelta(days=days)) for days in (0, 1, 10, 100, 1000)]
    assert recalls == sorted(recalls, reverse=True)


@given(practices)
def test_a_failure_never_puts_the_next_practice_off(told: list[tuple[datetime, Outcome]]) -> None:
    now = START + timedelta(days=401)
    due = {each: scheduled([*told, (now, each)]).due_utc for each in ("failed", "hard", "good", "easy")}
    assert due["failed"] <= due["hard"] <= due["good"] <= due["easy"]
