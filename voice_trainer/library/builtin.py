"""The drills that come with the program, and finding a drill by its name."""

from __future__ import annotations

from pathlib import Path

from voice_trainer.drills.model import Drill
from voice_trainer.library.drill_files import load_drill
from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.flown import Wanted, builtin_procedures, flown_drill
from voice_trainer.library.house_files import HOUSE_FILE
from voice_trainer.library.procedure_files import is_procedure, load_procedure
from voice_trainer.library.wording import listed, nearest

CONTENT = Path(__file__).parent / "content"
"""One YAML file a drill, named after the drill."""

MOST_LISTED = 12
"""More names than that help nobody in one line."""

_ENDINGS = (".yaml", ".yml")


def builtin_drills() -> dict[str, Path]:
    """The file of every drill that comes with the program, by the drill's name, in alphabetical order."""
    return {path.stem: path for path in sorted(CONTENT.glob("*.yaml")) if path.name != HOUSE_FILE}


def everything() -> dict[str, Path]:
    """The file of every drill, approach and hold that comes with the program, by name."""
    return builtin_drills() | builtin_procedures()


def find_drill(name_or_path: str, seed: int = 0, wanted: Wanted | None = None) -> Drill:
    """The drill of that name, or the one in that file, its variables as `seed` draws them.

    What holds a slash or ends in .yaml or .yml is a file, anything else a name. An approach or a hold becomes the
    drill that it is on the day that is `wanted`. Raises DrillError; for a name that is not there it suggests the
    nearest.
    """
    if "/" in name_or_path or name_or_path.endswith(_ENDINGS):
        if is_procedure(Path(name_or_path)):
            return find_flown(name_or_path, seed, wanted)
        return load_drill(name_or_path, seed)
    drills = builtin_drills()
    if name_or_path in drills:
        return load_drill(drills[name_or_path], seed)
    flown = builtin_procedures()
    if name_or_path in flown:
        return find_flown(name_or_path, seed, wanted)
    drills |= flown
    likely = nearest(name_or_path, drills)
    if likely:
        advice = f"did you mean '{likely}'?"
    elif len(drills) > MOST_LISTED:
        advice = "see them all with 'voice-trainer list', or name a file such as ./my-drill.yaml"
    elif drills:
        advice = f"use {listed(drills)}, or a file such as ./my-drill.yaml"
    else:
        advice = "none came with this installation; name a file such as ./my-drill.yaml"
    raise DrillError(Problem(quoted(name_or_path), "there is no drill of this name", advice))


def find_flown(name_or_path: str, seed: int = 0, wanted: Wanted | None = None) -> Drill:
    """The drill that an approach or a hold, by name or file, is on the day that is wanted. Raises DrillError."""
    flown = builtin_procedures()
    path = Path(name_or_path)
    if "/" not in name_or_path and not name_or_path.endswith(_ENDINGS):
        if name_or_path not in flown:
            likely = nearest(name_or_path, flown)
            advice = (
                f"did you mean '{likely}'?"
                if likely
                else f"use {listed(flown)}, or a file such as ./my-approach.yaml"
            )
            raise DrillError(
                Problem(quoted(name_or_path), "there is no approach or hold of this name", advice)
            )
        path = flown[name_or_path]
    return flown_drill(load_procedure(path), name_or_path, wanted or Wanted(), seed)
