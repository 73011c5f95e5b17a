"""The `variables` of a drill file, and the texts that use them: read, tried, and resolved by a seed.

A drill is resolved before it is validated: what the model, the sequencer and the journal get has every value
in it, and `variables` says only what was drawn.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from voice_trainer.drills.draws import Question, Tried, tried
from voice_trainer.drills.expressions import LARGEST, NAME, Expression, ExpressionError
from voice_trainer.drills.functions import Value
from voice_trainer.drills.slot_values import plain_text
from voice_trainer.drills.templates import Resolved, Template, Use
from voice_trainer.drills.variables import MOST_STEPS, MOST_VARIABLES, Draw, Drawn, Range, Variables
from voice_trainer.library.errors import Problem, quoted
from voice_trainer.library.marks import Path as Place
from voice_trainer.library.strict_yaml import Document, Plain
from voice_trainer.library.wording import problems_of

KEY = "variables"
LONGEST_TEMPLATE = 2000
MOST_CHOICES = 1000
MOST_COMPUTED = 2000
"""Values that the texts of one drill may compute."""

NUMBERS_OF_THE_AEROPLANE = (
    "distance_nm",
    "radial_degrees",
    "heading_degrees",
    "course_degrees",
    "altitude_feet",
    "airspeed_knots",
    "wind_from_degrees",
    "wind_knots",
)
_Number = Annotated[float, Field(strict=True, ge=-LARGEST, le=LARGEST, allow_inf_nan=False)]


class Declared(BaseModel):
    """What a variable is drawn from, as a file says it: a range, or choices."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    first: Annotated[
        _Number | None, Field(alias="from", description="The smallest number that is drawn.")
    ] = None
    to: Annotated[_Number | None, Field(description="The largest number that is drawn.")] = None
    step: Annotated[_Number, Field(gt=0, description="How far from one to the next.")] = 1
    choices: Annotated[
        Annotated[tuple[Any, ...], Field(min_length=1, max_length=MOST_CHOICES)] | None,
        Field(description="In place of a range: numbers or short texts, one of which is drawn."),
    ] = None


class _Declarations(BaseModel):
    variables: Annotated[dict[str, Declared], Field(max_length=MOST_VARIABLES)]


@dataclass(slots=True)
class Drawing:
    """The data of a drill file with its values drawn.

    `origins` leads from what stands in a resolved text back to the author's; `unresolved` are the places of texts
    that could not be resolved; `tried` says of every computed value how its draws were tried.
    """

    data: dict[str, Plain]
    problems: list[Problem] = field(default_factory=list)
    origins: dict[Place, Resolved] = field(default_factory=dict)
    unresolved: set[Place] = field(default_factory=set)
    tried: tuple[Tried, ...] = ()

    @property
    def is_exhaustive(self) -> bool:
        """Whether every draw of every value was tried."""
        return all(each.is_exhaustive for each in self.tried)


def drawn(document: Document, file: str, seed: int) -> Drawing:
    """The data of a drill file (lines of 'key: value') as `seed` draws them."""
    assert isinstance(document.data, dict)
    return _Drawer(document, file, document.data).drawing(seed)


