"""A recogniser without an engine: it hears what a script says. For tests and dry runs."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

import numpy as np

from voice_trainer.journal.hearing import HeardWord, Hearing
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.ports import Readiness, Samples
from voice_trainer.recognition.reading import evenly_spaced, read_words

SAMPLE_RATE = 16_000
FINGERPRINT_SAMPLES = 800


class ScriptedRecogniser:
    """Hears the texts of `script`, one an utterance, whatever the sound; or known `clips` wherever they occur.

    `clips` maps a text to its sound (16 kHz mono PCM). A clip is known again by its loudest 50 ms, sample for
    sample, so it may have lost its edges; several in one utterance are heard in their order, each with its own
    time. '' in the script, an empty script and sound without a known clip are 'not a call', and so is the mere
    beginning of a call, unless `beginnings_are_unclear`. A script goes before clips. `heard` lists every utterance
    that came in, as (samples, start_seconds).
    """

    name = "scripted 1"

    def __init__(
        self,
        script: Sequence[str] = (),
        clips: Mapping[str, Samples] | None = None,
        *,
        beginnings_are_unclear: bool = False,
    ) -> None:
        self._script = list(script)
        self._beginnings_are_unclear = beginnings_are_unclear
        self._clips = {text: _Fingerprint(samples) for text, samples in (clips or {}).items()}
        self._grammar: Grammar | None = None
        self.heard: list[tuple[Samples, float]] = []
        self.model_hash = hashlib.sha256("\n".join([*self._script, *self._clips]).encode()).hexdigest()

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """See `Recogniser.prepare`; every word can be heard."""
        self._grammar = grammar
        return Readiness()

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        """See `Recogniser.hear`. Raises RecogniserError before `prepare`."""
        if self._grammar is None:
            raise RecogniserError("the recogniser has not been given a grammar yet: call prepare first")
        self.heard.append((samples, start_seconds))
        end_seconds = start_seconds + len(samples) / SAMPLE_RATE
        words = self._words(samples, start_seconds, end_seconds)
        readings = read_words(words, self._grammar)
        nobodys = all(span.kind == "other" for span in readings[0].spans) if readings else True
        may_begin = self._beginnings_are_unclear and nobodys and bool(words)
        begun = may_begin and self._grammar.is_beginning([word.text for word in words])
        return Hearing(
            start_seconds=start_seconds,
            end_seconds=end_seconds,
            interpretations=readings,
            clarity="unclear" if begun else "not a call" if nobodys else "clear",
            engine=self.name,
        )

    def _words(self, samples: Samples, start_seconds: float, end_seconds: float) -> list[HeardWord]:
        if self._script:
            return evenly_spaced(self._script.pop(0).split(), start_seconds, end_seconds)
        found = sorted((at, text) for text, print_ in self._clips.items() for at in print_.places_in(samples))
        words: list[HeardWord] = []
        for at, text in found:
            start = max(start_seconds, start_seconds + at / SAMPLE_RATE)
            end = min(end_seconds, start_seconds + (at + self._clips[text].clip_samples) / SAMPLE_RATE)
            words += evenly_spaced(text.split(), start, end)
        return words


class _Fingerprint:
    """What a clip is known by: its loudest stretch, and where in the clip that begins."""

    def __init__(self, clip: Samples) -> None:
        self.clip_samples = len(clip)
        length = min(FINGERPRINT_SAMPLES, len(clip))
        if length == 0:
            raise ValueError("a clip without samples can't be known again")
        energy = np.cumsum(np.concatenate([[0.0], clip.astype(np.float64) ** 2]))
        self._offset = int(np.argmax(energy[length:] - energy[:-length]))
        self._bytes = clip[self._offset : self._offset + length].tobytes()

    def places_in(self, samples: Samples) -> list[int]:
        """Every sample index at which the clip begins, counted from the start of `samples`."""
        sound = samples.tobytes()
        places: list[int] = []
        at = sound.find(self._bytes)
        while at >= 0:
            if at % 2 == 0:
                places.append(at // 2 - self._offset)
            at = sound.find(self._bytes, at + 1)
        return places
