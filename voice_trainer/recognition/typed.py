"""Typed text in place of speech: a hearing without doubt, its words evenly spaced."""

from __future__ import annotations

from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.reading import evenly_spaced, read_words

ENGINE = "typed"


def hear_text(text: str, grammar: Grammar, start_seconds: float, seconds_a_word: float) -> Hearing:
    """What `text` says, as if it had been spoken from `start_seconds` on; 'not a call' for no words."""
    words = text.split()
    end_seconds = round(start_seconds + seconds_a_word * len(words), 3)
    interpretations = read_words(evenly_spaced(words, start_seconds, end_seconds), grammar)
    return Hearing(
        start_seconds=start_seconds,
        end_seconds=end_seconds,
        interpretations=interpretations,
        clarity="clear" if interpretations else "not a call",
        engine=ENGINE,
    )
