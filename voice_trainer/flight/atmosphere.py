"""The standard atmosphere, and what the airspeed indicator and the altimeter make of another one.

ICAO Doc 7488 (the ISA), up to 65,600 feet: constants and relations from memory, checked against an independent
implementation. Altitudes are geopotential feet, as a pressure altitude is; the few feet between them and
geometric ones do not matter here. Air is dry, and speeds are below that of sound.
"""

from __future__ import annotations

import math
from typing import Literal

from voice_trainer.flight.turns import GRAVITY_METRES_PER_SECOND_SQUARED, METRES_PER_FOOT, METRES_PER_NM

AltimeterRule = Literal["exact", "1000 feet an inch"]
DensityRule = Literal["exact", "120 feet a degree"]

STANDARD_PRESSURE_HPA = 1013.25
STANDARD_SETTING_INHG = 29.92
HPA_PER_INHG = 33.8639
KELVIN_AT_ZERO_CELSIUS = 273.15

_SEA_LEVEL_KELVIN = 288.15
_LAPSE_KELVIN_PER_METRE = 0.0065
_TROPOPAUSE_METRES = 11_000.0
_TROPOPAUSE_KELVIN = _SEA_LEVEL_KELVIN - _LAPSE_KELVIN_PER_METRE * _TROPOPAUSE_METRES
_TOP_METRES = 20_000.0
_BOTTOM_METRES = -2_000.0
_GAS_CONSTANT = 287.05287
_HEAT_RATIO = 1.4
_EXPONENT = GRAVITY_METRES_PER_SECOND_SQUARED / (_GAS_CONSTANT * _LAPSE_KELVIN_PER_METRE)
_SCALE_METRES = _GAS_CONSTANT * _TROPOPAUSE_KELVIN / GRAVITY_METRES_PER_SECOND_SQUARED
_TROPOPAUSE_PRESSURE_HPA = STANDARD_PRESSURE_HPA * math.pow(_TROPOPAUSE_KELVIN / _SEA_LEVEL_KELVIN, _EXPONENT)
_KNOTS_PER_METRE_PER_SECOND = 3600.0 / METRES_PER_NM


def standard_temperature_celsius(pressure_altitude_feet: float) -> float:
    """15 degrees at sea level, 6.5 less each kilometre up to 11 of them, then steady.

    Raises ValueError outside -6,500 to 65,600 feet.
    """
    return _standard_kelvin(_metres(pressure_altitude_feet)) - KELVIN_AT_ZERO_CELSIUS


def pressure_hpa(pressure_altitude_feet: float) -> float:
    """The standard pressure there. Raises ValueError outside -6,500 to 65,600 feet."""
    metres = _metres(pressure_altitude_feet)
    if metres <= _TROPOPAUSE_METRES:
        return STANDARD_PRESSURE_HPA * math.pow(_standard_kelvin(metres) / _SEA_LEVEL_KELVIN, _EXPONENT)
    return _TROPOPAUSE_PRESSURE_HPA * math.exp((_TROPOPAUSE_METRES - metres) / _SCALE_METRES)


def altitude_of_pressure_feet(hpa: float) -> float:
    """The pressure altitude at which this pressure is standard: the inverse of `pressure_hpa`.

    Raises ValueError for a pressure outside that range of altitudes.
    """
    if not (math.isfinite(hpa) and hpa > 0.0):
        raise ValueError(f"a pressure is more than 0 hectopascals, not {hpa}")
    if hpa >= _TROPOPAUSE_PRESSURE_HPA:
        ratio = math.pow(hpa / STANDARD_PRESSURE_HPA, 1.0 / _EXPONENT)
        metres = _SEA_LEVEL_KELVIN * (1.0 - ratio) / _LAPSE_KELVIN_PER_METRE
    else:
        metres = _TROPOPAUSE_METRES - _SCALE_METRES * math.log(hpa / _TROPOPAUSE_PRESSURE_HPA)
    feet = metres / METRES_PER_FOOT
    _check_range(metres, feet)
    return feet


