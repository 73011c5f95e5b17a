"""How well a sentence fills the time in which somebody spoke.

The likelihood of a sequence favours short ones: in noise 'one minute' beats a long sentence of which a few
words are lost. So two things are added to it before sentences are compared: a small reward for each token, and
the log-density of speaking that many syllables in that time. Sentences with as many tokens and syllables, such
as a right and a wrong heading, are compared by their likelihoods alone.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache

from voice_trainer.phraseology.speaking import SPELLED
from voice_trainer.recognition.likelihood.writing import Words

TOKEN_NATS = 0.5
SECONDS_PER_SYLLABLE = 0.25
SPREAD = 0.3
"""Standard deviation of the logarithm of a sentence's pace."""

WORST_NATS = 15.0

_VOWELS = re.compile("[aeiouy]+")
_SILENT = re.compile("(?<=[^aeiouyl])e(d|s)?$|(?<=[aeiouy]l)e(d|s)?$")


@cache
def syllables(word: str) -> int:
    """Syllables of an English word, by its vowels; near enough to measure time with. 'vor' is said letter by letter."""
    if word in SPELLED:
        return len(word)
    return max(1, len(_VOWELS.findall(_SILENT.sub("", word))))


@dataclass(frozen=True, slots=True)
class Fit:
    """The judge of one utterance in which somebody spoke for `speech_seconds`."""

    speech_seconds: float

    def of(self, words: Words, tokens: int, cost: float) -> float:
        """Nats to add to the log-likelihood of a sentence that was written at some cost (`writing.Move`)."""
        return TOKEN_NATS * tokens - cost - self.misfit(words)

    def misfit(self, words: Words) -> float:
        """How unlikely it is, in nats, that these words take so long."""
        expected = SECONDS_PER_SYLLABLE * sum(map(syllables, words))
        off = math.log(expected / self.speech_seconds) / SPREAD
        return min(0.5 * off * off, WORST_NATS)
