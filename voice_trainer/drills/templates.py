"""Texts with values that are drawn or computed: `{heading: =reciprocal(course)}`, `{=side}`.

A text is cut into pieces once; `resolved` puts values in. How a value is written depends on what the text is
for: in one that is spoken it stays a slot (`{heading: 153}`), so that numbers are said as the trade says them; in
one that is read, a reason or the name of an event, it is the bare value (`153`).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from voice_trainer.drills.expressions import Expression, ExpressionError
from voice_trainer.drills.functions import Value
from voice_trainer.drills.slot_values import plain_text, shown_text, slot_text, word_text
from voice_trainer.phraseology.slots import UnknownSlotTypeError, slot_type

Use = Literal["spoken", "shown", "condition"]

_SLOT = re.compile(r"\{(?:(?P<label>[^{}:=]*):)?\s*=(?P<expression>[^{}]*)\}")


@dataclass(frozen=True, slots=True)
class Computed:
    """A value in a text: its slot type ('' for none), its expression, and where both stand in the text."""

    label: str
    expression: Expression
    at: int
    ends: int
    expression_at: int

    def written(self, values: Mapping[str, Value], use: Use, fixes: Sequence[str] = ()) -> str:
        """What stands in the text instead. Raises ExpressionError, its place counted from the expression."""
        value = self.expression.value(values)
        if not self.label:
            return word_text(value) if use == "spoken" else plain_text(value)
        if use == "shown":
            return shown_text(self.label, value, fixes)
        text = slot_text(self.label, value, fixes)
        return f"{{{self.label}: {text}}}" if use == "spoken" else text


@dataclass(frozen=True, slots=True)
class Resolved:
    """A text with its values in it, and for each piece where it begins: here, in the author's text, and whether it
    is a value."""

    text: str
    pieces: tuple[tuple[int, int, bool], ...]

    def origin(self, offset: int) -> int:
        """Where the author wrote what stands at `offset`; of a value, where its slot begins."""
        begins, at, is_value = next(piece for piece in reversed(self.pieces) if piece[0] <= offset)
        return at if is_value else at + offset - begins


@dataclass(frozen=True, slots=True)
class Template:
    """A text and what is computed in it, in order."""

    text: str
    use: Use
    computed: tuple[Computed, ...]

    @classmethod
    def of(cls, text: str, use: Use) -> Template:
        """Read a text. Raises ExpressionError with a place in it."""
        found = []
        for slot in _SLOT.finditer(text):
            label, at = (slot["label"] or "").strip(), slot.start("expression")
            if slot["label"] is not None:
                label_at = slot.start("label") + len(slot["label"]) - len(slot["label"].lstrip())
                _check_label(label, label_at)
            try:
                expression = Expression.of(slot["expression"])
            except ExpressionError as error:
                raise ExpressionError(error.what, error.advice, at + error.at) from None
            found.append(Computed(label, expression, slot.start(), slot.end(), at))
        return cls(text, use, tuple(found))

    def resolved(self, values: Mapping[str, Value], fixes: Sequence[str] = ()) -> Resolved:
        """The text with its values. Raises ExpressionError with a place in the author's text."""
        out: list[str] = []
        pieces: list[tuple[int, int, bool]] = [(0, 0, False)]
        at = length = 0
        for each in self.computed:
            try:
                value = each.written(values, self.use, fixes)
            except ExpressionError as error:
                raise ExpressionError(error.what, error.advice, each.expression_at + error.at) from None
            out += [self.text[at : each.at], value]
            length += each.at - at
            pieces.append((length, each.at, True))
            length += len(value)
            at = each.ends
            pieces.append((length, at, False))
        return Resolved("".join([*out, self.text[at:]]), tuple(pieces))


def _check_label(label: str, at: int) -> None:
    if not label:
        raise ExpressionError("a slot needs a type before its colon", "write {heading: =course}", at)
    try:
        slot_type(label)
    except UnknownSlotTypeError as error:
        what, _, advice = str(error).partition(": ")
        raise ExpressionError(what, advice, at) from None
