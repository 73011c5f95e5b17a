"""What the model may write for words: every way that is looked for, read back from the tokens."""

from __future__ import annotations

import pytest

from voice_trainer.phraseology.nodes import Choice, Sequence, Word
from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.model import model_folder
from voice_trainer.recognition.likelihood.tokeniser import Tokeniser, read_pieces
from voice_trainer.recognition.likelihood.writing import Place, Words, Writing

TOKENISER = Tokeniser(read_pieces(model_folder() / "tokenizer.bin"))


def written(*sentences: str) -> dict[str, set[Words]]:
    """Every text of a domain of these sentences, without commas and inner stops, and the words it is read as."""
    node = Choice(tuple(Sequence(tuple(map(Word, sentence.split()))) for sentence in sentences))
    writing = Writing(WordAutomaton(node, repeats=True), TOKENISER)
    longest = max(len(sentence.split()) for sentence in sentences)
    found: dict[str, set[Words]] = {}
    waiting: list[tuple[tuple[int, ...], Place, Words]] = [((), writing.start, ())]
    while waiting:
        tokens, place, words = waiting.pop()
        if place.may_end:
            text = TOKENISER.decode(tuple(int(writing.alphabet[token]) for token in tokens))
            found.setdefault(text, set()).add(words)
        for key, ways in writing.spellings(place).items():
            waiting.extend(
                (tokens + way.tokens, way.place, words + way.words)
                for way in ways
                if key and len(words) + len(way.words) <= longest
            )
    return found


@pytest.mark.parametrize(
    ("said", "texts"),
    [
        ("heading two eight four", {"Heading two eight four", "Heading 284", "Heading 2 8 4", "Having 284"}),
        # FAA AIM 4-2-9: altitudes in thousands and hundreds.
        ("two thousand six hundred", {"Two thousand six hundred", "2600", "2,600", "2,000 600"}),
        ("one zero thousand", {"10,000", "10000", "One zero thousand"}),
        ("one one four point three", {"114.3", "One one four point three"}),
        # FAA AIM 4-2-8: nine is said 'niner'.
        ("nine", {"Nine", "Niner", "Nine or", "9", "Either"}),
        ("one twenty five", {"125", "One twenty five", "120 five"}),
        ("eight hundred and twenty", {"820", "Eight hundred and twenty"}),
        ("kilo lima delta", {"Kilo lima delta", "Kilo Lima Delta"}),
        ("k l d", {"K L D", "KLD"}),
        ("the vor", {"The VOR", "The V O R"}),
        ("runway two four left", {"Runway 24 left", "Runway 24L"}),
    ],
)
def test_the_ways_to_write(said: str, texts: set[str]) -> None:
    found = written(said)
    assert texts <= found.keys()
    assert all(words == {tuple(said.split())} for words in found.values())


def test_twenty_four_and_two_four_share_a_numeral_and_nothing_else() -> None:
    found = written("two four", "twenty four")
    both = {("two", "four"), ("twenty", "four")}
    assert found["24"] == both
    assert [text for text, words in found.items() if words == both] == ["24"]


def test_a_word_of_the_domain_is_never_taken_for_another() -> None:
    assert written("nine", "higher")["Higher"] == {("higher",)}


def test_no_two_digits_are_written_alike() -> None:
    digits = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
    found = written(*digits)
    assert {len(words) for words in found.values()} == {1}
    assert set().union(*found.values()) == {(digit,) for digit in digits}
