"""The reply to an order that was typed: whether it was obeyed, by the facts that came of it, or why it is dead now."""

from __future__ import annotations

from collections import Counter
from typing import get_args

from voice_trainer.drills.model import Level
from voice_trainer.journal.events import (
    AnyFact,
    Disputed,
    Jumped,
    LevelChanged,
    PaceChanged,
    Paused,
    Resumed,
    Skipped,
    ToTrainer,
    WentBack,
)
from voice_trainer.phraseology.orders import FROM_THE_FIX, I_SAID, START

OBEYED_BY: dict[str, tuple[type[AnyFact], str]] = {
    "freeze": (Paused, "everything stands still already"),
    "continue": (Resumed, "nothing was frozen"),
    "slower": (PaceChanged, ""),
    "faster": (PaceChanged, ""),
    "skip": (Skipped, "no call is due"),
    "next event": (Jumped, "there is no event to fly to"),
    "back": (WentBack, "there is nothing to go back to"),
    I_SAID: (Disputed, "nothing was held against you there"),
    **dict.fromkeys(get_args(Level), (LevelChanged, "")),
}
"""The fact by which it shows that an order was obeyed, and what it says where there is none."""


def order_reply(said: ToTrainer, facts: Counter[type], *, finishes: bool, cue_given: bool) -> str:
    """One order. `facts` counts the records of the line by type, and what is used of them is taken away; `finishes`:
    the session is to end; `cue_given`: something has been said that can be said again.
    """
    order = said.order
    if order in OBEYED_BY:
        fact, dead = OBEYED_BY[order]
        if not facts[fact]:
            return f"order: {order}, of no use now: {dead}"
        facts[fact] -= 1
    elif order == FROM_THE_FIX and not finishes:
        return f"order: {order}, of no use now: there is no fix to go back to"
    elif order == "say again" and not cue_given:
        return f"order: {order}, of no use now: nothing has been said"
    elif order.startswith(f"{START} ") and not finishes:
        return f"order: {order}, of no use now"
    about = f", {said.step}, {said.call} is disputed" if said.step and order == I_SAID else ""
    return f"order: {order}{about or ', obeyed'}"
