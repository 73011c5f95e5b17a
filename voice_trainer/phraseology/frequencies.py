"""Frequencies: navigation 108.00-117.95, VHF communication 118-136.99, UHF 225-399.975 MHz.

Separate digits with 'point' (AIM 4-2-8e) or 'decimal' (ICAO); either is understood everywhere, as AIM 4-2-8
notes for military and ICAO users. Trailing zeros are dropped. A third decimal: ICAO says all six figures of a
VHF communication frequency unless the last two are zeros (Annex 10 Volume II, Amendment 80); the FAA omits
the digits after the second decimal (JO 7110.65 2-4-17, from memory), so 'point zero two' is 118.025: no
channel ends in 2 or 7 without a 5 behind it, and the two wordings cannot be taken for each other.
"""

from __future__ import annotations

from voice_trainer.phraseology.forms import Form, either, say, silent, then
from voice_trainer.phraseology.numerals import any_digits, digit, grouped, pair, spoken_digits
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import SlotType

CHANNEL_ENDINGS = (0, 5, 10, 15, 25, 30, 35, 40, 50, 55, 60, 65, 75, 80, 85, 90)
"""Last two digits, in kHz, of a 25 kHz frequency or an 8.33 kHz channel name."""


def _kilohertz(text: str) -> int:
    whole, _, decimals = text.partition(".")
    return int(whole) * 1000 + int(decimals.ljust(3, "0"))


def _legal(kilohertz: int) -> bool:
    if 108_000 <= kilohertz <= 117_950:
        return kilohertz % 50 == 0
    if 118_000 <= kilohertz <= 136_990:
        return kilohertz % 100 in CHANNEL_ENDINGS
    return 225_000 <= kilohertz < 400_000 and kilohertz % 25 == 0


def _canonical(kilohertz: int) -> str:
    decimals = f"{kilohertz % 1000:03d}".rstrip("0") or "0"
    return f"{kilohertz // 1000}.{decimals}"


def _decimals(second: dict[str, str]) -> Form:
    """One decimal, two or three; `second` maps a second decimal to the third ones that may follow it.

    Where only a 5 may follow, two decimals stand for three.
    """
    two = either(
        *(then(digit(each), silent("5" if thirds == "5" else "0")) for each, thirds in second.items())
    )
    three = either(*(then(digit(each), digit(thirds)) for each, thirds in second.items()))
    short = [int(tens + each) for tens in "123456789" for each in second if "0" in second[each]]
    implied = [int(tens + each) for tens in "123456789" for each in second if second[each] == "5"]
    groups: list[Form] = [then(pair(short), silent("0"))]
    if implied:
        groups.append(then(pair(implied), silent("5")))
    return either(
        then(digit(), silent("00")), then(digit(), two), then(digit(), three), grouped(either(*groups))
    )


def _form() -> Form:
    point = either(say("point", "."), say("decimal", "."))
    nav = either(then(say("one zero", "10"), digit("89")), then(say("one one", "11"), digit("01234567")))
    nav_grouped = grouped(then(say("one", "1"), pair(range(10, 18))))
    comm = either(
        then(say("one one", "11"), digit("89")),
        then(say("one two", "12"), digit()),
        then(say("one three", "13"), digit("0123456")),
    )
    comm_grouped = grouped(then(say("one", "1"), pair(range(18, 37))))
    uhf = either(
        then(say("two", "2"), either(then(say("two", "2"), digit("56789")), then(digit("3456789"), digit()))),
        then(say("three", "3"), any_digits(2)),
    )
    uhf_grouped = grouped(
        either(
            then(say("two", "2"), pair(range(25, 100))),
            then(say("three", "3"), either(pair(range(10, 100)), say("hundred", "00"))),
        )
    )
    every_50 = _decimals({"0": "0", "5": "0"})
    channels = _decimals(
        {each: "".join(str(k % 10) for k in CHANNEL_ENDINGS if k // 10 == int(each)) for each in "0123456789"}
    )
    every_25 = _decimals({"0": "0", "2": "5", "5": "0", "7": "5"})
    return either(
        then(either(nav, nav_grouped), point, every_50),
        then(either(comm, comm_grouped), point, channels),
        then(either(uhf, uhf_grouped), point, every_25),
    )


def _tidy(text: str) -> str:
    whole, _, decimals = text.partition(".")
    figures = whole + decimals
    if figures.isascii() and figures.isdigit() and len(whole) == 3 and len(decimals) <= 3:
        kilohertz = _kilohertz(text)
        if _legal(kilohertz):
            return _canonical(kilohertz)
    raise ValueError(
        f"{text!r} is no frequency: write a channel in MHz, as in 114.3, "
        "from 108.0 to 117.95, 118.0 to 136.99 or 225.0 to 399.975"
    )


def _speak(value: str, region: Region) -> tuple[str, ...]:
    kilohertz = _kilohertz(value)
    decimals = value.partition(".")[2]
    if region == "faa":
        # Only a third decimal that two imply may be omitted: an 8.33 kHz channel needs all three.
        decimals = decimals[:2] if kilohertz % 25 == 0 else decimals
    elif 118_000 <= kilohertz < 137_000:
        decimals = decimals if kilohertz % 100 == 0 else f"{kilohertz % 1000:03d}"
    point = "point" if region == "faa" else "decimal"
    return (*spoken_digits(str(kilohertz // 1000)), point, *spoken_digits(decimals))


TYPES = (
    SlotType(
        "frequency",
        _form(),
        _tidy,
        _speak,
        lambda value: value,
        finish=lambda text: _canonical(_kilohertz(text)),
        spellings=lambda value: (f"{_kilohertz(value) / 1000:.3f}",),
    ),
)
