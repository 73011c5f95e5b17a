"""Every value of every type, to words and back; what is heard is what is understood."""

from __future__ import annotations

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st
from legal_values import LEGAL_VALUES

from voice_trainer.phraseology.automaton import WordReader
from voice_trainer.phraseology.forms import Either, Form, FormReader, Said, Styled, Then, sentences
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Word, words_of
from voice_trainer.phraseology.normaliser import normalise_words
from voice_trainer.phraseology.slots import (
    Region,
    SlotType,
    UnknownSlotTypeError,
    slot_type,
    slot_type_names,
)

REGIONS: tuple[Region, ...] = ("faa", "icao")
NAMES = sorted(LEGAL_VALUES)


def plain(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word for word, _ in normalise_words(words))


@pytest.mark.parametrize("region", REGIONS)
@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=pytest.mark.slow) if name == "airway" else name for name in NAMES]
)
def test_every_value_is_spoken_understood_and_in_the_language(name: str, region: Region) -> None:
    kind = slot_type(name)
    language = WordReader(kind.language(region))
    spoken: dict[tuple[str, ...], str] = {}
    for value in LEGAL_VALUES[name]:
        words = plain(kind.words(value, region))
        assert kind.value(words, region) == (value, ())
        assert language.accepts(words)
        assert spoken.setdefault(words, value) == value
    assert len(spoken) == len(LEGAL_VALUES[name])


LETTERS = st.text(string.ascii_uppercase, min_size=2, max_size=5)
SPEEDS = st.tuples(st.integers(1, 98), st.integers(10, 99)).filter(lambda pair: pair[0] < pair[1])
TAILS = st.from_regex(r"[0-9][0-9A-Z]{0,4}|[A-Z][0-9A-Z]{1,4}", fullmatch=True)
VALUES = {
    "letters": LETTERS,
    "fix brano,kelda": LETTERS,
    "wind": st.builds(
        lambda direction, speeds: f"{direction:03d}/{speeds[0]}G{speeds[1]}", st.integers(1, 360), SPEEDS
    ),
    "callsign heron+": TAILS.map("Heron {}".format),
    "callsign hotel bravo+": TAILS.map("Hotel Bravo {}".format),
}


@pytest.mark.parametrize("region", REGIONS)
@pytest.mark.parametrize("name", VALUES)
def test_any_value_of_a_type_too_large_to_list_is_spoken_and_understood(name: str, region: Region) -> None:
    kind = slot_type(name)

    @given(VALUES[name])
    def there_and_back(value: str) -> None:
        assert kind.canonical(value) == value
        assert kind.value(plain(kind.words(value, region)), region) == (value, ())

    there_and_back()


@pytest.mark.parametrize("name", NAMES)
def test_an_author_writes_canonical_text(name: str) -> None:
    kind = slot_type(name)
    for value in LEGAL_VALUES[name][:2000]:
        assert kind.canonical(value) == value
        assert kind.canonical(f" {value} ") == value


TOO_LARGE = ("letters", "callsign heron", "wind", "fix brano,kelda,tovik ridge")
FINITE = [name for name in NAMES if name not in TOO_LARGE]


@pytest.mark.parametrize("name", FINITE)
def test_every_sentence_of_a_language_means_exactly_one_legal_value(name: str) -> None:
    kind = slot_type(name)
    assert kind.form is not None
    legal = set(LEGAL_VALUES[name])
    meant: dict[tuple[str, ...], str] = {}
    reached = set()
    for words, understood in sentences(kind.form):
        value = kind.finish(understood.text)
        assert value in legal, words
        assert understood.text in kind.spellings(value), words
        assert meant.setdefault(words, value) == value, words
        reached.add(value)
    assert reached == legal


@st.composite
def sentences_of(draw: st.DrawFn, form: Form) -> tuple[str, ...]:
    match form:
        case Said(words):
            return words
        case Styled(part):
            return draw(sentences_of(part))
        case Then(parts):
            return tuple(word for part in parts for word in draw(sentences_of(part)))
        case Either(options):
            return draw(sentences_of(draw(st.sampled_from(options))))


