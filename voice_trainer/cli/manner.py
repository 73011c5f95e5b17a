"""How the trainer behaves: its mode, its level, and what it is called."""

from __future__ import annotations

import argparse
import re
from typing import TypedDict

from voice_trainer.cli.problems import UsageError
from voice_trainer.flight.tolerances import TOLERANCES
from voice_trainer.journal.thinking import LONGEST_THINKING, SHORTEST_THINKING, THINKING_SECONDS
from voice_trainer.phraseology.trainer_name import TRAINER_NAME

_NAME = re.compile(r"[A-Za-z']+(?:[ -][A-Za-z']+){0,2}")


class Manner(TypedDict):
    """The fields of `Settings` that say it."""

    mode: str
    level: str
    trainer_name: str
    assist: bool
    steps_in: bool
    tolerances: str
    thinking_seconds: float


def add_trainer_name(command: argparse.ArgumentParser) -> None:
    """What the trainer is called by whoever talks to it."""
    command.add_argument(
        "--trainer-name",
        metavar="NAME",
        default=TRAINER_NAME,
        help=f"what you call the trainer (default: {TRAINER_NAME})",
    )


def add_manner(command: argparse.ArgumentParser) -> None:
    """Mode, level and name."""
    command.add_argument(
        "--mode",
        choices=("stop-and-correct", "fly-through"),
        default="stop-and-correct",
        help="after a wrong or missed call: stand still until it is put right (default), or say nothing and fly on",
    )
    command.add_argument(
        "--level",
        choices=("read-along", "prompted", "cold", "under-load"),
        default="prompted",
        help="every call is said first; cues are said (default); what you should notice is not; you are distracted",
    )
    command.add_argument(
        "--assist",
        action="store_true",
        help="in fly-through, the instructor does what you left out, when it is too late to be said; it stays missed",
    )
    command.add_argument(
        "--steps-in",
        action="store_true",
        help="the instructor takes over where you leave the lowest altitude or the area; it stays in the grade",
    )
    command.add_argument(
        "--tolerances",
        choices=list(TOLERANCES),
        default="house",
        help="by which published set a flight is graded (default: house, the wider of them)",
    )
    command.add_argument(
        "--thinking-pause",
        metavar="SECONDS",
        type=_thinking_pause,
        default=THINKING_SECONDS,
        help=f"how long you may pause inside a call (default: {THINKING_SECONDS}); less answers sooner",
    )
    add_trainer_name(command)


def _thinking_pause(text: str) -> float:
    try:
        seconds = float(text)
    except ValueError:
        seconds = float("nan")
    if not SHORTEST_THINKING <= seconds <= LONGEST_THINKING:
        raise argparse.ArgumentTypeError(
            f"'{text}' is no pause to think in; give {SHORTEST_THINKING} to {LONGEST_THINKING:.0f} seconds"
        )
    return seconds


def manner_of(options: argparse.Namespace) -> Manner:
    """What the options say. Raises UsageError and PatternError for a name that can't be one."""
    return {
        "mode": options.mode.replace("-", " "),
        "level": options.level.replace("-", " "),
        "trainer_name": checked_trainer_name(options.trainer_name),
        "assist": options.assist,
        "steps_in": options.steps_in,
        "tolerances": options.tolerances,
        "thinking_seconds": options.thinking_pause,
    }


def checked_trainer_name(name: str) -> str:
    """The name as orders have it. Raises UsageError for what is no name, PatternError for what can't be spoken."""
    from voice_trainer.phraseology.orders import control_phrases

    if not _NAME.fullmatch(name.strip()):
        raise UsageError(f"--trainer-name: '{name}' is no name; use one to three words of letters")
    control_phrases(name.strip().lower())
    return name.strip().lower()
