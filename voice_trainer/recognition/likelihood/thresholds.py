"""When a hearing is clear, unclear, or no call at all.

Set on synthetic speech only: espeak-ng and flite, clean, with engine noise at 10 dB, and through a radio band; 675
calls and 105 utterances of other speech, all of which were looked at while setting them, so that none of them is
a test. Of the calls that were
heard right, 95 of 100 had a gap below 13.5 and a margin above 2.0, and 99 a gap per token below 3.1; of those
heard wrong, half had a gap above 15; of other speech, 95 of 100 had a gap above 13, half one above 28.
"""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.journal.hearing import Clarity

CLEAR_MARGIN_NATS = 2.0
CLEAR_GAP_NATS = 12.0
FAR_MARGIN_NATS = 6.0
FAR_GAP_NATS = 18.0
CALL_GAP_NATS = 20.0
CLEAR_GAP_PER_TOKEN_NATS = 3.0
CALL_GAP_PER_TOKEN_NATS = 4.5
NOTHING_GAP_NATS = 5.0

LOOK_AGAIN_GAP_NATS = 14.0
"""From here on the search is made again, with more paths, before anything is said."""

_NOTHING = frozenset({"", "you", "thank you", "thanks", "bye", "bye bye"})
"""What the model writes for noise and breath, from the subtitles it was trained on."""


@dataclass(frozen=True, slots=True)
class FreeSpeech:
    """What the model writes when it may write anything, and whether that came to an end."""

    text: str
    ended: bool

    @property
    def is_nothing(self) -> bool:
        """Whether it is what the model writes when nobody speaks."""
        letters = "".join(
            character for character in self.text.lower() if character.isalnum() or character == " "
        )
        return " ".join(letters.split()) in _NOTHING


def clarity(margin: float, gap: float, tokens: int, free: FreeSpeech) -> Clarity:
    """What the thresholds say of a margin and a gap, for a sentence of so many tokens.

    A wide margin makes up for some gap; in a short sentence ('go ahead') a gap weighs more.
    """
    if gap > CALL_GAP_NATS or gap > CALL_GAP_PER_TOKEN_NATS * (tokens + 1):
        return "not a call"
    if free.is_nothing and gap > NOTHING_GAP_NATS:
        return "not a call"
    if gap > CLEAR_GAP_PER_TOKEN_NATS * (tokens + 1) or not free.ended:
        return "unclear"
    if margin >= FAR_MARGIN_NATS and gap <= FAR_GAP_NATS:
        return "clear"
    return "clear" if margin >= CLEAR_MARGIN_NATS and gap <= CLEAR_GAP_NATS else "unclear"