@pytest.mark.parametrize("name", [*TOO_LARGE, "callsign heron+"])
def test_any_sentence_of_a_language_too_large_to_list_means_one_value(name: str) -> None:
    kind = slot_type(name)
    assert kind.form is not None
    reader = FormReader(kind.form)

    @given(sentences_of(kind.form))
    def means_one_value(words: tuple[str, ...]) -> None:
        texts = {understood.text for understood in reader.read(words)}
        assert len(texts) == 1
        value = kind.finish(texts.pop())
        heard = kind.value(words)
        assert value == (None if heard is None else heard[0])

    means_one_value()


@pytest.mark.parametrize("name", [*NAMES, "left/right", "open/close", "not", "digit"])
def test_the_language_is_made_of_words_that_the_normaliser_leaves_alone(name: str) -> None:
    language = slot_type(name).language()
    assert only_plain_nodes(language)
    for word in set(words_of(language)):
        assert plain((word,)) == (word,)


def only_plain_nodes(node: Node) -> bool:
    match node:
        case Word():
            return True
        case Sequence(parts) | Choice(parts):
            return all(only_plain_nodes(part) for part in parts)
        case Maybe(part):
            return only_plain_nodes(part)
        case _:
            return False


WORDS_OF = {name: sorted(set(words_of(slot_type(name).language()))) for name in NAMES}


@pytest.mark.parametrize("name", NAMES)
def test_words_outside_the_language_have_no_value(name: str) -> None:
    kind = slot_type(name)
    language = WordReader(kind.language())

    @given(st.lists(st.sampled_from(WORDS_OF[name]), max_size=6))
    def membership_is_having_a_value(words: list[str]) -> None:
        # A gust below the wind is the one thing that the words of a language can't rule out.
        if name != "wind" or "gust" not in " ".join(words):
            assert language.accepts(words) == (kind.value(words) is not None)

    membership_is_having_a_value()


@pytest.mark.parametrize(
    "name",
    ["heading", "altitude", "minimums", "frequency", "altimeter", "squawk", "level", "qnh", "rate", "mach"],
)
def test_a_wrong_digit_is_never_the_same_value(name: str) -> None:
    kind = slot_type(name)

    @given(
        st.sampled_from(LEGAL_VALUES[name]),
        st.integers(0, 9),
        st.sampled_from(["zero", "one", "two", "six", "nine"]),
    )
    def one_digit_changed(value: str, index: int, other: str) -> None:
        words = plain(kind.words(value))
        at = index % len(words)
        changed = (*words[:at], other, *words[at + 1 :])
        heard = kind.value(changed)
        assert changed == words or heard is None or heard[0] != value

    one_digit_changed()


def understood(kind: SlotType, said: str) -> tuple[str, tuple[str, ...]] | None:
    return kind.value(plain(tuple(said.split())))


GROUPED = "grouped digits: say "