def density_kg_per_cubic_metre(
    pressure_altitude_feet: float, temperature_celsius: float | None = None
) -> float:
    """The density of dry air; at the standard temperature unless told another.

    Raises ValueError outside the range of altitudes, and at or below absolute zero.
    """
    kelvin = _kelvin(pressure_altitude_feet, temperature_celsius)
    return 100.0 * pressure_hpa(pressure_altitude_feet) / (_GAS_CONSTANT * kelvin)


def speed_of_sound_knots(temperature_celsius: float) -> float:
    """The speed of sound in dry air. Raises ValueError at or below absolute zero."""
    kelvin = _checked_kelvin(temperature_celsius)
    return math.sqrt(_HEAT_RATIO * _GAS_CONSTANT * kelvin) * _KNOTS_PER_METRE_PER_SECOND


def mach_of_calibrated(calibrated_airspeed_knots: float, pressure_altitude_feet: float) -> float:
    """The Mach number of a calibrated airspeed, by the compressible relation of the airspeed indicator.

    Raises ValueError below 0 knots, and from the speed of sound.
    """
    if not calibrated_airspeed_knots >= 0.0:
        raise ValueError(f"an airspeed is 0 knots or more, not {calibrated_airspeed_knots}")
    at_sea_level = calibrated_airspeed_knots / speed_of_sound_knots(
        _SEA_LEVEL_KELVIN - KELVIN_AT_ZERO_CELSIUS
    )
    impact = _impact(at_sea_level) * STANDARD_PRESSURE_HPA / pressure_hpa(pressure_altitude_feet)
    mach = math.sqrt(5.0 * (math.pow(impact + 1.0, 2.0 / 7.0) - 1.0))
    if mach >= 1.0 or at_sea_level >= 1.0:
        raise ValueError(
            f"{calibrated_airspeed_knots:g} knots at {pressure_altitude_feet:g} feet is not below the speed of sound"
        )
    return mach


def true_airspeed_knots(
    indicated_airspeed_knots: float, pressure_altitude_feet: float, temperature_celsius: float | None = None
) -> float:
    """True airspeed at the outside air temperature, the standard one unless told another.

    No position or instrument error: indicated is calibrated airspeed. Raises ValueError as `mach_of_calibrated`
    does, and at or below absolute zero.
    """
    kelvin = _kelvin(pressure_altitude_feet, temperature_celsius)
    sound = speed_of_sound_knots(kelvin - KELVIN_AT_ZERO_CELSIUS)
    return sound * mach_of_calibrated(indicated_airspeed_knots, pressure_altitude_feet)


def indicated_airspeed_knots(
    true_airspeed_knots: float, pressure_altitude_feet: float, temperature_celsius: float | None = None
) -> float:
    """The inverse of `true_airspeed_knots`, with the same assumptions and errors."""
    kelvin = _kelvin(pressure_altitude_feet, temperature_celsius)
    mach = true_airspeed_knots / speed_of_sound_knots(kelvin - KELVIN_AT_ZERO_CELSIUS)
    if not 0.0 <= mach < 1.0:
        raise ValueError(f"{true_airspeed_knots:g} knots is not from 0 to the speed of sound")
    impact = _impact(mach) * pressure_hpa(pressure_altitude_feet) / STANDARD_PRESSURE_HPA
    at_sea_level = math.sqrt(5.0 * (math.pow(impact + 1.0, 2.0 / 7.0) - 1.0))
    return at_sea_level * speed_of_sound_knots(_SEA_LEVEL_KELVIN - KELVIN_AT_ZERO_CELSIUS)


