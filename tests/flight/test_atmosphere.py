"""The standard atmosphere, against an independent implementation (ambiance, ICAO Doc 7488) and printed values."""

from __future__ import annotations

import pytest
from ambiance import CONST, Atmosphere
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.flight.atmosphere import (
    altimeter_reading_feet,
    altitude_of_pressure_feet,
    density_altitude_feet,
    density_kg_per_cubic_metre,
    hpa_of_inhg,
    indicated_airspeed_knots,
    inhg_of_hpa,
    mach_of_calibrated,
    pressure_altitude_feet,
    pressure_hpa,
    speed_of_sound_knots,
    standard_temperature_celsius,
    true_airspeed_knots,
)

altitudes = st.floats(-1000, 60000)


def independent(feet: float) -> Atmosphere:
    """It counts geometric metres, we geopotential feet."""
    metres = feet * 0.3048
    return Atmosphere(metres * CONST.r / (CONST.r - metres))


# Above the tropopause it starts from a rounded pressure, 2 parts in a million off the lower layer's own.
@pytest.mark.parametrize("feet", range(0, 40001, 1000))
def test_against_an_independent_implementation(feet: int) -> None:
    other = independent(feet)
    assert pressure_hpa(feet) == pytest.approx(float(other.pressure[0]) / 100, rel=5e-6)
    assert standard_temperature_celsius(feet) == pytest.approx(
        float(other.temperature_in_celsius[0]), abs=1e-6
    )
    assert density_kg_per_cubic_metre(feet) == pytest.approx(float(other.density[0]), rel=5e-6)
    sound = float(other.speed_of_sound[0]) * 3600 / 1852
    assert speed_of_sound_knots(standard_temperature_celsius(feet)) == pytest.approx(sound, rel=5e-6)


# ICAO Doc 7488, from memory: 1013.25 hPa, 15 degrees, 1.225 kg and 661.47 knots at sea level; 226.32 hPa and -56.5
# degrees at 36,089 feet.
def test_printed_values() -> None:
    assert pressure_hpa(0) == 1013.25
    assert standard_temperature_celsius(0) == 15.0
    assert density_kg_per_cubic_metre(0) == pytest.approx(1.225, abs=1e-5)
    assert speed_of_sound_knots(15) == pytest.approx(661.47, abs=0.01)
    assert pressure_hpa(36089.24) == pytest.approx(226.32, abs=0.005)
    assert standard_temperature_celsius(36090) == standard_temperature_celsius(45000) == pytest.approx(-56.5)


@given(altitudes)
def test_pressure_and_back(feet: float) -> None:
    assert altitude_of_pressure_feet(pressure_hpa(feet)) == pytest.approx(feet, abs=1e-4)


def test_at_sea_level_true_is_indicated() -> None:
    assert true_airspeed_knots(120, 0) == pytest.approx(120)


# By density alone, which holds where the air is not compressed much: true = indicated x sqrt(1.225 / density),
# the density from the independent implementation.
@pytest.mark.parametrize("feet", [2000, 5000, 10000])
def test_slow_and_low_it_is_the_density(feet: int) -> None:
    density = float(independent(feet).density[0])
    assert true_airspeed_knots(100, feet) == pytest.approx(100 * (1.225 / density) ** 0.5, rel=0.002)


# Computed by hand from the same relations: 250 knots at flight level 250 are Mach 0.603, 363 knots.
def test_fast_and_high() -> None:
    assert mach_of_calibrated(250, 25000) == pytest.approx(0.603, abs=0.001)
    assert true_airspeed_knots(250, 25000) == pytest.approx(363, abs=0.5)


# The rule of thumb, common practice: 2 % for each thousand feet.
@pytest.mark.parametrize("feet", [2000, 4000, 6000, 8000, 10000])
def test_two_per_cent_for_a_thousand_feet(feet: int) -> None:
    assert true_airspeed_knots(120, feet) == pytest.approx(120 * (1 + 0.02 * feet / 1000), rel=0.04)


# True airspeed goes with the square root of the absolute temperature at one pressure and Mach number.
def test_warm_air() -> None:
    standard = standard_temperature_celsius(8000)
    warm = true_airspeed_knots(120, 8000, standard + 20)
    ratio = ((standard + 20 + 273.15) / (standard + 273.15)) ** 0.5
    assert warm == pytest.approx(true_airspeed_knots(120, 8000) * ratio)
    assert warm > true_airspeed_knots(120, 8000)


