"""Words that must never be taken for each other: left and right, climb and descend, tower and approach.

However alike two sentences are, a swapped word of these changes what is done. A pattern's word that stands in
one of these sets is therefore a slot: the word that the author wrote is the expected value, and every other
word of the set can be heard as easily. Number words and the spelling alphabet that an author writes out are
treated in the same way. Inflections belong together: where 'descending' is written, 'descend' is the same and
'climb' is the opposite.

'not' is a set of its own: where it is written, leaving it out is the opposite ('time [not] required'). 'No turn'
and 'turn, negative' deny as well, so either may be declared a synonym of 'turn not required'.

Common practice, drawn from the words of checklists and of the AIM's Pilot/Controller Glossary.
"""

from __future__ import annotations

from voice_trainer.phraseology.codes import ALPHABET, LETTER
from voice_trainer.phraseology.forms import either, say, silent
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

NOT = "not"
NOT_SAID = "not said"

DENIALS = frozenset({NOT, "no", "negative"})
"""The words that deny; a synonym for what says 'not' has one of them."""

FAMILIES: tuple[tuple[tuple[str, ...], ...], ...] = (
    (("left", "right"),),
    (("climb", "descend"), ("climbing", "descending"), ("climbed", "descended")),
    (("inbound", "outbound"),),
    (("on", "off"),),
    (("up", "down"),),
    (("open", "closed"), ("open", "close"), ("opening", "closing"), ("opened", "closed")),
    (("rich", "lean"),),
    (("idle", "cutoff"),),
    (("pump", "selector"),),
    (("start", "stop"), ("starting", "stopping"), ("started", "stopped")),
    (("above", "below"),),
    (("increase", "decrease"), ("increasing", "decreasing")),
    (("extend", "retract"), ("extending", "retracting"), ("extended", "retracted")),
    (("raise", "lower"), ("raising", "lowering")),
    (("before", "after"),),
    (("high", "low"),),
    (("north", "south", "east", "west"),),
    (("clockwise", "counterclockwise"),),
    (("engage", "disengage"), ("engaged", "disengaged")),
    (("armed", "disarmed"),),
    (("forward", "aft"),),
    (("auto", "manual"),),
    (("emergency", "normal"),),
    (("hot", "cold"),),
    (("affirmative", "negative"), ("affirm", "negative")),
    (("hundred", "thousand"),),
)
"""Each family: rows of opposite words, one row an inflection, columns that mean the same."""

NAMED_SETS: dict[str, tuple[str, ...]] = {
    "digit": DIGITS,
    "ten": TEENS + TENS,
    "letter": ALPHABET,
    "facility": ("tower", "approach", "center", "ground", "departure", "clearance"),
}
"""Sets that are named by what they hold."""

ONLY_BY_NAME: dict[str, tuple[str, ...]] = {"hold entry": ("direct", "teardrop", "parallel")}
"""Sets that an author asks for as a slot, `{hold entry: teardrop}`. Elsewhere 'direct' is no entry: 'direct Kelda'."""

FIXED_TERMS: tuple[tuple[str, ...], ...] = tuple(
    tuple(term.split())
    for term in (
        "final approach fix", "final approach", "missed approach point", "missed approach",
        "instrument approach", "visual approach", "vor approach", "ils approach",
        "straight in approach", "cleared approach", "low approach",
        "approach fix", "approach lights", "approach plate", "approach chart", "approach category",
        "approach clearance", "approach speed", "approach check", "approach checks", "approach checklist",
        "approach brief", "approach briefing", "approach power", "approach flaps", "approach flap",
        "approach mode",
        "ground speed", "ground roll", "ground track", "center line", "departure procedure",
        "clearance limit",
        "takeoff clearance", "landing clearance", "set up", "line up", "back up", "slow down", "shut down",
        "on station", "on final", "high speed", "emergency checklist",
    )
)  # fmt: skip
"""Terms of several words in which a word that has an opposite is only part of a name."""


def _columns(family: tuple[tuple[str, ...], ...]) -> list[list[str]]:
    return [list(dict.fromkeys(row[side] for row in family)) for side in range(len(family[0]))]


def _row_type(name: str, row: tuple[str, ...], columns: list[list[str]]) -> SlotType:
    order = [(word, row[side]) for side, column in enumerate(columns) for word in column]
    # A word of the row itself is that word's own value, whatever other row shares it; it comes first.
    heard = {word: word for word in row}
    for word, side in order:
        heard.setdefault(word, side)

    def tidy(text: str) -> str:
        if text in row:
            return text
        raise ValueError(f"{text!r} is not one of {', '.join(row)}")

    def speak(value: str, _region: Region) -> tuple[str, ...]:
        return ("niner",) if value == "nine" else (value,)

    form = either(*(say(word, side) for word, side in heard.items()))
    return SlotType(name, form, tidy, speak, lambda value: value)


def _not_type() -> SlotType:
    def tidy(text: str) -> str:
        if text in (NOT, NOT_SAID):
            return text
        raise ValueError(f"{text!r} is neither {NOT!r} nor {NOT_SAID!r}")

    def speak(value: str, _region: Region) -> tuple[str, ...]:
        return (NOT,) if value == NOT else ()

    return SlotType(NOT, either(say(NOT, NOT), silent(NOT_SAID)), tidy, speak, lambda value: value)


def _types() -> dict[str, SlotType]:
    types = {NOT: _not_type()}
    for family in FAMILIES:
        for row in family:
            name = "/".join(row)
            types[name] = _row_type(name, row, _columns(family))
        if len(family) > 1:
            words = tuple(dict.fromkeys(word for row in family for word in row))
            types["/".join(words)] = _row_type("/".join(words), words, [[word] for word in words])
    for name, words in (NAMED_SETS | ONLY_BY_NAME).items():
        types[name] = LETTER if name == LETTER.name else _row_type(name, words, [[word] for word in words])
    return types


TYPES: dict[str, SlotType] = _types()
"""Every set as a slot type, by its name: 'left/right', 'climbing/descending', 'digit', 'not'."""


def _by_word() -> dict[str, str]:
    found = {NOT: NOT}
    for family in FAMILIES:
        for row in family:
            for word in row:
                found.setdefault(word, "/".join(row))
    for name, words in NAMED_SETS.items():
        for word in words:
            found[word] = name
    return found


_TYPE_OF_WORD = _by_word()


def type_of_word(word: str) -> str | None:
    """The name of the set that a literal word belongs to, None for a word that has no opposite."""
    return _TYPE_OF_WORD.get(word)


def verbatim_type_of_word(word: str) -> str | None:
    """The same where the wording itself counts: the set in which every inflection is a word of its own."""
    for family in FAMILIES:
        if len(family) > 1 and any(word in row for row in family):
            return "/".join(dict.fromkeys(each for row in family for each in row))
    return type_of_word(word)


def opposed(one: str, other: str) -> bool:
    """Whether two words stand on different sides of one set."""
    name = type_of_word(one)
    if name is None or name == NOT or one == other:
        return False
    there = TYPES[name].value((other,))
    return there is not None and there != TYPES[name].value((one,))
