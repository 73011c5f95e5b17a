"""When a hearing is clear, unclear, or no call at all.

Set on synthetic speech only: 902 calls with random values in the words of both built-in drills, eleven espeak-ng and
flite voices, clean, with engine noise at 10 dB, and through a radio band, heard against both drills and the
sentences of the trade. With the second opinion agreeing, 577 of 581 clear hearings were right; without it, 85 of 92.
All 902 were looked at while setting the thresholds: `scripts/bench recognition` measures on other ones.
"""

from __future__ import annotations

from dataclasses import dataclass

from voice_trainer.journal.hearing import Clarity

CLEAR_MARGIN_NATS = 2.0
CLEAR_GAP_NATS = 20.0
"""With the second opinion agreeing."""

ALONE_MARGIN_NATS = 5.0
ALONE_GAP_NATS = 10.0
"""With the second opinion differing: the first must be far ahead."""

CALL_GAP_NATS = 20.0
CALL_GAP_PER_TOKEN_NATS = 4.5
NOTHING_GAP_NATS = 5.0
WORTH_ASKING_NATS = 8.0
"""How far beyond the gap of a call both opinions together are still worth asking again for."""

NAME_NATS = 4.0
"""What each made-up name is allowed: free speech writes some likely words instead of it, and gets ahead by that."""

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


def clarity(margin: float, gap: float, tokens: int, free: FreeSpeech, *, agrees: bool) -> Clarity:
    """What the thresholds say of a margin and a gap (less what its names are allowed), for so many tokens.

    `agrees`: the second opinion prefers the same sentence. In a short sentence ('go ahead') a gap weighs more.
    """
    call_gap = min(CALL_GAP_NATS, CALL_GAP_PER_TOKEN_NATS * (tokens + 1))
    if gap > call_gap or (free.is_nothing and gap > NOTHING_GAP_NATS):
        both = agrees and margin >= ALONE_MARGIN_NATS and not free.is_nothing
        return "unclear" if both and gap <= call_gap + WORTH_ASKING_NATS else "not a call"
    if agrees:
        return "clear" if margin >= CLEAR_MARGIN_NATS and gap <= CLEAR_GAP_NATS else "unclear"
    alone = margin >= ALONE_MARGIN_NATS and gap <= ALONE_GAP_NATS and free.ended
    return "clear" if alone else "unclear"
