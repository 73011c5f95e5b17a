"""The plan of a practice session: what fits is taken, kinds alternate, what failed comes back."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from tests.scenes import drill_of
from voice_trainer.drills.model import Drill
from voice_trainer.session.practice import PracticeItem, PracticePlan, fitting, practice_item

GEAR = {"calls": [{"call": "gear", "say": "gear down"}]}


def drill(times: int) -> Drill:
    return drill_of(GEAR)


def item(number: int, kind: str = "memory", seconds: float = 20.0) -> PracticeItem:
    return PracticeItem(("a drill", str(number)), kind, seconds, drill)


def practised(plan: PracticePlan, failing: dict[str, int] | None = None) -> list[str]:
    """The steps in the order in which they come; each fails as often as it is said here."""
    left = dict(failing or {})
    order: list[str] = []
    while (chosen := plan.next()) is not None:
        each, times = chosen
        step = each.key[1]
        assert times >= order.count(step)
        order.append(step)
        failed = left.get(step, 0) > 0
        left[step] = left.get(step, 0) - failed
        plan.done(each, each.seconds, failed=failed)
    return order


def test_what_failed_comes_back_after_another_one_until_it_is_right() -> None:
    items = [item(number, "memory" if number % 2 else "radio") for number in range(4)]
    assert practised(PracticePlan(items, 600.0), {"0": 2}) == ["0", "1", "0", "3", "0", "2"]


def test_with_nothing_else_left_it_comes_back_at_once() -> None:
    assert practised(PracticePlan([item(0)], 600.0), {"0": 3}) == ["0"] * 4


def test_when_the_time_is_over_nothing_comes_back() -> None:
    assert practised(PracticePlan([item(0)], 50.0), {"0": 9}) == ["0"] * 3


def test_what_was_done_again_at_once_comes_back_once() -> None:
    plan = PracticePlan([item(0), item(1)], 600.0)
    chosen = plan.next()
    assert chosen is not None
    plan.done(chosen[0], 20.0, failed=True)
    plan.done(chosen[0], 20.0, failed=True)
    assert practised(plan) == ["1", "0"]


def test_kinds_alternate_as_long_as_there_are_two() -> None:
    kinds = ["memory", "memory", "memory", "radio", "checklist"]
    plan = PracticePlan([item(number, kind) for number, kind in enumerate(kinds)], 600.0)
    assert practised(plan) == ["0", "3", "1", "4", "2"]


def test_one_that_is_too_long_is_taken_where_there_is_nothing_else() -> None:
    assert [each.key[1] for each in fitting([item(0, seconds=300.0), item(1)], 60.0)] == ["0"]
    assert fitting([], 60.0) == ()


@given(
    st.lists(st.tuples(st.sampled_from(["memory", "radio", "brief"]), st.floats(12.0, 90.0)), max_size=12),
    st.floats(60.0, 900.0),
    st.dictionaries(st.integers(0, 11).map(str), st.integers(0, 3)),
)
def test_every_session_is_sound(
    drawn: list[tuple[str, float]], seconds: float, failing: dict[str, int]
) -> None:
    items = [item(number, kind, length) for number, (kind, length) in enumerate(drawn)]
    plan = PracticePlan(items, seconds)
    planned = sum(each.seconds for each in plan.items)
    assert len(plan.items) <= 1 or planned <= seconds
    order = practised(plan, failing)
    counts = Counter(order)
    names = {each.key[1] for each in plan.items}
    assert set(counts) <= names
    # Nothing is practised oftener than it failed, and once more.
    assert all(count <= failing.get(step, 0) + 1 for step, count in counts.items())
    if plan.spent_seconds < seconds:
        assert counts == {step: failing.get(step, 0) + 1 for step in names}
    # Nothing comes twice in a row while something else waits.
    last_first = max((order.index(step) for step in names & set(order)), default=0)
    assert all(one != other for one, other in pairwise(order[: last_first + 1]))


def test_an_item_takes_longer_at_a_slower_pace() -> None:
    assert practice_item(("a", "b"), drill, 0.7).seconds > practice_item(("a", "b"), drill).seconds
