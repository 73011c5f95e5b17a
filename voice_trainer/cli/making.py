"""`voice-trainer new`, `schema` and `import`: files that the program writes for authors of drills."""

from __future__ import annotations

from pathlib import Path

from rich.console import Console

from voice_trainer.authoring.templates import template_of
from voice_trainer.cli.problems import UsageError


def new(kind: str, name: str, out: Path | None) -> int:
    """Write a commented drill of `kind`. Raises DrillError, UsageError, OSError."""
    text = template_of(kind, name)
    path = out or Path(f"{name}.yaml")
    write_new(path, text)
    say_written(path)
    return 0


def write_new(path: Path, text: str) -> None:
    """Write a file that must not be there yet. Raises UsageError and OSError."""
    if not path.parent.is_dir():
        raise UsageError(f"{path}: there is no folder {path.parent}; make it, or name another")
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError as error:
        raise UsageError(f"{path} is there already; name another file with --out, or move it away") from error


def say_written(path: Path) -> None:
    """Tell where the new drill is, and what to do with it."""
    from voice_trainer.cli.command_name import command_name
    from voice_trainer.cli.terminal import console

    out: Console = console()
    shown = path if len(path.parts) > 1 else f"./{path}"
    out.print(f"{path}: written. Try it: {command_name()} run {shown}", markup=False)


def schema(out: Path | None) -> int:
    """Print the JSON Schema of drill files, or write it. Raises UsageError, OSError."""
    from voice_trainer.authoring.schema import schema_text

    if out is None:
        print(schema_text(), end="")
    else:
        write_new(out, schema_text())
    return 0


def import_checklist(source: Path, name: str, out: Path | None) -> int:
    """Write the drill that a checklist comes to. Raises DrillError, UsageError, OSError."""
    from voice_trainer.authoring.checklists import checklist_drill

    path = out or Path(f"{name}.yaml")
    write_new(path, checklist_drill(source, name))
    say_written(path)
    return 0
