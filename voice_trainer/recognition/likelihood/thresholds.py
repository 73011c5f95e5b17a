"""When a hearing is clear, unclear, or no call at all.

Set on synthetic speech only: 457 calls of every kind of slot, two thirds of them another call with one digit or word
changed, by six espeak-ng and flite voices, clean, with engine noise at 10 dB, and through a radio band. Of these, 371
were clear and right, none clear and wrong. Of 447 other calls by six other voices, looked at afterwards, 387 were clear
and right, 3 clear and wrong (two of these by a Scottish voice whose nine both models take for eight).
`scripts/bench recognition_halves` measures it again.
"""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.journal.hearing import Clarity
from voice_trainer.recognition.likelihood.second_opinion import Opinion

CLEAR_MARGIN_NATS = -6.0
"""The first model may be outvoted, but not if it is as sure of something else as this."""

CLEAR_GAP_NATS = 25.0
CLEAR_FIT_NATS = -5.0
"""`Opinion.fit` of 98 in 100 sentences that were heard right is above this, of those heard quite wrong hardly any."""

CALL_GAP_NATS = 20.0
CALL_GAP_PER_TOKEN_NATS = 4.5
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
    def is_nothing(self) -> bool:
        """Whether free speech is what the model writes when nobody speaks."""
        letters = "".join(c for c in self.free_text.lower() if c.isalnum() or c == " ")
        return " ".join(letters.split()) in _NOTHING


def clarity(evidence: Evidence) -> Clarity:
    """What the thresholds say. In a short sentence ('go ahead') a gap weighs more."""
    opinion, gap = evidence.opinion, evidence.gap
    sure = opinion is not None and opinion.sure and opinion.fit >= CLEAR_FIT_NATS and not evidence.is_nothing
    in_proportion = CALL_GAP_PER_TOKEN_NATS * (evidence.tokens + 1)
    if sure and gap <= min(CLEAR_GAP_NATS, in_proportion):
        return "clear"
    call_gap = min(CALL_GAP_NATS, in_proportion)
    if gap > call_gap or (evidence.is_nothing and gap > NOTHING_GAP_NATS):
        return "unclear" if sure and gap <= call_gap + WORTH_ASKING_NATS else "not a call"
    return "unclear"
