"""What an enrolment has found out about one voice on one microphone.

The values go into the journal of every session that they were in force in, so that it can be read without the
file that they came from. What they may be is limited here: a profile from a file is held to the same limits as one
that was just fitted.
"""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from voice_trainer.journal.hearing import Frozen

PROFILE_FORMAT: Final = 1
"""Raised when a reader of the older format could misread a newer profile."""

USUAL_HANGOVER_SECONDS = 0.6
LONGEST_HANGOVER_SECONDS = 1.2
LOOSEST_FIT_SHIFT_NATS = 1.5


class Personal(Frozen):
    """How the recogniser and the endpointing differ for this voice; as it stands, they don't.

    A shift is added to what was measured before the thresholds are asked. A margin can only be made to count for
    less; a negative gap shift makes a hearing clear sooner, where `recognition.personal` lets it.
    The hangover is never shorter than usual: one pauses less in reading than in thinking.
    """

    margin_shift_nats: Annotated[float, Field(ge=-4.0, le=0.0)] = 0.0
    gap_shift_nats: Annotated[float, Field(ge=-4.0, le=4.0)] = 0.0
    fit_shift_nats: Annotated[float, Field(ge=-2.0, le=LOOSEST_FIT_SHIFT_NATS)] = 0.0
    """Of the second opinion that earlier engines asked, in nats a frame of words: their profiles hold it."""
    hangover_seconds: Annotated[float, Field(ge=USUAL_HANGOVER_SECONDS, le=LONGEST_HANGOVER_SECONDS)] = (
        USUAL_HANGOVER_SECONDS
    )
    input_gain_db: Annotated[float, Field(ge=0.0, le=20.0)] = 0.0
    """What a faint microphone is lifted by before speech is looked for."""


class Count(Frozen):
    """Of so many prompts, how many were heard clearly and right, and how many clearly and wrong."""

    prompts: Annotated[int, Field(ge=0)]
    right: Annotated[int, Field(ge=0)]
    wrong: Annotated[int, Field(ge=0)]


class Profile(Frozen):
    """The outcome of one enrolment. It is worth something only to the engine and model that it was made with.

    `before` and `after` were counted on prompts that nothing was fitted to. Levels are RMS, a full-scale sine
    being 0 dBFS.
    """

    profile_format: Literal[1] = PROFILE_FORMAT
    made_utc: str
    engine: str
    model_hash: str
    microphone: str
    noise_floor_dbfs: float
    speech_dbfs: float
    values: Personal
    before: Count
    after: Count
