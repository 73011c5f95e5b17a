"""How a personal profile enters the judgement of a hearing, and what it can never do.

A profile moves what the thresholds are asked about; the thresholds stay. What it may loosen is limited, so that a wrong
value gets no easier than a documented floor:

- the limits of `Personal` hold for every profile, fitted or from a file;
- one changed digit is told by the margin alone: a profile can ask for more margin, never for less. So what the engine
  asks for (`CLEAR_AHEAD_NATS` of the likelihood engine) is the least for everybody;
- a hearing whose margin is below `LEAST_MARGIN_NATS`, which is less than that, is not helped at all: what was no call
  does not become an unclear one either.

The likelihood engine, the only one that takes part, is moved by the shifts of margin and gap. It asks no second opinion
any more, whose fit a profile shifted too: `fit_shift_nats` stays, for older profiles and journals hold it, and changes
nothing.
"""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from voice_trainer.journal.personal import Personal, Profile
from voice_trainer.recognition.ports import Recogniser

LEAST_MARGIN_NATS = 2.0
"""With a smaller margin than this no profile helps a hearing."""

USUAL = Personal()


@runtime_checkable
class Personable(Protocol):
    """A recogniser whose judgement can be made personal; set before it hears, never while it does."""

    personal: Personal


def shifted(personal: Personal, margin: float, gap: float, fit: float) -> tuple[float, float, float]:
    """Margin, gap and fit, in nats, as the thresholds are to be asked about them; `fit` is that of a second opinion,
    which no engine asks now.
    """
    gap_shift, fit_shift = personal.gap_shift_nats, personal.fit_shift_nats
    if margin < LEAST_MARGIN_NATS:
        gap_shift, fit_shift = max(0.0, gap_shift), min(0.0, fit_shift)
    return margin + personal.margin_shift_nats, gap + gap_shift, fit + fit_shift


def belongs_to(profile: Profile, recogniser: Recogniser) -> bool:
    """Whether a profile was made with this engine and model."""
    return (profile.engine, profile.model_hash) == (recogniser.name, recogniser.model_hash)


def made_personal(recogniser: Recogniser, profile: Profile | None) -> Profile | None:
    """Let `recogniser` judge by `profile`; returns it, or None where it belongs to another engine or model."""
    if profile is None or not belongs_to(profile, recogniser):
        return None
    if isinstance(recogniser, Personable):
        recogniser.personal = profile.values
    return profile
