"""The same sentences of the test half by two families of voices, each heard under every condition.

Of a family each sentence is said once, by the voices in turn; that clip is then put under every condition, so that
conditions differ by nothing else. Other people's talk (babble) is four clips of sentences that are no calls, by other
voices of the same family. No text and no voice here was in any training: robots that were are left out.

Clips are kept in the corpus' folder: a run that was stopped goes on, and a larger one has them already.
"""

from __future__ import annotations

import hashlib
import random
import sys
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TypeVar

import numpy as np
import soundfile

from scripts.benchmarks.conditions import finished, nonspeech
from scripts.benchmarks.corpus import PACES, nicely, save_sound
from scripts.benchmarks.kokoro_voices import ENGINE, KokoroVoices, fingerprint
from scripts.benchmarks.lines import FIGURES_ONLY, FOUR_CALLS, Kind
from scripts.benchmarks.spoken_corpus import Corpus, Utterance
from scripts.benchmarks.voices import RATE, VOICES, Sound, speech, why_not
from scripts.train.voices import (
    ESPEAK_ACCENTS,
    ESPEAK_DEVELOPMENT,
    ESPEAK_TRAINING,
    FLITE_TRAINING,
    KOKORO_DEVELOPMENT,
    KOKORO_TRAINING,
)

SHARES: dict[Kind, float] = {
    "right": 0.45,
    "twin": 0.3,
    "unrelated": 0.13,
    FOUR_CALLS: 0.12,
    "non-speech": 0.25,
}
"""Of what is asked for; sounds that are no speech come beside, since nobody says them."""
LEAST: dict[Kind, int] = {"unrelated": 6, FOUR_CALLS: 1, "non-speech": 5}
"""Babble is made of the first: four of them by others than who speaks."""
BEGINS: dict[Kind, int] = {"right": 0, "twin": 5, "unrelated": 4, FOUR_CALLS: 10}
"""With which of the voices a kind begins: however many sentences there are, the first of them are said by the same."""
TALKING = 4
BABBLE_SECONDS = 10


def heard_in_training(voice: str) -> bool:
    """Whether the speech model learnt from this voice, or was chosen by it."""
    engine, _, name = voice.partition(":")
    match engine:
        case "espeak":
            accent, _, variant = name.rpartition("/")[2].lower().partition("+")
            known = {each.lower() for each in (*ESPEAK_TRAINING, *ESPEAK_DEVELOPMENT)}
            # A variant is a timbre: whatever accent it is used with.
            return variant in known and (bool(variant) or accent in ESPEAK_ACCENTS)
        case "flite":
            return name in FLITE_TRAINING
        case "kokoro":
            return name in (*KOKORO_TRAINING, *KOKORO_DEVELOPMENT)
        case _:
            return False


def robots() -> tuple[str, ...]:
    """The synthetic voices of the test half that are here and that no training heard."""
    return tuple(each for each in VOICES["test"] if not why_not(each) and not heard_in_training(each))


def robots_left_out() -> tuple[str, ...]:
    """Those of the test half that the training heard."""
    return tuple(each for each in VOICES["test"] if heard_in_training(each))


