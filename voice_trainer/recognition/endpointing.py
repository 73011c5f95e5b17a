"""Where an utterance begins and ends.

Two halves, so that each can be tested alone. `VoiceActivity` cuts whatever arrives into blocks of 512 samples
and asks a neural model how likely each is speech; `Endpointer` is a pure state machine over those blocks, with
no clock and no thread: it counts samples, and the count is the time.

           probability >= speech_on                      hangover over, maximum length, close()
    IDLE ---------------------------> SPEAKING ----------------------------------------------> IDLE
           SpeechBegan                            Utterance, or SpeechDropped where too little was said

    deafen(): any state -> DEAF (what has been said so far is closed first)        listen(): DEAF -> IDLE

A pause is quiet as long as `post_roll_seconds`, short of the hangover. What was said before it is known by then as
it would be if nothing followed, so it can be heard ahead: either the hangover passes and the hearing is there
already, or speech goes on, and whoever heard a whole call before the pause can cut the utterance there.

Blocks must go on being fed while deaf, or the sample count is no longer the time. What was heard while deaf
never gets into an utterance, not even as the bit of sound that is kept from before its beginning.
"""

from __future__ import annotations

import enum
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from voice_trainer.recognition import silero_network
from voice_trainer.recognition.ports import Samples
from voice_trainer.recognition.silero_network import SileroNetwork, installed_weights

SAMPLE_RATE = 16_000
"""Samples a second, throughout recognition."""

BLOCK_SAMPLES = silero_network.BLOCK_SAMPLES
"""The network's block: 32 ms."""

BLOCK_SECONDS = BLOCK_SAMPLES / SAMPLE_RATE


@dataclass(frozen=True, slots=True)
class EndpointingSettings:
    """When speech begins and when it is over.

    `speech_on` and `speech_off` are probabilities between 0 and 1: speech begins at a block at or above the
    first and goes on while blocks are at or above the second. `hangover_seconds` is how long it must be quiet
    before the utterance is over: longer lets a student think inside a flow, shorter answers sooner.
    `post_roll_seconds` of that quiet stay in the utterance, `pre_roll_seconds` from before its beginning. After
    quiet of `post_roll_seconds` speech goes on only at a block at or above `speech_on` again.
    """

    speech_on: float = 0.5
    speech_off: float = 0.35
    hangover_seconds: float = 0.6
    minimum_speech_seconds: float = 0.1
    maximum_utterance_seconds: float = 30.0
    pre_roll_seconds: float = 0.3
    post_roll_seconds: float = 0.2

    def __post_init__(self) -> None:
        if not 0 <= self.speech_off <= self.speech_on <= 1:
            raise ValueError(
                f"endpointing thresholds must be 0 <= off <= on <= 1, not {self.speech_off} and {self.speech_on}"
            )
        for name in ("hangover", "minimum_speech", "pre_roll", "post_roll"):
            if getattr(self, f"{name}_seconds") < 0:
                raise ValueError(f"endpointing {name}_seconds must not be negative")
        if self.maximum_utterance_seconds <= self.pre_roll_seconds + self.minimum_speech_seconds:
            raise ValueError("endpointing maximum_utterance_seconds leaves no room for speech")


@dataclass(frozen=True, slots=True)
class SpeechBegan:
    """Somebody may have begun to speak; an Utterance or a SpeechDropped always follows."""

    at_seconds: float


@dataclass(frozen=True, slots=True)
class Pause:
    """A pause inside an utterance, in blocks from its beginning: its speech ends before `quiet`, it would have
    ended before `kept`, and it goes on with `resumed`. `speech_blocks` of those before it were judged speech.
    """

    quiet: int
    kept: int
    speech_blocks: int
    resumed: int

    @property
    def seconds(self) -> float:
        """How long it was quiet."""
        return (self.resumed - self.quiet) * BLOCK_SECONDS


