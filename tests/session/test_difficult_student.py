"""A thousand difficult students: whatever the manner, the verdicts are those of the same meaning said cleanly.

Without sound, over the real ears, endpointer and sequencer; see `tests/difficult_student`.
"""

from __future__ import annotations

import traceback
from collections import Counter

import pytest

from tests.difficult_student.manners import DEVICES, Plan, plan
from tests.difficult_student.oracle import held, undecided
from tests.difficult_student.room import play
from voice_trainer.debrief.report import differences
from voice_trainer.grading.replay import replay

SEEDS = 1000
PARTS = 10
SHOWN = 12


def faults(of: Plan) -> dict[str, str]:
    """What is wrong with a student's session, by kind."""
    clean = play(of, clean=True)
    found: dict[str, str] = {}
    if doubts := undecided(of, clean):
        found["told cleanly it is not what was planned"] = "; ".join(doubts)
    try:
        told = play(of, clean=False)
    except Exception as error:  # every one of them is a fault of the program
        last = traceback.extract_tb(error.__traceback__)[-1]
        found[f"{type(error).__name__} in {last.name}"] = str(error)
        return found
    result = held(of, told, clean)
    if result.wrong:
        found["wrong"] = "; ".join(result.wrong)
    if result.asked and not of.may_be_asked:
        found["asked again"] = f"{result.asked} times"
    if unlike := differences(told, replay(of.drill, of.settings, told)):
        found["replay"] = unlike[0]
    return found


@pytest.mark.slow
@pytest.mark.parametrize("part", range(PARTS))
def test_a_manner_changes_no_verdict(part: int) -> None:
    failed: list[str] = []
    kinds: Counter[str] = Counter()
    with_device: Counter[str] = Counter()
    for seed in range(part, SEEDS, PARTS):
        of = plan(seed)
        for kind, what in faults(of).items():
            kinds[kind] += 1
            with_device.update(of.devices)
            failed.append(f"{kind}: {what}\n    {of.shown()}")
    assert not failed, "\n".join(
        [f"{dict(kinds)}; with {dict(with_device)}", *failed[:SHOWN], f"({len(failed)} in all)"]
    )


def test_a_seed_is_one_student_and_students_have_every_difficulty() -> None:
    assert plan(3) == plan(3)
    found = Counter(device for seed in range(200) for device in plan(seed).devices)
    assert set(found) == set(DEVICES)
