"""Hearing with Vosk: for whoever has put a Vosk model for their language into a folder.

Always by path: given a name instead, the library goes online. The model must be one of those whose grammar
can change (`graph/Gr.fst` and `graph/HCLr.fst`: the small ones).

Vosk makes a bigram model of the phrases that it is given; the grammar goes in as every pair of words that may
follow each other, so that every value is open and several calls may follow each other. What comes back is
read against the grammar, exactly. It is heard twice: against the grammar, and against the model's own
language. Confidence alone accepts nothing (a wrong word can carry 1.0): the margin is the distance to the best
alternative of other meaning, the gap the distance to the free transcript, a second.

Kaldi dithers: likelihoods of the same sound differ a little from one time to the next.

The thresholds are cautious guesses: no English model was there to measure them with. Where the free
transcript is the very same words, nothing is guessed.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path
from typing import Any

from voice_trainer.journal.hearing import Clarity, HeardWord, Hearing, Interpretation
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.ports import Readiness, Samples
from voice_trainer.recognition.reading import meaning_of, read_words
from voice_trainer.recognition.vosk_folder import content_hash, why_not_usable
from voice_trainer.recognition.word_network import WordNetwork, compile_node

SAMPLE_RATE = 16_000
ALTERNATIVES = 10
SHORTEST_SAMPLES = SAMPLE_RATE // 10

UNKNOWN_WORDS = ("[unk]", "<unk>", "<UNK>")
"""How models call a word that they don't know: the English ones the first, others otherwise."""


@dataclass(frozen=True, slots=True)
class VoskThresholds:
    """What is believed, in nats as Vosk counts them (its 'confidence' of an alternative).

    The margin counts as it is, the two gaps for each second of words.
    """

    clear_margin: float = 4.0
    clear_gap: float = 10.0
    call_gap: float = 50.0


