"""A reproducible corpus of synthetic radio and flight-deck speech, with what was truly said.

Voices are those of espeak-ng and flite (Debian). It is speech without hesitation, accent or a cockpit: figures that
come out of it compare engines and guard against regressions; they say little about people.
"""

from __future__ import annotations

import io
import random
import subprocess
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Literal

import numpy as np
import soundfile
import soxr
from numpy.typing import NDArray

from voice_trainer.drills.domain import domain_of
from voice_trainer.journal.hearing import Hearing
from voice_trainer.library.builtin import find_drill
from voice_trainer.phraseology.codes import ALPHABET
from voice_trainer.phraseology.grammar import Grammar, Phrase, Piece
from voice_trainer.phraseology.normaliser import normalise_words
from voice_trainer.phraseology.opposites import FAMILIES
from voice_trainer.phraseology.pattern import Pattern, compile_pattern
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.phraseology.trade import control_phrases, trade_phrases

Samples = NDArray[np.int16]
Sound = NDArray[np.float64]

Half = Literal["tuning", "test"]
Kind = Literal["right", "twin", "unrelated"]
"""twin: a right call with one word changed, which is therefore wrong, and must be heard as what it is."""

RATE = 16_000
HALVES: tuple[Half, ...] = ("tuning", "test")
VOICES: dict[Half, tuple[str, ...]] = {
    "tuning": ("gmw/en-us", "en-us+f3", "en-gb-x-rp", "en-029", "flite:slt", "flite:awb"),
    "test": ("en-us+m3", "en-us+f4", "en-us+m7", "en-gb-scotland", "flite:rms", "flite:kal16"),
}
"""No voice is in both halves, and no sentence."""

CONDITIONS = ("clean", "engine noise 10 dB", "radio band")
DRILLS = ("brannock-clearance", "kelda-outbound")

BROAD = (
    "turn left heading {heading}", "turn right heading {heading}", "fly heading {heading}", "heading {heading}",
    "climb and maintain {altitude}", "descend and maintain {altitude}", "maintain {altitude} until established",
    "leaving {altitude} for {altitude}", "passing {altitude}", "cross kelda at or above {altitude}",
    "{callsign: Heron 24} kelda inbound {altitude}", "{callsign: Heron 24} kelda outbound {altitude}",
    "climb to flight level {level}", "maintain flight level {level}",
    "contact tower {frequency}", "contact approach {frequency}", "tune and identify {frequency}",
    "squawk {squawk}", "altimeter {altimeter}", "qnh {qnh}", "brannock altimeter {altimeter}",
    "cleared for the v o r runway {runway} approach", "cleared i l s runway {runway} approach",
    "cleared to land runway {runway}", "hold short of runway {runway}",
    "hold inbound the {radial} radial left turns", "hold outbound the {radial} radial right turns",
    "intercept the {radial} radial inbound", "set course {course} inbound", "twist course {course}",
    "bearing {bearing} to the station", "minimums {minimums}", "time outbound {duration}",
    "expect further clearance at {time}", "wind {wind}", "{distance} miles from kelda",
    "reduce speed {speed}", "maintain speed {speed}", "identifier {letters}",
    "gear down", "gear up", "flaps up", "fuel pump on", "fuel pump off", "pitot heat on", "start the clock",
    "mixture rich", "carburetor heat cold", "autopilot engaged", "{callsign: Heron 24} missed approach",
    "direct brannock", "minimums going around", "established on the localizer",
)  # fmt: skip
"""Calls of every slot type, and of the opposites without a slot."""


def _heading(chance: random.Random) -> str:
    return f"{chance.randint(1, 360):03d}"


VALUES: dict[str, Callable[[random.Random], str]] = {
    "heading": _heading,
    "course": _heading,
    "radial": _heading,
    "bearing": _heading,
    "altitude": lambda chance: str(100 * chance.randint(12, 139)),
    "minimums": lambda chance: str(10 * chance.randint(45, 180)),
    "level": lambda chance: str(10 * chance.randint(18, 41)),
    "frequency": lambda chance: f"{chance.randint(118, 135)}.{chance.randint(1, 9)}",
    "altimeter": lambda chance: f"{chance.randint(2890, 3070) / 100:.2f}",
    "qnh": lambda chance: str(chance.randint(975, 1040)),
    "runway": lambda chance: f"{chance.randint(1, 36):02d}{chance.choice(('', '', 'L', 'R'))}",
    "squawk": lambda chance: "".join(chance.choice("01234567") for _ in range(4)),
    "letters": lambda chance: "".join(chance.choice("ABDEHKLMNRST") for _ in range(3)),
    "duration": lambda chance: f"{chance.randint(1, 3)}:{chance.choice(('00', '15', '30', '45'))}",
    "time": lambda chance: f"{chance.randint(0, 23):02d}{chance.randint(0, 59):02d}",
    "wind": lambda chance: f"{10 * chance.randint(1, 36):03d}/{chance.randint(5, 30):02d}",
    "distance": lambda chance: str(chance.randint(2, 25)),
    "speed": lambda chance: str(10 * chance.randint(9, 21)),
}

