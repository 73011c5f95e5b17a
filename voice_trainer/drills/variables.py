"""The variables of a drill: what they can be, what was drawn, and every draw there is.

A variable is drawn from a range or from choices, or computed from variables before it. Chance comes from
outside, as a function from a count to an index below it, so that this room stays pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from itertools import product
from math import prod

from voice_trainer.drills.expressions import Expression, ExpressionError
from voice_trainer.drills.functions import Value

Choose = Callable[[int], int]
"""How many there are to the index (from 0) of the one that is drawn."""

MOST_VARIABLES = 50
MOST_STEPS = 100_000
"""Values of one range."""

Draw = dict[str, Value]


@dataclass(frozen=True, slots=True)
class Range:
    """`count` numbers, `step` apart."""

    first: Fraction
    step: Fraction
    count: int

    def __len__(self) -> int:
        return self.count

    def __getitem__(self, index: int) -> Value:
        return self.first + index * self.step


Drawn = Range | tuple[Value, ...]


@dataclass(frozen=True)
class Variables:
    """The variables of one drill by name, in their order; a computed one knows only those before it."""

    declared: dict[str, Drawn | Expression]

    def drawn(self, choose: Choose) -> Draw:
        """A value for every variable, but for those that can't be computed of what was drawn."""
        pools = self._pools(self.declared)
        return self.completed({name: of[choose(len(of))] for name, of in pools.items()}, self.declared)

    def needed(self, names: Iterable[str]) -> tuple[str, ...]:
        """These variables and all that they are computed from, in their order."""
        wanted = set(names)
        for name in reversed(self.declared):
            of = self.declared[name]
            if name in wanted and isinstance(of, Expression):
                wanted |= self._before(name) & of.names
        return tuple(name for name in self.declared if name in wanted)

    def count(self, names: Iterable[str]) -> int:
        """How many draws there are of these variables."""
        return prod(len(of) for of in self._pools(names).values())

    def drawn_for(self, names: Iterable[str]) -> tuple[str, ...]:
        """The drawn variables that these depend on."""
        return tuple(self._pools(names))

    def cost(self, names: Iterable[str]) -> int:
        """How many steps of arithmetic one draw of these variables takes."""
        found = [self.declared[name] for name in self.needed(names)]
        return 1 + sum(of.size if isinstance(of, Expression) else 1 for of in found)

    def every(self, names: Iterable[str]) -> Iterator[Draw]:
        """Every draw of these variables, without what is computed."""
        pools = self._pools(names)
        for indexes in product(*(range(len(of)) for of in pools.values())):
            yield {name: of[index] for (name, of), index in zip(pools.items(), indexes, strict=True)}

    def some(self, names: Iterable[str], count: int, choose: Choose) -> Iterator[Draw]:
        """The first and the last of every pool, all firsts, all lasts, then others up to `count` draws."""
        pools = self._pools(names)
        ends = [
            {name: of[0] for name, of in pools.items()},
            {name: of[len(of) - 1] for name, of in pools.items()},
        ]
        yield from ends[:count]
        for _ in range(count - len(ends)):
            # Ends are where values become illegal: every other draw takes them for every other variable.
            yield {
                name: of[choose(len(of))] if choose(3) else of[-(choose(2)) % len(of)]
                for name, of in pools.items()
            }

    def completed(self, draw: Draw, needed: Iterable[str]) -> Draw:
        """A draw of the `needed` variables, with what can be computed of it."""
        filled: Draw = {}
        for name in needed:
            of = self.declared[name]
            if not isinstance(of, Expression):
                filled[name] = draw[name]
            elif of.names <= filled.keys():
                with suppress(ExpressionError):
                    filled[name] = of.value(filled)
        return filled

    def _pools(self, names: Iterable[str]) -> dict[str, Drawn]:
        found = {name: self.declared[name] for name in self.needed(names)}
        return {name: of for name, of in found.items() if not isinstance(of, Expression)}

    def _before(self, name: str) -> set[str]:
        return set(self._order[: self._order.index(name)])

    @cached_property
    def _order(self) -> list[str]:
        return list(self.declared)
