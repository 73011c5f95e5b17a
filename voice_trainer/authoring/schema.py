"""The JSON Schema of drill files, for editors: made from the model, and from what files may hold besides.

JSON Schema draft 2020-12 (json-schema.org). A file is more than the model: a number of the aeroplane may be a text
that computes it ('{=outbound}'), and `variables` says from what they are drawn. A schema can't say all that `check`
finds; what it refuses, `check` refuses too.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from voice_trainer.drills.model import Drill, House, Part
from voice_trainer.library.packs import Manifest
from voice_trainer.library.variables import KEY, NUMBERS_OF_THE_AEROPLANE, Declared
from voice_trainer.procedures.approach import Approach
from voice_trainer.procedures.hold import HoldProcedure
from voice_trainer.procedures.house_flow import HouseFlow

SCHEMA = Path(__file__).parents[1] / "library" / "drill.schema.json"
"""The copy that comes with the program."""

NAME_IN_A_FILE = "^[a-z0-9][a-z0-9-]{0,60}$"
"""Without the name of a pack, which comes before it only once it is installed."""

_COMPUTED = {"type": "string", "pattern": r"\{\s*=", "description": "computed, as in '{=outbound}'"}
_COMPUTED_VARIABLE = {"type": "string", "pattern": r"^\s*=", "description": "as in '=reciprocal(outbound)'"}


def drill_schema() -> dict[str, Any]:
    """The schema as plain data."""
    schema = Drill.model_json_schema()
    definitions: dict[str, Any] = schema["$defs"]
    numbers = definitions["AeroplaneStart"]["properties"]
    for name in NUMBERS_OF_THE_AEROPLANE:
        number = numbers[name]
        told = {key: number.pop(key) for key in ("description", "default") if key in number}
        numbers[name] = {**told, "anyOf": [number, _COMPUTED]}
    schema["properties"]["drill"]["pattern"] = NAME_IN_A_FILE
    # A frequency is read as it is written, also without quotes.
    definitions["Station"]["properties"]["frequency"]["type"] = ["string", "number"]
    definitions["Navaid"]["properties"]["frequency"]["anyOf"][0]["type"] = ["string", "number"]
    declared = Declared.model_json_schema(by_alias=True)
    definitions["Declared"] = declared
    schema["properties"][KEY] = {
        "description": schema["properties"][KEY]["description"],
        "type": "object",
        "additionalProperties": {"anyOf": [{"$ref": "#/$defs/Declared"}, _COMPUTED_VARIABLE]},
    }
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **_without_titles(schema)}


def house_schema() -> dict[str, Any]:
    """That of a `house.yaml`."""
    return _schema_of(House)


def pack_schema() -> dict[str, Any]:
    """That of a `pack.yaml`."""
    return _schema_of(Manifest)


def approach_schema() -> dict[str, Any]:
    """That of a file of an approach."""
    return _schema_of(Approach)


def hold_schema() -> dict[str, Any]:
    """That of a file of a hold."""
    return _schema_of(HoldProcedure)


def house_flow_schema() -> dict[str, Any]:
    """That of a file of a house flow."""
    return _schema_of(HouseFlow)


def _schema_of(model: type[Part]) -> dict[str, Any]:
    schema: dict[str, Any] = _without_titles(model.model_json_schema())
    return schema


def schema_text() -> str:
    """The schema as the text of a file; the same model gives the same text."""
    return json.dumps(drill_schema(), indent=2, ensure_ascii=False) + "\n"


def _without_titles(value: Any) -> Any:
    """Without the titles that pydantic makes of names: they say nothing, and cover the descriptions in an editor."""
    if isinstance(value, list):
        return [_without_titles(each) for each in value]
    if not isinstance(value, dict):
        return value
    return {
        name: _without_titles(inner)
        for name, inner in value.items()
        # A property may be called 'title' too; then it is no text.
        if not (name == "title" and isinstance(inner, str))
    }