STYLES = [
    # What a fair instructor accepts; common practice.
    ("heading", "three three three", "333", ()),
    ("heading", "tree tree tree", "333", ()),
    ("heading", "three thirty three", "333", (GROUPED + "three three three",)),
    ("heading", "oh niner fife", "095", ()),
    ("heading", "two eighty", "280", (GROUPED + "two eight zero",)),
    ("heading", "three hundred", "300", (GROUPED + "three zero zero",)),
    ("course", "zero niner zero degrees", "090", ()),
    ("altitude", "seventeen thousand", "17000", (GROUPED + "one seven thousand",)),
    ("altitude", "two six zero zero", "2600", ("separate digits: say two thousand six hundred",)),
    ("altitude", "twenty six hundred", "2600", (GROUPED + "two thousand six hundred",)),
    ("altitude", "two thousand six hundred feet", "2600", ()),
    ("altitude", "two thousand six hundred fifty", "2650", ()),
    ("altitude", "two six five zero", "2650", ()),
    ("minimums", "eight two zero", "820", ()),
    ("minimums", "eight hundred twenty", "820", ()),
    ("minimums", "eight hundred and twenty feet", "820", ()),
    ("minimums", "eight hundred", "800", ()),
    ("minimums", "one thousand three hundred twenty", "1320", ()),
    ("minimums", "four eighty six", "486", (GROUPED + "four eight six",)),
    ("minimums", "thirteen twenty", "1320", (GROUPED + "one three two zero",)),
    ("frequency", "one one four point three", "114.3", ()),
    ("frequency", "one one four decimal three", "114.3", ()),
    ("frequency", "one twenty six point fifty five", "126.55", (GROUPED + "one two six point five five",)),
    ("frequency", "one one eight point zero two", "118.025", ()),
    ("frequency", "one one eight point one zero zero", "118.1", ()),
    ("altimeter", "two nine point nine two", "29.92", ("the point is left out: say two niner niner two",)),
    ("altimeter", "twenty nine eighty four", "29.84", (GROUPED + "two niner eight four",)),
    ("altimeter", "thirty oh one", "30.01", (GROUPED + "three zero zero one",)),
    ("qnh", "one thousand", "1000", ()),
    ("qnh", "ten thirteen", "1013", (GROUPED + "one zero one three",)),
    ("squawk", "seven thousand", "7000", ()),
    ("squawk", "twelve hundred", "1200", (GROUPED + "one two zero zero",)),
    ("duration", "one minute fifteen", "1:15", ()),
    ("duration", "one minute fifteen seconds", "1:15", ()),
    ("duration", "one minute and fifteen seconds", "1:15", ()),
    ("duration", "one plus fifteen", "1:15", ()),
    ("duration", "one plus zero five", "1:05", ()),
    ("duration", "seventy five seconds", "1:15", ()),
    ("duration", "seven five seconds", "1:15", ()),
    ("duration", "one fifteen", "1:15", ()),
    ("duration", "one minute", "1:00", ()),
    ("duration", "one and a half minutes", "1:30", ()),
    ("duration", "ninety seconds", "1:30", ()),
    ("duration", "one hundred twenty seconds", "2:00", ()),
    ("distance", "six point five miles", "6.5", ()),
    ("distance", "six point five d m e", "6.5", ()),
    ("distance", "ten miles", "10", (GROUPED + "one zero",)),
    ("distance", "point five", "0.5", ()),
    ("distance", "half a mile", "0.5", ()),
    ("time", "nineteen fifteen", "1915", (GROUPED + "one niner one five",)),
    ("wind", "two four zero at one eight", "240/18", ()),
    ("wind", "two four zero degrees eighteen knots", "240/18", (GROUPED + "two four zero at one eight",)),
    ("speed", "one five zero", "150", ()),
    ("speed", "one fifty knots", "150", (GROUPED + "one five zero",)),
    ("runway", "one five", "15", ()),
    ("runway", "niner left", "9L", ()),
    ("runway", "zero niner", "9", ()),
    ("runway", "fifteen", "15", (GROUPED + "one five",)),
    ("level", "two hundred", "200", ()),
    ("level", "one ninety", "190", (GROUPED + "one niner zero",)),
    ("letters", "kilo lima delta", "KLD", ()),
    ("letters", "alpha juliet x ray", "AJX", ()),
    ("count", "twelve", "12", ()),
    ("duration", "one minute plus fifteen", "1:15", ()),
    ("duration", "a minute fifteen", "1:15", ()),
    ("duration", "one and a quarter minutes", "1:15", ()),
    ("duration", "minute and a half", "1:30", ()),
    ("duration", "one point five minutes", "1:30", ()),
    ("duration", "one decimal five minutes", "1:30", ()),
    ("duration", "point five minutes", "0:30", ()),
    ("duration", "half minute", "0:30", ()),
    ("duration", "three quarters of a minute", "0:45", ()),
    ("duration", "one oh five", "1:05", ()),
    ("duration", "one zero five seconds", "1:45", ()),
    ("duration", "two minutes thirty", "2:30", ()),
    ("height", "fifty", "50", ()),
    ("height", "five zero", "50", ()),
    ("height", "five hundred feet", "500", ()),
    ("height", "one hundred fifty", "150", ()),
    ("height", "two thousand five hundred", "2500", ()),
    ("height", "twenty five hundred", "2500", (GROUPED + "two thousand five hundred",)),
    ("height", "five zero zero", "500", ("separate digits: say five hundred",)),
    ("rate", "seven hundred", "700", ()),
    ("rate", "seven hundred feet per minute", "700", ()),
    ("rate", "seven zero zero", "700", ("separate digits: say seven hundred",)),
    ("rate", "seven hundred fifty", "750", ()),
    ("rate", "seven fifty", "750", (GROUPED + "seven five zero",)),
    ("rate", "twelve hundred", "1200", (GROUPED + "one thousand two hundred",)),
    ("power percent", "six five percent", "65%", ()),
    ("power percent", "sixty five", "65%", ()),
    ("power percent", "eighty four point five percent", "84.5%", ()),
    ("power inches", "twenty four inches", "24 in", ()),
    ("power inches", "two four decimal five", "24.5 in", ()),
    ("power torque", "nine five zero foot pounds", "950 ft-lb", ()),
    ("power rpm", "twenty four hundred r p m", "2400 rpm", ()),
    ("power rpm", "two four zero zero", "2400 rpm", ()),
    ("pitch", "eight degrees nose up", "8 up", ()),
    ("pitch", "nose up eight", "8 up", ()),
    ("pitch", "plus seven point five degrees", "7.5 up", ()),
    ("pitch", "two and a half degrees nose down", "2.5 down", ()),
    ("pitch", "one five up", "15 up", ()),
    ("pitch", "zero", "0", ()),
    ("flap", "approach", "approach", ()),
    ("flap", "take off", "takeoff", ()),
    ("flap", "ten", "10", ()),
    ("flap", "one zero degrees", "10", ()),
    ("flap", "half", "half", ()),
    ("letter", "x ray", "xray", ()),
    ("letter", "alpha", "alfa", ()),
    ("fix brano,kelda", "kelda", "KELDA", ()),
    ("fix brano,kelda", "kilo echo lima delta alpha", "KELDA", ()),
    ("fix brano,kelda", "brano", "BRANO", ()),
    ("fix brano,kelda", "kilo echo lima delta oscar", "KELDO", ()),
    ("mach", "mach decimal six four", "M0.64", ()),
    ("mach", "mach point seven zero", "M0.7", ()),
    ("airway", "victor one two", "V12", ("separate digits: say victor twelve",)),
    ("airway", "juliett five thirty three", "J533", (GROUPED + "j five thirty three",)),
    ("time", "zero nine two nine and a quarter", "0929:15", ()),
    ("callsign heron", "heron two four", "Heron 24", ()),
    ("callsign heron", "heron twenty four", "Heron 24", ()),
    ("callsign heron", "heron two five", "Heron 25", ()),
    ("callsign heron+", "heron one two three alpha bravo", "Heron 123AB", ()),
]


