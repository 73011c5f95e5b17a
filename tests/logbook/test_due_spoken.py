"""What is due, as it is said."""

from __future__ import annotations

import pytest

from voice_trainer.drills.model import DrillKind
from voice_trainer.logbook.due import Due, DueItem
from voice_trainer.logbook.items import Item
from voice_trainer.logbook.spoken import due_in_brief, due_in_full


def items(*kinds: DrillKind) -> tuple[DueItem, ...]:
    return tuple(
        DueItem(Item(f"drill-{number}", "step", "flow", "A drill", kind, ""), None, None, 0, 0, "")
        for number, kind in enumerate(kinds, start=1)
    )


@pytest.mark.parametrize(
    ("due", "new", "said"),
    [
        (items("memory"), (), ["One thing is due: one memory item.", "Drill one."]),
        (
            items("radio", "procedure", "procedure"),
            items("brief"),
            [
                "Three things are due: one radio exchange and two flows.",
                "Drill one; drill two; drill three.",
                "And one new.",
            ],
        ),
        ((), items("callouts", "callouts"), ["Nothing is due. Two new: two callouts."]),
        ((), (), ["Nothing is due, and no more new ones are for today."]),
    ],
)
def test_what_is_due_is_counted_and_named(
    due: tuple[DueItem, ...], new: tuple[DueItem, ...], said: list[str]
) -> None:
    found = Due(due, new, (), 0)
    assert due_in_full(found) == said
    assert due_in_brief(found) == ("" if not (due or new) else said[0])


def test_much_is_not_named_one_by_one() -> None:
    (brief, names) = due_in_full(Due(items(*["memory"] * 1200), (), (), 0))
    assert brief.startswith("Very many things are due")
    assert names.endswith("; and more.")
    assert len(names) < 100
