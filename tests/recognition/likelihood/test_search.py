"""The search against its oracle: every sentence of a small domain scored by itself, token after token."""

from __future__ import annotations

from functools import cache
from itertools import product

import numpy as np
import pytest
from spoken_calls import speech

from voice_trainer.phraseology.nodes import Choice, Node, Sequence, Word
from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.model import (
    END,
    Floats,
    SpeechModel,
    Start,
    log_normalisers,
)
from voice_trainer.recognition.likelihood.model_files import model_folder
from voice_trainer.recognition.likelihood.search import RIVAL_NATS, Sentence, freely, most_tokens, search
from voice_trainer.recognition.likelihood.tokeniser import BLANK, Tokeniser, read_pieces
from voice_trainer.recognition.likelihood.trimming import trim
from voice_trainer.recognition.likelihood.writing import Words, Writing

MODEL = SpeechModel(model_folder(), threads=1)
TOKENISER = Tokeniser(read_pieces(model_folder() / "tokenizer.bin"))
QUANTISATION_NATS = 0.3
"""Activations are quantised over a batch, so one sentence's score differs by so much between batches."""

FAR_QUANTISATION_NATS = 1.0
"""The same of a sentence that was not said: its score is made of larger steps."""

SIDES, TENS = ("left", "right"), ("one", "two", "three", "five", "nine")
HEADINGS = [("turn", side, "heading", ten, "eight") for side in SIDES for ten in TENS]
NAMES = [("direct", name) for name in ("kelda", "brannock", "torvinny", "tarlen")]
FLOWS = [
    ("climb",),
    ("climb", "and", "maintain"),
    ("climb", "and", "maintain", "one", "thousand"),
    ("one", "thousand"),
]


def automaton(sentences: list[Words], *, repeats: bool = False) -> WordAutomaton:
    node: Node = Choice(tuple(Sequence(tuple(map(Word, sentence))) for sentence in sentences))
    return WordAutomaton(node, repeats=repeats)


@cache
def listened(said: str, noise: float = 0.0) -> Start:
    sound = speech(said).astype(np.float32) / np.float32(32768)
    sound += np.random.default_rng(5).normal(0, 1, len(sound)).astype(np.float32) * np.float32(noise)
    found = trim(sound)
    assert found is not None
    return MODEL.listen(found.samples)


def tokens_of(sentence: Words) -> tuple[int, ...]:
    return tuple(token for word in sentence for token in TOKENISER.encode(BLANK + word))


def scores_along(start: Start, tokens: tuple[int, ...]) -> list[Floats]:
    """Log-probabilities of every token at each place of `tokens`, and behind them: teacher forcing, one row."""
    past, logits = start.past, start.logits
    along: list[Floats] = []
    for token in (*tokens, None):
        along.append(logits[0] - log_normalisers(logits)[0])
        if token is not None:
            past, stepped = MODEL.step(start.sound, past, np.array([[token]]))
            logits = stepped[:, -1]
    return along


def likelihood(start: Start, sentence: Words) -> float:
    tokens = tokens_of(sentence)
    along = scores_along(start, tokens)
    return sum(float(scores[token]) for scores, token in zip(along, (*tokens, END), strict=True))


def searched(start: Start, writing: Writing) -> list[Sentence]:
    return search(MODEL, writing, start, freely(MODEL, writing, start).log_likelihood)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("sentences", "said", "noise"),
    [
        (HEADINGS, "turn left heading two eight", 0.0),
        (HEADINGS, "turn right heading nine eight", 0.0),
        (HEADINGS, "turn right heading five eight", 0.05),
        (HEADINGS, "heading nine eight", 0.0),
        (NAMES, "direct kelda", 0.0),
        (NAMES, "direct torvinny", 0.0),
        (NAMES, "direct brannock", 0.03),
        (FLOWS, "climb and maintain", 0.0),
        (FLOWS, "climb and maintain one thousand", 0.0),
        (FLOWS, "climb one thousand", 0.0),
    ],
)  # fmt: skip
def test_the_best_of_a_small_domain_is_the_best_of_all_its_sentences(
    sentences: list[Words], said: str, noise: float
) -> None:
    start = listened(said, noise)
    repeats = sentences is not HEADINGS  # of ten headings there are too many pairs
    domain = automaton(sentences, repeats=repeats)
    every = [*sentences, *(before + behind for before, behind in product(sentences, sentences) if repeats)]
    oracle = {sentence: likelihood(start, sentence) for sentence in every if domain.accepts(sentence)}
    likeliest = max(oracle, key=lambda sentence: oracle[sentence])
    found = {each.tokens: each for each in searched(start, Writing(domain, TOKENISER)) if each.whole}
    best = max(found.values(), key=lambda sentence: sentence.log_likelihood)
    assert best.tokens == tokens_of(likeliest)
    assert best.log_likelihood == pytest.approx(oracle[likeliest], abs=QUANTISATION_NATS)
    for sentence, likely in oracle.items():
        known = found.get(tokens_of(sentence))
        if known is not None:
            assert known.log_likelihood == pytest.approx(likely, abs=FAR_QUANTISATION_NATS)