@pytest.mark.parametrize(("name", "said", "value", "remarks"), STYLES)
def test_other_ways_to_say_it(name: str, said: str, value: str, remarks: tuple[str, ...]) -> None:
    assert understood(slot_type(name), said) == (value, remarks)


NO_VALUES = [
    ("time", "two four zero zero"),
    ("wind", "two four zero"),
    ("wind", "two four zero at one eight gusting one eight"),
    ("heading", "three seven zero"),
    ("heading", "zero zero zero"),
    ("heading", "nine zero"),
    ("heading", "three three three three"),
    ("heading", "three sixty one"),
    ("altitude", "two thousand six"),
    ("altitude", "six one zero zero zero"),
    ("frequency", "one one four three"),
    ("frequency", "one zero seven point five"),
    ("frequency", "one one four point three three"),
    ("frequency", "one three seven point zero"),
    ("altimeter", "three one zero one"),
    ("altimeter", "two seven nine nine"),
    ("squawk", "one two eight zero"),
    ("duration", "one plus sixty"),
    ("duration", "fifteen"),
    ("runway", "three seven"),
    ("runway", "zero"),
    ("callsign heron", "osprey two four"),
    ("callsign heron", "heron"),
    ("height", "five"),
    ("height", "five hundred five"),
    ("rate", "forty"),
    ("rate", "six thousand five hundred"),
    ("power percent", "one hundred thirty"),
    ("power inches", "sixty five percent"),
    ("pitch", "eight degrees"),
    ("pitch", "thirty one up"),
    ("flap", "sixty one"),
    ("fix brano,kelda", "kelton"),
    ("fix brano,kelda", "kilo"),
    ("mach", "point six four"),
    ("mach", "mach point zero"),
    ("airway", "twelve"),
    ("time", "zero nine two nine and"),
    ("level", "six zero one"),
    ("level", "zero zero five"),
]


