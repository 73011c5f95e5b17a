"""What is wrong with options and can be told before anything is shown, loaded, opened or written."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from voice_trainer.archive.places import models_folders
from voice_trainer.audio.devices import DeviceCheck, usable_microphone, usable_speaker
from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.wav import check_recording
from voice_trainer.cli.keys import check_push_to_talk
from voice_trainer.cli.page_files import BESIDE_THE_JOURNAL, check_page
from voice_trainer.cli.problems import UsageError
from voice_trainer.library.errors import quoted
from voice_trainer.library.wording import listed, nearest
from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.kinds import DEBRIEF_PAGE, JOURNAL, SOUND
from voice_trainer.recognition.choosing import check_engine

RECORDING = ".wav"


def check_run(options: argparse.Namespace, inputs: Sequence[str] = ("mic", "student", "typed")) -> None:
    """The options of `run` and `handsfree`. Raises UsageError, or of a place, a device, an engine or a voice."""
    check_source("--input", options.input, inputs)
    _check_apart(options)
    _check_sink("--output", options.output, ("speaker", "none"))
    if options.record is not None:
        check_output("--record", options.record, SOUND)
    if options.journal is not None:
        check_output("--journal", options.journal, JOURNAL)
    check_page("--report", options.report, DEBRIEF_PAGE)
    check_engine(options.engine, models_folders())
    check_push_to_talk(options)
    if options.input != "typed":
        check_devices(options.input, options.microphone, options.output, options.speaker)
    if options.student_voice is not None:
        _check_voice(options.student_voice)


def check_source(option: str, value: str | None, words: Sequence[str]) -> None:
    """Who is listened to: one of `words`, or a recording that can be read. Raises UsageError and AudioError."""
    if value is None or value in words:
        return
    if not value.endswith(RECORDING):
        raise UsageError(f"{option}: {_none_of(value, words)}")
    check_recording(value)


def check_devices(source: str | None, microphone: str | None, sink: str | None, speaker: str | None) -> None:
    """The devices that were asked for, by name or by 'mic' and 'speaker'. Raises AudioError."""
    if source == "mic" or (source is None and microphone):
        _ensure(usable_microphone(microphone, patient=True))
    if sink == "speaker" or (sink is None and speaker):
        _ensure(usable_speaker(speaker, patient=True))


def _ensure(usable: DeviceCheck) -> None:
    if not usable:
        raise AudioError(usable.reason)


def without_use(options: argparse.Namespace, source: str, sink: str) -> list[str]:
    """A line for every option of `run` that changes nothing with this input and output."""
    with_microphone, with_student = source == "mic", source == "student"
    idle = [
        ("--headset", options.headset and source == "typed", "nothing is listened to"),
        ("--headset", options.headset and with_student, "the synthetic student waits for the end of a cue"),
        ("--push-to-talk", options.push_to_talk and not with_microphone, "no microphone is listened to"),
        ("--microphone", options.microphone and not with_microphone, "no microphone is listened to"),
        ("--output", source == "typed" and sink != "none", "a typed session is silent"),
        ("--speaker", options.speaker and sink != "speaker", "no speaker is used"),
        ("--student-voice", options.student_voice and not with_student, "no synthetic student speaks"),
        (
            "--student-errors",
            options.student_errors != "all" and not with_student,
            "no synthetic student speaks",
        ),
        ("--record", options.record and source == "typed", "there is no sound to keep"),
    ]
    return [f"{option} changes nothing here: {why}." for option, given, why in idle if given]


def _check_sink(option: str, value: str | None, words: Sequence[str]) -> None:
    if value is None or value in words:
        return
    if not value.endswith(RECORDING):
        raise UsageError(f"{option}: {_none_of(value, words)}")
    check_output(option, Path(value), SOUND)


def _check_apart(options: argparse.Namespace) -> None:
    """No file is read and written, or written twice."""
    named: dict[Path, str] = {}
    for option in ("input", "output", "record", "journal", "report"):
        value = getattr(options, option)
        if value is None or value in ("mic", "student", "typed", "speaker", "none", BESIDE_THE_JOURNAL):
            continue
        place = Path(value).absolute().resolve()
        if place in named:
            raise UsageError(f"--{option}: {value} is the file of --{named[place]} too; name another")
        named[place] = option


def _check_voice(name: str) -> None:
    from voice_trainer.voices.casting import Casting
    from voice_trainer.voices.errors import VoiceError
    from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

    voice = Pyttsx3Voice()
    Casting.of(voice, {"student": name})
    variant = name.partition("+")[2]
    if variant and variant not in voice.variants():
        likely = nearest(variant, voice.variants())
        advice = f"did you mean '{likely}'?" if likely else "leave it out"
        raise VoiceError(f"--student-voice: {voice.name} has no variant {quoted(variant)}; {advice}")


def _none_of(value: str, words: Sequence[str]) -> str:
    likely = nearest(value, words) if words else None
    if likely:
        return f"{quoted(value)} is no choice; did you mean '{likely}'?"
    return f"{quoted(value)} is no choice; use {listed([*words, 'a .wav file'])}"
