"""Any text or recogniser's words to the plain words that patterns and slots know: a list of small steps.

Each step takes and returns tokens, a token being a word and the index of the source word that it came from,
so that an engine keeps the times of its words through all of them. Nothing here guesses: 'to' and 'two',
'for' and 'four' stay what they are.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from voice_trainer.phraseology.numerals import DIGITS

Token = tuple[str, int]
"""A word, and the index of the source word it came from."""

Step = Callable[[list[Token]], list[Token]]
"""One transform."""

FILLERS = frozenset({"uh", "uhh", "um", "umm", "er", "erm", "ah", "hm", "hmm", "mm"})

HOMOPHONES: dict[str, str] = {
    # AIM table 4-2-2 and ICAO Annex 10 Volume II 5.2.1.4.3.1: how the digits are pronounced.
    "tree": "three", "fower": "four", "fife": "five", "niner": "nine", "oh": "zero", "o": "zero",
    # Spellings of the alphabet that recognisers and people use for those of AIM table 4-2-2.
    "alpha": "alfa", "juliet": "juliett", "juliette": "juliett", "whisky": "whiskey",
    # One spelling for each word of the trade.
    "centre": "center", "ok": "okay", "standby": "stand by",
    "nm": "nautical miles", "kts": "knots", "kt": "knots", "ft": "feet",
    "fpm": "feet per minute", "hpa": "hectopascals",
}  # fmt: skip
"""One word to the word or words that it is read as."""

PHRASES: dict[tuple[str, ...], str] = {
    tuple(said.split()): word
    for said, word in {
        "x ray": "xray", "d m e": "dme", "nav aid": "navaid", "nav aids": "navaids", "cut off": "cutoff",
        "v o r": "vor", "i l s": "ils", "m d a": "mda", "n d b": "ndb", "v d p": "vdp",
        "d h": "dh", "d a": "da", "r p m": "rpm", "q n h": "qnh", "per cent": "percent",
        "check list": "checklist", "take off": "takeoff", "call sign": "callsign", "air speed": "airspeed",
        "counter clockwise": "counterclockwise", "anti clockwise": "counterclockwise",
        "anticlockwise": "counterclockwise", "tail wheel": "tailwheel", "cross check": "crosscheck",
        "air plane": "airplane", "glide slope": "glideslope", "glide path": "glidepath",
        "auto pilot": "autopilot",
    }.items()
}  # fmt: skip
"""Several words that are read as one."""


def lower(tokens: list[Token]) -> list[Token]:
    """Lower case; a typographic apostrophe becomes the plain one."""
    return [(word.lower().replace("’", "'"), source) for word, source in tokens]


def _thousands_and_hundreds(number: int) -> list[str]:
    """2600 -> two thousand six hundred; digits one by one where it is no whole hundred."""
    if number % 100 or number == 0:
        return [DIGITS[int(each)] for each in str(number)]
    words: list[str] = []
    if number >= 1000:
        words = [*(DIGITS[int(each)] for each in str(number // 1000)), "thousand"]
    if number % 1000:
        words += [DIGITS[number % 1000 // 100], "hundred"]
    return words


def _figure(text: str) -> list[str]:
    """One figure as typed: '2,600', '1:15', '114.3' or '333'."""
    if "," in text:
        return _thousands_and_hundreds(int(text.replace(",", "")))
    if ":" in text:
        minutes, _, seconds = text.partition(":")
        return [*(DIGITS[int(each)] for each in minutes), "plus", *(DIGITS[int(each)] for each in seconds)]
    return ["point" if each == "." else DIGITS[int(each)] for each in text]


_FIGURE = re.compile(r"[0-9]{1,3}(?:,[0-9]{3})+(?![0-9])|[0-9]:[0-5][0-9](?![0-9])|[0-9]+(?:\.[0-9]+)?")


def figures(tokens: list[Token]) -> list[Token]:
    """Typed figures to digit words: 333, 2,600, 114.3, 1:15."""
    out: list[Token] = []
    for word, source in tokens:
        spaced = _FIGURE.sub(lambda found: f" {' '.join(_figure(found[0]))} ", word)
        out.extend((part, source) for part in spaced.split())
    return out


def signs(tokens: list[Token]) -> list[Token]:
    """Typed signs that are words: '65%', '8°'."""
    return [(word.replace("%", " percent ").replace("°", " degrees "), source) for word, source in tokens]


def punctuation(tokens: list[Token]) -> list[Token]:
    """Punctuation and hyphens to blanks; an apostrophe inside a word stays."""
    out: list[Token] = []
    for word, source in tokens:
        parts = re.sub(r"[^\w']|_", " ", word).split()
        out.extend((stripped, source) for part in parts if (stripped := part.strip("'")))
    return out


def compounds(tokens: list[Token]) -> list[Token]:
    """Several words that are one: 'x ray', 'd m e', 'cut off'."""
    out: list[Token] = []
    at = 0
    while at < len(tokens):
        for length in (3, 2, 1):
            said = tuple(word for word, _ in tokens[at : at + length])
            if len(said) == length and said in PHRASES:
                out.append((PHRASES[said], tokens[at][1]))
                at += length
                break
        else:
            out.append(tokens[at])
            at += 1
    return out


def homophones(tokens: list[Token]) -> list[Token]:
    """One spelling for each word: niner, tree, oh, alpha; never to and two, for and four."""
    return [(part, source) for word, source in tokens for part in HOMOPHONES.get(word, word).split()]


def fillers(tokens: list[Token]) -> list[Token]:
    """Drop uh, um, er."""
    return [(word, source) for word, source in tokens if word not in FILLERS]


STEPS: tuple[Step, ...] = (lower, figures, signs, punctuation, fillers, compounds, homophones)
"""Every step, in the order in which `normalise` takes them."""


def normalise_words(words: Iterable[str]) -> tuple[Token, ...]:
    """Recognised words to (plain word, index of its source word); some words vanish, some become several."""
    tokens: list[Token] = [(word, index) for index, word in enumerate(words)]
    for step in STEPS:
        tokens = step(tokens)
    return tuple(tokens)


def normalise(text: str) -> tuple[str, ...]:
    """Any text to plain words: 'Turn left, heading 284' -> turn left heading two eight four."""
    return tuple(word for word, _ in normalise_words(text.split()))
