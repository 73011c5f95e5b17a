"""When a hearing is clear, when it is worth asking again, and when it is no call at all.

Chosen on the tuning half of the benchmark's voices and sentences (`scripts/benchmarks`).
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher

from voice_trainer.journal.hearing import Clarity
from voice_trainer.recognition.likelihood.writing import Words

CLEAR_AHEAD_NATS = 2.5
"""So far at least the best meaning is ahead of every other."""

CLEAR_GAP_NATS = 5.0
"""So far at most it is behind free speech."""

CALL_GAP_NATS = 8.0
"""What is not clear, and no further behind than this, was a call."""

GAP_PER_WORD_NATS = 2.5
"""For few words no more than this, for each: 'hello' is soon like some other word."""

SILENT_GAP_NATS = 6.0
"""The same where free speech writes nothing at all."""

NAME_NATS = 4.0
"""What each word is allowed that nobody could teach the model, because somebody made it up."""

LEAST_WORDS = 4
"""Of what belongs to no phrase so much must explain the sound."""

LEAST_ALIKE = 0.5
LIKE_GAP_NATS = 30.0
"""So much of what free speech writes is in a call that was drowned or spoken badly; then it may be so far behind."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known of the best meaning: how far ahead of the others it is, how far behind free speech (less what its
    names are allowed), its words and those of free speech, and whether it is a sentence of the domain.
    """

    ahead_nats: float
    gap_nats: float
    words: Words
    free_words: Words
    legal: bool
    is_phrase: bool
    """Whether any of it belongs to a phrase; a value that stands by itself may be anything."""


def clarity(evidence: Evidence) -> Clarity:
    """What the evidence comes to."""
    gap = evidence.gap_nats
    if not evidence.free_words:
        return "unclear" if evidence.is_phrase and gap <= SILENT_GAP_NATS else "not a call"
    most_gap = GAP_PER_WORD_NATS * len(evidence.words)
    is_near = gap <= min(CLEAR_GAP_NATS, most_gap)
    if evidence.legal and evidence.ahead_nats >= CLEAR_AHEAD_NATS and is_near:
        return "clear"
    alike = _shared(evidence.words, evidence.free_words) >= LEAST_ALIKE
    if gap <= min(CALL_GAP_NATS, most_gap):
        # A breath may sound like a digit or two that belong to nothing; so many are speech that noise drowns.
        is_speech = evidence.is_phrase or alike or len(evidence.words) >= LEAST_WORDS
        return "unclear" if is_speech else "not a call"
    return "unclear" if evidence.is_phrase and alike and gap <= LIKE_GAP_NATS else "not a call"


def _shared(words: Words, free_words: Words) -> float:
    """How much of both is in the same order in the other: 1 where they are equal."""
    return SequenceMatcher(None, words, free_words, autojunk=False).ratio()
