"""Opening what a session listens and speaks with: devices, voices and recogniser, as the options say, once."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable
from concurrent.futures import Future
from contextlib import ExitStack
from typing import TYPE_CHECKING

from rich.console import Console

from voice_trainer.archive.places import voice_cache_folder
from voice_trainer.cli.choosing import Chosen
from voice_trainer.cli.delays import delay_of
from voice_trainer.cli.keys import open_keys
from voice_trainer.cli.profiles import profile_in_force

if TYPE_CHECKING:
    from voice_trainer.audio.ports import Microphone, Speaker
    from voice_trainer.audio.virtual import ScheduledSource
    from voice_trainer.journal.personal import Profile
    from voice_trainer.recognition.ports import Recogniser
    from voice_trainer.session.sleep_watch import SleepWatch
    from voice_trainer.session.studio import Studio
    from voice_trainer.voices.casting import Casting, Role
    from voice_trainer.voices.ports import Voice

ROOM_NOISE_DBFS = -66.0
"""A quiet room around the synthetic student: no microphone delivers digital silence."""

STALL_IS_TOLD_AFTER_SECONDS = 5.0


def open_studio(
    options: argparse.Namespace,
    chosen: Chosen,
    recogniser: Future[Recogniser],
    profile: Profile | None,
    opened: ExitStack,
    out: Console,
    *,
    tail_seconds: float,
    first_lines: Iterable[tuple[Role, str]] = (),
) -> Studio:
    """The set-up for one drill or many; `opened` closes it. A recording is followed by `tail_seconds` of silence.

    `first_lines`, speaker and text, are rendered while the recogniser is still being loaded.
    Raises AudioError, RecogniserError, VoiceError.
    """
    from voice_trainer.session.booth import Booth
    from voice_trainer.session.push_to_talk import GatedMicrophone
    from voice_trainer.session.sleep_watch import SleepWatch
    from voice_trainer.session.studio import Studio

    voice, casting = cast_voices(options, out, needed=chosen.output != "none" or chosen.input == "student")
    booth = Booth(voice, casting)
    opened.callback(booth.close)
    booth.prepare(first_lines)
    sleep_watch = SleepWatch() if chosen.live else None
    microphone, source = open_microphone(options, chosen, tail_seconds, _waiting(sleep_watch, out))
    opened.callback(microphone.close)
    speaker = open_speaker(options, chosen, microphone, opened)
    opened.callback(speaker.close)
    ready = recogniser.result()
    keys, push_to_talk = open_keys(options, chosen, opened, out)
    if push_to_talk is not None:
        microphone = GatedMicrophone(microphone, push_to_talk)
    studio = Studio(
        microphone,
        speaker,
        booth,
        ready,
        profile=profile_in_force(ready, profile, out),
        headset=options.headset,
        in_step=not chosen.live,
        weighs_deafness=chosen.input not in ("mic", "student"),
        source=source,
        keys=keys,
        sleep_watch=sleep_watch,
    )
    opened.callback(studio.close)
    return studio


def _waiting(sleep_watch: SleepWatch | None, out: Console) -> Callable[[float], None]:
    """What is done while nothing comes from the microphone: it is no sleep, and a long stall is told once."""
    told = False

    def wait(silent_seconds: float) -> None:
        nonlocal told
        if sleep_watch is not None:
            sleep_watch.awake()
        stalls = silent_seconds >= STALL_IS_TOLD_AFTER_SECONDS
        if stalls and not told:
            out.print(
                f"Nothing has come from the microphone for {silent_seconds:.0f} seconds: waiting for it.",
                markup=False,
            )
        told = stalls

    return wait


def cast_voices(options: argparse.Namespace, out: Console, *, needed: bool) -> tuple[Voice, Casting]:
    """The voice engine, cached, and who speaks how; without an engine, silence of the right length."""
    from voice_trainer.audio.effects import radio
    from voice_trainer.voices.cache import CachedVoice
    from voice_trainer.voices.casting import Casting
    from voice_trainer.voices.errors import VoiceError
    from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
    from voice_trainer.voices.radio_voice import RadioVoice
    from voice_trainer.voices.scripted import ScriptedVoice

    try:
        voice: Voice = Pyttsx3Voice()
        chosen: dict[Role, str] = {"student": options.student_voice} if options.student_voice else {}
        casting = Casting.of(voice, chosen)
    except VoiceError as missing:
        if needed:
            raise
        out.print(f"{missing}: the cues are printed only.", markup=False)
        voice = ScriptedVoice()
        casting = Casting.of(voice)
    return RadioVoice(CachedVoice(voice, voice_cache_folder()), radio), casting


def open_microphone(
    options: argparse.Namespace,
    chosen: Chosen,
    tail_seconds: float,
    while_waiting: Callable[[float], None] = lambda silent_seconds: None,
) -> tuple[Microphone, ScheduledSource | None]:
    """Whoever is listened to; of the synthetic student, also where it speaks."""
    if chosen.input == "mic":
        from voice_trainer.audio.live import LiveMicrophone

        return LiveMicrophone(options.microphone, while_waiting=while_waiting), None
    from voice_trainer.audio.virtual import ScheduledSource, VirtualMicrophone, WavSource

    pace = chosen.output == "speaker"
    if chosen.input != "student":
        from voice_trainer.audio.wav import read_wav

        return VirtualMicrophone(WavSource(read_wav(chosen.input), tail_seconds), pace=pace), None
    source = ScheduledSource(noise_dbfs=ROOM_NOISE_DBFS, seed=options.seed)
    return VirtualMicrophone(source, pace=pace), source


def open_speaker(
    options: argparse.Namespace, chosen: Chosen, microphone: Microphone, opened: ExitStack
) -> Speaker:
    """Where the trainer speaks."""
    from voice_trainer.audio.virtual import ClockedSpeaker

    if chosen.output == "speaker":
        from voice_trainer.audio.live import LiveSpeaker

        return LiveSpeaker(options.speaker, microphone, offset_seconds=delay_of(options.speaker))
    if chosen.output == "none":
        return ClockedSpeaker()
    from voice_trainer.audio.wav import WavWriter

    return ClockedSpeaker(opened.enter_context(WavWriter(chosen.output, new=True)))
