"""The simulated learner: it forgets, spacing helps it, and what is due spares it minutes."""

import statistics

import pytest

from scripts.benchmarks import learning


def recall_after(days_between: float, days_later: float) -> float:
    """Four practices so many days apart; the chance of recall some days after the last."""
    memory = learning.Memory(easiness=0.0)
    for number in range(4):
        memory.practise(60.0 * number + number * days_between * learning.DAY * learning.BETWEEN_DAYS)
    last = memory.practised[-1][0]
    return memory.recall(last + days_later * learning.DAY * learning.BETWEEN_DAYS)


def test_what_is_not_practised_is_forgotten() -> None:
    recalls = [recall_after(1, days) for days in (0.01, 1, 7, 30)]
    assert recalls == sorted(recalls, reverse=True)
    assert learning.Memory(0.0).recall(1.0) == 0.0


def test_spaced_practice_is_remembered_longer_than_massed_practice() -> None:
    """The spacing effect (Latimier, Peyre and Ramus 2021: g = 0.74 over 39 effects, from the abstract)."""
    assert recall_after(1, 7) > 1.5 * recall_after(0, 7)


@pytest.mark.parametrize("plan", learning.PLANS)
def test_the_same_seed_learns_the_same(plan: str) -> None:
    assert learning.learn(plan, 5, 10, 7, 0.5, 3) == learning.learn(plan, 5, 10, 7, 0.5, 3)


def test_what_is_due_takes_fewer_minutes_than_repeating_each_flow() -> None:
    """Under the benchmark's assumptions; fewer learners than it has."""

    def minutes(plan: str) -> float:
        reached = [learning.learn(plan, 30, 30, 7.0, 0.5, seed) for seed in range(4)]
        assert all(each.days is not None for each in reached)
        return statistics.median(each.minutes for each in reached)

    due, repeated, _ = learning.PLANS
    assert minutes(due) < minutes(repeated)
