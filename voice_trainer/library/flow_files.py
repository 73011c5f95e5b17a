"""House flows: the published ones by name, and a school's own from a file."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.reading import content_of, first_key
from voice_trainer.library.strict_yaml import read_yaml
from voice_trainer.library.wording import listed, nearest, problems_of
from voice_trainer.procedures.house_flow import PUBLISHED, HouseFlow

ENDINGS = (".yaml", ".yml")

FLOW_KEY = "house_flow"


def is_flow(path: Path) -> bool:
    """Whether a file's first key says that it is a house flow; False for what can't be read."""
    return first_key(path) == FLOW_KEY


def find_flow(name_or_path: str) -> HouseFlow:
    """The published order of that name, or the flow in that file. Raises DrillError that names the known ones."""
    if name_or_path in PUBLISHED:
        return PUBLISHED[name_or_path]
    if "/" in name_or_path or name_or_path.endswith(ENDINGS):
        return read_flow(content_of(Path(name_or_path), name_or_path), name_or_path)
    likely = nearest(name_or_path, PUBLISHED)
    known = f"use {listed(quoted(each) for each in PUBLISHED)}, or a file such as ./my-flow.yaml"
    advice = f"did you mean '{likely}'?" if likely else known
    raise DrillError(Problem(quoted(name_or_path), "there is no house flow of this name", advice))


def read_flow(content: bytes, file: str) -> HouseFlow:
    """The flow in the `content` of a file that messages call `file`. Raises DrillError with all that is wrong."""
    document = read_yaml(content, file, "flow")
    if not isinstance(document.data, dict):
        what = "a house flow must be lines of 'key: value'"
        raise DrillError(Problem(file, what, "begin with a line 'house_flow: its-name'", 1, 1))
    try:
        return HouseFlow.model_validate(document.data)
    except ValidationError as error:
        found = problems_of(error, document, file, HouseFlow)
        raise DrillError(*sorted(found, key=lambda each: (each.line or 0, each.column or 0))) from None