UNRELATED = (
    "what would you like for dinner tonight", "the meeting has been moved to thursday afternoon",
    "my brother lives in a small house near the sea", "turn the radio down it is too loud",
    "can you pass me that pencil please", "i think we should leave before the rain starts",
    "she bought three apples and a loaf of bread", "the train from the city was two hours late",
    "did you see the film about the mountain", "put the kettle on and sit down",
    "there are nine people waiting outside", "he said he would call back at half past five",
    "the left one is cheaper than the right one", "open the window a little it is hot in here",
    "i have not slept well for eight days", "we could paint the kitchen yellow",
    "the dog wants to go for a walk", "no i will do that tomorrow morning",
    "all the shops in the village are closed", "that was the best game of the season",
    "let me think about it for a minute", "the new teacher is very friendly",
    "my phone number ends in four two six", "it costs one hundred and twenty in the shop",
    "where did i leave my reading glasses", "your coffee is getting cold",
    "the children are playing in the garden", "please write your name at the top",
    "hold on a second there is someone at the door", "we drove up to the lake on sunday",
)  # fmt: skip

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
NEAR_DIGITS = ("nine", "five", "eight")
"""Alike to a recogniser: half of the changed digits are exchanged among these."""


@dataclass(frozen=True)
class Line:
    """One thing to say: the words as they are spoken, plain words, the grammar that listens, and its meaning."""

    spoken: tuple[str, ...]
    words: tuple[str, ...]
    domain: str
    kind: Kind
    meaning: Hashable = None
    instead_of: Hashable = None
    """For a twin, what the right call means."""


@dataclass(frozen=True)
class Utterance:
    """A line as one voice says it under one condition."""

    half: Half
    line: Line
    voice: str
    condition: str
    samples: Samples


def meaning_of(pieces: Sequence[Piece]) -> Hashable:
    """What pieces mean, to compare; equal neighbours count once."""
    keys = [
        frozenset((each.phrase, tuple(sorted(each.slots.items()))) for each in piece.meanings)
        or (piece.first, piece.last_exclusive)
        for piece in pieces
    ]
    return tuple(key for at, key in enumerate(keys) if at == 0 or keys[at - 1] != key)


def heard_meaning(hearing: Hearing) -> Hashable:
    """What was heard, to compare with `Line.meaning`."""
    keys = [
        frozenset((each.phrase, tuple(sorted(each.slots.items()))) for each in span.meanings) or span.text
        for span in (hearing.best.spans if hearing.best else ())
    ]
    return tuple(key for at, key in enumerate(keys) if at == 0 or keys[at - 1] != key)


def domains() -> dict[str, Grammar]:
    """The grammars that listen, by name: those of the built-in drills, and a broad one."""
    chance = random.Random(0)
    calls = [Phrase(_filled(text, chance), "call") for text in BROAD]
    broad = Grammar((*calls, *trade_phrases(), *control_phrases()))
    return {"broad": broad} | {name: domain_of(find_drill(name)) for name in DRILLS}


def _filled(text: str, chance: random.Random) -> Pattern:
    for name, value in VALUES.items():
        while f"{{{name}}}" in text:
            text = text.replace(f"{{{name}}}", f"{{{name}: {slot_type(name).canonical(value(chance))}}}", 1)
    return compile_pattern(text)


def lines(grammars: dict[str, Grammar], chance: random.Random, broad_calls: int) -> dict[Half, list[Line]]:
    """Right calls and their wrong twins, then unrelated speech; each line in one half only."""
    right: list[Line] = []
    for name in DRILLS:
        drill = find_drill(name)
        for step in drill.steps:
            for call in step.flow.calls if step.flow else ():
                pattern = drill.pattern(call)
                right += _line(pattern.spoken(), name, grammars[name], chance)
                right += _line(pattern.brief(), name, grammars[name], chance)
    for at in range(broad_calls):
        pattern = _filled(BROAD[at % len(BROAD)], chance)
        right += _line(pattern.spoken(), "broad", grammars["broad"], chance)
    once = {(line.words, line.domain): line for line in right}
    ordered = list(once.values())
    chance.shuffle(ordered)
    found: dict[Half, list[Line]] = {"tuning": [], "test": []}
    for at, line in enumerate(ordered):
        half = HALVES[at % 2]
        found[half].append(line)
        found[half] += _twins(line, grammars[line.domain], chance)
    for at, text in enumerate(UNRELATED):
        words = tuple(text.split())
        found[HALVES[at % 2]].append(Line(words, words, "broad", "unrelated"))
    return found


