"""The conditions that a step or a window can wait for, as a drill author writes them.

`start` and `settled` belong to the drill itself; every other condition is an event of the flight, in the words
of `voice_trainer.flight.detectors` ('passage KLD', 'wings level', 'clock 1:00').
"""

from __future__ import annotations

from voice_trainer.flight.detectors import matches, parse_condition

OF_THE_DRILL = ("start", "settled")


def check_condition(text: str) -> str:
    """`text` itself if it is a condition; raises ValueError that names the known forms."""
    if text not in OF_THE_DRILL:
        parse_condition(text)
    return text


def is_met(condition: str, event_name: str) -> bool:
    """Whether the event of the flight called `event_name` is what `condition` waits for."""
    return condition not in OF_THE_DRILL and matches(condition, event_name)
