"""What a debrief shows of a call's words: nothing where only the time was wrong, and of a wrong value what differs."""

from __future__ import annotations

from typing import Any

import pytest

from tests.mutations import graded, mutations, performed
from tests.scenes import Scene, drill_of
from voice_trainer.grading.word_pairs import WordPair, pairs_of_call
from voice_trainer.journal.events import Settled
from voice_trainer.phraseology.normaliser import normalise


def settled_after(said: str, call: dict[str, Any], *, wait: float = 0.5, **more: Any) -> tuple[WordPair, ...]:
    scene = Scene(drill_of({"name": "flow", "calls": [{"call": "it", **call}]}, **more))
    scene.begin("step 1").wait(wait)
    for each in said.split(" / "):
        scene.say(each).wait(0.3)
    scene.end()
    settled = next(each for each in reversed(scene.decisions) if isinstance(each, Settled))
    return pairs_of_call(scene.drill, settled)


def marks(pairs: tuple[WordPair, ...]) -> list[tuple[str | None, str | None, str]]:
    return [(each.expected, each.said, each.difference) for each in pairs if each.difference != "same"]


def test_a_late_call_has_no_marked_word_whatever_its_form() -> None:
    call = {"say": "[descend] [and] maintain {altitude: 2900}", "window": {"within_seconds": 3}}
    pairs = settled_after("maintain twenty nine hundred", call, wait=5.0)
    assert " ".join(str(each.expected) for each in pairs) == "maintain twenty nine hundred"
    assert marks(pairs) == []


def test_of_swapped_digits_these_are_marked() -> None:
    pairs = settled_after("altimeter two niner four eight", {"say": "altimeter {altimeter: 29.84}"})
    assert marks(pairs) == [("eight", "four", "instead"), ("four", "eight", "instead")]


def test_the_side_and_the_last_digit() -> None:
    pairs = settled_after("turn right 330", {"say": "turn left [heading] {heading: 333}"})
    assert marks(pairs) == [("left", "right", "instead"), ("three", "zero", "instead")]


def test_what_a_house_wants_and_was_left_out_is_left_out() -> None:
    call = {"say": "{callsign: Heron 24} turn left {heading: 333}"}
    pairs = settled_after("turn left 333", call, callsign="Heron 24", without_callsign="incomplete")
    assert marks(pairs) == [(word, None, "left out") for word in ("heron", "two", "four")]


def test_a_value_that_is_near_enough_is_right_and_shown_as_it_was_said() -> None:
    call = {"say": "(left | right) heading {heading: 333}", "within": {"heading": 5}}
    pairs = settled_after("right heading 330", call)
    assert marks(pairs) == []


@pytest.mark.parametrize("said", ["turn left 330 correction 333", "turn left 330 / correction heading 333"])
def test_what_was_taken_back_is_no_mistake(said: str) -> None:
    pairs = settled_after(said, {"say": "turn left [heading] {heading: 333}"})
    assert marks(pairs) == []
    assert " ".join(each.expected for each in pairs if each.expected) == "turn left three three three"
    assert " ".join(each.said or "-" for each in pairs).startswith("turn left three three zero correction")


def test_nothing_is_compared_where_nothing_was_said() -> None:
    assert settled_after("", {"say": "gear down"}) == ()


def test_words_are_marked_where_the_words_were_wrong_and_nowhere_else() -> None:
    wrong = 0
    for mutation in mutations(120, seed=71):
        scene = performed(mutation)
        for settled in graded(scene).values():
            pairs = pairs_of_call(scene.drill, settled)
            said = [each.said for each in pairs if each.said is not None]
            assert tuple(said) == normalise(settled.said), mutation.named
            expected = settled.verdict in ("wrong value",)
            assert bool(marks(pairs)) == expected, (mutation.named, settled, pairs)
            wrong += expected
    assert wrong > 20
