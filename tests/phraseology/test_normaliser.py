"""Any text to the plain words used inside."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.phraseology.normaliser import normalise, normalise_words

TEXTS = [
    ("Turn left, heading 284.", "turn left heading two eight four"),
    ("descend to 2,600", "descend to two thousand six hundred"),
    ("12,500", "one two thousand five hundred"),
    ("1,320", "one three two zero"),
    ("114.3", "one one four point three"),
    ("hold 1:15.", "hold one plus one five"),
    ("333, 48", "three three three four eight"),
    ("9L", "nine l"),
    ("tree fower fife niner oh o", "three four five nine zero zero"),
    # AIM table 4-2-2 spells alfa, juliett, whiskey; recognisers often don't.
    ("alpha juliet whisky X-ray", "alfa juliett whiskey xray"),
    ("x ray D M E nav aid cut-off", "xray dme navaid cutoff"),
    ("V.O.R. approach", "vor approach"),
    # Never folded: each is legal in free text.
    ("for to too four two ate won right write", "for to too four two ate won right write"),
    ("uh turn um left er now", "turn left now"),
    ("d uh m e", "dme"),
    ("let’s GO 'now'", "let's go now"),
    ("time—not required", "time not required"),
    ("", ""),
    (" ... ", ""),
]


@pytest.mark.parametrize(("text", "words"), TEXTS)
def test_normalise(text: str, words: str) -> None:
    assert normalise(text) == tuple(words.split())


def test_every_word_knows_the_word_it_came_from() -> None:
    heard = ["uh", "Heron", "24,", "x", "ray", "niner", "standby"]
    assert normalise_words(heard) == (
        ("heron", 1), ("two", 2), ("four", 2), ("xray", 3), ("nine", 5), ("stand", 6), ("by", 6),
    )  # fmt: skip


@given(st.text(max_size=60))
def test_plain_words_stay_as_they_are(text: str) -> None:
    words = normalise(text)
    assert normalise(" ".join(words)) == words


@given(st.lists(st.text(max_size=8), max_size=8))
def test_sources_are_in_order_and_real(words: list[str]) -> None:
    sources = [source for _, source in normalise_words(words)]
    assert sources == sorted(sources)
    assert all(0 <= source < len(words) for source in sources)
