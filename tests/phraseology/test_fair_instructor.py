"""What a fair instructor accepts, and what never: a table of sayings. All of it common practice."""

from __future__ import annotations

import pytest

from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.pattern import Pattern, compile_pattern
from voice_trainer.phraseology.slots import Region

SYNONYMS = {
    "turn not required": ["no turn", "turn negative"],
    "turn left": ["coming left", "coming left to"],
}


def judged(pattern: Pattern, said: str) -> str:
    """'right', 'remark', 'wrong', or 'no call' where the words are not this call."""
    match = pattern.match(normalise(said))
    if match is None:
        return "no call"
    if pattern.differences(match.slots):
        return "wrong"
    return "remark" if match.remarks else "right"


SAYINGS = [
    ("[heading] {heading: 333}", "three three three", "right"),
    ("[heading] {heading: 333}", "tree tree tree", "right"),
    ("[heading] {heading: 333}", "three thirty-three", "remark"),
    ("[heading] {heading: 333}", "three three four", "wrong"),
    ("turn right [heading] {heading: 095}", "turn right zero niner fife", "right"),
    ("[heading] {heading: 090}", "zero niner zero", "right"),
    ("outbound {duration: 1:15}", "outbound one plus fifteen", "right"),
    ("outbound {duration: 1:15}", "outbound one minute fifteen", "right"),
    ("outbound {duration: 1:15}", "outbound seventy-five seconds", "right"),
    ("outbound {duration: 1:15}", "outbound one minute five", "wrong"),
    ("kelda {frequency: 114.3}", "kelda one one four point three", "right"),
    ("kelda {frequency: 114.3}", "kelda one one four decimal three", "right"),
    ("runway {runway: 9}", "runway zero niner", "right"),
    ("runway {runway: 9}", "runway niner", "right"),
    ("descending to {minimums: 820}", "descending to eight two zero", "right"),
    ("descending to {minimums: 820}", "descending to eight hundred twenty", "right"),
    ("turn not required", "no turn", "right"),
    ("turn not required", "turn not required", "right"),
    ("turn not required", "turn, negative", "right"),
    ("turn not required", "turn required", "wrong"),
    ("turn not required", "turn affirmative", "wrong"),
    ("turn left [heading] {heading: 288}", "coming left to two eight eight", "right"),
    ("turn left [heading] {heading: 288}", "coming right to two eight eight", "wrong"),
    ("turn left [heading] {heading: 288}", "swinging left two eight eight", "no call"),
    ("mixture rich", "mixture lean", "wrong"),
    ("mixture idle cutoff", "mixture idle", "no call"),
    ("mixture cutoff", "mixture idle", "wrong"),
    ("established inbound", "established outbound", "wrong"),
    ("contact tower", "contact approach", "wrong"),
    ("fuel pump on", "fuel selector on", "wrong"),
    ("power {power: 65%}", "power sixty five percent", "right"),
    ("power {power: 65%}", "power six five", "right"),
    ("power {power: 65%}", "power seventy five percent", "wrong"),
    ("rate of descent {rate: 700}", "rate of descent seven hundred", "right"),
    ("rate of descent {rate: 700}", "rate of descent six hundred", "wrong"),
    ("pitch {pitch: 8 up}", "pitch eight degrees nose up", "right"),
    ("pitch {pitch: 8 up}", "pitch eight degrees nose down", "wrong"),
    ("flaps {flap: approach}", "flaps approach", "right"),
    ("flaps {flap: approach}", "flaps landing", "wrong"),
    ("{height: 100} above", "one hundred above", "right"),
    ("{height: 100} above", "one thousand above", "wrong"),
    ("information {letter: B}", "information bravo", "right"),
    ("information bravo", "information delta", "wrong"),
    ("crossing {fix: KELDA}", "crossing kelda", "right"),
    ("crossing {fix: KELDA}", "crossing kilo echo lima delta alfa", "right"),
    ("crossing {fix: KELDA}", "crossing brano", "wrong"),
]


@pytest.mark.parametrize("region", ["faa", "icao"])
@pytest.mark.parametrize(("text", "said", "verdict"), SAYINGS)
def test_what_a_saying_comes_to_in_either_region(text: str, said: str, verdict: str, region: Region) -> None:
    pattern = compile_pattern(text, region=region, synonyms=SYNONYMS, fixes=["KELDA", "BRANO"])
    assert judged(pattern, said) == verdict


VERBATIM = [
    ("power idle", "power idle", "right"),
    ("climbing", "climb", "wrong"),
    ("climbing", "climbing", "right"),
    ("climbing", "descending", "wrong"),
    ("turn left", "coming left", "no call"),
    ("[the] gear up", "gear up", "right"),
]


@pytest.mark.parametrize(("text", "said", "verdict"), VERBATIM)
def test_where_the_wording_counts(text: str, said: str, verdict: str) -> None:
    pattern = compile_pattern(text, synonyms=SYNONYMS, verbatim=True)
    assert judged(pattern, said) == verdict
    assert compile_pattern(pattern.text, verbatim=True).node == pattern.node


def test_a_bad_synonym_is_an_error_also_where_it_is_not_used() -> None:
    with pytest.raises(ValueError, match="opposites"):
        compile_pattern("turn left", synonyms={"left": ["right"]}, verbatim=True)


def test_a_denial_is_no_synonym_of_what_does_not_deny() -> None:
    with pytest.raises(ValueError, match="only one of them says 'not'"):
        compile_pattern("gear", synonyms={"turn not required": ["turn required"]})


def test_the_same_pattern_is_compiled_once() -> None:
    one = compile_pattern("turn left {heading: 095}", synonyms={"turn": ["coming"]})
    assert compile_pattern("turn left {heading: 095}", synonyms={"turn": ["coming"]}) is one
    assert compile_pattern("turn left {heading: 095}", synonyms={"turn": ["moving"]}) is not one