def pressure_altitude_feet(
    indicated_altitude_feet: float, setting_inhg: float, rule: AltimeterRule = "exact"
) -> float:
    """The pressure altitude of what an altimeter reads on a setting in inches of mercury.

    'exact' as an altimeter is built: it reads the pressure altitude less that of its setting. '1000 feet an
    inch' from 29.92: the rule of thumb of FAA-H-8083-25, from memory. Raises ValueError for a setting that is
    no pressure of any place.
    """
    return indicated_altitude_feet + _setting_altitude_feet(setting_inhg, rule)


def altimeter_reading_feet(
    pressure_altitude_feet: float, setting_inhg: float, rule: AltimeterRule = "exact"
) -> float:
    """What an altimeter on this setting reads: the inverse of `pressure_altitude_feet`."""
    return pressure_altitude_feet - _setting_altitude_feet(setting_inhg, rule)


def density_altitude_feet(
    pressure_altitude_feet: float, temperature_celsius: float, rule: DensityRule = "exact"
) -> float:
    """The altitude at which this density is standard.

    'exact' within the troposphere (to 36,000 feet), by the ISA; '120 feet a degree' above the standard
    temperature is the rule of thumb, common practice. Raises ValueError outside the troposphere for 'exact'.
    """
    if rule == "120 feet a degree":
        warmer = temperature_celsius - standard_temperature_celsius(pressure_altitude_feet)
        return pressure_altitude_feet + 120.0 * warmer
    density = density_kg_per_cubic_metre(pressure_altitude_feet, temperature_celsius)
    ratio = density / density_kg_per_cubic_metre(0.0)
    kelvin = _SEA_LEVEL_KELVIN * math.pow(ratio, 1.0 / (_EXPONENT - 1.0))
    if kelvin < _TROPOPAUSE_KELVIN:
        raise ValueError(
            f"the density at {pressure_altitude_feet:g} feet and {temperature_celsius:g} degrees is one of the "
            "stratosphere: density altitudes are for lower down"
        )
    return (_SEA_LEVEL_KELVIN - kelvin) / _LAPSE_KELVIN_PER_METRE / METRES_PER_FOOT


def hpa_of_inhg(inhg: float) -> float:
    """Inches of mercury as hectopascals."""
    return inhg * HPA_PER_INHG


def inhg_of_hpa(hpa: float) -> float:
    """Hectopascals as inches of mercury."""
    return hpa / HPA_PER_INHG


def _setting_altitude_feet(setting_inhg: float, rule: AltimeterRule) -> float:
    if rule == "1000 feet an inch":
        return 1000.0 * (STANDARD_SETTING_INHG - setting_inhg)
    return altitude_of_pressure_feet(hpa_of_inhg(setting_inhg))


def _impact(mach: float) -> float:
    """Impact pressure over static pressure."""
    return math.pow(1.0 + 0.2 * mach * mach, 3.5) - 1.0


def _standard_kelvin(metres: float) -> float:
    return max(_TROPOPAUSE_KELVIN, _SEA_LEVEL_KELVIN - _LAPSE_KELVIN_PER_METRE * metres)


def _kelvin(pressure_altitude_feet: float, temperature_celsius: float | None) -> float:
    if temperature_celsius is None:
        return _standard_kelvin(_metres(pressure_altitude_feet))
    return _checked_kelvin(temperature_celsius)


def _checked_kelvin(temperature_celsius: float) -> float:
    kelvin = temperature_celsius + KELVIN_AT_ZERO_CELSIUS
    if not (math.isfinite(kelvin) and kelvin > 0.0):
        raise ValueError(f"no air is as cold as {temperature_celsius} degrees Celsius")
    return kelvin


def _metres(feet: float) -> float:
    metres = feet * METRES_PER_FOOT
    _check_range(metres, feet)
    return metres


def _check_range(metres: float, feet: float) -> None:
    # The bounds themselves may come back from a pressure with a rounding error.
    if not _BOTTOM_METRES - 0.01 <= metres <= _TOP_METRES + 0.01:
        raise ValueError(
            f"the standard atmosphere here is from -6,500 to 65,600 feet; {feet:.0f} is outside it"
        )
