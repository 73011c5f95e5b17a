"""Typed text in place of speech: a hearing without doubt, its words evenly spaced."""

from __future__ import annotations

from voice_trainer.journal.hearing import Hearing, Interpretation
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.reading import evenly_spaced, read_words

ENGINE = "typed"


def hear_text(text: str, grammar: Grammar, start_seconds: float, seconds_a_word: float) -> Hearing:
    """What `text` says, as if it had been spoken from `start_seconds` on; 'not a call' for no words."""
    words = text.split()
    end_seconds = round(start_seconds + seconds_a_word * len(words), 3)
    interpretations = read_words(evenly_spaced(words, start_seconds, end_seconds), grammar)
    if any(character.isdigit() for character in text):  # a typed figure shows no manner of speaking
        interpretations = tuple(_without_remarks(each) for each in interpretations)
    return Hearing(
        start_seconds=start_seconds,
        end_seconds=end_seconds,
        interpretations=interpretations,
        clarity="clear" if interpretations else "not a call",
        engine=ENGINE,
    )


def _without_remarks(interpretation: Interpretation) -> Interpretation:
    spans = tuple(
        span.model_copy(
            update={"meanings": tuple(m.model_copy(update={"remarks": ()}) for m in span.meanings)}
        )
        for span in interpretation.spans
    )
    return interpretation.model_copy(update={"spans": spans})
