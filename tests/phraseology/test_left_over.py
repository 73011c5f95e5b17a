"""Words of no call, also with some left out: the same as reading what remains would count."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from tests.recognition.phrases import grammar
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.left_over import LeftOver

GRAMMAR = grammar()
WORDS = sorted(GRAMMAR.vocabulary())

one_sentence = st.sampled_from([phrase.pattern for phrase in GRAMMAR.phrases]).flatmap(
    lambda pattern: st.sampled_from([pattern.spoken(), pattern.brief()])
)
some_words = st.lists(st.sampled_from([*WORDS, "weather"]), max_size=4).map(tuple)
utterances = st.lists(one_sentence | some_words, max_size=5).map(
    lambda parts: tuple(w for p in parts for w in p)
)


def counted_by_reading(words: Sequence[str], among: Grammar) -> int:
    readings = among.read(words)
    pieces = readings[0] if readings else ()
    return sum(piece.last_exclusive - piece.first for piece in pieces if piece.kind != "call")


@given(utterances, st.data())
def test_what_is_left_over_is_what_reading_would_count(words: tuple[str, ...], data: st.DataObject) -> None:
    left_over = LeftOver(words, GRAMMAR)
    assert left_over.count() == counted_by_reading(words, GRAMMAR)
    for _ in range(5):
        first = data.draw(st.integers(0, len(words)))
        end = data.draw(st.integers(first, len(words)))
        rest = words[:first] + words[end:]
        assert left_over.count_without(first, end) == counted_by_reading(rest, GRAMMAR), (words, first, end)
