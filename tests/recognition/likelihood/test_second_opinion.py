"""The second opinion: which of a few sentences fits a sound, by a model that knows nothing of the first."""

from __future__ import annotations

import numpy as np
import pytest

from voice_trainer.recognition.alignment import shared_aligner
from voice_trainer.recognition.likelihood.second_opinion import preferred
from voice_trainer.recognition.likelihood.thresholds import FreeSpeech, clarity
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
FREE = FreeSpeech("Maintain 2900.", ended=True)


def sentence(digit: str) -> tuple[str, ...]:
    return tuple(f"maintain two thousand {digit} hundred until established".split())


# 'eight' in this voice is one that it does not tell: an opinion, no oracle.
@pytest.mark.parametrize("digit", ["five", "nine"])
def test_it_tells_digits_that_the_neural_model_confuses(digit: str) -> None:
    said = " ".join(sentence(digit)).replace("nine", "niner")
    sound = Pyttsx3Voice().render(said, VoiceStyle("gmw/en-us"))
    rivals = [sentence(other) for other in DIGITS]
    found = preferred(sound, rivals, shared_aligner().phones)
    assert found is not None
    assert rivals[found] == sentence(digit)
    assert preferred(sound, rivals, shared_aligner().phones) == found
    assert preferred(sound, rivals[::-1], shared_aligner().phones) == len(rivals) - 1 - found


def test_no_sound_has_no_opinion_that_raises() -> None:
    assert preferred(
        np.zeros(160, np.int16), [sentence("one"), sentence("two")], shared_aligner().phones
    ) in (None, 0, 1)


@pytest.mark.parametrize(
    ("margin", "gap", "agrees", "wanted"),
    [
        (2.5, 15.0, True, "clear"),
        (2.5, 5.0, False, "unclear"),
        (8.0, 5.0, False, "clear"),
        (8.0, 15.0, False, "unclear"),
        (1.0, 0.0, True, "unclear"),
        (8.0, 24.0, True, "unclear"),
        (8.0, 24.0, False, "not a call"),
        (8.0, 40.0, True, "not a call"),
    ],
)
def test_what_two_opinions_come_to(margin: float, gap: float, agrees: bool, wanted: str) -> None:
    assert clarity(margin, gap, 10, FREE, agrees=agrees) == wanted
