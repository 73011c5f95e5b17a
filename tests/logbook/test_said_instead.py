"""What was said with a wrong value, held against what was right then."""

from __future__ import annotations

from tests.logbook.made_journals import Performance, write_session
from tests.scenes import drill_of
from voice_trainer.archive.places import logbook_path
from voice_trainer.drills.model import Drill
from voice_trainer.logbook.keeping import catch_up
from voice_trainer.logbook.practices import SaidInstead
from voice_trainer.logbook.reading import weakest_calls
from voice_trainer.logbook.store import Logbook


def said_instead(call: str) -> tuple[SaidInstead, ...]:
    with Logbook(logbook_path()) as book:
        catch_up(book)
        return next(each for each in weakest_calls(book, "Anna") if each.call == call).said_instead


def marked(instead: SaidInstead) -> list[tuple[str | None, str | None, str]]:
    return [tuple(each) for each in instead.words if each.difference != "same"]


def test_optional_words_and_other_forms_of_a_value_are_not_marked() -> None:
    write_session(1, Performance((("left 300", "maintain twenty nine hundred"),)))
    (heading,) = said_instead("heading")
    assert heading.said == "left three zero zero"
    assert marked(heading) == [("one", "zero", "instead")]
    (altitude,) = said_instead("altitude")
    assert [each.expected for each in altitude.words] == ["maintain", "twenty", "six", "hundred"]
    assert marked(altitude) == [("six", "nine", "instead")]


def test_a_call_that_was_only_late_or_right_has_no_words() -> None:
    write_session(1, Performance((("turn left heading 310", "maintain 2600"),), after_seconds=9.0))
    with Logbook(logbook_path()) as book:
        catch_up(book)
        late = weakest_calls(book, "Anna")
    assert late and not any(each.said_instead for each in late)


def climb_to(altitude_feet: int) -> Drill:
    calls = [{"call": "altitude", "say": f"maintain {{altitude: {altitude_feet}}}"}]
    return drill_of({"name": "readback", "calls": calls}, drill="climb")


def test_where_values_are_drawn_it_is_held_against_the_value_of_its_own_session() -> None:
    """'maintain 2900' was wrong twice; in the latest session it would have been right, and something else was said."""
    for number, altitude_feet, said in ((1, 3900, 2900), (2, 2600, 2900), (3, 2900, 2600)):
        write_session(number, Performance(((f"maintain {said}",),)), climb_to(altitude_feet))
    first, second = said_instead("altitude")
    assert (first.said, first.times) == ("maintain two nine zero zero", 2)
    assert marked(first) == [
        ("six", "nine", "instead")
    ]  # as in the second session, the last time that it was said
    assert (second.times, marked(second)) == (1, [("nine", "six", "instead")])
