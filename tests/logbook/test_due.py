"""What is due, from practices and a catalogue, at a time that is told."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.library.builtin import builtin_drills
from voice_trainer.library.drill_files import load_drill
from voice_trainer.logbook.due import Due, forecast, what_is_due
from voice_trainer.logbook.entries import Outcome
from voice_trainer.logbook.items import Item, items_of
from voice_trainer.logbook.practices import Practice

NOW = datetime(2026, 3, 2, 18, 0, tzinfo=UTC)


def item(name: str, drill: str = "drill") -> Item:
    return Item(drill, name, "calls", "Drill", "radio", f"Drill. {name}.")


CATALOGUE = tuple(item(name) for name in "abcdefgh")


def practice(name: str, days_ago: float, outcome: Outcome | None = "easy", drill: str = "drill") -> Practice:
    return Practice(
        drill=drill,
        step=name,
        flow="calls",
        title="Drill",
        kind="radio",
        lead_in="",
        ended_utc=NOW - timedelta(days=days_ago),
        outcome=outcome,
        why="all right and prompt" if outcome == "easy" else "missed: turn",
        is_rated_level=outcome is not None,
        calls=1,
        said=1,
        right=1,
        timely=1,
        prompt=1,
        after_seconds=1.0,
        in_order=0,
        pairs=0,
    )


def names(items: tuple[object, ...]) -> str:
    return "".join(each.item.step for each in items)  # type: ignore[attr-defined]


def test_the_least_remembered_is_first_and_what_was_never_practised_last() -> None:
    practices = [practice("c", 20), practice("a", 200), practice("b", 3)]
    found = what_is_due(practices, CATALOGUE, NOW)
    assert (names(found.due), names(found.later), names(found.new)) == ("ac", "b", "defgh")
    assert found.due[0].recall is not None
    assert 0 < found.due[0].recall < 0.9
    assert found.due[0].why == "easy: all right and prompt"
    assert (found.new[0].why, found.new[0].recall) == ("not practised yet", None)


def test_a_failure_is_due_soon_and_says_what_it_was() -> None:
    found = what_is_due([practice("a", 0.01, "failed")], CATALOGUE, NOW)
    assert (names(found.due), found.due[0].why, found.due[0].failed) == ("a", "failed: missed: turn", 1)


def test_new_flows_are_so_many_a_day() -> None:
    assert (names(what_is_due([], CATALOGUE, NOW, new_a_day=3).new)) == "abc"
    begun = [practice("a", 0.1), practice("b", 0.2), practice("c", 1.0)]
    found = what_is_due(begun, CATALOGUE, NOW, new_a_day=3)
    assert (names(found.new), found.new_left_out) == ("d", 4)
    assert names(what_is_due(begun, CATALOGUE, NOW + timedelta(days=1), new_a_day=3).new) == "def"


def test_a_day_begins_where_the_student_is() -> None:
    """18:00 UTC is the next day twelve hours east: what was begun four hours before was on that day's eve."""
    begun = [practice("a", 1 / 24 * 9)]
    east = NOW.astimezone(timezone(timedelta(hours=12)))
    assert names(what_is_due(begun, CATALOGUE, NOW, new_a_day=2).new) == "b"
    assert names(what_is_due(begun, CATALOGUE, east, new_a_day=2).new) == "bc"


def test_practice_without_a_rating_leaves_a_flow_new() -> None:
    found = what_is_due([practice("a", 3, None)], CATALOGUE, NOW, new_a_day=1)
    assert (names(found.new), found.new[0].why) == ("a", "practised, but not rated yet")


def test_a_students_own_drill_comes_due_and_a_step_that_is_no_more_does_not() -> None:
    practices = [practice("mine", 50, drill="own"), practice("gone", 50)]
    assert names(what_is_due(practices, CATALOGUE, NOW).due) == "mine"


def test_the_forecast_counts_each_flow_on_its_day() -> None:
    found = what_is_due([practice("a", 200), practice("b", 3), practice("c", 3)], CATALOGUE, NOW)
    days = forecast(found, NOW, days=7)
    assert list(days.values()) == [1, 0, 0, 0, 0, 2, 0]  # easy once: due after eight days
    assert next(iter(days)) == NOW.date()


outcome = st.sampled_from([None, "failed", "hard", "good", "easy"])
told = st.lists(
    st.tuples(st.sampled_from("abcdefghxyz"), st.floats(0, 400), outcome).map(lambda each: practice(*each)),
    max_size=30,
)


@given(told, st.integers(0, 10))
def test_every_flow_is_in_one_place(practices: list[Practice], new_a_day: int) -> None:
    found: Due = what_is_due(practices, CATALOGUE, NOW, new_a_day=new_a_day)
    listed = names((*found.due, *found.new, *found.later))
    assert len(set(listed)) == len(listed)
    assert len(listed) + found.new_left_out == len(CATALOGUE)
    assert len(found.new) <= new_a_day
    recalls = [each.recall for each in found.due]
    assert recalls == sorted(recalls, key=lambda recall: recall or 0.0)


@pytest.mark.parametrize("drill", builtin_drills().values(), ids=builtin_drills().keys())
def test_every_built_in_flow_has_a_lead_in_that_can_be_spoken(drill: object) -> None:
    items = items_of([load_drill(drill)])  # type: ignore[arg-type]
    assert items
    for each in items:
        assert each.lead_in.startswith(each.title)
        assert not set("{}[]|") & set(each.lead_in)


def test_new_flows_are_one_of_every_kind_in_turn() -> None:
    kinds = [
        ("a", "callouts"),
        ("b", "callouts"),
        ("c", "radio"),
        ("d", "callouts"),
        ("e", "memory"),
        ("f", "radio"),
    ]
    catalogue = [Item("drill", name, "flow", "Drill", kind, name) for name, kind in kinds]
    assert names(what_is_due([], catalogue, NOW, new_a_day=6).new) == "acebfd"
    assert names(what_is_due([practice("a", 3, "good")], catalogue, NOW, new_a_day=6).new) == "bcedf"
