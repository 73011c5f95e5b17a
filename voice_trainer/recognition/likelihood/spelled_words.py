"""How well the speech model spells a word: what it writes for it, and how far its right spelling is behind that.

A made-up name that the model would rather write as other words costs every call that it is in. An author can hear
of that before a student does.
"""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

import numpy as np

from voice_trainer.phraseology.nodes import Word
from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.model import SAMPLE_RATE, Floats, SpeechModel
from voice_trainer.recognition.likelihood.search import freely, search
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser
from voice_trainer.recognition.likelihood.trimming import trim
from voice_trainer.recognition.likelihood.writing import Writing
from voice_trainer.recognition.ports import Samples, SpelledWord

HARD_NATS = 8.0
"""From here on a word is hard to spell. Of three synthetic voices' 'heading', 'tower' and 'altitude' the median was
0 to 4 nats behind, of 'Brannock' 3, of 'Kelda' 7, of 'pitot' 9, of 'zqrxt' 17."""

_SILENCE_SECONDS = 0.2


def spelled_word(
    model: SpeechModel, tokeniser: Tokeniser, word: str, clips: Sequence[Samples]
) -> SpelledWord:
    """How `word` is spelled when it is spoken alone, as in each of `clips` (mono PCM at 16 kHz); the median counts."""
    writing = Writing(WordAutomaton(Word(word), repeats=True), tokeniser)
    written: list[str] = []
    behind: list[float] = []
    silence = np.zeros(round(_SILENCE_SECONDS * SAMPLE_RATE), np.int16)
    for clip in clips:
        sound: Floats = np.concatenate([silence, clip, silence]).astype(np.float32) / np.float32(32768)
        speech = trim(sound)
        if speech is None:
            continue
        start = model.listen(speech.samples)
        free = freely(model, writing, start)
        written.append(tokeniser.decode(free.tokens))
        likely = [each.log_likelihood for each in search(model, writing, start, free.log_likelihood)]
        behind.append(free.log_likelihood - max(likely) if likely else float("inf"))
    typically = median(behind) if behind else 0.0
    return SpelledWord(word, tuple(written), typically, typically >= HARD_NATS)
