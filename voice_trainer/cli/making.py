"""`voice-trainer new`, `schema` and `import`: files that the program writes for authors of drills."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from voice_trainer.authoring.templates import template_of
from voice_trainer.outputs.kinds import DRILL, DRILL_SCHEMA
from voice_trainer.outputs.writing import write_output


def new(kind: str, name: str, out: Path | None) -> int:
    """Write a commented drill of `kind`. Raises DrillError, OutputError."""
    text = template_of(kind, name)
    path = out or Path(f"{name}.yaml")
    write_output(_option(out), path, DRILL, text)
    say_written(path)
    return 0


def _option(out: Path | None) -> str:
    """What a message about the place begins with: nothing, where the name was not given as a place."""
    return "" if out is None else "--out"


def say_written(path: Path) -> None:
    """Tell where the new drill is, and what to do with it."""
    from voice_trainer.cli.command_name import command_name
    from voice_trainer.cli.terminal import console

    out: Console = console()
    shown = path if len(path.parts) > 1 else f"./{path}"
    out.print(f"{path}: written. Try it: {command_name()} run {shown}", markup=False)


def schema(out: Path | None) -> int:
    """Print the JSON Schema of drill files, or write it. Raises OutputError."""
    from voice_trainer.authoring.schema import schema_text
    from voice_trainer.cli.streams import write_json

    if out is None:
        write_json(schema_text())
    else:
        write_output("--out", out, DRILL_SCHEMA, schema_text())
    return 0


def import_checklist(source: Path, name: str, out: Path | None) -> int:
    """Write the drill that a checklist comes to. Raises DrillError, OutputError."""
    from voice_trainer.authoring.checklists import checklist_drill

    path = out or Path(f"{name}.yaml")
    write_output(_option(out), path, DRILL, checklist_drill(source, name))
    say_written(path)
    return 0
