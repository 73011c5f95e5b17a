"""A student who follows a story: says its lines one after the other, each when the trainer has said what it answers.

`Story` is the script, and knows neither sound nor clock; `StoryRoom` plays it in virtual time. It stands outside the
program, between its speaker and its microphone: it knows what was said by the clip that sounded, and is heard by the
recogniser like anybody. `tests/live/reacting_student.py` plays a script over a sound card.
"""

from __future__ import annotations

import functools
import random
import re
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from voice_trainer.audio.errors import DeviceLostError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block, PlaybackEvent, Samples
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone
from voice_trainer.sequencing.answers import SAY_AGAIN
from voice_trainer.session.sleep_watch import SleepWatch
from voice_trainer.voices.ports import Voice, VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

Noise = Literal["truck", "babble", "bell"]

REACTION_SECONDS = 0.7
BREATH_SECONDS = 0.4
"""Between the parts of a line that a bar separates."""

SHORTEST_THOUGHT_SECONDS = 0.2
LONGEST_THOUGHT_SECONDS = 2.0
"""Pauses inside a call, as a difficult student makes them (common practice has no figure: ours)."""

_BAR = re.compile(r"\|(?:(\d+\.\d+)\|)?")

MOST_REPEATS = 2

ASTRAY_AFTER_SECONDS = 150.0
"""When nobody has said anything for so long, the story has gone astray: the microphone ends."""


@dataclass(frozen=True, slots=True)
class Line:
    """Something said `after_seconds` of the trainer's silence. A bar in `text` is a short breath, '|1.5|' one of 1.5 s.

    `noise` is as much louder than the speech as `noise_db` says; a line without text is the noise alone. `over`: said
    although the trainer may be speaking.
    """

    text: str
    after_seconds: float = REACTION_SECONDS
    voice: str = "gmw/en-us"
    words_per_minute: int = 160
    noise: Noise | None = None
    noise_db: float = 0.0
    gain_db: float = 0.0
    over: bool = False
    other: bool = False
    """Said by somebody else, who repeats nothing for the trainer."""
    unplugs: bool = False
    """The microphone is lost instead, for a moment."""
    sleeps_seconds: float = 0.0
    """The computer sleeps instead, for so long."""


@dataclass(frozen=True, slots=True)
class Turn:
    """What is said once the trainer has said something with `hears` in it. A text is a line said readily."""

    hears: str
    lines: tuple[Line, ...]


def turn(hears: str, *lines: Line | str) -> Turn:
    return Turn(hears, tuple(Line(each) if isinstance(each, str) else each for each in lines))


def thinking(turns: Iterable[Turn], seed: int, *, readily: Iterable[str] = ()) -> tuple[Turn, ...]:
    """The same story told by somebody who pauses once inside all that they say, 0.2 to 2 s, before any of its words.

    As they are stay single words, what is said in breaths of its own already, what a noise passes over, and `readily`.
    """
    rng = random.Random(seed)
    said_readily = set(readily)

    def thought(line: Line) -> Line:
        words = line.text.split()
        if len(words) < 2 or "|" in line.text or line.noise is not None or line.text in said_readily:
            return line
        place = rng.randrange(1, len(words))
        seconds = rng.uniform(SHORTEST_THOUGHT_SECONDS, LONGEST_THOUGHT_SECONDS)
        return replace(line, text=" ".join([*words[:place], f"|{seconds:.2f}|", *words[place:]]))

    return tuple(Turn(each.hears, tuple(map(thought, each.lines))) for each in turns)


