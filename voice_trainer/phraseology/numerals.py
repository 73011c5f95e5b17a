"""Number words: digits one by one, as the radio wants them, and tens and teens, as people say them.

Inside the package nine is 'nine'; the normaliser has folded niner, tree, fife and fower before.
`spoken_digits` gives the word that is said: AIM 4-2-8 and 4-2-9 print 'niner',
ICAO Annex 10 Volume II 5.2.1.4.3 NIN-er.
"""

from __future__ import annotations

from collections.abc import Iterable

from voice_trainer.phraseology.forms import Form, Styled, either, one_of, perhaps, silent, then

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
TEENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen",
)  # fmt: skip
TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")

GROUPED = "grouped digits"
"""The style of 'three thirty three' where 'three three three' is the standard form."""

SEPARATE = "separate digits"
"""The style of 'two six zero zero' where 'two thousand six hundred' is the standard form."""


def spoken_digits(digits: str) -> tuple[str, ...]:
    """The digits one by one, as they are said: '095' -> zero niner five."""
    return tuple("niner" if digit == "9" else DIGITS[int(digit)] for digit in digits)


def cardinal_words(number: int) -> tuple[str, ...]:
    """A whole number below one thousand as people count: 75 -> seventy five, 120 -> one hundred twenty."""
    if number < 10:
        return (DIGITS[number],)
    if number < 20:
        return (TEENS[number - 10],)
    if number < 100:
        tens = (TENS[number // 10 - 2],)
        return tens if number % 10 == 0 else (*tens, DIGITS[number % 10])
    hundreds = (DIGITS[number // 100], "hundred")
    return hundreds if number % 100 == 0 else hundreds + cardinal_words(number % 100)


def digit(allowed: str = "0123456789") -> Form:
    """One spoken digit out of `allowed`."""
    return one_of((DIGITS[int(each)], each) for each in allowed)


def any_digits(count: int) -> Form:
    """Exactly `count` spoken digits."""
    return then(*([digit()] * count))


def pair(numbers: Iterable[int]) -> Form:
    """Two-digit numbers (10 to 99) in words: 'thirty three' stands for '33'.

    Tens that take the same units share one form, so it stays small.
    """
    wanted = sorted(set(numbers))
    options: list[Form] = []
    if teens := [each for each in wanted if each < 20]:
        options.append(one_of((TEENS[each - 10], str(each)) for each in teens))
    tens_by_units: dict[str, list[int]] = {}
    for tens in sorted({each // 10 for each in wanted if each >= 20}):
        units = "".join(str(each % 10) for each in wanted if each // 10 == tens)
        tens_by_units.setdefault(units, []).append(tens)
    for units, all_tens in tens_by_units.items():
        first = one_of((TENS[tens - 2], str(tens)) for tens in all_tens)
        alone: list[Form] = [silent("0")] if "0" in units else []
        more: list[Form] = [digit(rest)] if (rest := units.replace("0", "")) else []
        options.append(then(first, either(*alone, *more)))
    return either(*options)


def grouped(form: Form) -> Form:
    """`form`, remarked on as grouped digits."""
    return Styled(form, GROUPED)


def separate(form: Form) -> Form:
    """`form`, remarked on as separate digits."""
    return Styled(form, SEPARATE)


def and_word() -> Form:
    """The 'and' of 'eight hundred and twenty', said or not."""
    return perhaps("and")
