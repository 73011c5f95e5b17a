"""Callsigns: short forms after first contact, and calls without one."""

from __future__ import annotations

import pytest

from voice_trainer.phraseology.callsign_rules import CallsignRules
from voice_trainer.phraseology.callsigns import abbreviated
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.pattern import Pattern, compile_pattern
from voice_trainer.phraseology.slots import Region

SHORT: list[tuple[str, Region, tuple[str, ...]]] = [
    # AIM 4-2-4a (the last three), Annex 10 Volume II 5.2.1.7.2.2 (at least the last two); both from memory.
    ("November 123AB", "faa", ("November 3AB",)),
    ("November 12345", "faa", ("November 345",)),
    ("Golf ABCD", "icao", ("Golf CD", "Golf BCD")),
    ("Hotel Bravo ABC", "icao", ("Hotel BC",)),
    ("Heron 24", "faa", ()),
    ("Heron 24", "icao", ()),
]


@pytest.mark.parametrize(("value", "region", "short"), SHORT)
def test_short_forms(value: str, region: Region, short: tuple[str, ...]) -> None:
    assert abbreviated(value, region) == short


def wrong(pattern: Pattern, said: str) -> list[str | None] | None:
    match = pattern.match(normalise(said))
    return None if match is None else [each.heard for each in pattern.differences(match.slots)]


FULL = "{callsign: N123AB} kelda outbound"
AFTER = CallsignRules(after_contact=True)


def test_before_first_contact_a_short_form_is_wrong() -> None:
    pattern = compile_pattern(FULL, callsigns=CallsignRules())
    assert wrong(pattern, "november one two three alfa bravo kelda outbound") == []
    assert wrong(pattern, "november three alfa bravo kelda outbound") == ["November 3AB"]


def test_after_first_contact_it_is_right_and_another_one_is_wrong() -> None:
    pattern = compile_pattern(FULL, callsigns=AFTER)
    assert pattern.phrase == compile_pattern(FULL).phrase
    assert " ".join(pattern.spoken()).startswith("november one two three alfa bravo")
    assert wrong(pattern, "november one two three alfa bravo kelda outbound") == []
    assert wrong(pattern, "november three alfa bravo kelda outbound") == []
    assert wrong(pattern, "november three alfa charlie kelda outbound") == ["November 3AC"]
    icao = compile_pattern("{callsign: HB-ABC} kelda outbound", region="icao", callsigns=AFTER)
    assert wrong(icao, "hotel bravo charlie kelda outbound") == []
    assert wrong(icao, "hotel bravo delta kelda outbound") == ["Hotel BD"]


def test_a_declared_short_form() -> None:
    rules = CallsignRules(after_contact=True, declared=("Heron 24", "Heron 4"))
    pattern = compile_pattern("{callsign: Heron 24} kelda outbound", callsigns=rules)
    assert wrong(pattern, "heron four kelda outbound") == []
    assert wrong(pattern, "heron five kelda outbound") == ["Heron 5"]
    assert wrong(compile_pattern("{callsign: Heron 25} on", callsigns=rules), "heron four on") == ["Heron 4"]


def test_without_its_callsign_a_call_is_none_unless_a_rule_says_so() -> None:
    assert wrong(compile_pattern(FULL, callsigns=AFTER), "kelda outbound") is None


def test_a_callsign_that_is_owed_is_missing() -> None:
    pattern = compile_pattern(FULL, callsigns=CallsignRules(unsaid="owed"))
    assert wrong(pattern, "kelda outbound") == [None]
    assert pattern.remarks({}) == ()
    assert pattern.brief() == pattern.spoken()


def test_a_callsign_that_may_be_missing_gets_a_remark() -> None:
    pattern = compile_pattern(
        "[approach] {callsign: Heron 24} on", callsigns=CallsignRules(unsaid="remarked")
    )
    assert wrong(pattern, "on") == []
    assert wrong(pattern, "heron two five on") == ["Heron 25"]
    assert pattern.remarks({}) == ("no callsign: say heron two four",)
    assert pattern.remarks({"callsign": "Heron 24"}) == ()


@pytest.mark.parametrize("text", ["{callsign: Heron 24}", "[brannock] {callsign: Heron 24}"])
def test_a_call_that_is_only_a_callsign_can_not_do_without_it(text: str) -> None:
    pattern = compile_pattern(text, callsigns=CallsignRules(unsaid="owed"))
    assert pattern.match(()) is None
    assert wrong(pattern, "heron two four") == []


@pytest.mark.parametrize("text", ["kelda [{callsign: Heron 24}]", "kelda [approach {callsign: Heron 24}]"])
def test_what_an_author_made_optional_stays_so(text: str) -> None:
    pattern = compile_pattern(text, callsigns=CallsignRules(unsaid="owed"))
    assert wrong(pattern, "kelda") == []
    assert wrong(pattern, "kelda approach") is None


def test_an_option_that_is_a_callsign_is_still_said() -> None:
    rules = CallsignRules(after_contact=True, unsaid="owed")
    pattern = compile_pattern("say ({callsign: N123AB} | again)", callsigns=rules)
    assert pattern.match(("say",)) is None
    assert len(list(slots_of(pattern.node))) == 2
