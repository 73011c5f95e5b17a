"""Cue text to the words that a voice is given: every number is a slot and is written out here.

Voices say '048' as 'zero forty eight'. So an author writes {heading: 048}, and a bare figure in a cue is an
error.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from voice_trainer.phraseology.normaliser import PHRASES
from voice_trainer.phraseology.numerals import cardinal_words, spoken_digits
from voice_trainer.phraseology.pattern_text import Place, place_in, read_slot
from voice_trainer.phraseology.slots import Region, UnknownSlotTypeError, slot_type

SPELLED = {
    word: " ".join(letters).upper()
    for letters, word in PHRASES.items()
    if len(letters) > 1 and all(len(letter) == 1 for letter in letters)
}
"""Abbreviations that patterns know as one word and voices must spell: vor -> V O R."""

_NOTABLE = re.compile(r"[{}]|\d")


def said_aloud(words: Iterable[str]) -> str:
    """The words of a pattern (`Pattern.spoken`) as a voice must be given them."""
    return " ".join(SPELLED.get(word, word) for word in words)


def spoken_text(text: str, region: Region = "faa", *, line: int = 1, column: int = 1) -> str:
    """`text` with every {type: value} replaced by its standard spoken words, all else as it was.

    The text stands at `line` and `column` of its file. Raises PatternError for a figure outside a slot, and
    for a slot that is open, broken, unknown or illegal.
    """
    out: list[str] = []
    at = 0
    while (found := _NOTABLE.search(text, at)) is not None:
        place = place_in(text, found.start(), Place(line, column))
        if found[0] == "}":
            raise place.error("'}' closes nothing: a slot is written {heading: 095}")
        if found[0] != "{":
            raise place.error(
                f"the figure {found[0]!r} would be misread aloud: write a slot, {{heading: 095}}"
            )
        out.append(text[at : found.start()])
        token, at = read_slot(text, found.start(), Place(line, column))
        try:
            kind = slot_type(token.text)
        except UnknownSlotTypeError as error:
            raise token.place.error(str(error)) from None
        if token.value is None or token.value_place is None:
            raise token.place.error(f"{{{token.text}}} has no value to speak: write {{{token.text}: ...}}")
        try:
            value = kind.canonical(token.value)
        except ValueError as error:
            raise token.value_place.error(str(error)) from None
        words = said_aloud(kind.words(value, region))
        out.append(words[0].upper() + words[1:] if kind.label in ("callsign", "fix") else words)
    out.append(text[at:])
    return "".join(out)


def read_out(text: str) -> str:
    """A sentence written to be read ('333 less 45 is 288; fly at 2,600.') as it is spoken aloud.

    Three digits are said one by one, as headings are, and so are all behind a name ('it is Heron 24'); whole hundreds
    as altitudes; units are spoken out; what stands in parentheses, a source mostly, is left out.
    """
    with_units = _UNIT.sub(lambda unit: _UNITS[unit[1]], _ASIDE.sub("", text))
    with_units = _NAMED.sub(lambda named: " ".join((named[1], *spoken_digits(named[2]))), with_units)
    return _FIGURES.sub(lambda figures: " ".join(_figures(figures[0])), with_units)


_ASIDE = re.compile(r"\s*\([^()]*\)")
_UNITS = {"ft": "feet", "kt": "knots", "NM": "miles"}
_UNIT = re.compile(r"(?<=\d )(ft|kt|NM)\b")
_NAMED = re.compile(r"(?<=[a-z] )([A-Z][a-z]+) (\d+)\b(?![.,]\d)")
_FIGURES = re.compile(r"\d+(?:,\d{3})*(?:\.\d+)?")


def _figures(text: str) -> tuple[str, ...]:
    whole, _, fraction = text.replace(",", "").partition(".")
    if fraction:
        return (*spoken_digits(whole), "point", *spoken_digits(fraction))
    if len(whole) <= 2 and not whole.startswith("0"):
        return cardinal_words(int(whole))
    thousands, hundreds = divmod(int(whole), 1000)
    if len(whole) in (4, 5) and hundreds % 100 == 0:
        rest = (*cardinal_words(hundreds // 100), "hundred") if hundreds else ()
        return (*spoken_digits(str(thousands)), "thousand", *rest)
    return spoken_digits(whole)