@dataclass(frozen=True, slots=True, eq=False)
class Utterance:
    """One stretch of speech: 16 kHz mono PCM from `start_seconds` to `end_seconds`.

    `speech_start_seconds` and `speech_end_seconds` are where the speech itself lies inside, by the blocks that
    were judged speech. All are seconds on the session clock.
    """

    start_seconds: float
    end_seconds: float
    speech_start_seconds: float
    speech_end_seconds: float
    samples: Samples
    pauses: tuple[Pause, ...] = ()
    speech_blocks: int = 0
    pre_roll_blocks: int = 0
    """How many blocks of the quiet before a beginning are kept with it."""
    gaps: tuple[tuple[int, float], ...] = ()
    """Where two utterances were joined: the sample before which so many seconds of the session are left out."""

    @property
    def speech_seconds(self) -> float:
        """From the first of its speech to the last, pauses included."""
        return self.speech_end_seconds - self.speech_start_seconds

    def before_pause(self) -> Utterance:
        """The part before the first pause, as it would be if nothing had followed; all of it without a pause."""
        if not self.pauses:
            return self
        first = self.pauses[0]
        return replace(
            self,
            end_seconds=_later(self.start_seconds, first.kept),
            speech_end_seconds=_later(self.start_seconds, first.quiet),
            samples=self.samples[: first.kept * BLOCK_SAMPLES],
            pauses=(),
            speech_blocks=first.speech_blocks,
        )

    def after_pause(self) -> Utterance:
        """What follows the first pause, as an utterance of its own; the utterance must have a pause."""
        first, *others = self.pauses
        begins = max(first.kept, first.resumed - self.pre_roll_blocks)
        return replace(
            self,
            start_seconds=_later(self.start_seconds, begins),
            speech_start_seconds=_later(self.start_seconds, first.resumed),
            samples=self.samples[begins * BLOCK_SAMPLES :],
            pauses=tuple(
                Pause(
                    p.quiet - begins,
                    p.kept - begins,
                    p.speech_blocks - first.speech_blocks,
                    p.resumed - begins,
                )
                for p in others
            ),
            speech_blocks=self.speech_blocks - first.speech_blocks,
        )

    def joined(self, rest: Utterance) -> Utterance:
        """This utterance and a later one as one. What nobody said anything in is left out between them, but for the
        quiet that both have at their edges: see `gaps` and `placed`.
        """
        gap_seconds = max(0.0, rest.start_seconds - self.end_seconds)
        before = len(self.samples)
        gap = ((before, gap_seconds),) if gap_seconds else ()
        return replace(
            self,
            end_seconds=rest.end_seconds,
            speech_end_seconds=rest.speech_end_seconds,
            samples=np.concatenate([self.samples, rest.samples]),
            pauses=(),
            speech_blocks=self.speech_blocks + rest.speech_blocks,
            gaps=(*self.gaps, *gap, *((before + sample, seconds) for sample, seconds in rest.gaps)),
        )

    def placed(self, seconds: float) -> float:
        """The moment of the session at which what is `seconds` behind the first sample was said."""
        left_out = sum(gap for sample, gap in self.gaps if seconds * SAMPLE_RATE >= sample)
        return self.start_seconds + seconds + left_out

    def split(self, at_seconds: float) -> tuple[Utterance, Utterance]:
        """The parts before and after a moment at which nobody paused; none of it may be pauses any more."""
        sample = round((at_seconds - self.start_seconds) * SAMPLE_RATE)
        for gap, seconds in self.gaps:
            if self.placed(gap / SAMPLE_RATE) <= at_seconds:
                sample -= round(seconds * SAMPLE_RATE)
        sample = max(1, min(sample, len(self.samples) - 1))
        head = replace(
            self,
            end_seconds=at_seconds,
            speech_end_seconds=at_seconds,
            samples=self.samples[:sample],
            gaps=tuple(gap for gap in self.gaps if gap[0] < sample),
        )
        tail = replace(
            self,
            start_seconds=at_seconds,
            speech_start_seconds=at_seconds,
            samples=self.samples[sample:],
            gaps=tuple((gap - sample, seconds) for gap, seconds in self.gaps if gap >= sample),
        )
        return head, tail

    def passing_over_pause(self) -> Utterance:
        """The same utterance; its first pause is none."""
        return replace(self, pauses=self.pauses[1:])


@dataclass(frozen=True, slots=True)
class SpeechDropped:
    """What had begun was too short to be speech: a click, a breath, or a word said so softly that little of it was
    found. `began_seconds` as in its SpeechBegan; `utterance` is what there is of it.
    """

    began_seconds: float
    at_seconds: float
    utterance: Utterance = field(compare=False, repr=False)


EndpointingEvent = SpeechBegan | SpeechDropped | Utterance


class _State(enum.Enum):
    IDLE = "idle"
    SPEAKING = "speaking"
    DEAF = "deaf"


