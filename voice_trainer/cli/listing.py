"""`voice-trainer list`."""

from __future__ import annotations

from rich.text import Text

from voice_trainer.cli.terminal import console
from voice_trainer.library.builtin import builtin_drills
from voice_trainer.library.drill_files import load_drill


def list_drills() -> int:
    """Print the built-in drills, two lines each."""
    out = console()
    drills = sorted(builtin_drills().items())
    width = max((len(name) for name, _ in drills), default=0) + 2
    for name, path in drills:
        drill = load_drill(path)
        out.print(
            Text.assemble(
                (f"{name:<{width}}", "bold"), f"{drill.title} ({drill.kind}, {drill.minutes:g} min)"
            )
        )
        out.print(Text(f"{'':<{width}}trains {drill.trains}", style="dim"))
    return 0