@pytest.mark.parametrize("said", ["direct kelda", "direct tarlen", "direct the field"])
def test_no_rival_that_is_near_is_missed(said: str) -> None:
    """There are fewer sentences than are followed at once, so that none is given up for want of room."""
    start = listened(said)
    found = {each.tokens for each in searched(start, Writing(automaton(NAMES), TOKENISER))}
    oracle = {sentence: likelihood(start, sentence) for sentence in (("direct",), *NAMES)}
    near = max(oracle.values()) - RIVAL_NATS + 2 * FAR_QUANTISATION_NATS
    assert {tokens_of(sentence) for sentence, likely in oracle.items() if likely > near} <= found


def test_the_beginning_of_a_sentence_is_found_and_is_not_whole() -> None:
    start = listened("turn left heading")
    found = searched(start, Writing(automaton(HEADINGS), TOKENISER))
    best = max(found, key=lambda sentence: sentence.log_likelihood)
    assert (TOKENISER.decode(best.tokens), best.whole) == ("turn left heading", False)
    expected = likelihood(start, ("turn", "left", "heading"))
    assert best.log_likelihood == pytest.approx(expected, abs=QUANTISATION_NATS)


def test_what_is_far_behind_free_speech_is_given_up() -> None:
    start = listened("turn left heading two eight")
    assert search(MODEL, Writing(automaton(NAMES), TOKENISER), start, 1000.0) == []


@pytest.mark.parametrize(
    ("sentences", "said"),
    [(HEADINGS, " ".join(sentence)) for sentence in HEADINGS[1::3]]
    + [(FLOWS, " ".join(sentence)) for sentence in FLOWS]
    + [(NAMES, "direct kelda")],
)
def test_how_far_free_speech_is_ahead_is_the_distance_to_the_nearest_other_sentence(
    sentences: list[Words], said: str
) -> None:
    """Every other sentence, and every beginning of one, leaves what was written at some token: the distance there."""
    start = listened(said)
    free = freely(MODEL, Writing(automaton(sentences), TOKENISER), start)
    assert free.is_sentence
    assert TOKENISER.decode(free.tokens) == said
    along = scores_along(start, free.tokens)
    mine = (*free.tokens, END)
    distances = []
    for other in {sentence[:count] for sentence in sentences for count in range(1, len(sentence) + 1)}:
        theirs = (*tokens_of(other), END)
        at = next((at for at, (one, two) in enumerate(zip(mine, theirs, strict=False)) if one != two), None)
        if at is not None:
            distances.append(float(along[at][mine[at]] - along[at][theirs[at]]))
    assert free.ahead_nats == pytest.approx(min(distances), abs=0.001)
    nearest = min(
        float(scores[token] - np.delete(scores, token).max())
        for scores, token in zip(along, mine, strict=True)
    )
    assert free.sure_nats == pytest.approx(nearest, abs=0.001)
    assert free.log_likelihood == pytest.approx(likelihood(start, tuple(said.split())), abs=0.001)


def test_what_is_no_sentence_is_written_all_the_same() -> None:
    start = listened("gear down")
    free = freely(MODEL, Writing(automaton(HEADINGS), TOKENISER), start)
    assert not free.is_sentence
    assert TOKENISER.decode(free.tokens) == "gear down"


def test_a_model_that_goes_round_in_circles_is_stopped() -> None:
    noise = np.random.default_rng(2).normal(0, 0.1, 16_000).astype(np.float32)
    start = MODEL.listen(noise)
    writing = Writing(automaton([("two",)], repeats=True), TOKENISER)
    assert len(freely(MODEL, writing, start).tokens) <= most_tokens(1.0)
    assert all(len(each.tokens) < most_tokens(1.0) for each in search(MODEL, writing, start, -1e6))


def test_no_other_heading_is_nearer_than_free_speech_says() -> None:
    """Behind the token where it is another one, a heading can only lose; the one that was said loses a little too."""
    start = listened("heading two eight zero")
    first, second = ("zero", "one", "two", "three"), ("zero", "one", "two", "four", "five", "seven", "eight")
    headings = [("heading", *digits, "zero") for digits in product(first, second)]
    free = freely(MODEL, Writing(automaton(headings), TOKENISER), start)
    said = ("heading", "two", "eight", "zero")
    assert free.tokens == tokens_of(said)
    nearest = max(likelihood(start, other) for other in headings if other != said)
    assert free.log_likelihood - nearest >= free.ahead_nats + free.log_likelihood
    assert free.ahead_nats > 0
