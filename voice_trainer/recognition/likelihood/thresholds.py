"""When a hearing is clear, unclear, or no call at all.

Set on synthetic speech only, whose voices and phrases have no part in the figures of the README: 285 calls clean, with
engine noise and over a radio band, and 124 calls of the benchmark's tuning half, most of them in worse conditions. Of
the first 92 in 100 were clear and right, none clear and wrong; of the others 55 in 100, and two clear and wrong.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from voice_trainer.journal.hearing import Clarity
from voice_trainer.recognition.likelihood.second_opinion import Opinion

CLEAR_AHEAD_NATS = 4.0
"""By how much both models together must prefer a sentence to each rival."""

CLEAR_MARGIN_NATS = -6.0
"""The first model may be outvoted, but not if it is as sure of something else as this."""

CLEAR_FIT_NATS = -6.0
CLEAR_GAP_NATS = 18.0
GAP_PER_TOKEN_NATS = 4.5
"""In a short sentence ('go ahead') a gap weighs more."""

SECONDED_AHEAD_NATS = 2.0
SECONDED_GAP_NATS = 30.0
SECONDED_GAP_PER_TOKEN_NATS = 2.5
"""The same for a sentence that the second model comes to by itself, whatever its fit: two recognisers rarely make the
same mistake."""

CALL_GAP_NATS = 20.0
NOTHING_GAP_NATS = 5.0
WORTH_ASKING_NATS = 8.0
"""How far beyond the gap of a call both opinions together are still worth asking again for."""

NAME_NATS = 4.0
"""What each made-up name is allowed: free speech writes some likely words instead of it, and gets ahead by that."""

LOOK_AGAIN_GAP_NATS = 5.0
"""From here on the search is made again, with more paths, before anything is said."""

_NOTHING = frozenset({"", "you", "thank you", "thanks", "bye", "bye bye"})
"""What the model writes for noise and breath, from the subtitles it was trained on."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known of the best sentence: both models' opinion of it (None: it does not fit the sound), how far it
    is ahead of the others by the first model alone (behind them where it was outvoted), how far it is behind free
    speech (less what its names are allowed), its number of tokens, and what free speech writes.
    """

    opinion: Opinion | None
    margin: float
    gap: float
    tokens: int
    free_text: str
    seconded: bool = False
    """Whether the second model, searching the whole grammar by itself, came to the same meaning."""

    @property
    def fit(self) -> float:
        """The fit of the second opinion, minus infinity without one."""
        return self.opinion.fit if self.opinion else -math.inf

    @property
    def is_nothing(self) -> bool:
        """Whether free speech is what the model writes when nobody speaks."""
        letters = "".join(c for c in self.free_text.lower() if c.isalnum() or c == " ")
        return " ".join(letters.split()) in _NOTHING


def clarity(evidence: Evidence) -> Clarity:
    """What the thresholds say."""
    gap, tokens = evidence.gap, evidence.tokens + 1
    usual_gap = min(CLEAR_GAP_NATS, GAP_PER_TOKEN_NATS * tokens)
    seconded_gap = min(SECONDED_GAP_NATS, SECONDED_GAP_PER_TOKEN_NATS * tokens)
    sure = _is_ahead(evidence, CLEAR_AHEAD_NATS) and evidence.fit >= CLEAR_FIT_NATS
    seconded = _is_ahead(evidence, SECONDED_AHEAD_NATS) and evidence.seconded
    if (sure and gap <= usual_gap) or (seconded and gap <= seconded_gap):
        return "clear"
    call_gap = min(CALL_GAP_NATS, GAP_PER_TOKEN_NATS * tokens)
    if gap > call_gap or (evidence.is_nothing and gap > NOTHING_GAP_NATS):
        return "unclear" if (sure or seconded) and gap <= call_gap + WORTH_ASKING_NATS else "not a call"
    return "unclear"


def _is_ahead(evidence: Evidence, nats: float) -> bool:
    return (
        evidence.opinion is not None
        and evidence.opinion.ahead_nats >= nats
        and evidence.margin >= CLEAR_MARGIN_NATS
        and not evidence.is_nothing
    )