class Story:
    """The turns in their order. What could not be made out is said again, where no turn waits for that question."""

    def __init__(self, turns: Iterable[Turn]) -> None:
        self._turns = deque(turns)
        self.heard: list[str] = []
        """All that the trainer said."""
        self.repeats = 0
        self._last = Line("")
        self._repeated = 0

    @property
    def waits_for(self) -> str | None:
        """What the student waits to hear, None where the story is told."""
        return self._turns[0].hears if self._turns else None

    def hear(self, text: str) -> tuple[Line, ...]:
        """The trainer has said `text`: what the student says to it."""
        self.heard.append(text)
        if self._turns and self._turns[0].hears.lower() in text.lower():
            return self._turns.popleft().lines
        if text.startswith(SAY_AGAIN) and self._last.text and self._repeated < MOST_REPEATS:
            self.repeats += 1
            self._repeated += 1
            text = _BAR.sub(",", self._last.text)
            return (Line(text, 0.5, self._last.voice, self._last.words_per_minute - 15),)
        return ()

    def said(self, line: Line) -> None:
        """A line was said."""
        if line.other:
            return
        if line.text != self._last.text:
            self._repeated = 0
        self._last = line


class StoryRoom:
    """The student at a desk: what the trainer's speaker plays comes in, what its microphone hears goes out."""

    def __init__(self, story: Story, *, noise_dbfs: float = -66.0, seed: int = 0) -> None:
        self.story = story
        self.source = ScheduledSource(noise_dbfs=noise_dbfs, seed=seed)
        self.said: list[tuple[float, Line]] = []
        self.tones: list[tuple[float, str]] = []
        self.unplugged = 0
        self._texts: dict[bytes, str] = {}
        self._to_say: deque[Line] = deque()
        self._trainer_speaks = False
        self.quiet_since = 0.0
        self._unplug = False
        self._slept_seconds = 0.0
        self.microphone = _Microphone(self)
        self.speaker = _Speaker(self)
        self.sleep_watch = SleepWatch(lambda: self.microphone.read_seconds + self._slept_seconds)

    def voice(self, voice: Voice) -> Voice:
        """`voice`, so that the student knows what each of its clips says."""
        return _KnownVoice(voice, self._texts)

    # What happens.

    def played(self, name: str, clip: Samples) -> None:
        """The trainer begins to say or to sound something."""
        if not name.startswith("tone: "):
            self._trainer_speaks = True

    def ended(self, name: str, clip: Samples, at_seconds: float, *, complete: bool) -> None:
        """It is over."""
        if name.startswith("tone: "):
            self.tones.append((at_seconds, name.removeprefix("tone: ")))
            return
        self._trainer_speaks = False
        self.quiet_since = max(self.quiet_since, at_seconds)
        if complete:
            text = self._texts[clip.tobytes()]
            answer = self.story.hear(text)
            if text.startswith(SAY_AGAIN):
                self._to_say.extendleft(reversed(answer))
            else:
                self._to_say.extend(answer)

    def live_on(self, now_seconds: float) -> None:
        """Time has passed."""
        while self._to_say and (self._to_say[0].over or not self._trainer_speaks):
            line = self._to_say[0]
            if now_seconds < self.quiet_since + line.after_seconds:
                return
            self._to_say.popleft()
            if line.unplugs or line.sleeps_seconds:
                self._unplug = line.unplugs
                self._slept_seconds += line.sleeps_seconds
                self.quiet_since = now_seconds
                continue
            self.quiet_since = self.source.say(now_seconds, sound_of(line))
            self.said.append((now_seconds, line))
            if line.text:
                self.story.said(line)

    def take_unplugged(self) -> bool:
        """Whether the microphone was just unplugged."""
        unplug, self._unplug = self._unplug, False
        self.unplugged += unplug
        return unplug


class _Microphone(VirtualMicrophone):
    def __init__(self, room: StoryRoom) -> None:
        super().__init__(room.source)
        self._room = room

    def read(self) -> Block | None:
        if self.read_seconds > self._room.quiet_since + ASTRAY_AFTER_SECONDS:
            return None
        self._room.live_on(self.read_seconds)
        if self._room.take_unplugged():
            raise DeviceLostError("the virtual microphone has gone.")
        return super().read()


