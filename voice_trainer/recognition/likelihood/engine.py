"""The recogniser that asks a speech model of our own how likely each sentence of the domain is.

The model writes what it hears freely. Where that is a sentence of the domain, and no other is near, it was heard.
Otherwise the likeliest sentences of the domain are searched for, and what they mean is held against free speech.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path

import numpy as np

from voice_trainer.journal.hearing import HeardWord, Hearing, Interpretation
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.likelihood.meanings import Meant, Reader, Wording, pooled
from voice_trainer.recognition.likelihood.model import SAMPLE_RATE, Floats, SpeechModel
from voice_trainer.recognition.likelihood.model_files import checked_hash, model_folder
from voice_trainer.recognition.likelihood.placing import placed
from voice_trainer.recognition.likelihood.search import Free, freely, search
from voice_trainer.recognition.likelihood.spelled_words import spelled_word
from voice_trainer.recognition.likelihood.thresholds import CLEAR_AHEAD_NATS, NAME_NATS, Evidence, clarity
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser, read_pieces
from voice_trainer.recognition.likelihood.trimming import Speech, trim
from voice_trainer.recognition.likelihood.writing import Words, Writing
from voice_trainer.recognition.personal import USUAL as USUAL_VOICE
from voice_trainer.recognition.personal import shifted
from voice_trainer.recognition.pocketsphinx_search import WordSearch
from voice_trainer.recognition.ports import Readiness, Samples, SpelledWord
from voice_trainer.recognition.reading import evenly_spaced, said_once, spans_of, without_restart
from voice_trainer.recognition.word_times import TimedWord, spread

ENGINE = "likelihood (phraseology-en 1)"
INTERPRETATIONS = 5
MOST_AHEAD_NATS = 14.0
"""What has no rival at all is no further ahead than this."""

MOST_PLACES = 20_000
"""Places that are remembered of how a domain is written."""

MOST_FRAGMENT_WORDS = 3
"""So few words of a domain may be a part of a call that somebody takes for enough; more are talk."""

SAID_BESIDE = frozenset({"okay", "so", "and", "now", "then", "well", "please"})
"""Words that people say beside a call, and that change nothing of it."""


class _Domain:
    """A grammar, made ready. Illegal values are searched for like others: they are rivals of theirs."""

    def __init__(self, grammar: Grammar, tokeniser: Tokeniser) -> None:
        self.grammar = grammar
        self.legal: WordAutomaton = grammar.sentences
        self.reader = Reader(grammar)
        self._tokeniser = tokeniser
        self._with_illegal: WordAutomaton = grammar.sentences_with_illegal_values
        self._writing = Writing(self._with_illegal, tokeniser)
        self.words = frozenset(self._with_illegal.vocabulary)
        self.placeable_words = self.words | SAID_BESIDE

    def writing(self) -> Writing:
        """Its tokens. What has been worked out is forgotten once it is much, and worked out anew where needed."""
        if self._writing.size > MOST_PLACES:
            self._writing = Writing(self._with_illegal, self._tokeniser)
        return self._writing


@dataclass(frozen=True, slots=True)
class _Prepared:
    """One grammar, and those of its words that somebody made up."""

    domain: _Domain
    names: frozenset[str]


class LikelihoodRecogniser:
    """Audio to hearings by the likelihood of every sentence of the grammar. Safe to use from several threads."""

    name = ENGINE

    def __init__(self, folder: Path | None = None, threads: int = 2) -> None:
        """Loads the model; raises RecogniserError when its files are missing."""
        folder = folder or model_folder()
        self.model_hash = checked_hash(folder)
        self._model = SpeechModel(folder, threads)
        self._tokeniser = Tokeniser(read_pieces(folder / "tokenizer.bin"))
        self.personal = USUAL_VOICE
        self._words = WordSearch()
        self._prepared: _Prepared | None = None
        self._lock = threading.Lock()

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        """Make ready to hear `grammar`; see `Recogniser.prepare`. Any word can be written, so none is ever missing;
        to find out when words were said, they need pronunciations.
        """
        if not grammar.phrases:
            raise RecogniserError("there is nothing to listen for: the drill has no phrases")
        domain = _Domain(grammar, self._tokeniser)
        with self._lock:
            guessed = self._words.prepare(domain.placeable_words, pronounce)
            names = frozenset(pronounce) | {word for word, _ in guessed}
            self._prepared = _Prepared(domain, names)
        return Readiness(guessed_words=guessed)

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        """What is said in one utterance: mono PCM at 16 kHz that begins at session time `start_seconds`."""
        with self._lock:
            if self._prepared is None:
                raise RecogniserError(
                    "the recogniser was asked to hear before it was prepared with a grammar"
                )
            end_seconds = start_seconds + len(samples) / SAMPLE_RATE
            nothing = Hearing(
                start_seconds=start_seconds, end_seconds=end_seconds, clarity="not a call", engine=ENGINE
            )
            sound: Floats = samples.astype(np.float32) / np.float32(32768)
            speech = trim(sound)
            if speech is None:
                return nothing
            return self._heard(self._prepared, speech, nothing)

    def spelled_word(self, word: str, clips: Sequence[Samples]) -> SpelledWord:
        """How the model spells a word, spoken alone by several voices (mono PCM at 16 kHz)."""
        return spelled_word(self._model, self._tokeniser, word, clips)

    def _heard(self, prepared: _Prepared, speech: Speech, nothing: Hearing) -> Hearing:
        domain, names = prepared.domain, prepared.names
        writing = domain.writing()
        start = self._model.listen(speech.samples)
        free = freely(self._model, writing, start)
        free_words = self._words_of(free.tokens)
        mended = self._mended(domain, free_words)
        wordings = []
        if mended:
            is_legal = domain.legal.accepts(mended)
            wordings.append(Wording(mended, free.log_likelihood, legal=is_legal))
        elif free.is_sentence:
            wordings.append(Wording(free_words, free.log_likelihood, domain.legal.accepts(free_words)))
        elif self._is_fragment(domain, free, free_words):
            wordings.append(Wording(free_words, free.log_likelihood, legal=False))
        ahead = free.ahead_nats
        if not free.is_sentence or ahead < CLEAR_AHEAD_NATS:
            for sentence in search(self._model, writing, start, free.log_likelihood):
                words = self._words_of(sentence.tokens)
                legal = sentence.whole and domain.legal.accepts(words)
                wordings.append(Wording(words, sentence.log_likelihood, legal))
            # What is left of free speech without a restart is no surer than free speech was.
            ahead = min(MOST_AHEAD_NATS, free.sure_nats) if mended else MOST_AHEAD_NATS
        ranked = pooled(wordings, domain.reader)
        if not ranked:
            return nothing
        best = ranked[0]
        others = max((each.log_likelihood for each in ranked[1:]), default=-np.inf)
        margin = min(best.log_likelihood - others, ahead, MOST_AHEAD_NATS)
        gap = free.log_likelihood - best.log_likelihood
        own_margin, own_gap, _ = shifted(self.personal, margin, gap, 0.0)
        allowed = NAME_NATS * sum(word in names for word in best.words)
        is_phrase = any(piece.kind != "other" for piece in best.pieces)
        verdict = clarity(
            Evidence(own_margin, own_gap - allowed, best.words, free_words, best.legal, is_phrase)
        )
        interpretations: tuple[Interpretation, ...] = ()
        if verdict != "not a call":
            shown = [meant for meant in ranked if meant.legal or meant is best][:INTERPRETATIONS]
            # Of what was begun anew, some may be no word of the domain: nobody knows how that sounds.
            is_placed = best.words == mended and domain.placeable_words.issuperset(free_words)
            said = free_words if is_placed else best.words
            interpretations = self._timed(shown, said, speech, nothing.start_seconds)
        return nothing.model_copy(
            update={
                "interpretations": interpretations,
                "margin": round(margin, 3),
                "gap": round(gap, 3) + 0.0,  # no -0.0
                "clarity": verdict,
            }
        )

    def _words_of(self, tokens: tuple[int, ...]) -> Words:
        return tuple(self._tokeniser.decode(tokens).split())

    def _mended(self, domain: _Domain, words: Words) -> Words:
        """What was written freely without what was begun anew, and said beside it, where only that is a sentence of the
        domain; or without what was begun anew, where only that is the beginning of one; else nothing.
        """
        if domain.legal.accepts(words):
            return ()
        said = [word for word in words if word not in SAID_BESIDE]
        left = said_once(said)
        once = without_restart(evenly_spaced(left, 0.0, 1.0), domain.grammar)
        mended = tuple(word.text for word in once)
        if domain.legal.accepts(mended):
            return mended
        is_beginning = (
            len(left) < len(said) and _begins(domain.legal, left) and not _begins(domain.legal, words)
        )
        return tuple(left) if is_beginning else ()

    def _is_fragment(self, domain: _Domain, free: Free, words: Words) -> bool:
        """Whether somebody clearly said some words of the domain, no sentence of it: 'on' for 'landing lights on'."""
        is_sure = free.sure_nats >= CLEAR_AHEAD_NATS
        return is_sure and 0 < len(words) <= MOST_FRAGMENT_WORDS and domain.words.issuperset(words)

    def _timed(
        self, ranked: Sequence[Meant], said: Words, speech: Speech, start_seconds: float
    ) -> tuple[Interpretation, ...]:
        """Meanings as interpretations, their words where those of `said` are."""
        sound = np.asarray(np.rint(speech.samples * 32768), np.int16)
        found = placed(self._words, sound, said, len(sound) / SAMPLE_RATE)
        offset = start_seconds + speech.first / SAMPLE_RATE
        interpretations = []
        for meant in ranked:
            timed = found if meant.words == said else carried_over(found, meant.words)
            heard = [
                HeardWord(
                    text=text, start_seconds=round(offset + start, 3), end_seconds=round(offset + end, 3)
                )
                for text, start, end in timed
            ]
            spans = spans_of(meant.pieces, heard)
            interpretations.append(Interpretation(spans=spans, log_likelihood=round(meant.log_likelihood, 3)))
        return tuple(interpretations)


def _begins(sentences: WordAutomaton, words: Sequence[str]) -> bool:
    """Whether a sentence may begin with these words."""
    return sentences.walk(sentences.start, words) is not None


def carried_over(timed: Sequence[TimedWord], words: Sequence[str]) -> list[TimedWord]:
    """Times for another wording of the same sound: equal words keep theirs, the others share what is between."""
    matcher = SequenceMatcher(None, [text for text, _, _ in timed], list(words), autojunk=False)
    result: list[TimedWord] = []
    for _, old_first, old_end, new_first, new_end in matcher.get_opcodes():
        if new_end == new_first:
            continue
        if old_end - old_first == new_end - new_first:
            result.extend(
                (word, start, end)
                for word, (_, start, end) in zip(
                    words[new_first:new_end], timed[old_first:old_end], strict=True
                )
            )
            continue
        start = timed[old_first][1] if old_first < len(timed) else timed[-1][2]
        end = timed[old_end - 1][2] if old_end > old_first else start
        result.extend(spread(words[new_first:new_end], start, max(start, end)))
    return result
