"""The reference of the drill format: made from the models, whole, and up to date."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

import pytest

from voice_trainer.authoring.reference import EXAMPLES, FOLDER, GENERATED, PARTS, PARTS_OF_APPROACHES, VERBS
from voice_trainer.authoring.schema import (
    approach_schema,
    drill_schema,
    hold_schema,
    house_flow_schema,
    house_schema,
    pack_schema,
)
from voice_trainer.drills.functions import FUNCTIONS
from voice_trainer.drills.model import Verb
from voice_trainer.flight.conditions import KINDS
from voice_trainer.phraseology.registry import TYPES

PAGE = (FOLDER / "drill-format.md").read_text(encoding="utf-8")
OF_APPROACHES = (FOLDER / "approach-format.md").read_text(encoding="utf-8")


def keys() -> Iterator[tuple[str, str, dict[str, Any], str]]:
    for page, wholes in (
        (PAGE, {"Drill": drill_schema(), "House": house_schema(), "Pack": pack_schema()}),
        (
            OF_APPROACHES,
            {"Approach": approach_schema(), "Hold": hold_schema(), "HouseFlow": house_flow_schema()},
        ),
    ):
        for name, whole in wholes.items():
            for part, schema in {name: whole, **whole.get("$defs", {})}.items():
                for key, value in schema["properties"].items():
                    yield f"{name} {part}", key, value, page


@pytest.mark.parametrize("page", GENERATED)
def test_the_page_is_up_to_date(page: str) -> None:
    shown = (FOLDER / f"{page}.md").read_text(encoding="utf-8")
    assert shown == GENERATED[page](), "make it anew: python -m voice_trainer.authoring.reference"


@pytest.mark.parametrize(("part", "key", "value", "page"), list(keys()))
def test_every_key_is_described_and_in_its_page(
    part: str, key: str, value: dict[str, Any], page: str
) -> None:
    described = value.get("description", "")
    assert described.endswith("."), f"{part}.{key}: give its Field a description, a sentence"
    assert any(
        line.startswith(f"| `{key}` |") and described.replace("|", "\\|") in line
        for line in page.splitlines()
    )


def test_every_part_is_in_its_page() -> None:
    assert set(drill_schema()["$defs"]) == set(PARTS)
    assert set(approach_schema()["$defs"]) == set(PARTS_OF_APPROACHES)


def test_every_type_verb_event_and_function_is_in_the_page() -> None:
    assert set(EXAMPLES) == set(TYPES)
    assert set(VERBS) == set(get_args(Verb))
    for kind in KINDS:
        assert f"\n| `{kind}" in PAGE
    for function in FUNCTIONS.values():
        assert f"- `{function.written.partition(')')[0]})`" in PAGE


def test_an_editor_is_told_what_a_computed_number_and_an_unquoted_frequency_are_for() -> None:
    aeroplane, navaid = (drill_schema()["$defs"][part]["properties"] for part in ("AeroplaneStart", "Navaid"))
    assert aeroplane["wind_knots"]["description"] == "How strong the wind is."
    assert aeroplane["wind_knots"]["default"] == 0
    assert navaid["frequency"]["anyOf"][0]["type"] == ["string", "number"]