class Endpointer:
    """The state machine. `start_seconds` is the session time of the first sample that is fed.

    `settings` may be replaced at any time; the next block is judged by the new ones.
    """

    def __init__(self, settings: EndpointingSettings | None = None, start_seconds: float = 0.0) -> None:
        self.settings = settings or EndpointingSettings()
        self.reset(start_seconds)

    def reset(self, start_seconds: float = 0.0) -> None:
        """Forget everything, deafness included, and count time from `start_seconds` again."""
        self._origin_seconds = start_seconds
        self._block_count = 0
        self._state = _State.IDLE
        self._pre_roll: deque[Samples] = deque()
        self._blocks: list[Samples] = []
        self._first_block = self._onset_block = 0
        self._speech_blocks = self._quiet_blocks = 0
        self._pauses: list[Pause] = []

    @property
    def now_seconds(self) -> float:
        """Session time of the end of the last block that was fed."""
        return self._seconds(self._block_count)

    @property
    def speaking(self) -> bool:
        """Whether an utterance is in progress."""
        return self._state is _State.SPEAKING

    @property
    def deaf(self) -> bool:
        """Whether the endpointer is deaf."""
        return self._state is _State.DEAF

    def feed(self, block: Samples, probability: float) -> list[EndpointingEvent]:
        """Take the next 512 samples and the probability that they are speech."""
        if block.shape != (BLOCK_SAMPLES,):
            raise ValueError(f"a block is {BLOCK_SAMPLES} samples, not {block.shape}")
        index = self._block_count
        self._block_count += 1
        if self._state is _State.DEAF:
            return []
        if self._state is _State.IDLE:
            return self._while_idle(block, probability, index)
        return self._while_speaking(block, probability)

    def deafen(self) -> list[EndpointingEvent]:
        """Stop listening from here on; an utterance in progress is closed with what has been said."""
        events = self.close()
        self._state = _State.DEAF
        self._pre_roll.clear()
        return events

    def listen(self) -> None:
        """Listen again, from the next block on; nothing changes where it is listening already."""
        if self._state is _State.DEAF:
            self._state = _State.IDLE

    def close(self) -> list[EndpointingEvent]:
        """End the utterance in progress here: the stream is over, or enough has been heard to act on it."""
        return self._ended() if self._state is _State.SPEAKING else []

    def so_far(self) -> Utterance | None:
        """The utterance in progress as it would be if nothing more were said; None where there is none.

        While it is quiet it does not change any more from the pause on.
        """
        return self._utterance(self._kept()) if self.speaking else None

    @property
    def pausing(self) -> bool:
        """Whether it has been quiet for so long inside an utterance that only more speech can change it.

        What was said since the last pause must be enough to be speech.
        """
        before = self._pauses[-1].speech_blocks if self._pauses else 0
        return (
            self.speaking
            and self._quiet_blocks >= max(1, self._post_roll_blocks)
            and self._is_enough(self._speech_blocks - before)
        )

    @property
    def has_pause(self) -> bool:
        """Whether a pause lies inside the utterance in progress: speech has gone on after it."""
        return self.speaking and bool(self._pauses)

    def cut_at_pause(self) -> None:
        """What was said before the first pause is an utterance of its own; the one in progress begins after it."""
        rest = self._utterance(len(self._blocks)).after_pause()
        dropped = len(self._blocks) - len(rest.samples) // BLOCK_SAMPLES
        self._onset_block = self._first_block + self._pauses[0].resumed
        self._blocks = self._blocks[dropped:]
        self._first_block += dropped
        self._pauses = list(rest.pauses)
        self._speech_blocks = rest.speech_blocks

    def cut_at(self, end_seconds: float, keep_seconds: float) -> None:
        """What was said until `end_seconds` is an utterance of its own, without a pause behind it; the one in progress
        begins `keep_seconds` before that, in case that another voice began there.
        """
        cut = round((end_seconds - keep_seconds - self._origin_seconds) / BLOCK_SECONDS) - self._first_block
        cut = max(1, min(cut, len(self._blocks) - 1))
        before = self._pauses[-1].speech_blocks if self._pauses else 0
        self._blocks = self._blocks[cut:]
        self._first_block += cut
        self._onset_block = max(self._onset_block, self._first_block)
        self._pauses = []
        self._speech_blocks = max(
            1, min(self._speech_blocks - before, len(self._blocks) - self._quiet_blocks)
        )

    @property
    def onset_seconds(self) -> float:
        """Where the speech of the utterance in progress begins."""
        return self._seconds(self._onset_block)

    def pass_over_pause(self) -> None:
        """The first pause of the utterance in progress is none."""
        del self._pauses[0]

    def _while_idle(self, block: Samples, probability: float, index: int) -> list[EndpointingEvent]:
        if probability < self.settings.speech_on:
            self._pre_roll.append(block)
            self._shorten_pre_roll()
            return []
        self._shorten_pre_roll()
        self._state = _State.SPEAKING
        self._blocks = [*self._pre_roll, block]
        self._first_block = index - len(self._pre_roll)
        self._onset_block = index
        self._pre_roll.clear()
        self._speech_blocks, self._quiet_blocks = 1, 0
        self._pauses = []
        return [SpeechBegan(self._seconds(index))]

    def _while_speaking(self, block: Samples, probability: float) -> list[EndpointingEvent]:
        pausing = self.pausing
        self._blocks.append(block)
        if probability >= (self.settings.speech_on if pausing else self.settings.speech_off):
            if pausing:
                resumed = len(self._blocks) - 1
                quiet = resumed - self._quiet_blocks
                self._pauses.append(
                    Pause(quiet, quiet + self._post_roll_blocks, self._speech_blocks, resumed)
                )
            self._speech_blocks += 1
            self._quiet_blocks = 0
        else:
            self._quiet_blocks += 1
        over = self._quiet_blocks > 0 and _reached(self._quiet_blocks, self.settings.hangover_seconds)
        # One block more would be more than the maximum.
        full = (len(self._blocks) + 1) * BLOCK_SECONDS > self.settings.maximum_utterance_seconds
        return self._ended() if over or full else []

    def _ended(self) -> list[EndpointingEvent]:
        kept = self._kept()
        utterance = self._utterance(kept)
        event: EndpointingEvent = utterance
        if not self._is_enough(self._speech_blocks):
            event = SpeechDropped(self._seconds(self._onset_block), self.now_seconds, utterance)
        # The quiet that was cut off is what comes before the next utterance.
        self._pre_roll = deque(self._blocks[kept:])
        self._shorten_pre_roll()
        self._blocks = []
        self._state = _State.IDLE
        return [event]

    def _utterance(self, kept: int) -> Utterance:
        return Utterance(
            start_seconds=self._seconds(self._first_block),
            end_seconds=self._seconds(self._first_block + kept),
            speech_start_seconds=self._seconds(self._onset_block),
            speech_end_seconds=self._seconds(self._first_block + len(self._blocks) - self._quiet_blocks),
            samples=np.concatenate(self._blocks[:kept]),
            pauses=tuple(self._pauses),
            speech_blocks=self._speech_blocks,
            pre_roll_blocks=self._pre_roll_blocks,
        )

    def _kept(self) -> int:
        """How many blocks of the utterance in progress stay in it: what is quiet for too long is cut off."""
        return len(self._blocks) - max(0, self._quiet_blocks - self._post_roll_blocks)

    def _is_enough(self, speech_blocks: int) -> bool:
        return _reached(speech_blocks, self.settings.minimum_speech_seconds)

    @property
    def _post_roll_blocks(self) -> int:
        return int(self.settings.post_roll_seconds / BLOCK_SECONDS)

    @property
    def _pre_roll_blocks(self) -> int:
        return int(self.settings.pre_roll_seconds / BLOCK_SECONDS)

    def _shorten_pre_roll(self) -> None:
        while len(self._pre_roll) > self._pre_roll_blocks:
            self._pre_roll.popleft()

    def _seconds(self, block_index: int) -> float:
        return _later(self._origin_seconds, block_index)