class _Speaker(ClockedSpeaker):
    """Silent, like its base; the student hears what it plays."""

    def __init__(self, room: StoryRoom) -> None:
        super().__init__()
        self._room = room
        self._playing: dict[str, Samples] = {}

    def play(self, name: str, clip: Samples) -> None:
        super().play(name, clip)
        self._playing[name] = clip
        self._room.played(name, clip)

    def events(self, now_seconds: float) -> list[PlaybackEvent]:
        happened = super().events(now_seconds)
        for event in happened:
            if event.kind == "ended":
                clip = self._playing[event.name]
                self._room.ended(event.name, clip, event.at_seconds, complete=event.complete)
        return happened


class _KnownVoice:
    def __init__(self, voice: Voice, texts: dict[bytes, str]) -> None:
        self.name = voice.name
        self._voice = voice
        self._texts = texts

    def render(self, text: str, style: VoiceStyle) -> Samples:
        clip = self._voice.render(text, style)
        self._texts[clip.tobytes()] = text
        return clip

    def voices(self) -> tuple[str, ...]:
        return self._voice.voices()


# Sounds.


@functools.cache
def _engine() -> Pyttsx3Voice:
    return Pyttsx3Voice()


@functools.cache
def _part(text: str, voice: str, words_per_minute: int) -> Samples:
    return _engine().render(text, VoiceStyle(voice, words_per_minute))


def sound_of(line: Line) -> Samples:
    """What the microphone hears of a line, mono PCM at 16 kHz."""
    parts: list[Samples] = []
    texts = [*_BAR.split(line.text), None]
    for text, seconds in zip(texts[::2], texts[1::2], strict=True):
        if text and text.strip():
            parts += [_part(text.strip(), line.voice, line.words_per_minute), _silence(seconds)]
    speech = np.concatenate(parts[:-1]).astype(np.float64) if parts else np.zeros(0)
    speech *= 10 ** (line.gain_db / 20)
    if line.noise is None:
        return np.clip(np.rint(speech), -32768, 32767).astype(np.int16)
    seconds = max(1.0, len(speech) / SAMPLE_RATE_HZ + 0.2)
    noise = _NOISES[line.noise](round(seconds * SAMPLE_RATE_HZ))
    loudness = np.sqrt(np.mean(speech**2)) if len(speech) else 1000.0
    noise *= loudness * 10 ** (line.noise_db / 20) / np.sqrt(np.mean(noise**2))
    noise[: len(speech)] += speech
    return np.clip(np.rint(noise), -32768, 32767).astype(np.int16)


def _silence(seconds: str | None) -> Samples:
    return np.zeros(round(float(seconds or BREATH_SECONDS) * SAMPLE_RATE_HZ), np.int16)


def _truck(count: int) -> np.ndarray:
    """Noise that falls off towards the treble, as of an engine that passes."""
    spectrum = np.fft.rfft(np.random.default_rng(7).normal(size=count))
    frequency = np.maximum(np.fft.rfftfreq(count, 1 / SAMPLE_RATE_HZ), 60)
    return np.fft.irfft(spectrum / np.sqrt(frequency), count) * np.hanning(2 * count)[count // 2 :][:count]


def _babble(count: int) -> np.ndarray:
    """Six people who read the news at the next table."""
    texts = (
        "the minister said on monday that prices would rise again before the summer",
        "my sister has bought a house near the river and wants to paint it blue",
        "then he told me that nobody had seen the dog since breakfast",
    )
    voices = ("gmw/en-gb-x-rp", "gmw/en-us+f3", "gmw/en-us+m3")
    mixed = np.zeros(count)
    for number, (text, voice) in enumerate((t, v) for t in texts for v in voices):
        speech = _part(text, voice, 150 + 5 * number).astype(np.float64)
        mixed += np.take(speech, np.arange(count) + 3000 * number, mode="wrap")
    return mixed


def _bell(count: int) -> np.ndarray:
    """Two notes that die away."""
    t = np.arange(count) / SAMPLE_RATE_HZ
    return np.sin(2 * np.pi * 660 * t) * np.exp(-4 * t) + np.sin(2 * np.pi * 523 * t) * np.exp(-3 * t)


_NOISES = {"truck": _truck, "babble": _babble, "bell": _bell}
