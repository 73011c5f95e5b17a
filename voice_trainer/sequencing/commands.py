"""What the sequencer asks its surroundings to do."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from voice_trainer.drills.model import Speaker

Tone = Literal["listening", "heard", "say again"]


@dataclass(frozen=True, slots=True)
class Speak:
    """Say `text` with the voice of `speaker`; report CueStarted and CueEnded under the name `cue`.

    `pace` is the rate of speech, of the speaker's usual one.
    """

    cue: str
    speaker: Speaker
    text: str
    pace: float = 1.0


@dataclass(frozen=True, slots=True)
class Sound:
    """Play a short tone; nothing is reported of it."""

    tone: Tone


@dataclass(frozen=True, slots=True)
class FallSilent:
    """Stop speaking at once: something urgent comes."""


@dataclass(frozen=True, slots=True)
class Finish:
    """The drill is over: send `Ended(reason)`, then nothing more."""

    reason: str


Command = Speak | Sound | FallSilent | Finish