@pytest.mark.parametrize(("name", "said"), NO_VALUES)
def test_what_is_no_legal_value(name: str, said: str) -> None:
    assert understood(slot_type(name), said) is None


REFUSED = [
    ("time", "2400", "'2400' is no time"),
    ("wind", "240", "'240' is no wind"),
    ("wind", "240/18G12", "'240/18G12' is no wind"),
    ("heading", "95", "'95' is no heading: write three digits, 001 to 360"),
    ("heading", "000", "'000' is no heading"),
    ("radial", "361", "'361' is no radial"),
    ("altitude", "2605", "'2605' is no altitude"),
    ("altitude", "FL190", "'FL190' is no altitude"),
    ("minimums", "50", "'50' is no minimums"),
    ("level", "1900", "'1900' is no flight level"),
    ("frequency", "114.33", "'114.33' is no frequency"),
    ("frequency", "118.02", "'118.02' is no frequency"),
    ("frequency", "400.0", "'400.0' is no frequency"),
    ("altimeter", "27.99", "'27.99' is no altimeter setting"),
    ("qnh", "29.92", "'29.92' is no QNH"),
    ("squawk", "1280", "'1280' is no transponder code"),
    ("runway", "37", "'37' is no runway"),
    ("runway", "9X", "'9X' is no runway"),
    ("duration", "75", "'75' is no duration"),
    ("duration", "1:60", "'1:60' is no duration"),
    ("distance", "6.55", "'6.55' is no distance"),
    ("speed", "20", "'20' is no speed"),
    ("count", "many", "'many' is no count"),
    ("letters", "K1", "'K1' can't be spelled out"),
    ("time", "0929:60", "'0929:60' is no time"),
    ("height", "505", "'505' is no height: write feet in tens, 10 to 9,990"),
    ("rate", "40", "'40' is no rate: write feet per minute, 50 to 6,000"),
    ("power", "65", "'65' is no power: write the number with its unit, 1 to 120%"),
    ("power", "130%", "'130%' is no power"),
    ("power", "2405 rpm", "'2405 rpm' is no power"),
    ("power percent", "24 in", "'24 in' is no power in percent"),
    ("pitch", "8", "'8' is no pitch: write degrees up or down"),
    ("pitch", "+8 down", "'+8 down' is no pitch"),
    ("pitch", "8.2 up", "'8.2 up' is no pitch"),
    ("flap", "61", "'61' is no flap setting"),
    ("flap", "wide", "'wide' is no flap setting"),
    ("letter", "AB", "'AB' is no letter"),
    ("letter", "5", "'5' is no letter"),
    ("mach", "0.00", "'0.00' is no Mach number"),
    ("mach", "3.1", "'3.1' is no Mach number"),
    ("airway", "12", "'12' is no airway"),
    ("airway", "V012", "'V012' is no airway"),
    ("fix", "K1", "'K1' is no fix"),
    ("fix", "uh", "'uh' is no fix"),
    ("fix", "Tango Echo", "'Tango Echo' can't be told from a fix that is spelled out"),
    ("fix brano,kelda", "TOVIK RIDGE", "'TOVIK RIDGE' is none of the declared fixes: there are BRANO, KELDA"),
    ("callsign", "Heron", "'Heron' is no callsign"),
    ("callsign", "Heron two", "'Heron two' is no callsign"),
    ("heading", "٠٩٥", "is no heading"),
    ("left/right", "up", "'up' is not one of left, right"),
    ("not", "never", "'never' is neither"),
]


@pytest.mark.parametrize(("name", "text", "reason"), REFUSED)
def test_what_an_author_may_not_write(name: str, text: str, reason: str) -> None:
    with pytest.raises(ValueError, match=r"(?s)^.*$") as caught:
        slot_type(name).canonical(text)
    assert reason in str(caught.value)
    assert "\n" not in str(caught.value)


