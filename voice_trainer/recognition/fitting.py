"""From prompts that one person has read: their level, their pauses, and what their voice asks of the thresholds.

What was to be said never reaches the recogniser: it hears against a grammar in which every value is open, and what it
made of that is then held against the prompt. Everything is judged as in a session: the endpointing cuts the sound with
the values in question, and every piece is heard by itself.

Few prompts say little. So nothing is fitted by more than it takes: of equally good values those nearest to the usual
ones are taken, and somebody else (`weigh`, on other prompts) says whether they are of any use.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from voice_trainer.journal.hearing import Hearing
from voice_trainer.journal.personal import (
    LONGEST_HANGOVER_SECONDS,
    USUAL_HANGOVER_SECONDS,
    Count,
    Personal,
)
from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.recognition.endpointing import (
    BLOCK_SAMPLES,
    BLOCK_SECONDS,
    Endpointer,
    EndpointingSettings,
    Utterance,
    VoiceActivity,
)
from voice_trainer.recognition.gain import lifted
from voice_trainer.recognition.personal import USUAL, Personable
from voice_trainer.recognition.ports import Recogniser, Samples

Outcome = Literal["right", "wrong", "neither"]
"""Of a prompt: heard clearly and as it was to be said; clearly, but as something else; anything between."""

WRONG_COSTS = 3
"""One clear but wrong hearing outweighs so many that have to be asked for again."""

PAUSE_PERCENTILE = 95
PAUSE_MARGIN_SECONDS = 0.2
FAINT_DBFS = -35.0
GOOD_DBFS = -26.0
LEAST_SPEECH_OVER_NOISE_DB = 12.0
"""Where less of the speech stands out of the noise, lifting both helps nobody."""

LOOSER: tuple[float, ...] = (-2.0, -4.0)
"""Shifts of the gap that are tried, the nearest to the usual first."""

STRICTER: tuple[float, ...] = (-1.0, -2.0, -3.0, -4.0)
"""Shifts of the margin that are tried where something was heard clearly and wrong."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A prompt as somebody read it: what was to be said, and the sound, 16 kHz mono PCM."""

    expected: Pattern
    samples: Samples


@dataclass(frozen=True, slots=True)
class Levels:
    """RMS levels, a full-scale sine being 0 dBFS: of the quiet around the speech, and of the speech."""

    noise_floor_dbfs: float
    speech_dbfs: float


