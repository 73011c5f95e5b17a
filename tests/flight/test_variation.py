"""True and magnetic."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.courses import signed_difference
from voice_trainer.flight.variation import Variation, VariationTable


# East is least, west is best: common practice.
def test_east_is_least() -> None:
    assert Variation.read("10E").magnetic(90) == 80
    assert Variation.read("10W").magnetic(90) == 100
    assert Variation.read("5E").magnetic(5) == 360
    assert Variation.read("5W").true(5) == 360


@given(st.floats(-180, 180), st.floats(0, 360))
def test_there_and_back(east: float, true: float) -> None:
    variation = Variation(east)
    assert abs(signed_difference(variation.true(variation.magnetic(true)), true)) < 1e-9


@given(st.integers(-1800, 1800))
def test_written_and_read(tenths: int) -> None:
    variation = Variation(tenths / 10)
    assert Variation.read(variation.text) == variation


def test_a_table_by_place() -> None:
    table = VariationTable.read({"KLD": "7W", "BRN": "12.5E"})
    assert table.at("KLD").magnetic(360) == 7
    assert table.at("BRN").magnetic(360) == 347.5
    with pytest.raises(KeyError, match="no variation is given for 'XYZ'; there is one for KLD, BRN"):
        table.at("XYZ")


@pytest.mark.parametrize("text", ["", "7", "W7", "-7E", "7 W", "7w", "1e1E"])
def test_no_such_text(text: str) -> None:
    with pytest.raises(ValueError, match="is not a variation"):
        Variation.read(text)


def test_no_such_variation() -> None:
    with pytest.raises(ValueError, match="at most 180"):
        Variation.read("181E")
