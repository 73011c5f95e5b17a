"""Values worked out in a drill file: `reciprocal(course)`, `round(distance / speed * 3600)`.

A language of its own, so that a file can compute and do nothing else: numbers, the drill's variables, + - * /,
brackets, and the functions of `functions`. Numbers are exact fractions. Length, depth and size are limited, so
that no expression takes long. `Expression.of` reads one; `value` works it out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from voice_trainer.drills.functions import FUNCTIONS, FunctionError, Value
from voice_trainer.phraseology.counting import counted
from voice_trainer.phraseology.registry import nearest

LONGEST = 200
"""Characters of one expression."""

DEEPEST = 16
"""Brackets within brackets."""

LARGEST = 10**9
"""No number of the trade is larger, nor is any step on the way to one."""

FINEST = 10**15
"""The largest denominator; what is finer has to be rounded on the way."""

NAME = re.compile(r"[a-z][a-z0-9_]{0,30}")

_TOKEN = re.compile(r"\s*(?:(?P<number>[0-9]+(?:\.[0-9]+)?)|(?P<name>[^\W\d]\w*)|(?P<sign>[-+*/(),]))")
_SIGNS = "write numbers, variables, + - * / and brackets"


class ExpressionError(ValueError):
    """An expression that can't be read or worked out: what, what to do, and at which character (from 0)."""

    def __init__(self, what: str, advice: str, at: int = 0) -> None:
        super().__init__(f"{what}; {advice}")
        self.what = what
        self.advice = advice
        self.at = at


@dataclass(frozen=True, slots=True)
class _Number:
    value: Fraction
    at: int


@dataclass(frozen=True, slots=True)
class _Variable:
    name: str
    at: int


@dataclass(frozen=True, slots=True)
class _Operation:
    """`left` is None for a sign in front of a value."""

    sign: str
    left: _Node | None
    right: _Node
    at: int


@dataclass(frozen=True, slots=True)
class _Call:
    function: str
    arguments: tuple[_Node, ...]
    at: int


_Node = _Number | _Variable | _Operation | _Call
_Part = Callable[[], _Node]


@dataclass(frozen=True, slots=True)
class Expression:
    """One expression, read. `names` are its variables, `size` how many steps it takes to work out."""

    text: str
    names: frozenset[str]
    size: int
    _node: _Node

    @classmethod
    def of(cls, text: str) -> Expression:
        """Read `text`, the '=' in front of it left out. Raises ExpressionError."""
        if len(text) > LONGEST:
            raise ExpressionError(
                f"the expression is longer than {LONGEST} characters", "compute a part of it in a variable"
            )
        reader = _Reader(text)
        node = reader.whole()
        return cls(text.strip(), frozenset(reader.names), reader.size, node)

    def value(self, values: Mapping[str, Value]) -> Value:
        """What it comes to. Raises ExpressionError, also for a variable that is not among `values`."""
        return _worked_out(self._node, values)