TIDIED = [
    ("time", "09:20Z", "0920"),
    ("wind", "240 at 18", "240/18"),
    ("wind", "240/08G15", "240/8G15"),
    ("altitude", "2,600", "2600"),
    ("altitude", "2 600 ft", "2600"),
    ("level", "FL190", "190"),
    ("frequency", "118.100", "118.1"),
    ("frequency", "118", "118.0"),
    ("altimeter", "2992", "29.92"),
    ("duration", "75 s", "1:15"),
    ("duration", "01:15", "1:15"),
    ("duration", "2 min", "2:00"),
    ("distance", "6.0 NM", "6"),
    ("speed", "150 kt", "150"),
    ("runway", "09l", "9L"),
    ("time", "0929:07", "0929"),
    ("time", "0929:08", "0929:15"),
    ("time", "23:59:53", "0000"),
    ("height", "1,500 ft", "1500"),
    ("rate", "1 200 fpm", "1200"),
    ("power", "65 percent", "65%"),
    ("power", "24.0in", "24 in"),
    ("power", "2,400 RPM", "2400 rpm"),
    ("power", "950 foot-pounds", "950 ft-lb"),
    ("pitch", "+8°", "8 up"),
    ("pitch", "-2.5", "2.5 down"),
    ("pitch", "8 degrees nose up", "8 up"),
    ("pitch", "0.0", "0"),
    ("flap", "10°", "10"),
    ("flap", "Take-off", "takeoff"),
    ("letter", "b", "bravo"),
    ("letter", "X-ray", "xray"),
    ("mach", "M.64", "M0.64"),
    ("mach", "Mach 1.50", "M1.5"),
    ("airway", "v-12", "V12"),
    ("airway", "ul607", "UL607"),
    ("fix", " tovik   ridge ", "TOVIK RIDGE"),
    ("letters", "kld", "KLD"),
    ("callsign", "N123AB", "November 123AB"),
    ("callsign", "G-ABCD", "Golf ABCD"),
    ("callsign", "HB-ABC", "Hotel Bravo ABC"),
    ("callsign", "heron 24", "Heron 24"),
]


@pytest.mark.parametrize(("name", "text", "value"), TIDIED)
def test_what_an_author_writes_is_tidied(name: str, text: str, value: str) -> None:
    assert slot_type(name).canonical(text) == value


PRINTED = [
    ("time", "0920", "0920"),
    ("wind", "240/18", "240/18 kt"),
    ("heading", "095", "heading 095"),
    ("radial", "050", "radial 050"),
    ("altitude", "2600", "2,600 ft"),
    ("minimums", "820", "820 ft"),
    ("level", "190", "FL190"),
    ("frequency", "114.3", "114.3"),
    ("altimeter", "29.84", "29.84"),
    ("qnh", "1013", "QNH 1013"),
    ("duration", "1:15", "1:15"),
    ("distance", "6.5", "6.5 NM"),
    ("speed", "150", "150 kt"),
    ("runway", "9L", "runway 9L"),
    ("squawk", "2403", "2403"),
    ("callsign heron", "Heron 24", "Heron 24"),
    ("height", "1500", "1,500 ft"),
    ("rate", "1200", "1,200 fpm"),
    ("power", "65%", "65%"),
    ("pitch", "8 up", "8° nose up"),
    ("pitch", "0", "0°"),
    ("flap", "10", "flaps 10"),
    ("mach", "M0.64", "Mach 0.64"),
    ("left/right", "left", "left"),
]


@pytest.mark.parametrize(("name", "value", "printed"), PRINTED)
def test_how_a_value_is_printed(name: str, value: str, printed: str) -> None:
    assert slot_type(name).describe(value) == printed


def test_an_unknown_type_names_the_nearest_ones() -> None:
    with pytest.raises(UnknownSlotTypeError, match="there is no slot type 'headng': did you mean heading"):
        slot_type("headng")
    with pytest.raises(UnknownSlotTypeError, match="there are heading, course, radial"):
        slot_type("zzz")


@pytest.mark.parametrize(
    ("name", "example"),
    [("callsign", "{callsign: Heron 24}"), ("power", "{power: 65%}"), ("fix", "{fix: KELDA}")],
)
def test_some_types_need_a_value_to_have_a_language(name: str, example: str) -> None:
    with pytest.raises(ValueError, match=f"write whose, as in {example}"):
        slot_type(name).language()
    assert slot_type("callsign").value(("heron", "two")) is None


def test_every_type_that_an_author_may_write_is_tested_here() -> None:
    assert {name.split()[0] for name in LEGAL_VALUES} == set(slot_type_names())
