"""`voice-trainer plan new`: an approach is asked for item by item, as it is read off a chart, and written to a file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import yaml
from rich.console import Console

from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.terminal import console
from voice_trainer.library.errors import quoted
from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.kinds import APPROACH
from voice_trainer.outputs.writing import write_output
from voice_trainer.procedures.approach import Approach
from voice_trainer.procedures.questions import QUESTIONS, NotAnAnswerError, Plain, Question
from voice_trainer.procedures.soundness import Fault, faults_of

HEAD = "# Typed in from a chart. Study aid only: current charts, local procedures and your instructor come first.\n"


def ask_for_approach(file: Path | None) -> int:
    """Ask, check what belongs together, ask again for what does not, and write the file; none is ever overwritten."""
    out = console()
    if file is not None:
        check_output("plan new", file, APPROACH)  # before anybody types thirty answers for nothing
    out.print(
        "An approach, as read off its chart. An empty answer takes what stands in [ ]; Ctrl-C ends without a file."
    )
    answers: dict[str, str] = {}
    values: dict[str, Plain] = {}
    for question in QUESTIONS:
        _ask(question, answers, values, out)
        while question.key == "approach" and file is None and (path := _place_of(values)).exists():
            out.print(f"  {path}: there is a file of this name; give another one", markup=False)
            _ask(question, answers, values, out)
    approach = Approach.model_validate(_nested(values))
    while faults := faults_of(approach):
        for fault in faults:
            out.print(f"{fault.what}; {fault.advice}", markup=False)
        for question in _about(faults):
            _ask(question, answers, values, out)
        approach = Approach.model_validate(_nested(values))
    path = file or _place_of(values)
    text = HEAD + yaml.safe_dump(_nested(values), sort_keys=False, allow_unicode=True)
    write_output("plan new", path, APPROACH, text)
    shown = path if path.is_absolute() else f"./{path}"
    out.print(as_typed_here(f"Written: {path}. See its card with: voice-trainer plan {shown}"), markup=False)
    return 0


def _place_of(values: dict[str, Plain]) -> Path:
    return Path(f"{values['approach']}.yaml")


def _ask(question: Question, answers: dict[str, str], values: dict[str, Plain], out: Console) -> None:
    if not question.applies(answers):
        values.pop(question.key, None)
        return
    usual = f" [{question.usual or 'none'}]" if question.usual is not None else ""
    while True:
        out.print(f"{question.asks}{usual}: ", end="", markup=False)
        sys.stdout.flush()
        try:
            line = sys.stdin.readline(4096)
        except KeyboardInterrupt:
            out.print("\nEnded: nothing was written.")
            raise
        if not line:
            raise UsageError("the input ended before the approach was whole; nothing was written")
        text = line.strip() or question.usual or ""
        if not text and question.usual == "":
            values.pop(question.key, None)
            return
        if not text:
            out.print("  there is no usual answer to this: type one", markup=False)
            continue
        try:
            value = question.read(text)
        except NotAnAnswerError as error:
            out.print(f"  {quoted(text)}: {error}", markup=False)
            continue
        answers[question.key] = str(value)
        values[question.key] = value
        return


def _nested(values: dict[str, Plain]) -> dict[str, Any]:
    """The answers as the file has them."""
    kind = values["kind"]
    ident = values["navaid.ident"]
    made: dict[str, Any] = {}
    for question in QUESTIONS:
        if question.key in values and not question.key.startswith("navaid."):
            *outer, last = question.key.split(".")
            inner = made
            for name in outer:
                inner = inner.setdefault(name, {})
            inner[last] = values[question.key]
    made["navaids"] = [
        {"ident": ident, "name": values["navaid.name"], "kind": kind, "frequency": values["navaid.frequency"]}
    ]
    made["initial_fix"] = ident
    made["final"] = {"navaid": ident} | made["final"]
    made["missed_approach"]["to"] = ident
    return made


def _about(faults: list[Fault]) -> list[Question]:
    """The questions whose answers the faults are about, each once."""
    wanted = [".".join(str(part) for part in fault.place) for fault in faults]
    found = [question for question in QUESTIONS if question.key in wanted]
    return found or list(QUESTIONS)
