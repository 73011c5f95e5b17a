"""Whether what can't be understood was written by a newer version of this program, or was damaged."""

from __future__ import annotations

import re

from pydantic import ValidationError

from voice_trainer import __version__

_PROGRAM = re.compile(r"voice_trainer (\d+(?:\.\d+)*)")

_UNKNOWN = ("extra_forbidden", "union_tag_invalid")
"""What a field and an event are to pydantic that this version does not have."""

WHAT_TO_DO = "update voice_trainer to read it"


def newer_version(error: ValidationError, program: str) -> str | None:
    """Why it is of a newer version, for an error line; None where it is not.

    `program` is what wrote it, as a journal's header says. Where that is no newer (versions between two releases have
    the same number), what is merely unknown tells: damage leaves something out as well.
    """
    problems = error.errors(include_url=False, include_input=False)
    unknown = [each for each in problems if each["type"] in _UNKNOWN]
    what = ""
    if unknown:
        first = unknown[0]
        # A record's place begins with its event; of an event that is not known there is only the tag.
        what = str(first.get("ctx", {}).get("tag") or (first["loc"][-1] if first["loc"] else ""))
    if not _is_newer(program) and len(unknown) < len(problems):
        return None
    of = f"{program}, newer than this one ({__version__})" if _is_newer(program) else "a newer voice_trainer"
    return f"it was written by {of}" + (f", which knows {what!r}" if what else "")


def _is_newer(program: str) -> bool:
    found = _PROGRAM.fullmatch(program)
    return found is not None and _numbers(found[1]) > _numbers(__version__)


def _numbers(version: str) -> tuple[int, ...]:
    return tuple(int(number) for number in re.findall(r"\d+", version))
