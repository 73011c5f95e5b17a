"""Ears that make no mistake, for the clean telling: each stretch of words is one utterance, heard whole.

They tell it when it can be known: at the end of the hangover, or of the thinking pause where more may belong to it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tests.difficult_student.manners import THINKING_SECONDS
from tests.difficult_student.numbered_words import WordTrack, hearing_of
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block
from voice_trainer.journal.events import Heard, SpeechEnded, SpeechStarted, at
from voice_trainer.journal.hearing import HeardWord, Hearing
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.endpointing import EndpointingSettings
from voice_trainer.session.ears import SpeechFact

HANGOVER_SECONDS = EndpointingSettings().hangover_seconds


@dataclass
class _Stretch:
    """Words said in one go, up to number `last`."""

    last: int
    words: dict[int, tuple[float, float]] = field(default_factory=dict)
    patience: float | None = None

    @property
    def end_seconds(self) -> float:
        return max(end for _, end in self.words.values())

    @property
    def start_seconds(self) -> float:
        return min(start for start, _ in self.words.values())


class CleanEars:
    """What an `Exchange` needs of ears."""

    def __init__(self, track: WordTrack, grammar: Grammar) -> None:
        self._track, self._grammar = track, grammar
        self.deaf = False
        self._untold: list[SpeechFact] = []
        self._stretch: _Stretch | None = None

    @property
    def quiet(self) -> bool:
        return self._stretch is None

    def take(self, block: Block) -> None:
        number = int(block.samples[0])
        start = block.first_sample / SAMPLE_RATE_HZ
        end = block.end_seconds
        if self.deaf:
            return
        stretch = self._stretch
        if number and (stretch is None or number > stretch.last):
            heard = self._told(stretch, start) if stretch else None
            if heard:
                self._untold.append(heard[0])
            self._untold.append(SpeechStarted(at_seconds=at(end), onset_seconds=at(start)))
            if heard:
                self._untold.append(heard[1])
            stretch = self._stretch = _Stretch(self._track.last_of_run[number])
        if stretch is None:
            return
        if number:
            stretch.words[number] = (stretch.words.get(number, (start, 0.0))[0], end)
            return
        if stretch.patience is None:
            stretch.patience = self._patience(stretch)
        if end >= stretch.end_seconds + stretch.patience:
            self._untold += self._told(stretch, end)
            self._stretch = None

    def facts(self, now_seconds: float) -> list[SpeechFact]:
        told, self._untold = self._untold, []
        return told

    def deafen(self) -> None:
        self.deaf = True
        if self._stretch is not None:
            self._untold += self._told(self._stretch, self._stretch.end_seconds)
            self._stretch = None

    def something_else_was_said(self) -> None:
        """Nothing is held here."""

    def listen(self) -> None:
        self.deaf = False

    def finish(self) -> None:
        self.deafen()

    def close(self) -> None:
        """Nothing to let go."""

    def _patience(self, stretch: _Stretch) -> float:
        said = [
            word.text for r in self._hearing(stretch).interpretations[:1] for s in r.spans for word in s.words
        ]
        goes_on = self._grammar.sentences.walk(self._grammar.sentences.start, said) is not None
        may_grow = goes_on and self._grammar.may_go_on(said)
        return THINKING_SECONDS if may_grow else HANGOVER_SECONDS

    def _hearing(self, stretch: _Stretch) -> Hearing:
        words = [
            HeardWord(text=self._track.words[number], start_seconds=start, end_seconds=end)
            for number, (start, end) in sorted(stretch.words.items())
        ]
        return hearing_of(words, self._grammar, stretch.start_seconds, stretch.end_seconds)

    def _told(self, stretch: _Stretch, now: float) -> tuple[SpeechEnded, Heard]:
        ended = SpeechEnded(
            at_seconds=at(now), start_seconds=at(stretch.start_seconds), end_seconds=at(stretch.end_seconds)
        )
        return ended, Heard(at_seconds=at(now), hearing=self._hearing(stretch))
