"""Words of no call, also with some left out: the same as reading what remains would count."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from tests.recognition.phrases import CALLS, grammar
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.left_over import LeftOver
from voice_trainer.phraseology.pattern import compile_pattern

GRAMMAR = grammar()
WORDS = sorted(GRAMMAR.vocabulary())

SENTENCES = [
    *(compile_pattern(call).spoken() for call in CALLS),
    *(("roger",), ("trainer", "freeze"), ("kelda", "vor"), ("heading", "two", "eight", "four")),
]
one_sentence = st.sampled_from(SENTENCES)
some_words = st.lists(st.sampled_from([*WORDS, "weather"]), max_size=4).map(tuple)
utterances = st.lists(one_sentence | some_words, max_size=5).map(
    lambda parts: tuple(w for p in parts for w in p)
)


def counted_by_reading(words: Sequence[str], among: Grammar) -> int:
    readings = among.read(words)
    pieces = readings[0] if readings else ()
    return sum(piece.last_exclusive - piece.first for piece in pieces if piece.kind != "call")


@given(utterances, one_sentence, some_words | one_sentence, utterances, st.data())
def test_what_is_left_over_is_what_reading_would_count(
    before: tuple[str, ...],
    sentence: tuple[str, ...],
    put_in: tuple[str, ...],
    behind: tuple[str, ...],
    data: st.DataObject,
) -> None:
    """A sentence is interrupted somewhere: it is whole again without what was put in."""
    inside = data.draw(st.integers(0, len(sentence)))
    words = (*before, *sentence[:inside], *put_in, *sentence[inside:], *behind)
    left_over = LeftOver(words, GRAMMAR)
    assert left_over.count() == counted_by_reading(words, GRAMMAR)
    first = len(before) + inside
    for start, end in ((first, first + len(put_in)), (max(0, first - 1), first), (first, len(words))):
        rest = words[:start] + words[end:]
        assert left_over.count_without(start, end) == counted_by_reading(rest, GRAMMAR), (words, start, end)
