"""How a personal profile enters the judgement of a hearing, and what it can never do.

A profile moves what the thresholds are asked about; the thresholds stay. What it may loosen is limited, so that a wrong
value gets no easier than a documented floor:

- the limits of `Personal` hold for every profile, fitted or from a file;
- one changed digit is told by the margin alone: a profile can ask for more margin, never for less;
- a hearing whose margin is below `LEAST_MARGIN_NATS` is not helped at all;
- whether the second opinion shares a hearing is not shifted.

What differs from voice to voice is above all the fit: to the second model, a voice that it was not trained on fits
badly, whatever it says. The limits were set when the second opinion still pruned, on 899 calls of twelve synthetic
voices: with every shift at its loosest 779 instead of 766 were clear and right, and 4 clear and wrong as before.
"""

from __future__ import annotations

from typing import Protocol, runtime_checkable

from voice_trainer.journal.personal import Personal, Profile
from voice_trainer.recognition.ports import Recogniser

LEAST_MARGIN_NATS = 2.0
"""With a smaller margin than this no profile makes a hearing clear."""

USUAL = Personal()


@runtime_checkable
class Personable(Protocol):
    """A recogniser whose judgement can be made personal; set before it hears, never while it does."""

    personal: Personal


def shifted(personal: Personal, margin: float, gap: float, fit: float) -> tuple[float, float, float]:
    """Margin, gap and the second opinion's fit, in nats, as the thresholds are to be asked about them."""
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
