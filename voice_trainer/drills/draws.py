"""Whether every draw of a drill's variables is legal: all draws where they are few, else a sample of them.

A text depends on some of the variables only, so its draws are often few enough to try them all. Where they are
not, or where a file computes so much that trying would take long, the ends of every range are tried, and others
between them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from voice_trainer.drills.expressions import Expression, ExpressionError
from voice_trainer.drills.slot_values import plain_text
from voice_trainer.drills.templates import Computed, Use
from voice_trainer.drills.variables import Choose, Draw, Variables

MOST_DRAWS = 5_000
"""Draws of one value that are all tried."""

FEWEST_DRAWS = 20

BUDGET_STEPS = 1_000_000
"""Steps of arithmetic that trying the draws of a whole drill may take: about a second."""


@dataclass(frozen=True, slots=True)
class Question:
    """A value whose draws are to be tried: one in a text, or a computed variable, which is in no text."""

    names: frozenset[str]
    value: Computed | Expression
    use: Use = "spoken"
    fixes: Sequence[str] = ()

    @property
    def subject(self) -> tuple[str, str, Use]:
        """The same for questions that have the same answer."""
        if isinstance(self.value, Expression):
            return "=", self.value.text, self.use
        return self.value.label, self.value.expression.text, self.use

    def try_with(self, draw: Draw) -> None:
        """Work the value out. Raises ExpressionError."""
        if isinstance(self.value, Expression):
            self.value.value(draw)
        else:
            self.value.written(draw, self.use, self.fixes)


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of trying one value: the first draw that is illegal, if one is, and how many draws were tried of how
    many."""

    error: ExpressionError | None
    draw: Draw
    draws: int
    of: int

    @property
    def is_exhaustive(self) -> bool:
        """Whether every draw was tried, or would have been."""
        return self.draws == self.of

    @property
    def told(self) -> str:
        """The draw that is illegal, and how it was found, for a message."""
        values = ", ".join(f"{name} = {_shown(value)}" for name, value in self.draw.items())
        how = f"all {self.of:,}" if self.is_exhaustive else f"a sample of {self.draws:,} of {self.of:,}"
        return f"with {values} (tried: {how} draws)" if values else "always"


def tried(variables: Variables, questions: Sequence[Question], choose: Choose) -> Iterator[Tried]:
    """What comes of each question, in order, within the budget of a drill."""
    left = BUDGET_STEPS
    # Values that depend on the same variables share their draws.
    keys = [variables.drawn_for(question.names) for question in questions]
    names: dict[tuple[str, ...], set[str]] = {}
    for key, question in zip(keys, questions, strict=True):
        names.setdefault(key, set()).update(question.names)
    whole_pools: dict[tuple[str, ...], list[Draw]] = {}
    for index, question in enumerate(questions):
        of = variables.count(question.names)
        size = (
            question.value.size if isinstance(question.value, Expression) else question.value.expression.size
        )
        cost = variables.cost(question.names) + size
        share = max(FEWEST_DRAWS, left // (cost * (len(questions) - index)))
        whole = of <= min(MOST_DRAWS, share)
        draws = of if whole else min(MOST_DRAWS // 5, share, of)
        left = max(0, left - draws * cost)
        if whole:
            key = keys[index]
            if key not in whole_pools:
                needed = variables.needed(names[key])
                whole_pools[key] = [variables.completed(draw, needed) for draw in variables.every(key)]
            pool: Iterable[Draw] = whole_pools[key]
        else:
            needed = variables.needed(question.names)
            some = variables.some(question.names, draws, choose)
            pool = (variables.completed(draw, needed) for draw in some)
        yield _first_illegal(variables, question, pool, draws, of)


def _first_illegal(
    variables: Variables, question: Question, pool: Iterable[Draw], draws: int, of: int
) -> Tried:
    for draw in pool:
        if not question.names <= draw.keys():
            continue  # a variable that can't be computed is complained about by its own question
        try:
            question.try_with(draw)
        except ExpressionError as error:
            shown = {name: draw[name] for name in variables.needed(question.names)}
            return Tried(error, shown, draws, of)
    return Tried(None, {}, draws, of)


def _shown(value: object) -> str:
    try:
        return plain_text(value)  # type: ignore[arg-type]
    except ExpressionError:
        return f"{float(value):g}"  # type: ignore[arg-type]
