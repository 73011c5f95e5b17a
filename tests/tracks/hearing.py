"""What the recogniser hears in a track: every answer, cut out of the file as others read it."""

from __future__ import annotations

import functools

import numpy as np
from numpy.typing import NDArray

from tests.tracks.decoding import RATE
from voice_trainer.cli.hearing import utterance_in, verdict_on
from voice_trainer.cli.recognisers import recogniser_called
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.library.builtin import find_drill
from voice_trainer.recognition.ports import Recogniser

Sound = NDArray[np.int16]

AROUND_SECONDS = 0.3
"""Of the silence around an answer: less than any pause."""


@functools.lru_cache(maxsize=4)
def ready_for(drill_name: str) -> tuple[Drill, Recogniser]:
    """A drill, by name or file, and a recogniser that listens for it."""
    drill = find_drill(drill_name)
    recogniser = recogniser_called("auto")
    recogniser.prepare(domain_of(drill), drill.pronounce)
    return drill, recogniser


def cut(sound: Sound, start_seconds: float, end_seconds: float) -> Sound:
    return sound[max(0, round(start_seconds * RATE)) : round(end_seconds * RATE)]


def verdict_of_answer(
    sound: Sound, start_seconds: float, end_seconds: float, drill_name: str, step: str, call_name: str
) -> tuple[str, str]:
    """What an answer comes to as the call it should be ('correct', ...), and what was heard."""
    drill, recogniser = ready_for(drill_name)
    utterance = utterance_in(cut(sound, start_seconds - AROUND_SECONDS, end_seconds + AROUND_SECONDS))
    if utterance is None:
        return "nothing", ""
    hearing = recogniser.hear(utterance.samples, utterance.start_seconds)
    flow = drill.step_named(step).flow
    assert flow is not None
    (call,) = [call for call in flow.calls if call.call == call_name]
    return verdict_on(hearing, drill.pattern(call)), hearing.text
