"""Recording one prompt after the other, hands-free.

The clip that introduces a prompt (its words, a tone) is played first; the endpointing is deaf until it has left the
room. Then whatever is said next is the prompt, as far as it can be one: a take that is too short, or that the
microphone clipped, is made again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Microphone, Samples, Speaker
from voice_trainer.audio.tones import ToneName, tone
from voice_trainer.journal.personal import LONGEST_HANGOVER_SECONDS
from voice_trainer.phraseology.counting import counted
from voice_trainer.recognition.endpointing import (
    BLOCK_SAMPLES,
    BLOCK_SECONDS,
    Endpointer,
    EndpointingSettings,
    Utterance,
    VoiceActivity,
)
from voice_trainer.session.mouth import ROOM_TAIL_SECONDS

SHORTEST_SECONDS = 0.3
"""Speech shorter than this is a cough or a slip."""

MOST_REPEATS = 2
PATIENCE_SECONDS = 20.0
"""How long one may take to begin."""

CLIPPED_AT = 32_400
CLIPPED_RUN = 4
"""So many samples in a row at so nearly full scale are a top that was cut off."""

BETWEEN_SECONDS = 0.5

FEWEST_SECONDS_A_WORD = 0.12
MOST_SECONDS_A_WORD = 1.2
MOST_SECONDS_MORE = 2.0
"""Nobody reads 500 words a minute, and who takes longer than this says something else as well."""

FAINTEST_DBFS = -50.0
"""RMS of the louder half, a full-scale sine being 0: below it the prompt was read to somebody else."""

Fault = str
"""TOO_SHORT, CLIPPED, NOTHING_HEARD, or the line of an objection."""

TOO_SHORT: Final = "too short"
CLIPPED: Final = "clipped"
NOTHING_HEARD: Final = "nothing heard"


class EndOfInputError(Exception):
    """The recording that is listened to is over."""


@dataclass(frozen=True, slots=True)
class Take:
    """One attempt at a prompt: what was said, or why it can't be used."""

    utterance: Utterance | None
    fault: Fault | None = None


class PromptedRecording:
    """Takes, from one microphone, with one speaker or none (then nothing is ever deaf).

    An utterance ends after `hangover_seconds` of quiet: longer than in a session, for whoever reads may stop to think.
    """

    def __init__(
        self,
        microphone: Microphone,
        speaker: Speaker | None,
        hangover_seconds: float = LONGEST_HANGOVER_SECONDS,
    ) -> None:
        self._microphone = microphone
        self._speaker = speaker
        self._endpointer = Endpointer(EndpointingSettings(hangover_seconds=hangover_seconds))
        self._activity = VoiceActivity()

    def record(
        self,
        spoken: Samples | None,
        on_fault: Callable[[Fault, bool], None],
        objection: Callable[[Utterance], str | None] = lambda utterance: None,
    ) -> Utterance | None:
        """The first usable take of a prompt, None where there was none in three.

        `spoken` is the prompt's sound, if it is to be heard. `on_fault` is told why a take can't be used, and whether
        another one follows; `objection` says why a take that sounds well is not the prompt. Raises EndOfInputError,
        and AudioError with a device that is lost.
        """
        opening: ToneName | None = None
        for repeat in range(MOST_REPEATS + 1):
            self._introduce(opening, spoken)
            take = self._take()
            fault = take.fault
            if take.utterance is not None and fault is None:
                fault = objection(take.utterance)
            if fault is None:
                self._sound("heard")
                return take.utterance
            on_fault(fault, repeat < MOST_REPEATS)
            opening = "say again"
        return None

    def _introduce(self, opening: ToneName | None, spoken: Samples | None) -> None:
        parts = [tone(opening)] if opening else []
        parts.append(np.zeros(int(BETWEEN_SECONDS * SAMPLE_RATE_HZ), np.int16))
        if spoken is not None:
            parts += [spoken, np.zeros(int(BETWEEN_SECONDS / 2 * SAMPLE_RATE_HZ), np.int16)]
        self._play(np.concatenate([*parts, tone("listening")]))

    def _sound(self, name: ToneName) -> None:
        self._play(tone(name))

    def _play(self, clip: Samples) -> None:
        """Play, and be deaf until the room is quiet again."""
        if self._speaker is None:
            return
        self._endpointer.deafen()
        self._speaker.play("prompt", clip)
        quiet_from = None
        while quiet_from is None or self._endpointer.now_seconds < quiet_from:
            samples = self._read()
            self._endpointer.feed(samples, 0.0)
            for event in self._speaker.events(self._endpointer.now_seconds):
                if event.kind == "ended":
                    quiet_from = event.at_seconds + ROOM_TAIL_SECONDS
        self._endpointer.listen()
        self._activity.reset()

    def _take(self) -> Take:
        waited = 0.0
        while True:
            try:
                block = self._read()
                events = [
                    e
                    for samples, likely in self._activity.feed(block)
                    for e in self._endpointer.feed(samples, likely)
                ]
            except EndOfInputError:
                events = self._endpointer.close()
                if not events:
                    raise
            for event in events:
                if isinstance(event, Utterance):
                    return Take(event, fault_of(event))
            waited = 0.0 if self._endpointer.speaking else waited + BLOCK_SECONDS
            if waited > PATIENCE_SECONDS:
                return Take(None, NOTHING_HEARD)

    def _read(self) -> Samples:
        block = self._microphone.read()
        if block is None:
            raise EndOfInputError
        return block.samples


def fault_of(utterance: Utterance) -> Fault | None:
    """Why an utterance can't be used, if it can't."""
    if utterance.speech_seconds < SHORTEST_SECONDS:
        return TOO_SHORT
    return CLIPPED if is_clipped(utterance.samples) else None


def implausible(words: int, utterance: Utterance) -> str | None:
    """Why so many words can't have been said here, by length and level alone; None where they may have been."""
    seconds = utterance.speech_seconds
    length = f"{seconds:.1f} s of speech for {counted(words, 'word')}"
    if seconds < FEWEST_SECONDS_A_WORD * words:
        return f"{length}: too short to be this prompt"
    if seconds > MOST_SECONDS_A_WORD * words + MOST_SECONDS_MORE:
        return f"{length}: too long to be this prompt"
    level = level_dbfs(utterance.samples)
    if level < FAINTEST_DBFS:
        return f"too faint ({level:.0f} dBFS): come closer, or turn the microphone's gain up"
    return None


def level_dbfs(samples: Samples) -> float:
    """The RMS level of the louder half, by blocks of 32 ms; a full-scale sine is 0."""
    whole = (
        samples[: len(samples) - len(samples) % BLOCK_SAMPLES].astype(np.float64).reshape(-1, BLOCK_SAMPLES)
    )
    powers = np.sort((whole**2).mean(axis=1))
    power = float(powers[len(powers) // 2 :].mean()) if len(powers) else 0.0
    return float(10 * np.log10(max(power, 1e-9) / (32768.0**2 / 2)))


def is_clipped(samples: Samples) -> bool:
    """Whether some top of the wave was cut off at full scale."""
    full = np.abs(samples.astype(np.int32)) >= CLIPPED_AT
    runs = np.convolve(full.astype(np.int32), np.ones(CLIPPED_RUN, np.int32), mode="valid")
    return bool(len(samples) >= CLIPPED_RUN and runs.max() == CLIPPED_RUN)
