"""The real engine under the loosest legal profile: nothing that was said is heard clearly as something else for it.

Calls of two voices, clean and in noise. The voices were chosen because a benchmark of an earlier engine had shown that
they were hard for it, which is where a profile has something to loosen; the calls were not heard before.
"""

from __future__ import annotations

import numpy as np
import pytest
from spoken_calls import grammar_of, speech

from voice_trainer.journal.personal import Personal
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.recognition.fitting import outcome_of
from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser
from voice_trainer.recognition.personal import USUAL
from voice_trainer.recognition.ports import Samples

SAID = (
    "turn left heading {heading: 299}",
    "turn right heading {heading: 158}",
    "descend and maintain {altitude: 9500}",
    "altimeter {altimeter: 29.85}",
    "contact tower {frequency: 119.5}",
    "squawk {squawk: 4155}",
)
VOICES = ("en-029", "en-gb-scotland")
LOOSEST = Personal(gap_shift_nats=-4.0, fit_shift_nats=1.5)
STRICTEST = Personal(margin_shift_nats=-4.0, gap_shift_nats=4.0, fit_shift_nats=-2.0)


def in_noise(sound: Samples) -> Samples:
    noise = np.random.default_rng(3).normal(0, 1, len(sound))
    speech_rms = np.sqrt(np.mean(np.square(sound.astype(np.float64))))
    return np.clip(sound * 0.6 + noise * speech_rms * 0.2, -32768, 32767).astype(np.int16)


@pytest.mark.slow
@pytest.mark.parametrize("said", [SAID[:2], pytest.param(SAID[2:], marks=pytest.mark.long)])
def test_what_is_called_clear_changes_and_never_to_a_wrong_value(
    said: tuple[str, ...], other_engine: LikelihoodRecogniser
) -> None:
    other_engine.prepare(grammar_of(*SAID), {})
    made_clear = made_doubtful = 0
    try:
        for text in said:
            pattern = compile_pattern(text)
            for voice in VOICES:
                clean = speech(" ".join(pattern.spoken()), voice)
                for sound in (clean, in_noise(clean)):
                    hearings = {}
                    for personal in (USUAL, LOOSEST, STRICTEST):
                        other_engine.personal = personal
                        hearings[personal] = other_engine.hear(sound, 0.0)
                    usual, loose, strict = hearings.values()
                    made_clear += (usual.clarity, loose.clarity) == ("unclear", "clear")
                    made_doubtful += usual.clarity == "clear" != strict.clarity
                    if outcome_of([loose], pattern) == "wrong":
                        assert outcome_of([usual], pattern) == "wrong", (text, voice)
                    assert not (strict.clarity == "clear" != usual.clarity)
    finally:
        other_engine.personal = USUAL
    assert made_clear + made_doubtful > 0  # the profiles are not without effect
