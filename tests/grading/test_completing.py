"""When a hearing completes what is due, so that no more speech need be waited for."""

from __future__ import annotations

import pytest

from tests.scenes import Scene, drill_of
from voice_trainer.grading.recognised import completes_what_is_due
from voice_trainer.recognition.typed import hear_text

READBACK = {
    "order": "any",
    "calls": [
        {"call": "turn", "say": "turn left heading {heading: 284}"},
        {"call": "altitude", "say": "maintain {altitude: 2600}"},
        {"call": "wilco", "say": "wilco", "need": "optional"},
    ],
}


@pytest.mark.parametrize(
    ("said_before", "said", "completes"),
    [
        ("", "turn left heading two eight four maintain two thousand six hundred", True),
        ("turn left heading two eight four", "maintain two thousand six hundred", True),
        ("maintain two thousand six hundred", "turn left heading two eight four", True),
        ("", "turn left heading two eight four", False),
        ("turn left heading two eight four", "maintain two thousand seven hundred", False),
        ("turn left heading two eight five", "maintain two thousand six hundred", False),
        ("turn left heading two eight four", "let me see", False),
        ("turn left heading two eight four", "", False),
    ],
)
def test_only_the_last_right_call_completes_a_flow(said_before: str, said: str, completes: bool) -> None:
    scene = Scene(drill_of(READBACK)).begin("step 1")
    if said_before:
        scene.say(said_before)
    state = scene.state
    hearing = hear_text(said, scene.grammar, scene.now + 1.0, 0.3)
    assert completes_what_is_due(state, hearing) is completes
    assert scene.state == state


def test_before_anything_is_due_nothing_completes_it() -> None:
    scene = Scene(drill_of(READBACK))
    hearing = hear_text("wilco", scene.grammar, 1.0, 0.3)
    assert not completes_what_is_due(scene.state, hearing)
