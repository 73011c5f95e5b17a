"""The options that say what kind of day it is for a flown approach."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING

from voice_trainer.flight.profile import PROFILES
from voice_trainer.flight.wind import Wind
from voice_trainer.library.errors import quoted

if TYPE_CHECKING:
    from voice_trainer.library.flown import Wanted

HOUSE_FLOWS = ("six ts", "six ts with track", "five ts")
"""Those of `procedures/house_flow.py`, which is not loaded for it: the command line has to be quick."""

_WIND = re.compile(r"([0-9]{3})/([0-9]{1,3})", re.ASCII)


def add_today(command: argparse.ArgumentParser) -> None:
    """Add the options; what is not given is the approach's own, or the seed's."""
    command.add_argument(
        "--wind",
        type=_wind,
        metavar="DDD/KK",
        help="of an approach: where the wind comes from, and its knots",
    )
    command.add_argument("--profile", choices=sorted(PROFILES), help="of an approach: which aeroplane")
    command.add_argument(
        "--house-flow",
        metavar="NAME|FILE",
        help=f"of an approach: the checks at a fix: {', '.join(HOUSE_FLOWS)}, PACK/NAME, or a file of your own",
    )
    command.add_argument(
        "--runway",
        choices=("in-sight", "not-in-sight"),
        help="of an approach: what is seen at the minimums (default: by the seed)",
    )
    command.add_argument(
        "--amend",
        choices=("yes", "no"),
        help="of an approach: whether the controller amends its altitude (default: by the seed)",
    )


def wanted_today(options: argparse.Namespace) -> Wanted:
    """What the options want of today."""
    from voice_trainer.library.flown import Wanted

    return Wanted(
        wind=options.wind,
        profile=options.profile,
        flow=options.house_flow,
        runway_in_sight=None if options.runway is None else options.runway == "in-sight",
        amended=None if options.amend is None else options.amend == "yes",
    )


def given_today(options: argparse.Namespace) -> list[str]:
    """Those of the options that were given, as they are written."""
    keys = ("wind", "profile", "house_flow", "runway", "amend")
    return [f"--{key.replace('_', '-')}" for key in keys if getattr(options, key) is not None]


def _wind(text: str) -> Wind:
    found = _WIND.fullmatch(text)
    if found is None or not 1 <= int(found[1]) <= 360:
        raise argparse.ArgumentTypeError(
            f"{quoted(text)} is no wind; give three digits of a direction and knots, such as 240/18"
        )
    return Wind(float(found[1]), float(found[2]))
