"""The personal profile on the command line: which one is in force, and how it is shown."""

from __future__ import annotations

import argparse

from rich.console import Console

from voice_trainer.archive.places import profile_path
from voice_trainer.archive.profile_file import read_profile
from voice_trainer.journal.personal import Count, Profile
from voice_trainer.recognition.personal import made_personal
from voice_trainer.recognition.ports import Recogniser


def wanted_profile(options: argparse.Namespace) -> Profile | None:
    """The profile on disk, unless --no-profile is given. Raises ArchiveError."""
    return None if options.no_profile else read_profile(profile_path())


def profile_in_force(recogniser: Recogniser, profile: Profile | None, out: Console) -> Profile | None:
    """Let the recogniser judge by the profile, and say in one line which it is, or why it is not used."""
    in_force = made_personal(recogniser, profile)
    if in_force is not None:
        out.print(f"Profile: {in_brief(in_force)}.", style="dim", markup=False)
    elif profile is not None:
        out.print(
            f"Your profile was made with another recogniser ({profile.engine}, model {profile.model_hash[:12]}) "
            "and is not used: enrol again.",
            markup=False,
        )
    return in_force


def in_brief(profile: Profile) -> str:
    """A profile in one line: its date, and every value."""
    values = profile.values
    return (
        f"of {profile.made_utc[:10]}, hangover {values.hangover_seconds:.2f} s, input gain "
        f"{values.input_gain_db:.1f} dB, shifts of margin {values.margin_shift_nats:+.1f}, gap "
        f"{values.gap_shift_nats:+.1f}, fit {values.fit_shift_nats:+.1f} nats"
    )


def as_counted(count: Count) -> str:
    """How many prompts were heard clearly and right, and how many wrong."""
    return f"{count.right} of {count.prompts} clear and right, {count.wrong} clear and wrong"
