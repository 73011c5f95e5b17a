"""Every right way to say a call, from its pattern and the forms of its values, without the program's search."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from hypothesis import strategies as st

from tests.phraseology.legal_values import LEGAL_VALUES
from voice_trainer.phraseology.forms import Either, Form, Said, Styled, Then
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word
from voice_trainer.phraseology.slots import slot_type


@cache
def wordings(type_name: str, value: str) -> tuple[tuple[str, ...], ...]:
    """Every way to say a value of this type."""
    kind = slot_type(type_name)
    assert kind.form is not None
    found = {
        words
        for text in kind.spellings(value)
        for words, rest in _said_for(kind.form, text)
        if not rest and (read := kind.value(words)) is not None and read[0] == value
    }
    return tuple(sorted(found))


def _said_for(form: Form, text: str) -> Iterator[tuple[tuple[str, ...], str]]:
    """The words of a form that stand for a beginning of `text`, and the rest of it."""
    match form:
        case Said(words, meant):
            if text.startswith(meant):
                yield words, text.removeprefix(meant)
        case Styled(part):
            yield from _said_for(part, text)
        case Either(options):
            for option in options:
                yield from _said_for(option, text)
        case Then(parts):
            yield from _in_order(parts, text)


def _in_order(parts: tuple[Form, ...], text: str) -> Iterator[tuple[tuple[str, ...], str]]:
    if not parts:
        yield (), text
        return
    for words, rest in _said_for(parts[0], text):
        for more, last in _in_order(parts[1:], rest):
            yield words + more, last


@st.composite
def right_readings(draw: st.DrawFn, node: Node) -> tuple[str, ...]:
    """Any right way to say a call: any option, optional parts or not, a value in any of its forms."""
    match node:
        case Word(text):
            return (text,)
        case Slot(_, kind, str(value)):
            return draw(st.sampled_from(wordings(kind, value)))
        case Slot(_, kind, None):  # any value is right
            return draw(st.sampled_from(wordings(kind, draw(st.sampled_from(LEGAL_VALUES[kind])))))
        case Sequence(parts):
            return tuple(word for part in parts for word in draw(right_readings(part)))
        case Choice(options):
            return draw(right_readings(draw(st.sampled_from(options))))
        case Maybe(part, unsaid):
            return draw(right_readings(part)) if unsaid == "owed" or draw(st.booleans()) else ()
    raise AssertionError(node)
