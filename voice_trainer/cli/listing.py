"""`voice-trainer list`."""

from __future__ import annotations

from typing import get_args

from rich.text import Text

from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.finding import usable_drills
from voice_trainer.cli.terminal import console
from voice_trainer.drills.model import Difficulty, Drill, DrillKind

_STAGES: tuple[Difficulty, ...] = get_args(Difficulty)


FIRST_DRILL = "brannock-clearance"
"""Short, and of the first stage; the guide begins with it too."""


def list_drills() -> int:
    """Print what comes with the program and what packs hold, two lines each.

    They are sorted by kind, then by when in training they come, then by name.
    """
    out = console()
    troubles: list[str] = []
    drills = list(usable_drills(troubles.append).values())
    width = max((len(drill.drill) for drill in drills), default=0) + 2
    for kind in get_args(DrillKind):
        of_kind = [drill for drill in drills if drill.kind == kind]
        if of_kind:
            out.print(Text(f"{kind} ({len(of_kind)})", style="bold underline"))
        for drill in sorted(of_kind, key=_order):
            stage = f", {drill.difficulty} stage" if drill.difficulty else ""
            out.print(
                Text.assemble(
                    (f"{drill.drill:<{width}}", "bold"), f"{drill.title} ({drill.minutes:g} min{stage})"
                )
            )
            out.print(Text(f"{'':<{width}}trains {drill.trains}", style="dim"))
    out.print()
    out.print(as_typed_here(f"Fly one with: voice-trainer run NAME. A good first one is {FIRST_DRILL}."))
    for trouble in troubles:
        out.print(Text(f"can't be used: {trouble}", style="yellow"))
    return 0


def _order(drill: Drill) -> tuple[int, str]:
    stage = _STAGES.index(drill.difficulty) if drill.difficulty else len(_STAGES)
    return stage, drill.drill
