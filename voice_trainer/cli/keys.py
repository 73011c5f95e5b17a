"""Keys beside the voice, where there is a keyboard."""

from __future__ import annotations

import argparse
import sys
from contextlib import ExitStack

from rich.console import Console

from voice_trainer.cli.choosing import Chosen
from voice_trainer.cli.problems import UsageError
from voice_trainer.session.keyboard import Keyboard, is_usable
from voice_trainer.session.keys import Keys
from voice_trainer.session.push_to_talk import PushToTalk

OFFERED = "Keys: p freezes and goes on, r says again, q ends"
TO_TALK = "; the space bar talks: hold it, or press it before and after"
NO_KEYBOARD = "no keyboard here: standard input is no terminal"


def check_push_to_talk(options: argparse.Namespace) -> None:
    """Raises UsageError where nobody could ever push to talk."""
    if options.push_to_talk and options.input in (None, "mic") and not is_usable(_descriptor()):
        raise UsageError(f"--push-to-talk: {NO_KEYBOARD}; start it from a terminal, or leave the option out")


def open_keys(
    options: argparse.Namespace, chosen: Chosen, opened: ExitStack, out: Console
) -> tuple[Keys | None, PushToTalk | None]:
    """The keys of a live session, and what the space bar works; says in one line what there is."""
    if not chosen.live:
        return None, None
    if not is_usable(_descriptor()):
        out.print(f"{NO_KEYBOARD.capitalize()}.", style="dim", markup=False)
        return None, None
    push_to_talk = PushToTalk() if options.push_to_talk and chosen.input == "mic" else None
    out.print(f"{OFFERED}{TO_TALK if push_to_talk else ''}.", style="dim", markup=False)
    keyboard = opened.enter_context(Keyboard(_descriptor()))
    return Keys(keyboard.pressed, push_to_talk), push_to_talk


def _descriptor() -> int:
    try:
        return sys.stdin.fileno()
    except (AttributeError, OSError, ValueError):  # closed, or not a file
        return -1
