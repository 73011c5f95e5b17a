from __future__ import annotations

import numpy as np
import pytest

from tests.recognition.phrases import grammar
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.ports import Readiness
from voice_trainer.recognition.scripted import ScriptedRecogniser


def prepared(*arguments, **more) -> ScriptedRecogniser:
    recogniser = ScriptedRecogniser(*arguments, **more)
    assert recogniser.prepare(grammar(), {}) == Readiness()
    return recogniser


def clip(seed: int, count: int = 8000) -> np.ndarray:
    return np.random.default_rng(seed).integers(-9000, 9000, count).astype(np.int16)


def test_the_script_is_heard_line_by_line_whatever_the_sound():
    recogniser = prepared(["gear down", "", "turn left heading zero niner zero", "nice day"])
    hearings = [recogniser.hear(clip(0), start) for start in (1.0, 2.0, 3.0, 4.0, 5.0)]
    assert [hearing.clarity for hearing in hearings] == [
        "clear",
        "not a call",
        "clear",
        "not a call",
        "not a call",
    ]
    assert hearings[2].best.spans[0].meanings[0].slots["heading"] == "090"
    assert [start for _, start in recogniser.heard] == [1.0, 2.0, 3.0, 4.0, 5.0]


def test_known_clips_are_heard_where_they_lie():
    one, two = clip(1), clip(2)
    recogniser = prepared(clips={"timer started": one, "pitot heat off": two})
    quiet = np.zeros(1600, np.int16)
    hearing = recogniser.hear(np.concatenate([quiet, two, quiet, one[:7900]]), 10.0)
    assert hearing.text == "pitot heat off timer started"
    first, second = hearing.best.spans
    assert (first.start_seconds, first.end_seconds) == pytest.approx((10.1, 10.6))
    assert second.start_seconds == pytest.approx(10.7)
    assert second.end_seconds == hearing.end_seconds
    assert recogniser.hear(clip(3), 0.0).clarity == "not a call"


def test_it_must_be_prepared_first():
    with pytest.raises(RecogniserError, match="prepare"):
        ScriptedRecogniser(["gear down"]).hear(clip(0), 0.0)