def _later(seconds: float, blocks: int) -> float:
    # Rounded to the microsecond, so that a moment is the same number whichever way it is reached.
    return round(seconds + blocks * BLOCK_SECONDS, 6)


def _reached(blocks: int, seconds: float) -> bool:
    # A hair of tolerance, or 0.32 s would take eleven blocks of 32 ms where ten are meant.
    return blocks * BLOCK_SECONDS >= seconds - 1e-9


class VoiceActivity:
    """How likely each 32 ms are speech, by the Silero network (offline).

    Takes chunks of any length; what comes out never depends on how the audio was chunked. Raises RecogniserError where
    the network's weights are not installed.
    """

    def __init__(self) -> None:
        self._network = SileroNetwork(installed_weights())
        self._rest: Samples = np.zeros(0, np.int16)

    @property
    def waiting_samples(self) -> int:
        """Samples taken in that do not make a whole block yet."""
        return len(self._rest)

    def feed(self, samples: Samples) -> Iterator[tuple[Samples, float]]:
        """Take 16 kHz mono PCM; yield each whole block with its probability, between 0 and 1.

        The blocks must be consumed in order and all of them: the model has a memory.
        """
        if samples.ndim != 1 or samples.dtype != np.int16:
            raise ValueError(f"mono int16 samples are wanted, not {samples.dtype} of shape {samples.shape}")
        joined = np.concatenate([self._rest, samples])
        whole = len(joined) // BLOCK_SAMPLES * BLOCK_SAMPLES
        self._rest = joined[whole:]
        for block in joined[:whole].reshape(-1, BLOCK_SAMPLES):
            yield block, self._network.probability(block)

    def reset(self) -> None:
        """Forget all that was heard, and the samples of an unfinished block."""
        self._network.reset()
        self._rest = np.zeros(0, np.int16)
