"""Every legal canonical value of each slot type, written out independently of the package."""

from __future__ import annotations

import string
from itertools import product

DIRECTIONS = [f"{degrees:03d}" for degrees in range(1, 361)]


def _frequency(kilohertz: int) -> str:
    return f"{kilohertz / 1000:.3f}".rstrip("0").removesuffix(".") + (".0" if kilohertz % 1000 == 0 else "")


NAV = [_frequency(k) for k in range(108_000, 118_000, 50)]
COMM_25 = [_frequency(k) for k in range(118_000, 137_000, 25)]
COMM_833 = [_frequency(k) for k in range(118_000, 136_991, 5) if k % 25 != 20]
UHF = [_frequency(k) for k in range(225_000, 400_000, 25)]
DURATIONS = [f"{seconds // 60}:{seconds % 60:02d}" for seconds in range(1, 3600)]

PAIRS = ["".join(pair) for pair in product(string.ascii_uppercase, repeat=2)]

LEGAL_VALUES: dict[str, list[str]] = {
    "heading": DIRECTIONS,
    "course": DIRECTIONS,
    "radial": DIRECTIONS,
    "bearing": DIRECTIONS,
    "altitude": [str(feet) for feet in range(100, 60_001, 10)],
    "minimums": [str(feet) for feet in range(100, 20_000)],
    "level": [f"{level:03d}" for level in range(10, 601)],
    "frequency": sorted({*NAV, *COMM_25, *COMM_833, *UHF}),
    "altimeter": [f"{hundredths // 100}.{hundredths % 100:02d}" for hundredths in range(2800, 3101)],
    "qnh": [str(hectopascals) for hectopascals in range(850, 1100)],
    "squawk": ["".join(code) for code in product("01234567", repeat=4)],
    "runway": [f"{number}{side}" for number in range(1, 37) for side in ("", "L", "R", "C")],
    "duration": DURATIONS,
    "time": [
        f"{hour:02d}{minute:02d}{quarter}"
        for hour in range(24)
        for minute in range(60)
        for quarter in ("", ":15", ":30", ":45")
    ],
    "height": [str(feet) for feet in range(10, 10_000, 10)],
    "rate": [str(feet_per_minute) for feet_per_minute in range(50, 6001)],
    "power percent": [f"{tenths / 10:g}%" for tenths in range(10, 1201)],
    "power inches": [f"{tenths / 10:g} in" for tenths in range(100, 600)],
    "power torque": [f"{pounds} ft-lb" for pounds in range(100, 4000, 10)],
    "power rpm": [f"{revolutions} rpm" for revolutions in range(100, 10_000, 10)],
    "pitch": ["0", *(f"{halves / 2:g} {side}" for side in ("up", "down") for halves in range(1, 61))],
    "flap": [
        "up",
        "takeoff",
        "approach",
        "half",
        "landing",
        "full",
        *(str(degrees) for degrees in range(61)),
    ],
    "letter": [
        "alfa",
        "bravo",
        "charlie",
        "delta",
        "echo",
        "foxtrot",
        "golf",
        "hotel",
        "india",
        "juliett",
        "kilo",
        "lima",
        "mike",
        "november",
        "oscar",
        "papa",
        "quebec",
        "romeo",
        "sierra",
        "tango",
        "uniform",
        "victor",
        "whiskey",
        "xray",
        "yankee",
        "zulu",
    ],
    "mach": [
        f"M{hundredths / 100:g}" + (".0" if hundredths % 100 == 0 else "") for hundredths in range(1, 300)
    ],
    "airway": [
        f"{upper}{letter}{number}"
        for upper in ("", "U")
        for letter in string.ascii_uppercase
        if letter != "U"
        for number in range(1, 1000)
    ],
    "fix brano,kelda,tovik ridge": ["BRANO", "KELDA", "TOVIK RIDGE", "KLD", "ZZZZZ", *PAIRS],
    "wind": [
        *(f"{direction}/{speed}" for direction in DIRECTIONS[::10] for speed in range(1, 100)),
        *(f"240/{speed}G{gust}" for speed in range(1, 99) for gust in range(max(10, speed + 1), 100)),
    ],
    "distance": [f"{tenths / 10:.1f}".removesuffix(".0") for tenths in range(1, 3000)],
    "speed": [str(knots) for knots in range(30, 601)],
    "count": [str(count) for count in range(100)],
    "letters": [
        *string.ascii_uppercase,
        *PAIRS,
        "KLD",
        "BRNCK",
        "ZZZZZ",
    ],
    "callsign heron": [f"Heron {number}" for number in ("0", "007", *range(1, 10_000))],
}
