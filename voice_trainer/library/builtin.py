"""The drills that come with the program, and finding a drill by its name, those of installed packs too."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from voice_trainer.drills.model import Drill
from voice_trainer.library.drill_files import load_drill
from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.flown import Wanted, builtin_procedures, flown_drill
from voice_trainer.library.folders import CONTENT
from voice_trainer.library.house_files import HOUSE_FILE, house_beside
from voice_trainer.library.packs import NO_PACKS, Packs, PackThing
from voice_trainer.library.procedure_files import is_procedure, load_procedure
from voice_trainer.library.wording import listed, nearest

MOST_LISTED = 12
"""More names than that help nobody in one line."""

_ENDINGS = (".yaml", ".yml")


def builtin_drills() -> dict[str, Path]:
    """The file of every drill that comes with the program, by the drill's name, in alphabetical order."""
    return {path.stem: path for path in sorted(CONTENT.glob("*.yaml")) if path.name != HOUSE_FILE}


def everything(packs: Packs = NO_PACKS) -> dict[str, Path]:
    """The file of every drill, approach and hold that there is, by name: those of the program, then those of packs."""
    return builtin_drills() | builtin_procedures() | packs.drills() | packs.procedures()


def find_drill(
    name_or_path: str, seed: int = 0, wanted: Wanted | None = None, packs: Packs = NO_PACKS
) -> Drill:
    """The drill of that name, or the one in that file, its variables as `seed` draws them.

    What ends in .yaml or .yml is a file; PACK/NAME is a drill of an installed pack; what else holds a slash is a file;
    anything else is the name of a built-in drill, or of one of a pack, if no other pack has one of that name. An
    approach or a hold becomes the drill that it is on the day that is `wanted`. Raises DrillError; for a name that is
    not there it suggests the nearest.
    """
    if not name_or_path.endswith(_ENDINGS):
        drills, flown = builtin_drills(), builtin_procedures()
        if name_or_path in drills:
            return load_drill(drills[name_or_path], seed)
        if name_or_path in flown:
            return find_flown(name_or_path, seed, wanted, packs)
        if thing := packs.called(name_or_path):
            return _of_pack(thing, seed, wanted, packs)
        if "/" not in name_or_path:
            raise _no_such_drill(name_or_path, [*drills, *flown, *packs.drills(), *packs.procedures()])
    if is_procedure(Path(name_or_path)):
        return find_flown(name_or_path, seed, wanted, packs)
    return load_drill(name_or_path, seed)


def is_flown(name_or_path: str, packs: Packs = NO_PACKS) -> bool:
    """Whether what `find_drill` finds so is an approach or a hold, which becomes a drill on the day that is wanted."""
    if not name_or_path.endswith(_ENDINGS):
        if name_or_path in builtin_drills():
            return False
        if name_or_path in builtin_procedures():
            return True
        if thing := packs.called(name_or_path):
            return thing.name in thing.pack.procedures
    return is_procedure(Path(name_or_path))


def find_flown(
    name_or_path: str, seed: int = 0, wanted: Wanted | None = None, packs: Packs = NO_PACKS
) -> Drill:
    """The drill that an approach or a hold, by name or file, is on the day that is wanted. Raises DrillError."""
    path = Path(name_or_path)
    if not name_or_path.endswith(_ENDINGS):
        flown = builtin_procedures()
        if name_or_path in flown:
            path = flown[name_or_path]
        elif (thing := packs.called(name_or_path)) and thing.name in thing.pack.procedures:
            return _of_pack(thing, seed, wanted, packs)
        elif thing is not None or "/" not in name_or_path:
            known = [*flown, *packs.procedures()]
            likely = None if thing else nearest(name_or_path, known)
            advice = (
                f"did you mean '{likely}'?"
                if likely
                else f"use {listed(known)}, or a file such as ./my-approach.yaml"
            )
            raise DrillError(
                Problem(quoted(name_or_path), "there is no approach or hold of this name", advice)
            )
    return _flown(path, name_or_path, seed, _with_flow(wanted or Wanted(), packs))


def _of_pack(thing: PackThing, seed: int, wanted: Wanted | None, packs: Packs) -> Drill:
    """A drill of a pack, under its whole name."""
    if thing.name in thing.pack.drills:
        drill = load_drill(thing.path, seed)
    else:
        wanted = wanted or Wanted()
        own_flow = thing.pack.manifest.house_flow
        if wanted.flow is None and own_flow is not None:
            wanted = replace(wanted, flow=f"{thing.pack.name}/{own_flow}")
        drill = _flown(thing.path, str(thing.path), seed, _with_flow(wanted, packs))
    return drill.model_copy(update={"drill": thing.qualified})


def _flown(path: Path, file: str, seed: int, wanted: Wanted) -> Drill:
    return flown_drill(load_procedure(path), file, wanted, seed, house_beside(path))


def _with_flow(wanted: Wanted, packs: Packs) -> Wanted:
    """What is wanted, a pack's house flow as its file."""
    path = None if wanted.flow is None else packs.flow_called(wanted.flow)
    return wanted if path is None else replace(wanted, flow=str(path))


def _no_such_drill(name: str, known: Sequence[str]) -> DrillError:
    likely = nearest(name, [*known, *(each.rpartition("/")[2] for each in known)])
    if likely:
        advice = f"did you mean '{likely}'?"
    elif len(known) > MOST_LISTED:
        advice = "see them all with 'voice-trainer list', or name a file such as ./my-drill.yaml"
    elif known:
        advice = f"use {listed(known)}, or a file such as ./my-drill.yaml"
    else:
        advice = "none came with this installation; name a file such as ./my-drill.yaml"
    return DrillError(Problem(quoted(name), "there is no drill of this name", advice))
