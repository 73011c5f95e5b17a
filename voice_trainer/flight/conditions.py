"""The names of flight events, and the conditions that wait for them.

| condition                      | the event                                                              |
| ------------------------------ | ---------------------------------------------------------------------- |
| `passage KLD`                  | the navaid or waypoint is passed                                       |
| `nearing KLD`                  | the navaid or waypoint is close, and comes closer                      |
| `abeam KLD`                    | it lies square to the side of the track, and not overhead              |
| `wings level`, `wings level 333` | a turn has ended, on any heading or on that one                      |
| `clock 1:00`                   | the clock on the panel reads so much                                   |
| `level`, `level 2600`          | an altitude has been reached, any or that one, in feet                 |
| `passing 2900`                 | the aeroplane climbs or descends through that altitude, in feet        |
| `established 153`              | the needle has come in, on a heading that goes that way                |
| `needle alive 153`             | the needle has left its stop, on a heading that goes that way          |
| `distance 10.0 KLD`            | the distance, slant where it has a DME, has become so many miles       |
| `radial 087 KLD`               | the aeroplane crosses that radial                                      |
| `within 1000 of 3000`          | so many feet are left to an altitude that it was told                  |
| `minimums alert`               | it has descended to the minimums that were set for the alert           |
| `too fast`                     | it has become faster than its segment allows                           |
| `below lowest`                 | it has gone below the lowest altitude of its segment                   |
| `outside area`                 | it has left the area of the drill                                      |
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from voice_trainer.flight.timing import DURATION, duration_seconds


class ConditionError(ValueError):
    """A text that is no condition of the flight; the message says what is wrong and what is known."""


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition taken apart: 'wings level 333' is kind 'wings level', argument '333' (None where open)."""

    kind: str
    argument: str | None


@dataclass(frozen=True, slots=True)
class _Form:
    argument: re.Pattern[str]
    wants: str
    may_be_open: bool


_IDENT = _Form(re.compile(r"[A-Z]{2,5}"), "an ident such as KLD", may_be_open=False)
_DIRECTION = re.compile(r"(?!000)(?:[0-2][0-9]{2}|3[0-5][0-9]|360)")
_ALTITUDE = re.compile(r"[1-9][0-9]{1,4}")
_COURSE = _Form(_DIRECTION, "three digits of a course, 001 to 360", may_be_open=False)
_ALONE = _Form(re.compile(r"(?!)"), "nothing more", may_be_open=True)
_FORMS = {
    "passage": _IDENT,
    "nearing": _IDENT,
    "wings level": _Form(_DIRECTION, "three digits of a heading, 001 to 360, or nothing", may_be_open=True),
    "clock": _Form(DURATION, "a reading such as 1:00", may_be_open=False),
    "level": _Form(_ALTITUDE, "an altitude in feet such as 2600, or nothing", may_be_open=True),
    "passing": _Form(_ALTITUDE, "an altitude in feet such as 2900", may_be_open=False),
    "established": _COURSE,
    "abeam": _IDENT,
    "needle alive": _COURSE,
    "distance": _Form(
        re.compile(r"(?:[0-9]|[1-9][0-9]{1,2})(?:\.[0-9])? [A-Z]{2,5}"),
        "miles and an ident such as 10.0 KLD",
        may_be_open=False,
    ),
    "radial": _Form(
        re.compile(_DIRECTION.pattern + r" [A-Z]{2,5}"),
        "three digits of a radial and an ident such as 087 KLD",
        may_be_open=False,
    ),
    "within": _Form(
        re.compile(r"[1-9][0-9]{1,3} of [1-9][0-9]{1,4}"),
        "feet and an altitude such as 1000 of 3000",
        may_be_open=False,
    ),
    "minimums alert": _ALONE,
    "too fast": _ALONE,
    "below lowest": _ALONE,
    "outside area": _ALONE,
}

KINDS = tuple(_FORMS)
"""What a condition may begin with."""


@lru_cache(maxsize=1024)
def parse_condition(text: str) -> Condition:
    """The condition that `text` is. Raises ConditionError for unknown forms and impossible arguments."""
    kind = next((kind for kind in _FORMS if text == kind or text.startswith(f"{kind} ")), None)
    if kind is None:
        raise ConditionError(f"'{text}' is no condition; they begin with: {', '.join(_FORMS)}")
    form = _FORMS[kind]
    argument = text[len(kind) + 1 :] if text != kind else None
    if argument is None and form.may_be_open:
        return Condition(kind, None)
    if argument is None or form.argument.fullmatch(argument) is None:
        raise ConditionError(f"'{text}': after '{kind}' comes {form.wants}")
    if kind == "clock" and duration_seconds(argument) == 0:
        raise ConditionError(f"'{text}': 0:00 is where the clock starts; wait for what comes before instead")
    return Condition(kind, argument)


def matches(condition: str, event_name: str) -> bool:
    """Whether the event is what the condition waits for: its name begins with the condition's words."""
    words = condition.split()
    return bool(words) and event_name.split()[: len(words)] == words
