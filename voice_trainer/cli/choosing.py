"""Where a session listens and speaks: what the options say, or what this machine has."""

from __future__ import annotations

import argparse
from dataclasses import dataclass

from rich.console import Console


@dataclass(frozen=True, slots=True)
class Chosen:
    """Where a session listens and speaks: 'mic', 'student', 'typed' or a file; 'speaker', 'none' or a file."""

    input: str
    output: str

    @property
    def live(self) -> bool:
        """Whether it goes at the pace of real devices."""
        return self.input == "mic" or self.output == "speaker"


def choose(options: argparse.Namespace, out: Console) -> Chosen:
    """Input and output, with the defaults of this machine; says in one line where it makes do."""
    chosen_input, chosen_output = options.input, options.output
    if chosen_input == "typed":
        return Chosen("typed", chosen_output or "none")
    from voice_trainer.audio.devices import usable_microphone, usable_speaker

    if chosen_input is None:
        microphone = usable_microphone(options.microphone)
        chosen_input = "mic" if microphone else "student"
        if not microphone:
            out.print(
                f"No usable microphone ({microphone.reason}): a synthetic student speaks.", markup=False
            )
    if chosen_output is None:
        speaker = usable_speaker(options.speaker) if chosen_input in ("mic", "student") else None
        chosen_output = "speaker" if speaker else "none"
        if speaker is not None and not speaker:
            out.print(f"No usable speaker ({speaker.reason}): read what the trainer says.", markup=False)
    return Chosen(chosen_input, chosen_output)
