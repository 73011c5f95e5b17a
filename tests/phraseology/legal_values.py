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
    "time": [f"{hour:02d}{minute:02d}" for hour in range(24) for minute in range(60)],
    "wind": [
        *(f"{direction}/{speed}" for direction in DIRECTIONS[::10] for speed in range(1, 100)),
        *(f"240/{speed}G{gust}" for speed in range(1, 99) for gust in range(speed + 1, 100)),
    ],
    "distance": [f"{tenths / 10:.1f}".removesuffix(".0") for tenths in range(1, 3000)],
    "speed": [str(knots) for knots in range(30, 601)],
    "count": [str(count) for count in range(100)],
    "letters": [
        *string.ascii_uppercase,
        *("".join(pair) for pair in product(string.ascii_uppercase, repeat=2)),
        "KLD",
        "BRNCK",
        "ZZZZZ",
    ],
    "callsign heron": [f"Heron {number}" for number in ("0", "007", *range(1, 10_000))],
}