@dataclass(frozen=True)
class Clip:
    """A sentence by a voice at a pace, with nothing around it."""

    voice: str
    pace: float
    spoken: str

    @property
    def name(self) -> str:
        """Of its file."""
        return hashlib.sha256(f"{self.voice}|{self.pace}|{self.spoken}".encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Scene:
    """What is heard, who says it, and who talks besides; nobody says a sound that is no speech."""

    utterance: Utterance
    clip: Clip | None
    others: tuple[Clip, ...]


def sentences(corpus: Corpus, size: int | None, seed: int) -> list[Utterance]:
    """So many sentences of the test half, all of them where None; none that only recorded people say."""
    said = [
        each
        for each in corpus.utterances
        if each.half == "test" and not each.recording and not each.drill.startswith(FIGURES_ONLY)
    ]
    pool = Corpus(corpus.folder, tuple(said))
    return [
        each
        for kind, part in SHARES.items()
        for each in pool.select(
            "test", None if size is None else max(LEAST.get(kind, 1), round(size * part)), seed, (kind,)
        )
    ]


def planned(
    said: Sequence[Utterance], voices: Sequence[str], conditions: Sequence[str], seed: int
) -> list[Scene]:
    """Each sentence by one voice, by turns, under every condition; sounds that are no speech under none."""
    turns = random.Random(seed).sample(list(voices), len(voices))
    spoken = [
        (each, _clip(each, turns[(at + first) % len(turns)], seed))
        for kind, first in BEGINS.items()
        for at, each in enumerate(other for other in said if other.kind == kind)
    ]
    talk = [clip for each, clip in spoken if each.kind == "unrelated"]
    scenes = []
    for each, clip in spoken:
        others = _others(talk, clip, random.Random(f"{seed}/{clip.name}"))
        scenes += [_scene(each, clip, condition, others) for condition in conditions]
    for each in said:
        if each.kind == "non-speech":
            # Where nobody talks in it, it is the same sound for every family.
            scenes.append(_scene(each, None, "", tuple(talk[:TALKING]) if each.phrase == "babble" else ()))
    return scenes


def _clip(said: Utterance, voice: str, seed: int) -> Clip:
    chance = random.Random(f"{seed}/{voice}/{said.spoken}")
    return Clip(voice, round(chance.uniform(*PACES), 3), said.spoken)


def _others(talk: Sequence[Clip], speaker: Clip, chance: random.Random) -> tuple[Clip, ...]:
    others = [each for each in talk if each.voice != speaker.voice]
    return tuple(chance.sample(others, min(TALKING, len(others))))


def _scene(said: Utterance, clip: Clip | None, condition: str, others: tuple[Clip, ...]) -> Scene:
    voice = clip.voice if clip else said.voice
    named = "|".join(
        [clip.name if clip else said.spoken, condition, *(each.name for each in others)],
    )
    utterance = replace(
        said, voice=voice, condition=condition, pace=clip.pace if clip else 1.0,
        file=f"heard/{hashlib.sha256(named.encode()).hexdigest()[:16]}.flac",
    )  # fmt: skip
    return Scene(utterance, clip, others)


# --- sounds ----------------------------------------------------------------------------------------------


def folder_of(corpus: Corpus, voices: Sequence[str], sources: Path) -> Path:
    """Where the clips of a family are kept."""
    kokoro = any(each.startswith(f"{ENGINE}:") for each in voices)
    return corpus.folder / "families" / (f"kokoro-{fingerprint(sources)}" if kokoro else "robots")


def render(scenes: Sequence[Scene], folder: Path, sources: Path, processes: int = 2) -> list[Utterance]:
    """What is to be heard, its sounds in `folder`: those that are missing are made."""
    clips = {clip for scene in scenes for clip in (*scene.others, *([scene.clip] if scene.clip else []))}
    todo = sorted((each for each in clips if not _file(folder, each).is_file()), key=lambda each: each.name)
    _all(_speak, todo, f"speaking into {folder}", folder, sources, processes)
    mute = [each for each in scenes if not (folder / each.utterance.file).is_file()]
    _all(_sound, mute, f"sounds into {folder}", folder, sources, processes)
    return [replace(each.utterance, folder=folder) for each in scenes]


Work = TypeVar("Work", Clip, Scene)


def _all(
    make: Callable[[Work, Path, Path], None],
    todo: Sequence[Work],
    title: str,
    folder: Path,
    sources: Path,
    processes: int,
) -> None:
    if not todo:
        return
    print(f"{title}: {len(todo)}", file=sys.stderr)
    began = time.monotonic()
    with ProcessPoolExecutor(processes, initializer=nicely) as pool:
        futures = [pool.submit(make, each, folder, sources) for each in todo]
        try:
            for done, future in enumerate(futures, start=1):
                future.result()
                if done % 20 == 0:
                    print(f"  {done} in {time.monotonic() - began:.0f} s", file=sys.stderr)
        except BaseException:
            pool.shutdown(cancel_futures=True)
            raise


def _file(folder: Path, clip: Clip) -> Path:
    return folder / "spoken" / f"{clip.name}.flac"


_kokoro: KokoroVoices | None = None


def _speak(clip: Clip, folder: Path, sources: Path) -> None:
    global _kokoro  # noqa: PLW0603  # a process of the pool loads it once, and only if it speaks with it
    words = clip.spoken.split()
    if clip.voice.startswith(f"{ENGINE}:"):
        _kokoro = _kokoro or KokoroVoices(sources)
        sound = _kokoro.say(clip.voice, words, clip.pace)
    else:
        sound = speech(clip.voice, words, clip.pace)
    save_sound(_file(folder, clip), np.asarray(np.rint(sound * 32767), np.int16))


def _sound(scene: Scene, folder: Path, sources: Path) -> None:
    chance = random.Random(scene.utterance.file)
    babble = mixed([_read(folder, each) for each in scene.others], chance)
    samples = (
        finished(_read(folder, scene.clip), scene.utterance.condition, babble, chance)
        if scene.clip
        else nonspeech(scene.utterance.phrase, babble, chance)
    )
    save_sound(folder / scene.utterance.file, samples)


def _read(folder: Path, clip: Clip) -> Sound:
    sound: Sound
    sound, _ = soundfile.read(_file(folder, clip), dtype="float64")
    return sound


def mixed(talk: Sequence[Sound], chance: random.Random) -> Sound:
    """People who talk at once, each over and over from a random place, all equally loud, in ten seconds."""
    length = BABBLE_SECONDS * RATE
    result = np.zeros(length)
    for each in talk:
        level = max(1e-9, float(np.sqrt((each**2).mean())))
        result += np.resize(np.roll(each, chance.randrange(len(each))), length) / level
    return result