class _Drawer:
    def __init__(self, document: Document, file: str, data: dict[str, Plain]) -> None:
        self.document = document
        self.file = file
        self.data = data
        self.problems: list[Problem] = []

    def drawing(self, seed: int) -> Drawing:
        declared = self.declared()
        variables = Variables(declared)
        templates = dict(self.templates())
        found = Drawing(self.resolved_copy(), self.problems)
        found.unresolved = {place for place, template in templates.items() if template is None}
        sound = not self.problems
        if self.problems:
            # What is wrong with the declarations would be said again at every use.
            found.unresolved |= set(templates)
        else:
            found.tried = tuple(self.try_out(variables, templates))
        if sound and not self.problems:
            self.resolve(variables, templates, seed, found)
        elif sound:
            found.unresolved |= {place for place, template in templates.items() if template}
        return found

    def declared(self) -> dict[str, Drawn | Expression]:
        """The usable variables; what is wrong with the others becomes a problem."""
        value = self.data.get(KEY)
        if KEY not in self.data:
            return {}
        if not isinstance(value, dict):
            self.problem(
                (KEY,), "'variables' must be lines of 'name: …'", "write 'course: {from: 1, to: 360}'"
            )
            return {}
        declared: dict[str, Drawn | Expression] = {}
        drawn_from = {name: how for name, how in value.items() if not isinstance(how, str)}
        try:
            models = _Declarations.model_validate({KEY: drawn_from}).variables
        except ValidationError as error:
            self.problems += problems_of(error, self.document, self.file, _Declarations)
            return {}
        if len(value) > MOST_VARIABLES:
            self.problem((KEY,), f"more than {MOST_VARIABLES} variables", "leave some out")
            return {}
        for name, how in value.items():
            if not NAME.fullmatch(name):
                what = f"{quoted(name)} can't be the name of a variable"
                advice = "use another: small letters, digits and underscores, a letter first"
                self.problem_at_key((KEY, name), what, advice)
            elif isinstance(how, str):
                expression = self.computed(name, how, set(declared), set(value))
                if expression is not None:
                    declared[name] = expression
            else:
                pool = self.pool(name, models[name])
                if pool is not None:
                    declared[name] = pool
        return declared

    def computed(self, name: str, how: str, before: set[str], names: set[str]) -> Expression | None:
        place: Place = (KEY, name)
        text = how.strip()
        if not text.startswith("="):
            what = f"'{name}' is neither drawn nor computed"
            self.problem(place, what, "write {from: 1, to: 360}, {choices: [...]} or =reciprocal(course)")
            return None
        start = how.index("=") + 1
        try:
            expression = Expression.of(text[1:])
            unknown = sorted(expression.names - before)
            if unknown:
                declared = unknown[0] in names
                what = f"'{unknown[0]}' is {'declared only below' if declared else 'no variable'}"
                at = re.search(rf"\b{unknown[0]}\b", text[1:]).start()  # type: ignore[union-attr]
                raise ExpressionError(what, "declare it before this one", at)
        except ExpressionError as error:
            self.problem_inside(place, start + error.at, error.what, error.advice)
            return None
        return expression

    def pool(self, name: str, model: Declared) -> Drawn | None:
        place: Place = (KEY, name)
        if model.choices is not None:
            if model.model_fields_set - {"choices"}:
                self.problem(place, f"'{name}' has choices and a range", "keep one of the two")
                return None
            return self.choices(name, model.choices)
        if model.first is None or model.to is None:
            self.problem(
                place, f"'{name}' has neither a range nor choices", "write 'from' and 'to', or 'choices'"
            )
            return None
        first, last, step = (Fraction(str(number)) for number in (model.first, model.to, model.step))
        steps = (last - first) / step
        if steps < 0:
            self.problem(place, f"'{name}' begins above its end", "write the smaller number after 'from'")
        elif steps.denominator != 1:
            self.problem(
                place,
                f"'{name}' never comes to {model.to:g} in steps of {model.step:g}",
                "change 'to' or 'step'",
            )
        elif steps >= MOST_STEPS:
            self.problem(place, f"'{name}' has more than {MOST_STEPS:,} values", "use a larger 'step'")
        else:
            return Range(first, step, int(steps) + 1)
        return None

    def choices(self, name: str, choices: tuple[Any, ...]) -> Drawn | None:
        values: list[Value] = []
        for index, choice in enumerate(choices):
            place: Place = (KEY, name, "choices", index)
            if isinstance(choice, str) and 0 < len(choice) <= 100 and not set(choice) & set("{}[]()|"):
                values.append(choice)
            elif isinstance(choice, int | float) and not isinstance(choice, bool) and abs(choice) <= LARGEST:
                values.append(Fraction(str(choice)))
            else:
                what = f"item {index + 1} of 'choices' must be a number or a short text without brackets"
                self.problem(place, what, "write one such as 110, left or '22 in'")
        return tuple(values) if len(values) == len(choices) else None

    def templates(self) -> Iterator[tuple[Place, Template | None]]:
        """Every text of the drill that computes something; None for one that can't be read."""
        for place, text, use in _texts(self.data):
            if "=" not in text or len(text) > LONGEST_TEMPLATE:
                continue
            try:
                template = Template.of(text, use)
            except ExpressionError as error:
                self.problem_inside(place, error.at, error.what, error.advice)
                yield place, None
            else:
                if template.computed:
                    yield place, template

    def try_out(self, variables: Variables, templates: dict[Place, Template | None]) -> Iterator[Tried]:
        """Every value of every text, over its draws; what is illegal becomes a problem."""
        fixes = self.fixes()
        asked: list[tuple[Place, int, Question]] = []
        for name, how in variables.declared.items():
            if isinstance(how, Expression):
                written = str(self.document.marks.written((KEY, name)))
                asked.append(((KEY, name), written.index("=") + 1, Question(how.names, how)))
        known = set(variables.declared)
        for place, template in templates.items():
            for each in template.computed if template else ():
                unknown = each.expression.names - known
                if unknown:
                    try:
                        each.expression.value(dict.fromkeys(known, Fraction(1)))
                    except ExpressionError as error:
                        self.problem_inside(place, each.expression_at + error.at, error.what, error.advice)
                    continue
                question = Question(
                    each.expression.names, each, template.use if template else "spoken", fixes
                )
                asked.append((place, each.expression_at, question))
        if len(asked) > MOST_COMPUTED:
            place, start, _ = asked[MOST_COMPUTED]
            self.problem_inside(
                place, start, f"more than {MOST_COMPUTED:,} computed values", "split it into several drills"
            )
            return
        # What stands in several texts is tried once.
        distinct = {question.subject: question for *_, question in asked}
        chance = random.Random(0)
        came_of = dict(
            zip(distinct, tried(variables, list(distinct.values()), chance.randrange), strict=True)
        )
        for place, start, question in asked:
            came = came_of[question.subject]
            if came.error is not None:
                what = f"{came.error.what} {came.told}"
                self.problem_inside(place, start + came.error.at, what, came.error.advice)
            yield came

    def resolve(
        self, variables: Variables, templates: dict[Place, Template | None], seed: int, found: Drawing
    ) -> None:
        """Draw, and put the values into the copy of the data."""
        values = variables.drawn(random.Random(f"variables {seed}").randrange)
        if self.not_computed(variables, values, seed):
            found.unresolved |= set(templates)
            return
        if variables.declared:
            found.data[KEY] = {name: _recorded(value) for name, value in values.items()}
        for place, template in templates.items():
            assert template is not None
            try:
                resolved = template.resolved(values, self.fixes())
            except ExpressionError as error:  # a draw that was not in the sample
                found.unresolved.add(place)
                self.problem_inside(place, error.at, f"{error.what} {_unseen(seed)}", error.advice)
                continue
            found.origins[place] = resolved
            text: Plain = resolved.text
            if place[0] == "aeroplane":
                text = float(Fraction(resolved.text)) if _is_number(resolved.text) else resolved.text
            _put(found.data, place, text)

    def not_computed(self, variables: Variables, values: Draw, seed: int) -> bool:
        """Whether a variable could not be computed of what was drawn, which is a problem then."""
        for name, how in variables.declared.items():
            if name in values or not isinstance(how, Expression):
                continue
            try:
                how.value(values)
            except ExpressionError as error:
                start = str(self.document.marks.written((KEY, name))).index("=") + 1
                what = f"{error.what} {_unseen(seed)}"
                self.problem_inside((KEY, name), start + error.at, what, error.advice)
                return True
        return False

    def resolved_copy(self) -> dict[str, Plain]:
        copied = _copied(self.data)
        assert isinstance(copied, dict)
        copied.pop(KEY, None)
        return copied

    def fixes(self) -> tuple[str, ...]:
        value = self.data.get("fixes")
        return tuple(str(fix) for fix in value) if isinstance(value, list) else ()

    def problem(self, place: Place, what: str, advice: str) -> None:
        mark = self.document.marks.value(place)
        self.problems.append(Problem(self.file, what, advice, mark.line, mark.column))

    def problem_at_key(self, place: Place, what: str, advice: str) -> None:
        mark = self.document.marks.key(place)
        self.problems.append(Problem(self.file, what, advice, mark.line, mark.column))

    def problem_inside(self, place: Place, offset: int, what: str, advice: str) -> None:
        mark = self.document.marks.inside(place, offset)
        self.problems.append(Problem(self.file, what, advice, mark.line, mark.column))


