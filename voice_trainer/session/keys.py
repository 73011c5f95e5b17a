"""The keys that stand for orders, for whoever has a hand free."""

from __future__ import annotations

from collections.abc import Callable

from voice_trainer.session.push_to_talk import PushToTalk

FREEZE_OR_CONTINUE = "freeze or continue"
KEYS = {"p": FREEZE_OR_CONTINUE, "r": "say again", "q": "end"}
TALK = " "


class Keys:
    """Call it with the session time after every block: the orders of the keys that were pressed since.

    `pressed` gives those keys. The space bar opens and closes `push_to_talk`, where that is wanted.
    """

    def __init__(self, pressed: Callable[[], str], push_to_talk: PushToTalk | None = None) -> None:
        self._pressed = pressed
        self._push_to_talk = push_to_talk
        self._clock_seconds = 0.0
        self._last_seconds = 0.0

    def __call__(self, now_seconds: float) -> list[str]:
        """See the class. Time may begin anew (another drill): pushing to talk goes on."""
        self._clock_seconds += max(0.0, now_seconds - self._last_seconds)
        self._last_seconds = now_seconds
        orders = []
        for key in self._pressed():
            if key == TALK and self._push_to_talk is not None:
                self._push_to_talk.press(self._clock_seconds)
            elif key.lower() in KEYS:
                orders.append(KEYS[key.lower()])
        if self._push_to_talk is not None:
            self._push_to_talk.tick(self._clock_seconds)
        return orders
