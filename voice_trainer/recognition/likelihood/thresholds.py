"""When a hearing is clear, unclear, or no call at all.

The evidence is weighed by a logistic regression: how likely is it that the best sentence is what was said? Its
weights were fitted, and `CLEAR_ODDS_NATS` was chosen, on 385 hearings of the benchmark's tuning half: right calls,
wrong twins and other speech, clean to babble. With every voice left out in turn, 104 of 182 right calls were clear
and right, and 5 of all 385 clear and wrong; with limits set by hand it had been 104 and 10. No voice and no phrase
of the test half had a part in it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

from voice_trainer.journal.hearing import Clarity
from voice_trainer.recognition.likelihood.second_opinion import Opinion


class Weights(NamedTuple):
    """What a unit of each piece of evidence adds to the log-odds, in nats."""

    bias: float
    ahead: float
    """For each nat that both models together prefer the best sentence to each rival; 0, 2 or 4 are looked for."""
    margin: float
    """For each nat that it is ahead of its best rival by the first model alone, or behind where it was outvoted."""
    fit: float
    """For each nat a frame that the second model explains the sound with it: about -4 is good, -12 hopeless."""
    seconded: float
    """Where the second model, searching the whole grammar by itself, comes to the same meaning."""
    short: float
    """For a sentence of three tokens or fewer ('go ahead'): noise is easily taken for one."""


WEIGHTS: Final = Weights(bias=1.98, ahead=0.336, margin=0.316, fit=0.482, seconded=0.333, short=-0.648)

MOST_MARGIN_NATS = 8.0
LEAST_FIT, MOST_FIT = -16.0, -2.0
"""Beyond these more of the same says no more."""

SHORT_TOKENS = 3

CLEAR_ODDS_NATS = 1.4
"""Four to one."""
WORTH_ASKING_ODDS_NATS = 0.0
"""More likely right than not: asked again, where the gap alone would say that it is no call."""

CLEAR_AHEAD_NATS = 2.0
"""By how much both models together must prefer the sentence to each rival, whatever else speaks for it."""

CLEAR_MARGIN_NATS = -6.0
"""The first model may be outvoted, but not if it is as sure of something else as this."""

CLEAR_FIT_NATS = -8.0
"""Whatever else speaks for it: with less, much of the sound is not in the sentence."""

CLEAR_GAP_NATS = 30.0
CALL_GAP_NATS = 20.0
GAP_PER_TOKEN_NATS = 4.5
"""In a short sentence ('go ahead') a gap weighs more."""

NOTHING_GAP_NATS = 5.0
WORTH_ASKING_NATS = 8.0
"""How far beyond the gap of a call it may still be worth asking again."""

NO_PHRASE_GAP_NATS = 12.0
"""For values that stand in no phrase ('one fifteen', of somebody who thinks aloud): asked again only where they fit
well. Chosen on robot voices: of 12 calls that were heard so in a truck's noise one is beyond it, and most of what was
self-talk.
"""

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
    is_phrase: bool = True
    """Whether any of it belongs to a phrase of the domain."""

    @property
    def fit(self) -> float:
        """The fit of the second opinion, minus infinity without one."""
        return self.opinion.fit if self.opinion else -math.inf

    @property
    def is_nothing(self) -> bool:
        """Whether free speech is what the model writes when nobody speaks."""
        letters = "".join(c for c in self.free_text.lower() if c.isalnum() or c == " ")
        return " ".join(letters.split()) in _NOTHING

    @property
    def odds_nats(self) -> float:
        """The logarithm of the odds that the best sentence is what was said; minus infinity without an opinion."""
        if self.opinion is None:
            return -math.inf
        return (
            WEIGHTS.bias
            + WEIGHTS.ahead * self.opinion.ahead_nats
            + WEIGHTS.margin * _within(self.margin, -MOST_MARGIN_NATS, MOST_MARGIN_NATS)
            + WEIGHTS.fit * _within(self.fit, LEAST_FIT, MOST_FIT)
            + WEIGHTS.seconded * self.seconded
            + WEIGHTS.short * (self.tokens + 1 <= SHORT_TOKENS)
        )


def clarity(evidence: Evidence) -> Clarity:
    """What the evidence comes to."""
    disagreed = evidence.opinion is None or evidence.opinion.ahead_nats < CLEAR_AHEAD_NATS
    outvoted = evidence.margin < CLEAR_MARGIN_NATS
    uncovered = evidence.fit < CLEAR_FIT_NATS
    vetoed = disagreed or outvoted or uncovered or evidence.is_nothing
    odds = -math.inf if vetoed else evidence.odds_nats
    gap_by_tokens = GAP_PER_TOKEN_NATS * (evidence.tokens + 1)
    if odds >= CLEAR_ODDS_NATS and evidence.gap <= min(CLEAR_GAP_NATS, gap_by_tokens):
        return "clear"
    call_gap = min(CALL_GAP_NATS, gap_by_tokens)
    if not evidence.is_phrase:
        call_gap = min(call_gap, NO_PHRASE_GAP_NATS)
    if evidence.gap > call_gap or (evidence.is_nothing and evidence.gap > NOTHING_GAP_NATS):
        worth_asking = odds >= WORTH_ASKING_ODDS_NATS and evidence.gap <= call_gap + WORTH_ASKING_NATS
        return "unclear" if worth_asking else "not a call"
    return "unclear"


def _within(value: float, least: float, most: float) -> float:
    return min(max(value, least), most)