@given(st.floats(20, 250), st.floats(-1000, 40000), st.floats(-60, 45))
def test_indicated_to_true_and_back(indicated: float, feet: float, celsius: float) -> None:
    true = true_airspeed_knots(indicated, feet, celsius)
    assert indicated_airspeed_knots(true, feet, celsius) == pytest.approx(indicated, rel=1e-9)


# The altimeter: 29.92 reads pressure altitude; an inch is about 1,000 feet (FAA-H-8083-25, from memory). Exactly,
# 28.92 to 29.92 is 937 feet: computed from the independent atmosphere.
def test_the_setting() -> None:
    assert pressure_altitude_feet(5000, 29.92) == pytest.approx(5000, abs=2)
    assert pressure_altitude_feet(5000, 29.92, "1000 feet an inch") == 5000
    assert pressure_altitude_feet(5000, 28.92, "1000 feet an inch") == pytest.approx(6000)
    other = float(Atmosphere.from_pressure(hpa_of_inhg(28.92) * 100).H[0]) / 0.3048
    assert pressure_altitude_feet(5000, 28.92) == pytest.approx(5000 + other, abs=0.1)
    assert pressure_altitude_feet(5000, 28.92) == pytest.approx(5000 + 937, abs=10)


@given(altitudes, st.floats(27.5, 31.5), st.sampled_from(["exact", "1000 feet an inch"]))
def test_the_altimeter_and_back(feet: float, setting: float, rule: str) -> None:
    there = pressure_altitude_feet(feet, setting, rule)  # type: ignore[arg-type]
    back = altimeter_reading_feet(there, setting, rule)  # type: ignore[arg-type]
    assert back == pytest.approx(feet, abs=1e-6)


@given(st.floats(-1000, 30000))
def test_in_standard_air_density_altitude_is_pressure_altitude(feet: float) -> None:
    standard = standard_temperature_celsius(feet)
    assert density_altitude_feet(feet, standard) == pytest.approx(feet, abs=1e-5)
    assert density_altitude_feet(feet, standard, "120 feet a degree") == feet


# Against the independent implementation: the altitude at which it has this density.
@pytest.mark.parametrize(("feet", "celsius"), [(0, 35), (5000, 30), (5000, -20), (9000, 20)])
def test_density_altitude(feet: float, celsius: float) -> None:
    density = pressure_hpa(feet) * 100 / (287.05287 * (celsius + 273.15))
    other = float(Atmosphere.from_density(density).H[0]) / 0.3048
    assert density_altitude_feet(feet, celsius) == pytest.approx(other, abs=0.5)
    assert density_altitude_feet(feet, celsius, "120 feet a degree") == pytest.approx(other, abs=250)


# The definition: 29.92 inches are 1013.2 hectopascals, to what is printed on altimeters.
def test_inches_and_hectopascals() -> None:
    assert hpa_of_inhg(29.92) == pytest.approx(1013.2, abs=0.05)
    assert inhg_of_hpa(hpa_of_inhg(30.11)) == pytest.approx(30.11)


def test_outside_the_atmosphere() -> None:
    for outside in (-7000, 70000, float("nan")):
        with pytest.raises(ValueError, match="from -6,500 to 65,600 feet"):
            pressure_hpa(outside)
    with pytest.raises(ValueError, match="from -6,500 to 65,600 feet"):
        altitude_of_pressure_feet(1.0)
    with pytest.raises(ValueError, match="more than 0 hectopascals"):
        altitude_of_pressure_feet(0)
    with pytest.raises(ValueError, match="one of the stratosphere"):
        density_altitude_feet(45000, -56)


def test_speeds_and_temperatures_that_are_none() -> None:
    with pytest.raises(ValueError, match="0 knots or more"):
        true_airspeed_knots(-1, 0)
    with pytest.raises(ValueError, match="not below the speed of sound"):
        true_airspeed_knots(600, 40000)
    with pytest.raises(ValueError, match="not from 0 to the speed of sound"):
        indicated_airspeed_knots(700, 0)
    with pytest.raises(ValueError, match="no air is as cold"):
        true_airspeed_knots(100, 0, -300)
