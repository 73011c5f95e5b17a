"""Turns against published tables and examples."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight import turns

FEET_PER_NM = 1852.0 / 0.3048


# Computed independently: atan(3 degrees a second x V / g).
@pytest.mark.parametrize(
    ("knots", "bank"),
    [(60, 9.36), (90, 13.89), (100, 15.36), (120, 18.24), (140, 21.03), (150, 22.39), (180, 26.31)],
)
def test_the_bank_of_a_standard_rate_turn(knots: float, bank: float) -> None:
    assert turns.bank_for_rate(knots) == pytest.approx(bank, abs=0.005)


# '15 % of the airspeed' (divide by ten, add half): reprint of the FAA Instrument Flying Handbook: 100 -> 15,
# 120 -> 18. 'A tenth plus seven': a pilot's handbook, read second hand: 120 -> 19, 180 -> 25.
@pytest.mark.parametrize(("knots", "rule"), [(100, 15), (120, 18), (120, 19), (180, 25)])
def test_the_rules_of_thumb_for_the_bank_are_within_two_degrees(knots: float, rule: float) -> None:
    assert abs(turns.bank_for_rate(knots) - rule) < 2.0


# FAA Instrument Procedures Handbook p.3-25: above 210 knots standard rate takes more than 30 degrees of bank,
# above 170 more than 25.
@pytest.mark.parametrize(("knots", "bank"), [(210, 30), (170, 25)])
def test_where_standard_rate_becomes_too_steep(knots: float, bank: float) -> None:
    assert turns.bank_for_rate(knots) == pytest.approx(bank, abs=0.05)
    assert turns.bank_for_rate(knots + 1) > bank


# CNATRA P-1215: at standard rate 30 degrees take 10 s, a circle 120 s; at half rate 30 take 20 s, 90 take 60.
@pytest.mark.parametrize(
    ("rate", "turn", "seconds"), [(3.0, 30, 10), (3.0, 360, 120), (1.5, 30, 20), (1.5, 90, 60)]
)
@pytest.mark.parametrize("knots", [90.0, 150.0])
def test_how_long_a_turn_takes(knots: float, rate: float, turn: float, seconds: float) -> None:
    bank = turns.bank_for_rate(knots, rate)
    assert turn / turns.rate_for_bank(knots, bank) == pytest.approx(seconds)


# AIM 5-4-7c1 prints 4,194 ft at 30 degrees and 6,654 ft at 20, for 165 knots. 2,215 ft and 8,861 ft at 30
# degrees for 120 and 240 knots are the Pilot's Handbook's, quoted from memory; so are the rates below.
@pytest.mark.parametrize(
    ("knots", "bank", "feet"), [(165, 30, 4194), (165, 20, 6654), (120, 30, 2215), (240, 30, 8861)]
)
def test_the_radius_of_a_turn(knots: float, bank: float, feet: float) -> None:
    assert turns.radius_nm(knots, bank) * FEET_PER_NM == pytest.approx(feet, rel=0.005)
    assert turns.radius_nm(knots, -bank) == turns.radius_nm(knots, bank)


@pytest.mark.parametrize(("knots", "rate"), [(120, 5.25), (240, 2.62)])
def test_the_rate_of_a_turn_at_30_degrees(knots: float, rate: float) -> None:
    assert turns.rate_for_bank(knots, 30.0) == pytest.approx(rate, abs=0.01)
    assert turns.rate_for_bank(knots, -30.0) == pytest.approx(-rate, abs=0.01)


# V / (60 pi): a standard-rate circle takes two minutes. 0.5 % of the speed: CNATRA P-340 Fig. 6-60.
@pytest.mark.parametrize(("knots", "nm"), [(90, 0.477), (120, 0.637), (150, 0.796)])
def test_the_radius_at_standard_rate(knots: float, nm: float) -> None:
    radius = turns.radius_nm(knots, turns.bank_for_rate(knots))
    assert radius == pytest.approx(nm, abs=0.001)
    assert radius == pytest.approx(knots / (60.0 * math.pi), rel=1e-3)
    assert radius == pytest.approx(0.005 * knots, abs=0.05)


# CNATRA P-765 s.504 and AFMAN 11-217V1 2.4.2.2: the roll-out lead is a third of the bank; P-765: 30 -> 10.
@pytest.mark.parametrize(("knots", "bank"), [(120, 18.24), (150, 22.39), (210, 30.0)])
def test_rolling_out_at_5_degrees_a_second_takes_a_third_of_the_bank(knots: float, bank: float) -> None:
    assert turns.roll_out_lead(knots, bank, 5.0) == pytest.approx(bank / 3.0, abs=1.5)


@given(st.floats(60, 300), st.floats(0.5, 45), st.floats(2, 30))
def test_the_steepest_bank_undoes_the_lead(knots: float, bank: float, roll: float) -> None:
    lead = turns.roll_out_lead(knots, bank, roll)
    assert turns.bank_for_roll_out(knots, lead, roll) == pytest.approx(bank, abs=1e-4)
    assert turns.bank_for_roll_out(knots, -lead, roll) == pytest.approx(bank, abs=1e-4)


def test_what_has_no_turn() -> None:
    with pytest.raises(ValueError, match="wings level"):
        turns.radius_nm(120.0, 0.0)
    with pytest.raises(ValueError, match="positive airspeed"):
        turns.rate_for_bank(0.0, 20.0)


# 15 %: a reprint of the FAA Instrument Flying Handbook, 100 -> 15, 120 -> 18. A tenth plus 7: common practice,
# 120 -> 19, 180 -> 25.
@pytest.mark.parametrize(
    ("knots", "rule", "bank"),
    [
        (100, "fifteen percent", 15),
        (120, "fifteen percent", 18),
        (120, "a tenth plus seven", 19),
        (180, "a tenth plus seven", 25),
    ],
)
def test_both_rules_for_the_bank(knots: float, rule: turns.BankRule, bank: float) -> None:
    assert turns.bank_by_rule(knots, rule) == pytest.approx(bank)


# FAA Instrument Procedures Handbook p.3-25: above 210 knots more than 30 degrees, above 170 more than 25.
@pytest.mark.parametrize(("bank", "knots"), [(30, 210), (25, 170)])
def test_the_fastest_standard_rate_turn_within_a_bank(bank: float, knots: float) -> None:
    assert turns.fastest_for_bank(bank) == pytest.approx(knots, abs=0.5)
    assert turns.bank_for_rate(turns.fastest_for_bank(bank)) == pytest.approx(bank)


# A third: CNATRA P-765 s.504, 30 -> 10. Half: FAA Instrument Flying Handbook, from memory.
def test_both_rules_for_the_roll_out() -> None:
    assert turns.roll_out_lead_by_rule(30) == 10
    assert turns.roll_out_lead_by_rule(-30, "half the bank") == 15


# The printed formulas: V squared / (11.26 tan bank) feet, 1,091 tan bank / V degrees a second (AIM
# 5-4-7c1; Pilot's Handbook).
@given(st.floats(60, 300), st.floats(5, 45))
def test_the_printed_formulas(knots: float, bank: float) -> None:
    tangent = math.tan(math.radians(bank))
    assert turns.radius_nm(knots, bank) * FEET_PER_NM == pytest.approx(
        knots**2 / (11.26 * tangent), rel=0.005
    )
    assert turns.rate_for_bank(knots, bank) == pytest.approx(1091 * tangent / knots, rel=0.005)


# Computed independently: V / (60 pi). The rules of thumb: CNATRA P-340 Fig. 6-60 (0.5 %), P-1204 p. 76 (1 %).
@pytest.mark.parametrize(("knots", "nm"), [(90, 0.477), (120, 0.637), (150, 0.796)])
def test_the_radius_by_rate_and_by_rule(knots: float, nm: float) -> None:
    assert turns.radius_at_rate_nm(knots) == pytest.approx(nm, abs=0.0005)
    assert turns.radius_at_rate_nm(knots, 1.5) == pytest.approx(2 * nm, abs=0.001)
    assert turns.radius_by_rule_nm(knots) == pytest.approx(0.005 * knots)
    assert turns.radius_by_rule_nm(knots, half_rate=True) == pytest.approx(0.01 * knots)
    with pytest.raises(ValueError, match="rate above 0"):
        turns.radius_at_rate_nm(knots, 0)
