"""When a hearing is clear, unclear, or no call at all."""

from __future__ import annotations

from voice_trainer.journal.hearing import Clarity

CLEAR_MARGIN_NATS = 1.0
CLEAR_GAP_NATS = 15.0
CALL_GAP_NATS = 22.0


def clarity(margin: float, gap: float, tokens: int) -> Clarity:
    """What the thresholds say of a margin and a gap."""
    if gap > CALL_GAP_NATS:
        return "not a call"
    if gap > CLEAR_GAP_NATS or margin < CLEAR_MARGIN_NATS:
        return "unclear"
    return "clear"