def levels_of(readings: Sequence[Reading]) -> Levels:
    """The quietest tenth of all blocks, and the middle one of those that are speech (the loudest half)."""
    blocks = np.concatenate(
        [
            each.samples[: len(each.samples) // BLOCK_SAMPLES * BLOCK_SAMPLES].reshape(-1, BLOCK_SAMPLES)
            for each in readings
        ]
    )
    rms = np.sqrt(np.mean(np.square(blocks / 32768.0), axis=1)) * np.sqrt(2)
    decibels = 20 * np.log10(np.maximum(rms, 1e-5))
    return Levels(
        round(float(np.percentile(decibels, 10)), 1),
        round(float(np.median(decibels[decibels >= np.median(decibels)])), 1),
    )


def gain_for(levels: Levels) -> float:
    """What to lift this microphone by, in dB, before speech is looked for: nothing unless it is faint and clear."""
    over_noise = levels.speech_dbfs - levels.noise_floor_dbfs
    if levels.speech_dbfs >= FAINT_DBFS or over_noise < LEAST_SPEECH_OVER_NOISE_DB:
        return 0.0
    return round(min(GOOD_DBFS - levels.speech_dbfs, 20.0), 1)


def longest_pause_seconds(samples: Samples, gain_db: float = 0.0) -> float:
    """The longest quiet between the first speech and the last, as the endpointing hears it; 0 without speech."""
    off = EndpointingSettings().speech_off
    likely: NDArray[np.float64] = np.array(
        [probability for _, probability in VoiceActivity().feed(lifted(samples, gain_db))]
    )
    speech = np.flatnonzero(likely >= off)
    return float(np.max(np.diff(speech) - 1, initial=0)) * BLOCK_SECONDS


def hangover_for(pauses_seconds: Sequence[float]) -> float:
    """How long it must be quiet before an utterance of somebody with such pauses is over."""
    wanted = float(np.percentile(pauses_seconds, PAUSE_PERCENTILE)) + PAUSE_MARGIN_SECONDS
    return round(min(max(wanted, USUAL_HANGOVER_SECONDS), LONGEST_HANGOVER_SECONDS), 3)


def settings_for(personal: Personal) -> EndpointingSettings:
    """The endpointing of a session with these values."""
    return EndpointingSettings(hangover_seconds=personal.hangover_seconds)


def pieces_of(samples: Samples, personal: Personal) -> list[Utterance]:
    """The utterances that a session would cut this sound into."""
    endpointer, activity = Endpointer(settings_for(personal)), VoiceActivity()
    padded = np.concatenate([samples, np.zeros(-len(samples) % BLOCK_SAMPLES, np.int16)])
    events = [
        event
        for block, likely in activity.feed(lifted(padded, personal.input_gain_db))
        for event in endpointer.feed(block, likely)
    ]
    return [event for event in (*events, *endpointer.close()) if isinstance(event, Utterance)]


def outcome_of(hearings: Sequence[Hearing], expected: Pattern) -> Outcome:
    """What a session would have made of a prompt from which all this was heard."""
    outcome: Outcome = "neither"
    for hearing in hearings:
        if hearing.clarity != "clear" or hearing.best is None:
            continue
        for span in hearing.best.spans:
            if span.kind != "call":
                continue
            if not any(
                meaning.phrase == expected.phrase and not expected.differences(meaning.slots)
                for meaning in span.meanings
            ):
                return "wrong"
            outcome = "right"
    return outcome


def hear_all(recogniser: Recogniser, readings: Sequence[Reading], personal: Personal) -> list[Outcome]:
    """The outcome of every reading, if `personal` were in force. Raises RecogniserError."""
    before = recogniser.personal if isinstance(recogniser, Personable) else None
    try:
        if isinstance(recogniser, Personable):
            recogniser.personal = personal
        return [
            outcome_of(
                [
                    recogniser.hear(piece.samples, piece.start_seconds)
                    for piece in pieces_of(each.samples, personal)
                ],
                each.expected,
            )
            for each in readings
        ]
    finally:
        if isinstance(recogniser, Personable) and before is not None:
            recogniser.personal = before


def counted(outcomes: Sequence[Outcome]) -> Count:
    """How many were right, and how many wrong."""
    return Count(prompts=len(outcomes), right=outcomes.count("right"), wrong=outcomes.count("wrong"))


def worth(count: Count) -> int:
    """What so many right and wrong hearings are worth together."""
    return count.right - WRONG_COSTS * count.wrong


def gains(before: Count, after: Count) -> bool:
    """Whether `after` is better, and nowhere at the price of one more wrong hearing."""
    return worth(after) > worth(before) and after.wrong <= before.wrong


def weigh(recogniser: Recogniser, readings: Sequence[Reading], personal: Personal) -> tuple[Count, Count]:
    """The readings heard as usual, and with `personal` in force. Raises RecogniserError."""
    before = counted(hear_all(recogniser, readings, USUAL))
    if personal == USUAL:
        return before, before
    return before, counted(hear_all(recogniser, readings, personal))


def fit(recogniser: Recogniser, readings: Sequence[Reading]) -> Personal:
    """The values that suit these readings best, the nearest to the usual ones of equally good ones.

    Thresholds are left alone where the engine has none that can be made personal. Raises RecogniserError.
    """
    gain = gain_for(levels_of(readings))
    pauses = [longest_pause_seconds(each.samples, gain) for each in readings]
    personal = Personal(hangover_seconds=hangover_for(pauses), input_gain_db=gain)
    if not isinstance(recogniser, Personable):
        return personal
    outcomes = hear_all(recogniser, readings, personal)
    personal, outcomes = _loosened(recogniser, readings, personal, outcomes)
    return _tightened(recogniser, readings, personal, outcomes)


def _loosened(
    recogniser: Recogniser, readings: Sequence[Reading], personal: Personal, outcomes: list[Outcome]
) -> tuple[Personal, list[Outcome]]:
    """The least loosening by which most of what was not clear becomes clear and right."""
    open_ones = [index for index, outcome in enumerate(outcomes) if outcome == "neither"]
    best = personal, outcomes
    for gap_shift in LOOSER if open_ones else ():
        looser = _changed(personal, gap_shift_nats=gap_shift)
        heard = hear_all(recogniser, [readings[index] for index in open_ones], looser)
        changed = list(outcomes)
        for index, outcome in zip(open_ones, heard, strict=True):
            changed[index] = outcome
        if worth(counted(changed)) > worth(counted(best[1])):
            best = looser, changed
    return best


def _changed(personal: Personal, **values: float) -> Personal:
    """`personal` with other values, held to its limits."""
    return Personal.model_validate(personal.model_dump() | values)


def _tightened(
    recogniser: Recogniser, readings: Sequence[Reading], personal: Personal, outcomes: list[Outcome]
) -> Personal:
    """The least margin more that pays for what it costs, where something was heard clearly and wrong."""
    best, worth_most = personal, worth(counted(outcomes))
    for margin_shift in STRICTER if "wrong" in outcomes else ():
        stricter = _changed(personal, margin_shift_nats=margin_shift)
        found = worth(counted(hear_all(recogniser, readings, stricter)))
        if found > worth_most:
            best, worth_most = stricter, found
    return best
