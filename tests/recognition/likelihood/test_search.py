"""The search against its oracle: every sentence of a small domain scored one by one."""

from __future__ import annotations

import numpy as np
import pytest
from spoken_calls import grammar_of, speech

from voice_trainer.recognition.likelihood.fit import Fit
from voice_trainer.recognition.likelihood.given import given_scores, likelihoods, spellings
from voice_trainer.recognition.likelihood.meanings import Reader, pooled
from voice_trainer.recognition.likelihood.model import (
    END,
    Floats,
    SpeechModel,
    log_normalisers,
    model_folder,
)
from voice_trainer.recognition.likelihood.search import search
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser, read_pieces
from voice_trainer.recognition.likelihood.trimming import trim
from voice_trainer.recognition.likelihood.twins import NEAR_NATS, rivals
from voice_trainer.recognition.likelihood.writing import Writing

MODEL = SpeechModel(model_folder(), threads=1)
TOKENISER = Tokeniser(read_pieces(model_folder() / "tokenizer.bin"))
QUANTISATION_NATS = 1.0
"""Activations are quantised over a batch, so one sentence's score differs by so much between batches."""


def sound_of(text: str) -> Floats:
    samples = speech(text).astype(np.float32) / np.float32(32768)
    found = trim(samples)
    assert found is not None
    return found.samples


def exhaustive(sound: Floats, texts: list[str]) -> dict[str, float]:
    """Log-likelihood of each text, as one teacher-forced row of one batch."""
    opening = MODEL.listen(sound)
    rows = [TOKENISER.encode("▁" + text.replace(" ", "▁")) for text in texts]
    ids = np.full((len(rows), max(map(len, rows))), END, dtype=np.int64)
    for at, row in enumerate(rows):
        ids[at, : len(row)] = row
    after = MODEL.score(opening.sound, opening.past.rows(np.zeros(len(rows), dtype=np.int64)), ids)
    start = opening.logits[0] - log_normalisers(opening.logits)[0]
    scores = after - log_normalisers(after)[..., None]
    return {
        text: float(start[row[0]]) + sum(float(scores[at, i, t]) for i, t in enumerate([*row[1:], END]))
        for at, (text, row) in enumerate(zip(texts, rows, strict=True))
    }


@pytest.mark.parametrize("said", ["turn left heading two eight", "turn right heading three eight"])
def test_the_best_of_a_small_domain_is_the_best_of_all_its_sentences(said: str) -> None:
    sides, tens = ("left", "right"), ("one", "two", "three", "four")
    words = [f"turn {side} heading {ten} eight" for side in sides for ten in tens]
    figures = dict(zip(("one", "two", "three", "four"), "1234", strict=True))
    spelled = {
        text: sentence
        for sentence in words
        for plain in (
            sentence.capitalize(),
            sentence.capitalize().replace(sentence.split()[3] + " eight", figures[sentence.split()[3]] + "8"),
        )
        for text in (plain, plain + ".")
    }
    sound = sound_of(said)
    oracle: dict[str, float] = {}
    for text, score in exhaustive(sound, list(spelled)).items():
        oracle[spelled[text]] = np.logaddexp(oracle.get(spelled[text], -np.inf), score)
    grammar = grammar_of("turn left heading (one | two | three | four) eight")
    writing = Writing(grammar.sentences, TOKENISER)
    found = search(MODEL, writing, MODEL.listen(sound), Fit(len(sound) / 16_000))
    best = max(found.sentences, key=lambda sentence: sentence.value)
    likeliest = max(oracle, key=lambda sentence: oracle[sentence])
    assert " ".join(best.readings[0][0]) == likeliest == said
    mine = np.logaddexp.reduce(
        [s.log_likelihood for s in found.sentences if " ".join(s.readings[0][0]) == said]
    )
    # The search knows more spellings than the oracle, so it may only be better.
    assert mine > oracle[likeliest] - QUANTISATION_NATS


