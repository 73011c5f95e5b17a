"""`voice-trainer check`: everything that is wrong with drill files, and what is doubtful about them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from rich.text import Text

from voice_trainer.authoring.checking import check_files, files_of
from voice_trainer.authoring.findings import Finding
from voice_trainer.cli.streams import write_json
from voice_trainer.cli.terminal import console
from voice_trainer.library.errors import DrillError
from voice_trainer.phraseology.counting import counted

STYLES = {"error": "red", "warning": "yellow"}


def check(paths: Sequence[Path], *, strict: bool, as_json: bool) -> int:
    """Print every finding, a line each; returns 2 for an error, 1 for warnings where `strict`, else 0."""
    files: list[Path] = []
    findings: list[Finding] = []
    for path in paths:
        try:
            files += files_of(path)
        except DrillError as error:
            findings += [Finding("error", problem) for problem in error.problems]
    files = list(dict.fromkeys(files))
    findings += check_files(files)
    out = console()
    for finding in findings:
        if as_json:
            write_json(json.dumps(finding.as_data(), ensure_ascii=False) + "\n")
        else:
            out.print(Text(str(finding), style=STYLES[finding.severity]))
    errors = sum(finding.severity == "error" for finding in findings)
    warnings = len(findings) - errors
    if not as_json:
        out.print(
            f"{counted(len(files), 'file')}, {counted(errors, 'error')}, {counted(warnings, 'warning')}."
        )
    return 2 if errors else int(strict and warnings > 0)
