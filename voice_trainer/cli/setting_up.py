"""What a command that runs sessions begins with: how they go, the devices, and a recogniser that loads meanwhile."""

from __future__ import annotations

import argparse
from concurrent.futures import Future
from dataclasses import dataclass

from rich.console import Console

from voice_trainer.cli.checks import without_use
from voice_trainer.cli.choosing import Chosen, choose
from voice_trainer.cli.manner import manner_of
from voice_trainer.cli.profiles import wanted_profile
from voice_trainer.cli.recognisers import recogniser_called
from voice_trainer.journal.events import Settings
from voice_trainer.journal.personal import Profile
from voice_trainer.recognition.ports import Recogniser
from voice_trainer.session.background import in_background


@dataclass(frozen=True, slots=True)
class SetUp:
    """`recogniser` is None where what is said is typed; it may still be loading."""

    settings: Settings
    chosen: Chosen
    profile: Profile | None
    recogniser: Future[Recogniser] | None


def set_up(options: argparse.Namespace, out: Console) -> SetUp:
    """Choose the devices and begin to load the recogniser; says what is chosen, and which options are of no use.

    Raises UsageError, AudioError or ArchiveError; what is wrong with the recogniser is raised by its future.
    """
    manner = manner_of(options)
    # Loading a model takes longest: it goes on while devices and voices are looked for.
    typed = options.input == "typed"
    profile = None if typed else wanted_profile(options)
    recogniser = None if typed else in_background(lambda: recogniser_called(options.engine))
    chosen = choose(options, out)
    for line in without_use(options, chosen.input, chosen.output):
        out.print(line, markup=False)
    given = {"seed": options.seed, "input": chosen.input, "output": chosen.output}
    listening = "headset" if options.headset else "half-duplex"
    settings = Settings.model_validate(given | {"listening": listening} | manner)
    return SetUp(settings, chosen, profile, recogniser)
