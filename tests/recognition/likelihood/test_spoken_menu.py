"""The menu between drills, spoken by espeak-ng, heard by the real model: every built-in drill and every order.

The voices were chosen before any result was seen. What can't be made out is asked again; nothing is taken for another.
"""

from __future__ import annotations

import pytest
from spoken_calls import speech

from voice_trainer.drills.spoken_names import by_spoken_name, pronounced
from voice_trainer.journal.hearing import Hearing
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.menu_orders import menu_phrases
from voice_trainer.phraseology.trade import trade_phrases
from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser
from voice_trainer.session.menu import Menu

pytestmark = pytest.mark.slow

ON_DEMAND = [pytest.param(voice, marks=pytest.mark.long) for voice in ("en-us+f3", "en-gb")]
VOICES = ("en-us", *ON_DEMAND)
"""The menu has the name of every drill: one voice takes a minute."""
LEAST_UNDERSTOOD = 0.8

DRILLS = by_spoken_name(find_drill(name) for name in builtin_drills())
NAMES = {spoken: drill.drill for spoken, drill in DRILLS.items()}
ORDERS = {
    "trainer, what is there": "list",
    "what is there": "list",
    "what is due": "due",
    "trainer, what is due": "due",
    "practice": "practise",
    "ten minutes": "practise 10",
    "trainer, five minutes": "practise 5",
    "practice for twenty minutes": "practise 20",
    "debrief": "debrief",
    "full debrief": "full debrief",
    "trainer, again": "again",
    "slower": "slower",
    "faster": "faster",
    "end": "end",
    "trainer, end": "end",
}
FLY = {f"trainer, fly {spoken}": f"start {drill}" for spoken, drill in NAMES.items()}
START = {f"start {spoken}": f"start {drill}" for spoken, drill in NAMES.items()}
STRANGERS = (
    "the next station is on the left",
    "can you hand me the salt please",
    "I need help with this",
    "we will start again tomorrow morning",
    "and in the end he stopped flying",
    "is this seat taken",
    "we will be there in ten minutes",
    "the train is due at half past nine",
)


@pytest.fixture(scope="module")
def at_the_menu(other_engine: LikelihoodRecogniser) -> LikelihoodRecogniser:
    other_engine.prepare(Grammar((*menu_phrases(NAMES), *trade_phrases())), pronounced(DRILLS.values()))
    return other_engine


def obeyed(hearing: Hearing) -> str | None:
    """What the menu would do, 'list' being told in its words."""
    menu = Menu(NAMES, has_session=True)
    menu.last_drill = "kelda-outbound"
    reply = menu.take(hearing)
    if reply.order == "start kelda-outbound" and "again" in hearing.text:
        return "again"
    return reply.order or ("list" if reply.understood else None)


@pytest.mark.parametrize("voice", VOICES)
def test_every_drill_and_order_is_obeyed_as_itself_or_asked_again(
    at_the_menu: LikelihoodRecogniser, voice: str
) -> None:
    asked: list[str] = []
    wanted = ORDERS | FLY | START
    for text, order in wanted.items():
        done = obeyed(at_the_menu.hear(speech(text, voice), 0.0))
        if done is None:
            asked.append(text)
        else:
            assert done == order, text
    print(f"{voice}: {len(wanted)} said at the menu, asked again: {asked or 'none'}")
    assert len(asked) <= (1 - LEAST_UNDERSTOOD) * len(wanted)


@pytest.mark.parametrize("voice", VOICES)
def test_strangers_begin_and_end_nothing(at_the_menu: LikelihoodRecogniser, voice: str) -> None:
    for text in STRANGERS:
        hearing = at_the_menu.hear(speech(text, voice), 0.0)
        assert obeyed(hearing) is None, (text, hearing.text)
