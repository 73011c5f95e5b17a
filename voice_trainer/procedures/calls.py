"""The calls of a flown procedure: their words, what they do, and why they are so."""

from __future__ import annotations

from voice_trainer.drills.model import Call, Window
from voice_trainer.flight.courses import Side, text
from voice_trainer.phraseology.slots import Region
from voice_trainer.procedures.setting import HEADING_TOLERANCE_DEGREES, Corrected

CLOCK_SECONDS = 4.0
CLOCK = "(start [the] clock | clock started | time started)"


HECTOPASCALS_PER_INCH = 33.8639
"""Of mercury: NIST SP 811 appendix B (from memory)."""


def altimeter_setting(region: Region, inches: float) -> tuple[str, str]:
    """What an altimeter setting (inches of mercury) is called in the region, and its slot."""
    if region == "icao":
        return "Q N H", f"{{qnh: {round(inches * HECTOPASCALS_PER_INCH)}}}"
    return "altimeter", f"{{altimeter: {inches:.2f}}}"


def turn(
    name: str, side: Side, heading: Corrected | str, because: str = "", within_seconds: float = 8.0
) -> Call:
    """A turn to a heading, which may be a little off where it had to be worked out."""
    exact = isinstance(heading, str)
    degrees = heading if isinstance(heading, str) else heading.heading
    return Call(
        call=name,
        say=f"turn {side} [heading] {{heading: {degrees}}}",
        does="turn",
        within={} if exact else {"heading": HEADING_TOLERANCE_DEGREES},
        window=Window(within_seconds=within_seconds),
        because=because or (None if isinstance(heading, str) else heading.because),
    )


def clock(name: str, because: str) -> Call:
    """The clock is started."""
    return Call(
        call=name, say=CLOCK, does="clock", window=Window(within_seconds=CLOCK_SECONDS), because=because
    )


def descend(name: str, altitude_feet: int, because: str, within_seconds: float = 8.0) -> Call:
    """A descent to an altitude."""
    return Call(
        call=name,
        say=f"descend [and maintain | to] {{altitude: {altitude_feet}}}",
        does="altitude",
        window=Window(within_seconds=within_seconds),
        because=because,
    )


def descend_to_minimums(name: str, minimums_feet: int, because: str) -> Call:
    """The last descent; minimums are said in digits or in thousands."""
    return Call(
        call=name,
        say=f"descend [and maintain | to] {{minimums: {minimums_feet}}}",
        does="altitude",
        because=because,
    )


def set_course(name: str, course_degrees: float, because: str) -> Call:
    """The course selector is set."""
    return Call(
        call=name,
        say=f"(set | twist) [course] {{course: {text(course_degrees)}}}",
        does="course",
        because=because,
    )


def track(name: str, course_degrees: float, way: str, because: str, within_seconds: float = 10.0) -> Call:
    """A course is intercepted and kept; `way` is 'inbound' or 'outbound'."""
    return Call(
        call=name,
        say=f"(intercept | track) [course] {{course: {text(course_degrees)}}} [{way}]",
        does="track",
        window=Window(within_seconds=within_seconds),
        because=because,
    )


def speed(name: str, knots: str, because: str, window: Window | None = None) -> Call:
    """The airspeed is changed."""
    return Call(
        call=name,
        say=f"(slow to | slowing [to] | speed) {{speed: {knots}}} [knots]",
        does="speed",
        window=window or Window(),
        because=because,
    )


def gear(down: bool, because: str) -> Call:
    """The gear goes down, or up."""
    if down:
        return Call(
            call="gear", say="gear down [three green]", does="gear", given={"gear": "down"}, because=because
        )
    return Call(call="gear", say="positive rate gear up", does="gear", given={"gear": "up"}, because=because)


def flaps(setting: str, because: str) -> Call:
    """The flaps are set to 'approach', or 'up'."""
    return Call(call="flaps", say=f"flaps {setting}", does="flaps", given={"flap": setting}, because=because)


def not_required(check: str, because: str) -> Call:
    """There is nothing to do for a check, and that is said."""
    return Call(call=check, say=f"{check} not required", because=because)


def spoken(text_: str, name: str, because: str, *, within_seconds: float = 8.0) -> Call:
    """A call that is only words."""
    return Call(call=name, say=text_, window=Window(within_seconds=within_seconds), because=because or None)


def callsign_read_back(callsign: str, window: Window | None = None) -> Call:
    """The callsign of a readback; asked for where it is left out."""
    return Call(
        call="callsign",
        say=f"{{callsign: {callsign}}}",
        ask="say your callsign",
        window=window or Window(),
        because="Every readback carries the callsign (AIM 4-4-7b).",
    )
