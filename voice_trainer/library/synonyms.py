"""Declared synonyms, of a drill or of a house: what can be used of them, and what is wrong with the rest."""

from __future__ import annotations

from collections.abc import Iterator

from voice_trainer.library.errors import Problem, one_line
from voice_trainer.library.marks import Mark
from voice_trainer.library.strict_yaml import Document, Plain
from voice_trainer.phraseology.pattern import PatternError, compile_pattern

Synonyms = dict[str, tuple[str, ...]]


def synonyms_in(value: Plain) -> Synonyms:
    """What can be used of the synonyms of a file that may not be valid."""
    return {
        word: tuple(other for other in others if isinstance(other, str))
        for word, others in (value.items() if isinstance(value, dict) else ())
        if isinstance(others, list)
    }


def united(one: Synonyms, other: Synonyms) -> Synonyms:
    """The synonyms of both; where both declare some for the same words, all of them."""
    return {
        word: tuple(dict.fromkeys((*one.get(word, ()), *other.get(word, ())))) for word in {**one, **other}
    }


def unreadable_synonyms(synonyms: Synonyms, document: Document, file: str) -> Iterator[Problem]:
    """What is wrong with the synonyms: each is tried alone, in a pattern that nothing else is wrong with."""
    for written, others in synonyms.items():
        try:
            compile_pattern("check", synonyms={written: others})
        except PatternError as error:
            yield pattern_problem(error, document.marks.key(("synonyms", written)), file)


def pattern_problem(error: PatternError, mark: Mark, file: str) -> Problem:
    """A complaint about a pattern; what to do, where it says so, stands behind its first colon."""
    what, _, advice = one_line(error.reason).partition(": ")
    return Problem(file, what, advice or "correct it", mark.line, mark.column)
