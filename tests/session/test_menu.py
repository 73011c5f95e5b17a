"""The menu without sound: what comes of what was heard."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.journal.hearing import Clarity, Hearing
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.menu_orders import menu_phrases
from voice_trainer.phraseology.trade import trade_phrases
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.answers import SAY_AGAIN
from voice_trainer.session.menu import STILL_HERE, Menu

DRILLS = {"kelda outbound": "kelda-outbound", "brannock clearance": "brannock-clearance"}
GRAMMAR = Grammar((*menu_phrases(DRILLS), *trade_phrases()))


def heard(text: str, clarity: Clarity = "clear") -> Hearing:
    return hear_text(text, GRAMMAR, 0.0, 0.3).model_copy(update={"clarity": clarity})


def menu(**more: bool) -> Menu:
    return Menu(DRILLS, **more)


def test_a_drill_is_started_by_its_spoken_name() -> None:
    reply = menu().take(heard("trainer fly kelda outbound"))
    assert (reply.order, reply.say, reply.understood) == ("start kelda-outbound", (), True)


def test_what_is_there_names_every_drill() -> None:
    (told,) = menu().take(heard("what is there")).say
    assert all(name in told for name in DRILLS)


def test_unclear_is_asked_again_twice_then_the_menu_is_repeated() -> None:
    menu_ = menu()
    replies = [menu_.take(heard("fly kelda outbound", "unclear")) for _ in range(4)]
    assert [reply.say[0] for reply in replies] == [SAY_AGAIN, SAY_AGAIN, "I can't make that out.", SAY_AGAIN]
    assert menu_.opening().say[0] in replies[2].say
    assert not any(reply.understood or reply.order for reply in replies)


def test_what_was_understood_in_between_starts_the_count_again() -> None:
    menu_ = menu()
    for _ in range(3):
        assert menu_.take(heard("fly", "unclear")).say == (SAY_AGAIN,)
        assert menu_.take(heard("what is there")).understood


@pytest.mark.parametrize("text", ["fly kelda inbound", "maintain two thousand", "wilco"])
def test_what_is_clear_and_no_order_is_asked_again(text: str) -> None:
    assert menu().take(heard(text)).say == (SAY_AGAIN,)


@pytest.mark.parametrize("text", ["again and again", "end again", "stop that now", "in the end"])
def test_an_order_amid_other_words_is_none(text: str) -> None:
    reply = menu(has_session=True).take(heard(text))
    assert (reply.order, reply.understood) == (None, False)


def test_the_name_alone_is_waited_behind() -> None:
    reply = menu().take(heard("trainer"))
    assert (reply.say, reply.order, reply.understood) == ((), None, False)


def test_strangers_are_not_answered() -> None:
    menu_ = menu()
    for _ in range(5):
        assert menu_.take(heard("the next station", "not a call")).say == ()


def test_it_says_once_that_it_is_still_there_until_it_is_spoken_to() -> None:
    menu_ = menu()
    assert menu_.patience_seconds is not None
    assert menu_.silence().say == (STILL_HERE,)
    assert menu_.patience_seconds is None
    menu_.take(heard("what is there"))
    assert menu_.patience_seconds is not None


def test_again_and_debrief_need_something_to_be_about() -> None:
    menu_ = menu()
    assert menu_.take(heard("again")).order is None
    assert menu_.take(heard("debrief")).order is None
    assert "Debrief" not in menu_.opening().say[0]
    menu_.last_drill, menu_.has_session = "kelda-outbound", True
    assert menu_.take(heard("again")).order == "again"
    assert menu_.take(heard("debrief")).order == "debrief"
    assert "Debrief" in menu_.opening().say[0]


def test_again_from_the_fix_needs_a_fix() -> None:
    menu_ = menu()
    assert menu_.take(heard("again from the fix")).say == ("There is no fix to go back to.",)
    menu_.has_fix = True
    assert menu_.take(heard("once more from the last fix")).order == "again from the fix"


def test_say_again_repeats_what_was_told_last() -> None:
    menu_ = menu()
    told = menu_.take(heard("what is there")).say
    for words in ("say again", "trainer say again"):
        assert menu_.take(heard(words)).say == told


TEXTS = st.sampled_from(
    ["fly kelda outbound", "what is there", "again", "debrief", "say again", "end", "wilco", "mumble", ""]
)
CLARITIES: st.SearchStrategy[Clarity] = st.sampled_from(["clear", "unclear", "not a call"])


@given(st.lists(st.tuples(TEXTS, CLARITIES) | st.none(), max_size=20))
def test_whatever_is_said_nothing_is_begun_but_on_a_clear_order(
    said: list[tuple[str, Clarity] | None],
) -> None:
    menu_ = menu(has_session=True)
    for entry in said:
        if entry is None:
            assert menu_.silence().order is None
            continue
        reply = menu_.take(heard(*entry))
        if reply.order is not None:
            assert entry[1] == "clear"
            assert entry[0] in ("fly kelda outbound", "debrief", "end")
        if entry[1] == "clear":
            assert reply.say or reply.order or entry[0] == "say again"
