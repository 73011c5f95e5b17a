"""Drills by name, those of installed packs too."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from voice_trainer.archive.places import packs_folder
from voice_trainer.drills.model import Drill
from voice_trainer.library import builtin
from voice_trainer.library.errors import DrillError
from voice_trainer.library.flown import Wanted
from voice_trainer.library.packs import Packs


def installed_packs() -> Packs:
    """The packs in the user's data folder."""
    return Packs(packs_folder())


def everything() -> dict[str, Path]:
    """The file of every drill, approach and hold that there is, by name."""
    return builtin.everything(installed_packs())


def find_drill(name_or_path: str, seed: int = 0, wanted: Wanted | None = None) -> Drill:
    """The drill of that name or in that file; see `library.builtin.find_drill`. Raises DrillError."""
    return builtin.find_drill(name_or_path, seed, wanted, installed_packs())


def find_flown(name_or_path: str, seed: int = 0, wanted: Wanted | None = None) -> Drill:
    """The drill that an approach or a hold is; see `library.builtin.find_flown`. Raises DrillError."""
    return builtin.find_flown(name_or_path, seed, wanted, installed_packs())


def is_flown(name_or_path: str) -> bool:
    """Whether that drill is an approach or a hold, worked out for a day; see `library.builtin.is_flown`."""
    return builtin.is_flown(name_or_path, installed_packs())


def usable_drills(tell: Callable[[str], None], seed: int = 0) -> dict[str, Drill]:
    """Everything by name, but for what of a pack can't be read any more: of that `tell` is told, a line each.

    What comes with the program is held whole by its tests; what somebody installed may be of another version.
    """
    packs = installed_packs()
    found = {name: builtin.find_drill(name, seed) for name in builtin.everything()}
    for problem in packs.unusable:
        tell(str(problem))
    for name in (*packs.drills(), *packs.procedures()):
        try:
            found[name] = builtin.find_drill(name, seed, packs=packs)
        except DrillError as error:
            tell(str(error.problems[0]))
    return found
