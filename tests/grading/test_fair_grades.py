"""The table 'what a fair instructor accepts', row by row, from text."""

from __future__ import annotations

import pytest

from tests.fair_rows import ROWS, Row, fair, performed
from tests.scenes import Scene
from voice_trainer.journal.events import AskAgain


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.name)
def test_what_a_fair_instructor_makes_of_it(row: Row) -> None:
    scene = Scene(row.drill())
    fair(row, scene, performed(row, scene))
    assert not any(isinstance(d, AskAgain) and d.wording is None for d in scene.decisions)