class _Reader:
    """Recursive descent over one text."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.depth = 0
        self.size = 0
        self.names: set[str] = set()

    def whole(self) -> _Node:
        if not self.text.strip():
            raise ExpressionError(
                "an expression is missing after '='", "write one, as in =reciprocal(course)"
            )
        node = self.sum()
        if self.peek()[0]:
            kind, word, at = self.peek()
            raise ExpressionError(f"{word!r} does not belong here", _advice(kind, word), at)
        return node

    def peek(self) -> tuple[str, str, int]:
        """Kind, text and place of the next token; kind is '' at the end."""
        found = _TOKEN.match(self.text, self.at)
        if found is None:
            rest = self.text[self.at :]
            at = self.at + len(rest) - len(rest.lstrip())
            if rest.strip():
                raise ExpressionError(f"{self.text[at]!r} means nothing here", _SIGNS, at)
            return "", "", len(self.text.rstrip())
        kind = str(found.lastgroup)
        return kind, found[kind], found.start(kind)

    def take(self) -> tuple[str, str, int]:
        token = self.peek()
        found = _TOKEN.match(self.text, self.at)
        self.at = found.end() if found else len(self.text)
        return token

    def sum(self) -> _Node:
        return self.chain("+-", lambda: self.chain("*/", self.signed))

    def chain(self, signs: str, part: _Part) -> _Node:
        node = part()
        while True:
            kind, sign, at = self.peek()
            if kind != "sign" or sign not in signs:
                return node
            self.take()
            self.size += 1
            node = _Operation(sign, node, part(), at)

    def signed(self) -> _Node:
        kind, sign, at = self.peek()
        if kind != "sign" or sign != "-":
            return self.atom()
        self.take()
        self.size += 1
        self.deeper(at)
        node = _Operation("-", None, self.signed(), at)
        self.depth -= 1
        return node

    def atom(self) -> _Node:
        kind, word, at = self.take()
        self.size += 1
        if kind == "number":
            if len(word) > 12:
                raise ExpressionError(f"{word!r} is too long for a number", "write up to 12 figures", at)
            return _Number(Fraction(word), at)
        if kind == "name":
            return self.call(word, at) if self.peek()[1] == "(" else self.variable(word, at)
        if word == "(":
            self.deeper(at)
            node = self.sum()
            self.close(at)
            return node
        if not kind:
            raise ExpressionError("the expression ends too early", "write the value that is missing", at)
        raise ExpressionError(f"a value is missing before {word!r}", "write it", at)

    def variable(self, name: str, at: int) -> _Node:
        if not NAME.fullmatch(name):
            raise ExpressionError(
                f"{name[:40]!r} can't be a variable", "use small letters, digits and underscores", at
            )
        self.names.add(name)
        return _Variable(name, at)

    def call(self, name: str, at: int) -> _Node:
        function = FUNCTIONS.get(name)
        if function is None:
            close = nearest(name, tuple(FUNCTIONS))
            advice = f"did you mean {close}?" if close else f"there are {', '.join(FUNCTIONS)}"
            raise ExpressionError(f"there is no function {name[:40]!r}", advice, at)
        opened = self.take()[2]
        self.deeper(opened)
        arguments: list[_Node] = []
        if self.peek()[1] != ")":
            arguments.append(self.sum())
            while self.peek()[1] == ",":
                self.take()
                arguments.append(self.sum())
        self.close(opened)
        if not function.takes(len(arguments)):
            what = f"'{name}' can't have {counted(len(arguments), 'value')}"
            raise ExpressionError(what, f"write {function.written}", at)
        return _Call(name, tuple(arguments), at)

    def deeper(self, at: int) -> None:
        self.depth += 1
        if self.depth > DEEPEST:
            raise ExpressionError(
                f"brackets and signs are nested deeper than {DEEPEST}",
                "compute a part of it in a variable",
                at,
            )

    def close(self, opened: int) -> None:
        kind, word, at = self.peek()
        if word != ")":
            if kind:
                raise ExpressionError(f"{word!r} does not belong here", _advice(kind, word), at)
            raise ExpressionError("'(' is not closed", "add the closing ')'", opened)
        self.take()
        self.depth -= 1


def _advice(kind: str, word: str) -> str:
    if word == ")":
        return "it closes nothing: delete it"
    return "delete it" if kind == "sign" else "write + - * or / before it, or delete it"


def _worked_out(node: _Node, values: Mapping[str, Value]) -> Value:
    match node:
        case _Number(value=value):
            return value
        case _Variable(name=name, at=at):
            if name not in values:
                close = nearest(name, tuple(values))
                advice = f"did you mean {close}?" if close else "declare it under 'variables', before its use"
                if name in FUNCTIONS:
                    advice = f"write {FUNCTIONS[name].written}"
                raise ExpressionError(f"there is no variable '{name}' here", advice, at)
            return values[name]
        case _Call(function=name, arguments=arguments, at=at):
            found = [_worked_out(argument, values) for argument in arguments]
            try:
                return _bounded(FUNCTIONS[name].apply(found), at)
            except FunctionError as error:
                raise ExpressionError(error.what, error.advice, at) from None
        case _Operation(sign=sign, left=left, right=right, at=at):
            one = Fraction(0) if left is None else _number(left, values)
            other = _number(right, values)
            if sign == "/" and other == 0:
                raise ExpressionError("this divides by zero", "check the values below the '/'", at)
            return _bounded(_combined(sign, one, other), at)


def _combined(sign: str, one: Fraction, other: Fraction) -> Fraction:
    if sign == "+":
        return one + other
    if sign == "-":
        return one - other
    return one * other if sign == "*" else one / other


def _number(node: _Node, values: Mapping[str, Value]) -> Fraction:
    value = _worked_out(node, values)
    if isinstance(value, str):
        what = f"nothing can be computed with the text '{value}'"
        raise ExpressionError(what, "give numbers without quotes and leading zeros", node.at)
    return value


def _bounded(value: Value, at: int) -> Value:
    if isinstance(value, Fraction):
        if abs(value) > LARGEST:
            raise ExpressionError(f"this comes to more than {LARGEST:,}", "no value of the trade does", at)
        if value.denominator > FINEST:
            raise ExpressionError("this has too many decimals", "round it on the way: round(..., 0.001)", at)
    return value
