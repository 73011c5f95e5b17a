"""Values and their spoken forms as publications print them; the source stands beside each.

AIM: FAA Aeronautical Information Manual. JO 7110.65: FAA air traffic control order. P-305, P-330: US Naval Air
Training Command instrument workbooks. Annex 10: ICAO Annex 10 Volume II.
"""

from __future__ import annotations

import pytest

from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.phraseology.slots import Region, slot_type

STANDARD: list[tuple[str, str, str, Region, str]] = [
    ("altitude", "500", "five hundred", "faa", "AIM 4-2-8a"),
    ("altitude", "4500", "four thousand five hundred", "faa", "AIM 4-2-8a"),
    ("altitude", "10000", "one zero thousand", "faa", "AIM 4-2-8b"),
    ("altitude", "13500", "one three thousand five hundred", "faa", "AIM 4-2-8b"),
    ("count", "10", "one zero", "faa", "AIM 4-2-8d"),
    ("frequency", "122.1", "one two two point one", "faa", "AIM 4-2-8e"),
    ("altitude", "12000", "one two thousand", "faa", "AIM 4-2-9a"),
    ("altitude", "12500", "one two thousand five hundred", "faa", "AIM 4-2-9a"),
    ("level", "190", "one niner zero", "faa", "AIM 4-2-9b"),
    ("level", "275", "two seven five", "faa", "AIM 4-2-9b"),
    ("course", "005", "zero zero five", "faa", "AIM 4-2-10"),
    ("bearing", "360", "three six zero", "faa", "AIM 4-2-10"),
    ("heading", "100", "one zero zero", "faa", "AIM 4-2-10"),
    ("bearing", "220", "two two zero", "faa", "AIM 4-2-10, a wind direction"),
    ("speed", "250", "two five zero", "faa", "AIM 4-2-11"),
    ("speed", "190", "one niner zero", "faa", "AIM 4-2-11"),
    ("time", "0920", "zero niner two zero", "faa", "AIM 4-2-12"),
    ("time", "0000", "zero zero zero zero", "faa", "AIM 4-2-12c"),
    ("altitude", "17900", "one seven thousand niner hundred", "faa", "JO 7110.65 2-4-17"),
    ("altitude", "11000", "one one thousand", "faa", "JO 7110.65 2-4-17"),
    ("minimums", "1320", "one three two zero", "faa", "JO 7110.65 2-4-17"),
    ("minimums", "486", "four eight six", "faa", "JO 7110.65 2-4-17"),
    ("airway", "V12", "victor twelve", "faa", "AIM 4-2-8c"),
    ("airway", "J533", "j five thirty three", "faa", "AIM 4-2-8c"),
    ("airway", "V455", "victor four fifty five", "faa", "CNATRA P-305 chapter 8"),
    ("mach", "M0.64", "mach point six four", "faa", "AIM 4-2-11"),
    ("mach", "M1.5", "mach one point five", "faa", "AIM 4-2-11"),
    ("time", "0929:15", "zero niner two niner and one quarter", "faa", "AIM 4-2-12e"),
    ("airway", "A1", "alfa one", "icao", "ICAO Doc 9432, from memory"),
    ("rate", "700", "seven hundred", "faa", "derived, AIM 4-2-8a"),
    ("height", "500", "five hundred", "faa", "AIM 4-2-8a, a figure"),
    ("letter", "xray", "xray", "faa", "AIM table 4-2-2"),
    ("time", "0715", "zero seven one five", "faa", "JO 7110.65 2-4-17"),
    ("time", "1915", "one niner one five", "faa", "JO 7110.65 2-4-17"),
    ("altitude", "17000", "one seven thousand", "faa", "JO 7110.65P 2-4-18"),
    ("altimeter", "29.92", "two niner niner two", "faa", "JO 7110.65P 2-4-18"),
    ("frequency", "126.55", "one two six point five five", "faa", "JO 7110.65P 2-4-18"),
    ("runway", "9L", "niner left", "faa", "AIM 4-4-7b prints 'nine left'"),
    ("level", "330", "three three zero", "faa", "AIM 4-4-7b"),
    ("frequency", "255.4", "two five five point four", "faa", "CNATRA P-305 chapter 8"),
    ("altitude", "14500", "one four thousand five hundred", "faa", "CNATRA P-305 chapter 8"),
    ("speed", "95", "niner five", "faa", "CNATRA P-330 appendix B"),
    ("altitude", "2600", "two thousand six hundred", "faa", "derived, AIM 4-2-9a"),
    ("altitude", "10500", "one zero thousand five hundred", "faa", "derived, AIM 4-2-9a"),
    ("frequency", "113.7", "one one three point seven", "faa", "derived, AIM 4-2-8e"),
    ("frequency", "113.7", "one one three decimal seven", "icao", "derived, AIM 4-2-8 note"),
    ("radial", "087", "zero eight seven", "faa", "derived, CNATRA P-305: three digits"),
    ("squawk", "1200", "one two zero zero", "faa", "derived: four digits"),
    ("wind", "030/25", "zero three zero at two five", "faa", "JO 7110.65 2-4-17, from memory"),
    ("altimeter", "30.01", "three zero zero one", "faa", "JO 7110.65 2-4-17, from memory"),
    ("radial", "050", "zero five zero", "faa", "JO 7110.65 2-5-3, from memory, unsure"),
    ("distance", "37", "three seven", "faa", "JO 7110.65 2-5-3, from memory, unsure"),
    ("distance", "6.5", "six point five", "faa", "from memory"),
    ("level", "180", "one eight zero", "icao", "Annex 10 5.2.1.4.1"),
    ("level", "200", "two zero zero", "icao", "Annex 10 5.2.1.4.1"),
    ("heading", "100", "one zero zero", "icao", "Annex 10 5.2.1.4.1"),
    ("heading", "080", "zero eight zero", "icao", "Annex 10 5.2.1.4.1"),
    ("wind", "200/70", "two zero zero degrees seven zero knots", "icao", "Annex 10 5.2.1.4.1"),
    (
        "wind", "160/18G30", "one six zero degrees one eight knots gusting three zero knots", "icao",
        "Annex 10 5.2.1.4.1",
    ),
    ("squawk", "2400", "two four zero zero", "icao", "Annex 10 5.2.1.4.1"),
    ("squawk", "4203", "four two zero three", "icao", "Annex 10 5.2.1.4.1"),
    ("runway", "27", "two seven", "icao", "Annex 10 5.2.1.4.1"),
    ("runway", "30", "three zero", "icao", "Annex 10 5.2.1.4.1"),
    ("runway", "6", "zero six", "icao", "CAP 413"),
    ("runway", "6", "six", "faa", "JO 7110.65: no leading zero"),
    ("qnh", "1010", "one zero one zero", "icao", "Annex 10 5.2.1.4.1"),
    ("qnh", "1000", "one zero zero zero", "icao", "Annex 10 5.2.1.4.1"),
    ("altitude", "800", "eight hundred", "icao", "Annex 10 5.2.1.4.1"),
    ("altitude", "3400", "three thousand four hundred", "icao", "Annex 10 5.2.1.4.1"),
    ("altitude", "12000", "one two thousand", "icao", "Annex 10 5.2.1.4.1"),
    ("altitude", "2200", "two thousand two hundred", "icao", "Annex 10 5.2.1.4.1, a cloud height"),
    ("frequency", "118.005", "one one eight decimal zero zero five", "icao", "Annex 10 Amendment 80"),
    ("frequency", "118.025", "one one eight decimal zero two five", "icao", "Annex 10 Amendment 80"),
    ("frequency", "118.1", "one one eight decimal one", "icao", "Annex 10 Amendment 80"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value", "said", "region", "_source"), STANDARD)
def test_the_standard_form_is_spoken_and_understood(
    name: str, value: str, said: str, region: Region, _source: str
) -> None:
    kind = slot_type(name)
    assert kind.words(value, region) == tuple(said.split())
    assert kind.value(normalise(said), region) == (value, ())


ALSO_PRINTED = [
    ("altitude", "17900", "seventeen thousand niner hundred", "JO 7110.65 2-4-17, restated"),
    ("altitude", "17000", "seventeen thousand", "JO 7110.65P 2-4-18, restated"),
    ("altimeter", "29.92", "twenty nine ninety two", "JO 7110.65P 2-4-18, restated"),
    ("frequency", "126.55", "one twenty six point fifty five", "JO 7110.65P 2-4-18, restated"),
    ("speed", "250", "two five zero knots", "AIM 4-2-11"),
    ("speed", "95", "niner five knots", "CNATRA P-330 appendix B"),
    ("distance", "37", "three seven mile", "JO 7110.65 2-5-3, from memory, unsure"),
    ("distance", "6.5", "six point five DME", "from memory"),
    ("level", "100", "one hundred", "CAP 413"),
    ("squawk", "7000", "seven thousand", "texts derived from SERA, from memory"),
    ("qnh", "1000", "one thousand", "texts derived from SERA, from memory"),
    ("runway", "9L", "nine left", "AIM 4-4-7b"),
]


@pytest.mark.parametrize(("name", "value", "said", "_source"), ALSO_PRINTED)
def test_a_wording_that_is_printed_beside_the_standard_one_is_the_same_value(
    name: str, value: str, said: str, _source: str
) -> None:
    heard = slot_type(name).value(normalise(said))
    assert heard is not None
    assert heard[0] == value


TIME_CHECKS = [
    # AIM 4-2-12e: to the nearest quarter minute.
    ("0929:05", "time zero niner two niner"),
    ("0929:10", "time zero niner two niner and one quarter"),
]


@pytest.mark.parametrize(("written", "said"), TIME_CHECKS)
def test_a_time_check_goes_to_the_nearest_quarter_minute(written: str, said: str) -> None:
    assert " ".join(compile_pattern(f"time {{time: {written}}}").spoken()) == said


def test_a_number_given_twice_for_clarity_is_twice_the_same_value() -> None:
    # JO 7110.65P 2-4-18: "One Seven Thousand, Seventeen Thousand".
    match = compile_pattern("{altitude} [{altitude}]").match(
        normalise("One Seven Thousand, Seventeen Thousand")
    )
    assert match is not None
    assert match.slots == {"altitude": "17000", "altitude 2": "17000"}


SENTENCES = [
    ("flight level {level: 190}", "flight level one niner zero", "AIM 4-2-9b"),
    ("climbing to flight level {level: 330}", "Climbing to Flight Level three three zero", "AIM 4-4-7b"),
    ("{course: 050} true", "zero five zero true", "AIM 4-2-10"),
    ("heading {heading: 100}", "heading one zero zero", "AIM 4-2-10"),
    ("{altitude: 12000}", "one two thousand", "AIM 4-2-9a"),
    ("proceed via {airway: V12}", "proceed via Victor Twelve", "AIM 4-2-8c"),
    ("{airway: J533}", "J Five Thirty-Three", "AIM 4-2-8c"),
    ("time {time: 0929:15}", "time, zero niner two niner and one-quarter", "AIM 4-2-12e"),
    ("wind {bearing: 220}", "wind two two zero", "AIM 4-2-10"),
    (
        "minimum descent altitude {minimums: 1320}",
        "Minimum descent altitude, one three two zero",
        "JO 7110.65 2-4-17",
    ),
    ("decision height {minimums: 486}", "Decision height, four eight six", "JO 7110.65 2-4-17"),
    ("altimeter {altimeter: 29.92}", "Altimeter Two Niner Niner Two", "JO 7110.65P 2-4-18"),
    ("runway {runway: 9L}", "runway nine left", "AIM 4-4-7b"),
    ("wind {wind: 030/25}", "wind zero three zero at two five", "JO 7110.65 2-4-17, from memory"),
    (
        "{radial: 050} radial {distance: 37} mile fix",
        "zero five zero radial three seven mile fix",
        "from memory",
    ),
    ("procedure turn inbound", "procedure turn inbound", "CNATRA P-801 chapter 7"),
    ("final approach fix gear down", "Final Approach Fix, gear down", "CNATRA P-801 chapter 7"),
]


@pytest.mark.parametrize(("pattern", "said", "_source"), SENTENCES)
def test_a_printed_sentence_is_matched_by_its_pattern(pattern: str, said: str, _source: str) -> None:
    compiled = compile_pattern(pattern)
    match = compiled.match(normalise(said))
    assert match is not None
    assert compiled.differences(match.slots) == ()
    assert match.remarks == ()


DIGITS = [
    # AIM table 4-2-2, with the pronunciations of 3, 4, 5 and 9 as they are written when they are heard.
    ("0", "zero"), ("1", "one"), ("2", "two"), ("3", "tree"), ("4", "fower"), ("5", "fife"), ("6", "six"),
    ("7", "seven"), ("8", "eight"), ("9", "niner"),
]  # fmt: skip

ALPHABET = """Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa
Quebec Romeo Sierra Tango Uniform Victor Whiskey Xray Yankee Zulu"""
"""AIM table 4-2-2."""


@pytest.mark.parametrize(("figure", "said"), DIGITS)
def test_digits_as_they_are_pronounced(figure: str, said: str) -> None:
    assert slot_type("count").value(normalise(said)) == (figure, ())


def test_the_spelling_alphabet() -> None:
    words = ALPHABET.split()
    assert len(words) == 26
    for word in words:
        assert slot_type("letters").value(normalise(word)) == (word[0], ())
        assert slot_type("letters").words(word[0]) == (word.lower(),)
