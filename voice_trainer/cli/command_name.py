"""What the user types to start the program, for the messages that tell them to run a command.

`scripts/run` keeps `voice-trainer` off the PATH, and says in an environment variable how it was called.
"""

from __future__ import annotations

import os
import shlex

COMMAND_VARIABLE = "VOICE_TRAINER_COMMAND"
PROGRAM = "voice-trainer"


def command_name() -> str:
    """'voice-trainer', or what starts it here, such as 'scripts/run'."""
    started_as = os.environ.get(COMMAND_VARIABLE, "")
    return shlex.quote(started_as) if started_as.isprintable() and started_as else PROGRAM


def as_typed_here(text: str) -> str:
    """A message with its commands ('voice-trainer doctor') as they are typed here."""
    return text.replace(f"{PROGRAM} ", f"{command_name()} ")
