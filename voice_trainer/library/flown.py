"""The approaches and holds that come with the program, and the drill that one of them is today."""

from __future__ import annotations

import random
from dataclasses import dataclass
from pathlib import Path

from voice_trainer.drills.model import Drill, House
from voice_trainer.flight.profile import Profile, profile_named
from voice_trainer.flight.wind import Wind, WindError
from voice_trainer.library.errors import DrillError, Problem
from voice_trainer.library.flow_files import find_flow
from voice_trainer.library.folders import PROCEDURES
from voice_trainer.library.house_files import spoken_in
from voice_trainer.library.procedure_files import Procedure
from voice_trainer.procedures.amendment import RAISED_BY_FEET, amended_altitudes
from voice_trainer.procedures.approach import Approach
from voice_trainer.procedures.derivation import drill_of
from voice_trainer.procedures.hold import HoldProcedure
from voice_trainer.procedures.holding import hold_drill_of
from voice_trainer.procedures.today import Amendment, Today

USUAL_FLOW = "six ts"

MOST_WIND = 0.25
"""Of the speed on final: more wind than that is drawn for nobody (ours)."""

ALTIMETER_HUNDREDTHS = (2960, 3020)
"""The altimeter setting that is drawn lies between these hundredths of an inch of mercury (ours)."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What somebody wants of today; None is left to the approach's file, or to the seed."""

    wind: Wind | None = None
    profile: str | None = None
    flow: str | None = None
    runway_in_sight: bool | None = None
    amended: bool | None = None


def builtin_procedures() -> dict[str, Path]:
    """The file of every procedure that comes with the program, by its name, in alphabetical order."""
    return {path.stem: path for path in sorted(PROCEDURES.glob("*.yaml"))}


def today_for(procedure: Procedure, wanted: Wanted, seed: int) -> Today:
    """The day that is wanted; seed 0 is the day in the procedure's file, any other draws the wind and the rest.

    Raises ValueError for a profile that is not known, and for an amendment where there can be none.
    """
    profile = profile_named(wanted.profile or procedure.profile)
    draws = random.Random(seed)
    drawn_wind = Wind(float(draws.randrange(10, 361, 10)), float(draws.randint(0, _most_knots(profile))))
    drawn_sight = draws.random() < 0.5
    usual = Wind(procedure.wind.from_degrees, procedure.wind.knots)
    wind = wanted.wind or (drawn_wind if seed else usual)
    in_sight = wanted.runway_in_sight
    return Today(
        profile,
        wind,
        in_sight if in_sight is not None else bool(seed) and drawn_sight,
        _amendment(procedure, wanted.amended, seed, draws),
    )


def flown_drill(
    procedure: Procedure, file: str, wanted: Wanted, seed: int = 0, house: House | None = None
) -> Drill:
    """The drill that a procedure is today, as the `house` speaks.

    Raises DrillError for a day on which it can't be flown.
    """
    try:
        today, flow = today_for(procedure, wanted, seed), find_flow(wanted.flow or USUAL_FLOW)
        if isinstance(procedure, HoldProcedure):
            return spoken_in(house, hold_drill_of(procedure, today, flow))
        return spoken_in(house, drill_of(procedure, today, flow))
    except WindError as error:
        raise DrillError(Problem(file, str(error), "give less wind")) from None
    except ValueError as error:
        what, _, advice = str(error).partition("; ")
        raise DrillError(Problem(file, what, advice or "correct it")) from None


def _amendment(
    procedure: Procedure, amended: bool | None, seed: int, draws: random.Random
) -> Amendment | None:
    drawn = draws.random() < 0.5
    if isinstance(procedure, HoldProcedure):
        if amended:
            raise ValueError(
                "a hold's altitude is not amended; name an approach, or fly it without (--amend no)"
            )
        return None
    if amended is None:
        amended = bool(seed) and drawn and bool(amended_altitudes(procedure))
    return _drawn_amendment(procedure, draws) if amended else None


def _drawn_amendment(approach: Approach, draws: random.Random) -> Amendment:
    altitudes = amended_altitudes(approach)
    if not altitudes:
        raise ValueError(
            f"the altitude of '{approach.approach}' can't be amended: there is no time for it, or it begins less than "
            f"{RAISED_BY_FEET[0]} feet above it; fly it without (--amend no)"
        )
    return Amendment(draws.choice(altitudes), draws.randint(*ALTIMETER_HUNDREDTHS) / 100)


def _most_knots(profile: Profile) -> int:
    return round(profile.final_knots * MOST_WIND)
