"""The menu between drills: what was heard comes in, what to say and to do goes out. Knows no sound and no clock.

What is unclear is asked again, at most twice; then the menu is repeated. After a long silence the trainer says once
that it is still there, then waits quietly until it is spoken to.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.menu_orders import CALLED, menu_order
from voice_trainer.phraseology.orders import FROM_THE_FIX
from voice_trainer.phraseology.trainer_name import TRAINER_NAME
from voice_trainer.sequencing.answers import SAY_AGAIN
from voice_trainer.session.keys import FREEZE_OR_CONTINUE

MOST_ASKS = 2
PATIENCE_SECONDS = 45.0

STILL_HERE = "I am still here. Say menu to hear what you can say. I wait."


@dataclass(frozen=True, slots=True)
class Reply:
    """What the menu does with what it heard: sentences to say, and an order that is not its own to obey.

    `order` is 'start DRILL', 'due', 'practise', 'practise NUMBER', 'debrief', 'full debrief', 'again from the fix',
    'slower', 'faster', 'end', or None. `understood` is False where the student has to say it again.
    """

    say: tuple[str, ...] = ()
    order: str | None = None
    understood: bool = True


class Menu:
    """`drills` maps spoken names to the drills' own; `has_session`: there is something to debrief."""

    def __init__(
        self, drills: Mapping[str, str], trainer_name: str = TRAINER_NAME, *, has_session: bool = False
    ) -> None:
        self.has_session = has_session
        self.last_drill: str | None = None
        self.has_fix = False
        """Whether the last drill can be flown again from a fix."""
        self._drills = dict(drills)
        self._trainer_name = trainer_name
        self._asked = 0
        self._said_that_it_is_there = False
        self._said: tuple[str, ...] = ()

    @property
    def patience_seconds(self) -> float | None:
        """After how much silence to call `silence`; None for never."""
        return None if self._said_that_it_is_there else PATIENCE_SECONDS

    def opening(self) -> Reply:
        """The menu, short."""
        parts = ["Say: fly, and the name of a drill. Or: what is there. What is due. Practice. Ten minutes."]
        if self.last_drill is not None:
            parts.append("Again.")
        if self.has_session:
            parts.append("Debrief.")
        parts.append("Slower. Faster. Or: end.")
        return self._reply(" ".join(parts))

    def silence(self) -> Reply:
        """Nothing was said for a long time."""
        self._said_that_it_is_there = True
        return Reply((STILL_HERE,))

    def take(self, hearing: Hearing) -> Reply:
        """What to do with an utterance that was, or may have been, meant for the trainer."""
        if hearing.clarity == "not a call":
            return Reply(understood=False)
        order = self._order_in(hearing)
        if hearing.clarity != "clear" or order is None:
            return self._ask_again()
        return self.obey(order)

    def obey(self, order: str) -> Reply:
        """What to do with an order that was understood, or given by a key."""
        self._asked = 0
        self._said_that_it_is_there = False
        match order:
            case order if order in (CALLED, FREEZE_OR_CONTINUE):
                return Reply(understood=False)
            case "list":
                return self._reply(self._what_is_there())
            case "menu":
                return self.opening()
            case "say again":
                return Reply(self._said)
            case "debrief" | "full debrief" if not self.has_session:
                return self._reply("There is no session yet. Fly one first.")
            case "again" if self.last_drill is None:
                return self._reply("There is nothing to repeat yet.")
            case order if order == FROM_THE_FIX and not self.has_fix:
                return self._reply("There is no fix to go back to.")
            case "skip":
                return self._reply("There is nothing to skip here.")
            case _:
                return Reply(order=order)

    def _order_in(self, hearing: Hearing) -> str | None:
        """The order in an utterance that is one order and nothing else: strangers talk of ends and starts, too."""
        spans = hearing.best.spans if hearing.best else ()
        if len(spans) != 1:
            return None
        # 'Say again' and 'speak slower' are also said on the radio.
        if spans[0].text in _ALSO_ON_THE_RADIO:
            return _ALSO_ON_THE_RADIO[spans[0].text]
        meanings = spans[0].meanings
        orders = (menu_order(m.phrase, m.slots, self._drills, self._trainer_name) for m in meanings)
        return next((order for order in orders if order is not None), None)

    def _ask_again(self) -> Reply:
        self._asked += 1
        if self._asked <= MOST_ASKS:
            return Reply((SAY_AGAIN,), understood=False)
        self._asked = 0
        return Reply(("I can't make that out.", *self.opening().say), understood=False)

    def _what_is_there(self) -> str:
        names = list(self._drills)
        if not names:
            return "There are no drills here."
        count = "One drill" if len(names) == 1 else "These drills"
        return f"{count}: {'; '.join(names)}."

    def _reply(self, *texts: str) -> Reply:
        self._said = texts
        return Reply(texts)


_ALSO_ON_THE_RADIO = {"say again": "say again", "speak slower": "slower"}
