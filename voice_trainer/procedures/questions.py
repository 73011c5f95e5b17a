"""What is asked of somebody who types in an approach, in the order in which a chart is read."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from voice_trainer.phraseology.slots import slot_type

Answers = Mapping[str, str]
Plain = str | int | float | bool


class NotAnAnswerError(ValueError):
    """What was typed is no answer to the question; the message says what one looks like."""


@dataclass(frozen=True, slots=True)
class Question:
    """One item: the dotted key that it fills, how it is asked, how an answer is read, and when it is asked at all.

    `usual` is what an empty answer means, None where there must be one.
    """

    key: str
    asks: str
    read: Callable[[str], Plain]
    usual: str | None = None
    applies: Callable[[Answers], bool] = lambda answers: True


def _words(text: str) -> str:
    if not all(part.replace("'", "").isalpha() for part in text.split()) or not text.split():
        raise NotAnAnswerError("give words without figures, such as Brannock")
    return " ".join(text.split())


def _name(text: str) -> str:
    name = "-".join(text.lower().split())
    if not name or not all(c.isascii() and (c.isalnum() or c == "-") for c in name) or len(name) > 61:
        raise NotAnAnswerError("give small letters, figures and hyphens, such as kelda-vor-15")
    return name


def _ident(text: str) -> str:
    if not (text.isascii() and text.isalpha() and 2 <= len(text) <= 5):
        raise NotAnAnswerError("give two to five letters, such as KLD")
    return text.upper()


_UNIT = re.compile(r"\s*(feet|ft|nm|miles|degrees|°)\.?$", re.IGNORECASE)
"""What somebody may write behind a number, though the question names it."""


def _number(text: str, least: float, most: float, unit: str, *, whole: bool) -> float:
    try:
        value = float(_UNIT.sub("", text).replace(",", ""))
    except ValueError:
        raise NotAnAnswerError(f"give a number of {unit}") from None
    if not least <= value <= most or (whole and value != int(value)):
        raise NotAnAnswerError(
            f"give {'a whole number' if whole else 'a number'} of {unit} from {least:g} to {most:g}"
        )
    return int(value) if whole else value


def _feet(text: str) -> float:
    return _number(text, 0, 18000, "feet", whole=True)


def _miles(text: str) -> float:
    return _number(text, 0.1, 60, "nautical miles", whole=False)


def _course(text: str) -> float:
    return _number(text, 1, 360, "degrees", whole=True)


def _of(*options: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        found = [option for option in options if option == text.lower() or option.startswith(text.lower())]
        if len(found) != 1 and text.lower() not in options:
            raise NotAnAnswerError(f"give one of {', '.join(options)}")
        return text.lower() if text.lower() in options else found[0]

    return read


def _slot(kind: str) -> Callable[[str], str]:
    def read(text: str) -> str:
        try:
            return slot_type(kind).canonical(text)
        except ValueError as error:
            what, _, advice = str(error).partition(": ")
            raise NotAnAnswerError(advice or what) from None

    return read


def _reversal(*kinds: str) -> Callable[[Answers], bool]:
    return lambda answers: answers.get("course_reversal.kind") in kinds


QUESTIONS = (
    Question("approach", "A name for it (small letters and hyphens)", _name),
    Question("title", "Its title, as on the chart", str),
    Question("spoken_title", "How it is said, figures and runway left out (V O R, I L S)", _words, "V O R"),
    Question("kind", "Kind: vor, vor/dme, tacan", _of("vor/dme", "vor", "tacan"), "vor"),
    Question("field.name", "The airfield", _words),
    Question("field.runway", "The runway", _slot("runway")),
    Question("field.touchdown_elevation_feet", "Touchdown zone elevation, feet", _feet),
    Question("field.approach_control", "Whom you report to before the final", _words),
    Question("field.tower", "Whom you report to on final", _words),
    Question("navaid.ident", "The navaid's ident", _ident),
    Question("navaid.name", "The navaid's name", _words),
    Question("navaid.frequency", "Its frequency", _slot("frequency")),
    Question("start.radial_degrees", "You come from which radial of it", _course),
    Question("start.distance_nm", "From how far, nautical miles", _miles, "9"),
    Question("start.altitude_feet", "At what altitude, feet", _feet),
    Question("final.course_degrees", "Final approach course", _course),
    Question(
        "course_reversal.kind",
        "Course reversal: procedure turn, teardrop, hold in lieu, arc",
        _of("procedure turn", "teardrop", "hold in lieu", "arc"),
        "procedure turn",
    ),
    Question(
        "course_reversal.side", "Procedure turn to the left or right, seen outbound", _of("left", "right"),
        applies=_reversal("procedure turn"),
    ),
    Question("course_reversal.outbound_degrees", "Teardrop: course outbound", _course, applies=_reversal("teardrop")),
    Question(
        "course_reversal.turns", "Holding turns: right or left", _of("right", "left"), "right",
        _reversal("hold in lieu"),
    ),
    Question("course_reversal.distance_nm", "Arc: distance, nautical miles", _miles, applies=_reversal("arc")),
    Question("course_reversal.altitude_feet", "Lowest altitude of the course reversal, feet", _feet),
    Question(
        "course_reversal.limit_nm", "To remain within, nautical miles", _miles, "10",
        _reversal("procedure turn", "teardrop", "hold in lieu"),
    ),
    Question(
        "final.fix_distance_nm", "Final approach fix: its distance, or nothing where it is the navaid", _miles, "",
        lambda answers: answers.get("kind") != "vor",
    ),
    Question("final.altitude_feet", "Altitude at the final approach fix, feet", _feet),
    Question("final.minimums_feet", "Minimums, feet", _feet),
    Question(
        "final.missed_approach_point.by", "Missed approach point by: time, distance", _of("time", "distance"), "time",
    ),
    Question(
        "final.missed_approach_point.distance_nm",
        "By time: miles from the final fix to it. By distance: the reading there",
        _miles,
    ),
    Question("missed_approach.climb_feet", "Missed approach: climb to, feet", _feet),
    Question("missed_approach.turn", "Then a turn left or right", _of("left", "right"), "right"),
)  # fmt: skip
"""Approaches that begin and end at one navaid; the others are written by hand, as those that come with the program."""
