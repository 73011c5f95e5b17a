"""How the model may write one word of the domain: the ways that are counted together as one.

A spelling may only differ from another where a writer is free ('two eight four' or '284'); two words that a
grader tells apart never share a spelling outside numerals.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum, auto
from functools import lru_cache

DIGITS = {
    "zero": "0", "oh": "0", "one": "1", "two": "2", "three": "3", "tree": "3", "four": "4", "fower": "4",
    "five": "5", "fife": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9", "niner": "9",
}  # fmt: skip
"""Digits as they are said; 'tree', 'fower', 'fife' and 'niner' are those of ICAO Annex 10, volume II, 5.2.1.4."""

TEENS = {
    "ten": "10", "eleven": "11", "twelve": "12", "thirteen": "13", "fourteen": "14", "fifteen": "15",
    "sixteen": "16", "seventeen": "17", "eighteen": "18", "nineteen": "19",
}  # fmt: skip
TENS = {
    "twenty": "2", "thirty": "3", "forty": "4", "fifty": "5", "sixty": "6", "seventy": "7", "eighty": "8",
    "ninety": "9",
}  # fmt: skip

_ALSO = {
    "nine": ("nine", "niner", "nine or"),
    "niner": ("niner", "nine", "nine or"),
    "three": ("three", "tree"),
    "tree": ("tree", "three"),
    "five": ("five", "fife"),
    "fife": ("fife", "five"),
    "fower": ("fower", "four"),
    "okay": ("okay", "ok"),
    "localizer": ("localizer", "localiser"),
    "localiser": ("localiser", "localizer"),
    "center": ("center", "centre"),
    "centre": ("centre", "center"),
    "crosscheck": ("crosscheck", "cross check", "cross-check"),
    "crosschecked": ("crosschecked", "cross checked", "cross-checked"),
    "glideslope": ("glideslope", "glide slope"),
    "autopilot": ("autopilot", "auto pilot"),
    "readback": ("readback", "read back"),
    "juliett": ("juliett", "juliet"),
    "juliet": ("juliet", "juliett"),
    "alfa": ("alfa", "alpha"),
    "alpha": ("alpha", "alfa"),
    "xray": ("xray", "x-ray", "x ray"),
    "affirm": ("affirm", "a firm"),
    "standby": ("standby", "stand by"),
    "touchdown": ("touchdown", "touch down"),
    "midfield": ("midfield", "mid field"),
    "downwind": ("downwind", "down wind"),
    "transponder": ("transponder", "trans ponder"),
}

MISHEARD = {
    # The best of some thirty spellings of 64 synthetic 'niner's, and of six of 14 'heading's.
    "nine": ("either", "higher", "minor", "liner", "diner"),
    "niner": ("either", "higher", "minor", "liner", "diner"),
    "heading": ("having", "adding"),
}
"""Common English that the model often writes instead of a word of the trade. It counts as that word, unless the
domain itself has the other one, and at a cost: 'higher' may have been 'five', too."""

MISHEARD_NATS = 1.0

_INITIALS_TEXT = (
    "adf agl asr atc atis cdi cdu dme dtk eta faf gps gpws hsi iaf ifr ils imc lnav loc lpv mda mdh msl ndb nm "
    "obs pfd qfe qnh rnav rnp rvr tacan tas vdp vfr vmc vnav vor vsi"
)
_INITIALS = frozenset(_INITIALS_TEXT.split())


@dataclass(frozen=True, slots=True)
class Forms:
    """The ways to write one word: inside a sentence and at its beginning, the usual one first."""

    inside: tuple[str, ...]
    beginning: tuple[str, ...]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


@lru_cache(maxsize=4096)
def forms(word: str, name: bool, misheard: tuple[str, ...] = ()) -> Forms:
    """The ways to write `word`, `misheard` among them; a `name` may have a capital anywhere."""
    if word in _INITIALS or len(word) == 1:
        if len(word) == 1:
            return Forms((word.upper(), word) if word != "a" else (word, word.upper()), (word.upper(),))
        letters = " ".join(word.upper())
        return Forms((word.upper(), letters, word), (word.upper(), letters, _capital(word)))
    plain = _ALSO.get(word, (word,)) + misheard
    capitals = tuple(_capital(text) for text in plain)
    return Forms(plain + capitals if name else plain, capitals)


class Numeral(Enum):
    """How far a numeral has been written."""

    OUTSIDE = auto()
    DIGITS = auto()  # may end, may go on
    POINT = auto()  # after a decimal point: a digit must follow
    TENS = auto()  # '2' for 'twenty': the unit must follow
    THOUSANDS = auto()  # '2,' for 'two thousand': the hundreds must follow
    HUNDREDS = auto()  # '2,6': the word 'hundred' must follow
    REST = auto()  # '2' for 'two hundred': tens and units must follow
    COMPLETE = auto()  # may end, may not go on


def may_end(numeral: Numeral) -> bool:
    """Whether a numeral so far may be followed by something else."""
    return numeral in (Numeral.OUTSIDE, Numeral.DIGITS, Numeral.COMPLETE)


@lru_cache(maxsize=4096)
def numerals(word: str, numeral: Numeral) -> tuple[tuple[str, Numeral], ...]:
    """What `word` adds to a numeral, each with how far the numeral is then: ('284', '2,600', '114.3')."""
    digit = DIGITS.get(word)
    match numeral:
        case Numeral.OUTSIDE | Numeral.DIGITS:
            if digit:
                return ((digit, Numeral.DIGITS),)
            if word in TEENS:
                return ((TEENS[word], Numeral.DIGITS),)
            if word in TENS:
                return ((TENS[word] + "0", Numeral.DIGITS), (TENS[word], Numeral.TENS))
            if numeral is Numeral.OUTSIDE:
                return ()
            if word == "thousand":
                return (
                    (",000", Numeral.COMPLETE),
                    ("000", Numeral.COMPLETE),
                    (",", Numeral.THOUSANDS),
                    ("", Numeral.THOUSANDS),
                )
            if word == "hundred":
                return (("00", Numeral.COMPLETE), ("", Numeral.REST))
            if word in ("point", "decimal"):
                return ((".", Numeral.POINT),)
            if word in ("left", "right", "center"):
                return ((word[0].upper(), Numeral.COMPLETE),)
            return ()
        case Numeral.POINT:
            return ((digit, Numeral.DIGITS),) if digit else ()
        case Numeral.TENS:
            return ((digit, Numeral.DIGITS),) if digit and digit != "0" else ()
        case Numeral.THOUSANDS:
            return ((digit, Numeral.HUNDREDS),) if digit and digit != "0" else ()
        case Numeral.HUNDREDS:
            return (("00", Numeral.COMPLETE), ("", Numeral.REST)) if word == "hundred" else ()
        case Numeral.REST:
            if word in TEENS:
                return ((TEENS[word], Numeral.COMPLETE),)
            if word in TENS:
                return ((TENS[word] + "0", Numeral.COMPLETE), (TENS[word], Numeral.TENS))
            if word == "and":
                return (("", Numeral.REST),)
            return (("0" + digit, Numeral.COMPLETE),) if digit and digit != "0" else ()
        case Numeral.COMPLETE:
            return ()