def _line(spoken: tuple[str, ...], domain: str, grammar: Grammar, chance: random.Random) -> list[Line]:
    # Half of all people say 'nine'.
    if chance.random() < 0.5:
        spoken = tuple("nine" if word == "niner" else word for word in spoken)
    words = tuple(word for word, _ in normalise_words(spoken))
    cuts = grammar.read(words)
    if len(cuts) == 0 or any(piece.kind == "other" for piece in cuts[0]):
        raise AssertionError(f"{domain} has no call {' '.join(words)!r}")
    return [Line(spoken, words, domain, "right", meaning_of(cuts[0]))]


def _twins(line: Line, grammar: Grammar, chance: random.Random, most: int = 2) -> list[Line]:
    changed: list[tuple[str, ...]] = []
    near: list[tuple[str, ...]] = []
    for at, word in enumerate(line.words):
        said = "nine" if word == "niner" else word
        others = DIGITS if said in DIGITS else _opposites(said)
        for other in others:
            if other != said:
                twin = (*line.words[:at], other, *line.words[at + 1 :])
                both_near = said in NEAR_DIGITS and other in NEAR_DIGITS
                (near if both_near else changed).append(twin)
    chance.shuffle(near)
    chance.shuffle(changed)
    twins: list[Line] = []
    for words in (*near[:1], *changed):
        cuts = grammar.read(words)
        if len(twins) == most:
            break
        if not cuts or any(piece.kind == "other" for piece in cuts[0]):
            continue
        meaning = meaning_of(cuts[0])
        if meaning != line.meaning:
            spoken = tuple("niner" if word == "nine" and chance.random() < 0.5 else word for word in words)
            twins.append(Line(spoken, words, line.domain, "twin", meaning, line.meaning))
    return twins


@cache
def _opposites(word: str) -> tuple[str, ...]:
    for family in FAMILIES:
        for row in family:
            if word in row:
                return row
    return ALPHABET[:4] if word in ALPHABET else ()


def utterances(
    half: Half, said: Sequence[Line], chance: random.Random, size: int | None
) -> Iterator[Utterance]:
    """Every line of a half under every condition, each time by the next voice, in random order; at most `size`."""
    every = [
        (line, VOICES[half][(at + shift) % len(VOICES[half])], condition)
        for at, line in enumerate(said)
        for shift, condition in enumerate(CONDITIONS)
    ]
    chance.shuffle(every)
    for line, voice, condition in every[:size]:
        sound = speech(line.spoken, voice, chance.uniform(0.9, 1.15))
        heard = finished(sound, condition, chance)
        yield Utterance(half, line, voice, condition, heard)


def speech(spoken: Sequence[str], voice: str, pace: float = 1.0) -> Sound:
    """The words as a voice says them (-0.5..0.5) at 16 kHz, without silence around them."""
    text = said_aloud(spoken)
    if voice.startswith("flite:"):
        command = ["flite", "-voice", voice[6:], "--setf", f"duration_stretch={1 / pace:.3f}", "-t", text]
        command += ["-o", "/dev/stdout"]
    else:
        command = ["espeak-ng", "-v", voice, "-s", str(round(150 * pace)), "--stdout", text]
    wav = subprocess.run(command, check=True, capture_output=True).stdout
    sound, rate = soundfile.read(io.BytesIO(wav))
    sound = soxr.resample(sound, rate, RATE)
    loud = np.flatnonzero(np.abs(sound) > 0.01 * np.abs(sound).max())
    sound = sound[loud[0] : loud[-1] + 1]
    result: Sound = sound * (0.5 / np.abs(sound).max())
    return result


def finished(sound: Sound, condition: str, chance: random.Random) -> Samples:
    """Speech with silence around it, shifted against every grid, under a condition, at some loudness."""
    noise = np.random.default_rng(chance.getrandbits(32))
    before = RATE // 4 + chance.randrange(512)
    sound = np.concatenate([np.zeros(before), sound, np.zeros(RATE * 2 // 5)])
    if condition == "engine noise 10 dB":
        rumble = _filtered(noise.standard_normal(len(sound)), 30, 900)
        power = float((sound[sound != 0] ** 2).mean())
        sound = sound + rumble * np.sqrt(power / 10 / float((rumble**2).mean()))
    elif condition == "radio band":
        sound = _filtered(sound, 300, 3400)
        sound = sound + _filtered(noise.standard_normal(len(sound)), 300, 3400) * 0.003
    sound = sound + noise.standard_normal(len(sound)) * 1e-4
    sound = sound * (chance.uniform(0.15, 0.9) / np.abs(sound).max())
    return np.asarray(np.rint(sound * 32767), np.int16)


def _filtered(sound: Sound, low: float, high: float) -> Sound:
    spectrum = np.fft.rfft(sound)
    hertz = np.fft.rfftfreq(len(sound), 1 / RATE)
    gain = 1 / np.sqrt((1 + (hertz / high) ** 8) * (1 + (low / np.maximum(hertz, 1)) ** 8))
    return np.asarray(np.fft.irfft(spectrum * gain, len(sound)))
