"""What `record` and `enrol` share: devices from the options, and one prompt after the other."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from functools import partial

from rich.console import Console

from voice_trainer.archive.places import voice_cache_folder
from voice_trainer.audio.devices import usable_speaker
from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Microphone, Samples, Speaker
from voice_trainer.cli.checks import check_devices, check_source
from voice_trainer.cli.problems import UsageError
from voice_trainer.recognition.endpointing import Utterance
from voice_trainer.session.prompted import (
    CLIPPED,
    NOTHING_HEARD,
    TOO_SHORT,
    EndOfInputError,
    Fault,
    PromptedRecording,
)

TAIL_SECONDS = 2.0
"""Silence after a recording that is listened to, so that its last words are heard out."""

GIVE_UP_AFTER = 3
"""So many prompts in a row of which nothing was heard: the microphone is off, or nobody is there."""

FAULTS: dict[Fault, str] = {
    TOO_SHORT: "that was too short",
    CLIPPED: "too loud for the microphone: sit back, or turn its gain down",
    NOTHING_HEARD: "nothing was heard",
}


@dataclass(frozen=True, slots=True)
class Ends:
    """Where prompts are heard, and where tones and voices sound, if anywhere.

    `start_seconds` is where in the recording it begins to be heard; a `live` microphone can be asked again.
    """

    microphone: Microphone
    speaker: Speaker | None
    live: bool
    start_seconds: float = 0.0


def check_listening(options: argparse.Namespace) -> None:
    """What is wrong with the options of `record` and `enrol`. Raises UsageError and AudioError."""
    if options.speak and options.output == "none":
        raise UsageError("--speak needs a speaker: leave out --output none, or --speak")
    check_source("--input", options.input, ("mic",))
    check_devices(options.input, options.microphone, options.output, options.loudspeaker)


def open_ends(
    options: argparse.Namespace, opened: ExitStack, out: Console, start_seconds: float = 0.0
) -> Ends:
    """The devices, or the recording from `start_seconds` on. Raises AudioError and UsageError."""
    output = options.output
    if options.input == "mic":
        from voice_trainer.audio.live import LiveMicrophone

        if output is None:
            speaker_check = usable_speaker(options.loudspeaker)
            output = "speaker" if speaker_check else "none"
            if not speaker_check:
                out.print(f"No usable speaker ({speaker_check.reason}): no tones.", markup=False)
        microphone: Microphone = LiveMicrophone(options.microphone)
    else:
        from voice_trainer.audio.virtual import VirtualMicrophone, WavSource
        from voice_trainer.audio.wav import read_wav

        recording = read_wav(options.input)[round(start_seconds * SAMPLE_RATE_HZ) :]
        microphone = VirtualMicrophone(
            WavSource(recording, TAIL_SECONDS), pace=output == "speaker", name=options.input
        )
    opened.callback(microphone.close)
    live = options.input == "mic"
    if output != "speaker":
        if options.speak:
            raise UsageError("--speak needs a speaker: connect one, or leave out --speak")
        return Ends(microphone, None, live, start_seconds)
    from voice_trainer.audio.live import LiveSpeaker

    speaker = LiveSpeaker(options.loudspeaker, microphone)
    opened.callback(speaker.close)
    return Ends(microphone, speaker, live, start_seconds)


def instructor_voice() -> Callable[[str], Samples]:
    """What speaks the prompts. Raises VoiceError."""
    from voice_trainer.voices.cache import CachedVoice
    from voice_trainer.voices.casting import Casting
    from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

    voice = CachedVoice(Pyttsx3Voice(), voice_cache_folder())
    style = Casting.of(voice).style("instructor")
    return lambda text: voice.render(text, style)


def prompted(
    texts: Sequence[str],
    numbers: Sequence[int],
    of: int,
    ends: Ends,
    *,
    speak: bool,
    out: Console,
    objection: Callable[[int, Utterance], str | None] = lambda index, utterance: None,
) -> Iterator[tuple[int, Utterance]]:
    """Show the prompts one by one, and yield each (by its index in `texts`) with what was said.

    `objection` says why an utterance is not the prompt of that index, so that it is asked for again. `numbers` are what
    they are counted as, `of` how many there are in all. A prompt that three takes did not get is
    passed over. Raises AudioError where nothing at all is heard, VoiceError, and UsageError where the recording that
    is listened to is over before the prompts are.
    """
    recording = PromptedRecording(ends.microphone, ends.speaker)
    voice = instructor_voice() if speak else None
    silent = 0

    def tell(fault: Fault, again: bool) -> None:
        out.print(
            f"      {FAULTS.get(fault, fault)}{'; once more, please' if again else ': left out'}",
            style="dim",
            markup=False,
        )

    for index, text in enumerate(texts):
        out.print(f"[{numbers[index]}/{of}] {text}", markup=False)
        heard: list[Fault] = []

        def on_fault(fault: Fault, again: bool, heard: list[Fault] = heard) -> None:
            heard.append(fault)
            tell(fault, again)

        try:
            utterance = recording.record(voice(text) if voice else None, on_fault, partial(objection, index))
        except EndOfInputError as over:
            raise UsageError(
                f"{ends.microphone.name}: the recording is over at prompt {numbers[index]} of {of}; leave two "
                "seconds of quiet between prompts"
            ) from over
        if utterance is not None:
            silent = 0
            yield index, utterance
            continue
        silent = silent + 1 if set(heard) == {NOTHING_HEARD} else 0
        if silent >= GIVE_UP_AFTER:
            raise AudioError(
                f"nothing is heard from {ends.microphone.name}: look at it with 'voice-trainer doctor', then go on"
            )