class VoskRecogniser:
    """The recogniser over the Vosk model in `model_folder`. Not for use from two threads at once.

    `recorded_hash` is the `content_hash` that the model had when it was installed, where that is known. Raises
    RecogniserError where the folder is no such model, or is not what was installed: then Vosk never sees it.
    """

    def __init__(
        self, model_folder: Path, thresholds: VoskThresholds | None = None, recorded_hash: str | None = None
    ) -> None:
        if trouble := why_not_usable(model_folder):
            raise RecogniserError(trouble)
        self.model_hash = content_hash(model_folder)
        if recorded_hash not in (None, self.model_hash):
            raise RecogniserError(
                f"{model_folder} is not what was installed: its content has changed since; run "
                f"'voice-trainer models remove {model_folder.name}', then install it again"
            )
        try:
            import vosk
        except ImportError as error:
            raise RecogniserError(
                "vosk can't be loaded: install it with 'pip install vosk==0.3.45'"
            ) from error
        self._vosk: Any = vosk
        vosk.SetLogLevel(-1)
        try:
            self._model: Any = vosk.Model(str(model_folder.resolve()))
        except Exception as error:
            # The library raises Exception itself, and nothing narrower.
            raise RecogniserError(f"Vosk can't read the model in {model_folder}: unpack it again") from error
        self._folder = model_folder
        self.thresholds = thresholds or VoskThresholds()
        self.name = f"vosk {metadata.version('vosk')} {model_folder.resolve().name}"
        self._grammar: Grammar | None = None
        self._pairs = "[]"

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """Make ready to hear `grammar`; see `Recogniser.prepare`.

        A Vosk model can't be taught words: those that it lacks are reported, and phrases that need them won't
        be heard; `pronounce` is of no use here. Raises RecogniserError where it knows none of the words.
        """
        network = compile_node(grammar.node())
        missing = tuple(sorted(word for word in network.words if not self._knows(word)))
        if len(missing) == len(network.words):
            raise RecogniserError(
                f"the Vosk model in {self._folder} knows none of the drill's words: is it for another language?"
            )
        phrases = sorted(" ".join(pair) for pair in _pairs(network, frozenset(missing)))
        phrases += [word for word in UNKNOWN_WORDS if self._knows(word)][:1]
        self._pairs = json.dumps(phrases, ensure_ascii=False)
        self._grammar = grammar
        return Readiness(missing_words=missing)

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        """What is said in one utterance; see `Recogniser.hear`. Raises RecogniserError before `prepare`."""
        if self._grammar is None:
            raise RecogniserError("the recogniser has not been given a grammar yet: call prepare first")
        end_seconds = start_seconds + len(samples) / SAMPLE_RATE
        found = (
            self._alternatives(samples, start_seconds, self._pairs)
            if len(samples) >= SHORTEST_SAMPLES
            else []
        )
        if not found:
            return Hearing(
                start_seconds=start_seconds, end_seconds=end_seconds, clarity="not a call", engine=self.name
            )
        free = self._alternatives(samples, start_seconds, None)
        readings = [
            reading
            for each in found
            for reading in read_words(each.words, self._grammar, each.log_likelihood)
        ]
        best = found[0]
        margin = next(
            (
                best.log_likelihood - (other.log_likelihood or -math.inf)
                for other in readings
                if meaning_of(other) != meaning_of(readings[0])
            ),
            None,
        )
        seconds = sum(word.end_seconds - word.start_seconds for word in best.words)
        gap = (free[0].log_likelihood - best.log_likelihood) / max(0.1, seconds) if free else None
        same = bool(free) and [w.text for w in free[0].words] == [w.text for w in best.words]
        return Hearing(
            start_seconds=start_seconds,
            end_seconds=end_seconds,
            interpretations=tuple(readings),
            margin=margin,
            gap=gap,
            clarity=self._clarity(readings[0], margin, gap, same),
            engine=self.name,
        )

    def _clarity(self, best: Interpretation, margin: float | None, gap: float | None, same: bool) -> Clarity:
        kinds = {span.kind for span in best.spans}
        if kinds == {"other"} or gap is None or gap >= self.thresholds.call_gap:
            return "not a call"
        far = margin is None or margin >= self.thresholds.clear_margin
        sure = same or (far and gap < self.thresholds.clear_gap)
        return "clear" if sure and "other" not in kinds else "unclear"

    def _knows(self, word: str) -> bool:
        return bool(self._model.vosk_model_find_word(word) >= 0)

    def _alternatives(self, samples: Samples, start_seconds: float, phrases: str | None) -> list[_Heard]:
        # A new recogniser each time costs a millisecond; an old one goes on counting time where it stopped.
        arguments = (self._model, SAMPLE_RATE) if phrases is None else (self._model, SAMPLE_RATE, phrases)
        recogniser = self._vosk.KaldiRecognizer(*arguments)
        recogniser.SetMaxAlternatives(ALTERNATIVES)
        recogniser.SetWords(True)
        results = []
        if recogniser.AcceptWaveform(samples.tobytes()):
            # It found an end of its own: what came before it is in this result only.
            results.append(recogniser.Result())
        results.append(recogniser.FinalResult())
        found = [_Heard((), 0.0)]
        for result in results:
            parts = list(_parsed(result, start_seconds))
            if parts:
                found = [
                    _Heard((*before.words, *part.words), before.log_likelihood + part.log_likelihood)
                    for before in found
                    for part in parts
                ]
        found.sort(key=lambda heard: -heard.log_likelihood)
        return found[:ALTERNATIVES] if found[0].words else []


@dataclass(frozen=True, slots=True)
class _Heard:
    words: tuple[HeardWord, ...]
    log_likelihood: float


def _parsed(result: str, start_seconds: float) -> Iterator[_Heard]:
    for alternative in json.loads(result).get("alternatives", ()):
        words = tuple(
            HeardWord(
                text=word["word"],
                start_seconds=start_seconds + word["start"],
                end_seconds=start_seconds + word["end"],
            )
            for word in alternative.get("result", ())
        )
        if words:
            yield _Heard(words, float(alternative["confidence"]))


def _pairs(network: WordNetwork, missing: frozenset[str]) -> set[tuple[str, ...]]:
    """Every two words that may follow each other, and the words that are a phrase of their own."""
    pairs: set[tuple[str, ...]] = set()
    for first in network.arcs:
        for word, after in first.items():
            if word in missing:
                continue
            pairs.update((word, other) for other in network.arcs[after] if other not in missing)
    pairs.update(
        (word,)
        for word, after in network.arcs[network.start].items()
        if word not in missing and after in network.final
    )
    return pairs