def _texts(data: dict[str, Plain]) -> Iterator[tuple[Place, str, Use]]:
    """Every text of a drill in which values can be computed, its place, and what it is for."""
    aeroplane = data.get("aeroplane")
    if isinstance(aeroplane, dict):
        for name in NUMBERS_OF_THE_AEROPLANE:
            yield from _text(aeroplane, ("aeroplane",), name, "condition")
    steps = data.get("steps")
    for index, step in enumerate(steps if isinstance(steps, list) else ()):
        if not isinstance(step, dict):
            continue
        place: Place = ("steps", index)
        yield from _text(step, place, "when", "condition")
        yield from _text(step, place, "lead_in", "spoken")
        cue, flow = step.get("cue"), step.get("flow")
        if isinstance(cue, dict):
            yield from _text(cue, (*place, "cue"), "say", "spoken")
        calls = flow.get("calls") if isinstance(flow, dict) else None
        for number, call in enumerate(calls if isinstance(calls, list) else ()):
            if isinstance(call, dict):
                inner = (*place, "flow", "calls", number)
                yield from _text(call, inner, "say", "spoken")
                yield from _text(call, inner, "answers", "spoken")
                yield from _text(call, inner, "ask", "spoken")
                yield from _text(call, inner, "because", "shown")
                window = call.get("window")
                if isinstance(window, dict):
                    yield from _text(window, (*inner, "window"), "opens", "condition")
                    yield from _text(window, (*inner, "window"), "closes", "condition")


def _text(part: dict[str, Plain], place: Place, key: str, use: Use) -> Iterator[tuple[Place, str, Use]]:
    value = part.get(key)
    if isinstance(value, str):
        yield (*place, key), value, use


def _unseen(seed: int) -> str:
    return f"with seed {seed}, which no draw that was tried had shown"


def _recorded(value: Value) -> str:
    try:
        return plain_text(value)
    except ExpressionError:
        assert isinstance(value, Fraction)
        return f"{float(value):.6f}"


def _is_number(text: str) -> bool:
    try:
        Fraction(text)
    except (ValueError, ZeroDivisionError):
        return False
    return True


def _copied(value: Plain) -> Plain:
    if isinstance(value, dict):
        return {name: _copied(inner) for name, inner in value.items()}
    return [_copied(inner) for inner in value] if isinstance(value, list) else value


def _put(data: Plain, place: Place, value: Plain) -> None:
    for name in place[:-1]:
        data = data[name]  # type: ignore[index]
    data[place[-1]] = value  # type: ignore[index]
