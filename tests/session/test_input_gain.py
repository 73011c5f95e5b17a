"""The ears of a faint microphone: what is heard is louder by the profile's gain, and nothing else changes."""

from __future__ import annotations

import numpy as np
import pytest

from voice_trainer.audio.ports import Samples
from voice_trainer.audio.virtual import VirtualMicrophone, WavSource
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.recognition.scripted import ScriptedRecogniser
from voice_trainer.session.ears import Ears
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice


def peak_heard(sound: Samples, input_gain_db: float) -> int:
    recogniser = ScriptedRecogniser(["gear down"] * 3)
    recogniser.prepare(Grammar([Phrase(compile_pattern("gear down"), "call")]), {})
    ears = Ears(recogniser, in_step=True, input_gain_db=input_gain_db)
    microphone = VirtualMicrophone(WavSource(sound, 1.5))
    while (block := microphone.read()) is not None:
        ears.take(block)
        ears.facts(block.end_seconds)
    return max((int(np.abs(samples.astype(np.int32)).max()) for samples, _ in recogniser.heard), default=0)


def test_the_input_gain_is_applied_once() -> None:
    clip = Pyttsx3Voice().render("gear down", VoiceStyle("gmw/en-us")) // 16
    usual = peak_heard(clip, 0.0)
    assert usual > 0
    assert peak_heard(clip, 20.0) == pytest.approx(10 * usual, rel=0.01)