def test_twins_are_sentences_and_score_as_they_do_alone() -> None:
    grammar = grammar_of("turn left heading {heading}", "gear down")
    automaton = grammar.sentences
    writing = Writing(automaton, TOKENISER)
    sound = sound_of("turn left heading two eight four")
    fit = Fit(len(sound) / 16_000)
    start = MODEL.listen(sound)
    found = search(MODEL, writing, start, fit)
    best = pooled(found.sentences, Reader(grammar), fit)[0]
    scores = given_scores(MODEL, writing, start, best.tokens)
    twins = rivals(MODEL, writing, automaton, start, best.tokens, best.words, scores)
    assert twins

    def text(tokens: tuple[int, ...]) -> str:
        return TOKENISER.decode(tuple(int(writing.alphabet[token]) for token in tokens))

    mine = text(best.tokens)
    alone = exhaustive(sound, [mine, *(text(twin.tokens) for twin in twins)])
    for twin in twins:
        assert automaton.accepts(twin.words)
        assert twin.words != best.words
        assert twin.difference == pytest.approx(
            alone[text(twin.tokens)] - alone[mine], abs=2 * QUANTISATION_NATS
        )


def test_given_sentences_score_as_they_do_alone_however_they_are_written() -> None:
    grammar = grammar_of("turn left heading {heading}", "gear down")
    writing = Writing(grammar.sentences, TOKENISER)
    sound = sound_of("turn left heading two eight four")
    start = MODEL.listen(sound)
    ways = spellings(writing, ("turn", "left", "heading", "two", "eight", "four"))
    texts = [TOKENISER.decode(tuple(int(writing.alphabet[token]) for token in way)) for way in ways]
    assert {"Turn left heading two eight four", "Turn left heading 284."} <= {text.strip() for text in texts}
    alone = exhaustive(sound, texts)
    for text, score in zip(texts, likelihoods(MODEL, writing, start, ways), strict=True):
        assert score == pytest.approx(alone[text], abs=QUANTISATION_NATS)
    assert spellings(writing, ("gear", "left")) == []


def test_a_rival_outside_the_beam_still_counts() -> None:
    """The margin is that to the nearest of all headings, as scored one by one."""
    grammar = grammar_of("heading {heading}")
    automaton = grammar.sentences
    writing = Writing(automaton, TOKENISER)
    sound = sound_of("heading two eight four")
    fit = Fit(len(sound) / 16_000)
    start = MODEL.listen(sound)
    found = search(MODEL, writing, start, fit)
    reader = Reader(grammar)
    ranked = pooled(found.sentences, reader, fit)
    scores = given_scores(MODEL, writing, start, ranked[0].tokens)
    said = ("two", "eight", "four")
    assert ranked[0].words[-3:] == said
    digits = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    figures = dict(zip(digits, "0123456789", strict=True))
    others = {
        (*said[:at], digit, *said[at + 1 :])
        for at in range(3)
        for digit in digits
        if automaton.accepts(("heading", *said[:at], digit, *said[at + 1 :]))
    }
    texts = {
        text: other
        for other in sorted(others)
        for plain in (f"Heading {' '.join(other)}", f"Heading {''.join(figures[word] for word in other)}")
        for text in (plain, f"{plain}.")
    }
    pooled_scores: dict[tuple[str, ...], float] = {}
    for text, score in exhaustive(sound, list(texts)).items():
        pooled_scores[texts[text]] = np.logaddexp(pooled_scores.get(texts[text], -np.inf), score)
    best = pooled_scores.pop(said)
    nearest = best - max(pooled_scores.values())
    differences = [ranked[0].value - meant.value for meant in ranked[1:]] + [
        -twin.difference
        for twin in rivals(MODEL, writing, automaton, start, ranked[0].tokens, ranked[0].words, scores)
    ]
    # Twins further away than this are not looked at: no margin that wide is ever in doubt.
    assert min(*differences, NEAR_NATS) < nearest + 2 * QUANTISATION_NATS


def test_an_utterance_of_loud_and_soft_frames_is_cut_to_its_speech() -> None:
    quiet = np.random.default_rng(3).standard_normal(48_000).astype(np.float32) * np.float32(0.001)
    loud = quiet.copy()
    loud[16_000:32_000] += np.sin(np.arange(16_000) / 5).astype(np.float32) * np.float32(0.3)
    found = trim(loud)
    assert found is not None
    assert found.first == pytest.approx(16_000, abs=3_200)
    assert found.first + len(found.samples) == pytest.approx(32_000, abs=4_800)
    assert found.speech_seconds == pytest.approx(1.0, abs=0.05)
