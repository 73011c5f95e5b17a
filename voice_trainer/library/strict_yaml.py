"""A strict reader of YAML, for files that people write by hand.

A value is what the author wrote. Of plain (unquoted) scalars only `true`, `false`, `null`, nothing at all,
and decimal numbers without a leading zero become something else than text, so that `on`, `no`, `095`, `12:30`
and `1_000`, the surprises of YAML 1.1, mean what they look like. (The JSON schema of the YAML 1.2.2
specification, section 10.2, has the same list, and numbers with an exponent.) Keys are always text.

Refused, because a drill needs none of it and each can hide something: a key given twice, anchors, aliases and
merge keys, tags, `%` directives, more than one document, and control characters. Limits on size, depth and
number of nodes are checked while reading, before anything is built.

The scanner and the parser are PyYAML's; everything from its stream of events on is ours.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

import yaml

from voice_trainer.library.errors import DrillError, Problem, one_line, quoted
from voice_trainer.library.marks import Mark, Marks, Path, Scalar

MOST_BYTES = 256 * 1024
MOST_DEPTH = 20
MOST_NODES = 10_000

_Event = Any
"""One of PyYAML's events; its stubs do not know what these carry."""

Plain = dict[str, "Plain"] | list["Plain"] | str | int | float | bool | None

_INTEGER = re.compile(r"-?(?:0|[1-9][0-9]{0,14})")
_DECIMAL = re.compile(r"-?(?:0|[1-9][0-9]{0,14})\.[0-9]{1,15}")
_WORDS: dict[str, bool | None] = {"true": True, "false": False, "null": None, "": None}

# The first three ranges turn the direction of a line, or stand for nothing: what is shown would not be what is written.
_UNPRINTABLE = re.compile(
    "[\u200b-\u200f\u202a-\u202e\u2060-\u206f\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufeff\ufffe\uffff]"
)


@dataclass(frozen=True, slots=True)
class Document:
    """What a file says, as plain data, and where it says it."""

    data: Plain
    marks: Marks


def read_yaml(content: bytes, file: str, thing: str = "drill") -> Document:
    """The one document of a file's `content`; `file` is its name for messages, `thing` what it should hold.

    Raises DrillError, with the first thing that is wrong.
    """
    return _Reader(_decoded(content, file, thing), file, thing).document()


def _decoded(content: bytes, file: str, thing: str) -> str:
    if len(content) > MOST_BYTES:
        what = f"larger than {MOST_BYTES // 1024} KiB, which no {thing} needs"
        raise DrillError(Problem(file, what, f"split it into several {thing}s"))
    try:
        source = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = content[: error.start].split(b"\n")
        column = len(before[-1].decode("utf-8", errors="replace")) + 1
        what = f"byte 0x{content[error.start]:02x} is not UTF-8 text"
        raise DrillError(Problem(file, what, "save the file as UTF-8", len(before), column)) from error
    if bad := _UNPRINTABLE.search(source):
        mark = Marks(source).at(bad.start())
        what = f"character U+{ord(bad.group()):04X} can't be seen and does not belong in a {thing}"
        raise DrillError(Problem(file, what, "delete it", mark.line, mark.column))
    return source


class _Reader:
    """Builds plain data from PyYAML's events, checking as it goes."""

    def __init__(self, source: str, file: str, thing: str) -> None:
        self.file = file
        self.thing = thing
        self.marks = Marks(source)
        self.nodes = 0
        self.loader = yaml.SafeLoader(source)

    def document(self) -> Document:
        self.next(yaml.StreamStartEvent)
        first = self.next(yaml.DocumentStartEvent, yaml.StreamEndEvent)
        if isinstance(first, yaml.StreamEndEvent):
            raise self.error("the file is empty", f"write a {self.thing} into it", 1, 1)
        if first.version or first.tags:
            raise self.refuse(
                first, f"a line that begins with % is not allowed in a {self.thing}", "delete it"
            )
        data = self.node((), self.next())
        self.next(yaml.DocumentEndEvent)
        last = self.next(yaml.DocumentStartEvent, yaml.StreamEndEvent)
        if isinstance(last, yaml.DocumentStartEvent):
            raise self.refuse(
                last, "a second document begins here", f"put each {self.thing} into a file of its own"
            )
        return Document(data, self.marks)

    def next(self, *expected: type[yaml.Event]) -> _Event:
        """The next event. `expected` is what the parser promises here, checked because it is cheap."""
        try:
            event: _Event = self.loader.get_event()  # type: ignore[no-untyped-call]
        except yaml.MarkedYAMLError as error:
            raise self.unreadable(error) from error
        except (yaml.YAMLError, ValueError, OverflowError) as error:
            # ValueError and OverflowError: an escape beyond Unicode, a version number of thousands of digits.
            mark = self.loader.get_mark()
            what = "this is not YAML: an escape or a number that is too large"
            raise self.error(what, "write the character itself", mark.line + 1, mark.column + 1) from error
        assert not expected or isinstance(event, expected)
        return event

    def node(self, path: Path, event: _Event) -> Plain:
        self.check(path, event)
        self.marks.note_value(path, _mark_of(event))
        if isinstance(event, yaml.MappingStartEvent):
            return self.mapping(path)
        if isinstance(event, yaml.SequenceStartEvent):
            items: list[Plain] = []
            while not isinstance(event := self.next(), yaml.SequenceEndEvent):
                items.append(self.node((*path, len(items)), event))
            return items
        self.marks.note_scalar(path, self.scalar(event))
        return _value_of(event)

    def mapping(self, path: Path) -> Plain:
        pairs: dict[str, Plain] = {}
        while not isinstance(event := self.next(), yaml.MappingEndEvent):
            key = self.key(path, event)
            if key in pairs:
                line = self.marks.key((*path, key)).line
                what = f"{quoted(key)} is given twice (first in line {line})"
                raise self.refuse(event, what, "keep one of the two")
            inner = (*path, key)
            self.marks.note_key(inner, _mark_of(event))
            pairs[key] = self.node(inner, self.next())
        return pairs

    def key(self, path: Path, event: _Event) -> str:
        self.check(path, event)
        if not isinstance(event, yaml.ScalarEvent):
            what = "a key must be a word, not a list or a mapping"
            raise self.refuse(event, what, "put text that holds brackets or braces into quotes")
        if event.value == "<<" and event.style is None:
            raise self.refuse(
                event, f"'<<' (a merge key) is not allowed in a {self.thing}", "write the values out"
            )
        if not event.value:
            what = "a key is missing before the colon"
            raise self.refuse(event, what, "write one, or put the text into quotes")
        return self.scalar(event).text

    def scalar(self, event: _Event) -> Scalar:
        if bad := _UNPRINTABLE.search(event.value):
            what = f"character U+{ord(bad.group()):04X} can't be seen and does not belong in a {self.thing}"
            raise self.refuse(event, what, "delete its escape")
        return Scalar(event.start_mark.index, event.end_mark.index, event.style or "", event.value)

    def check(self, path: Path, event: _Event) -> None:
        """Refuse what no drill may hold, and stop at the limits."""
        self.nodes += 1
        if isinstance(event, yaml.AliasEvent):
            what = f"{quoted(f'*{event.anchor}')} (an alias) is not allowed in a {self.thing}"
            raise self.refuse(event, what, "write the value out, or put the text into quotes")
        if event.anchor is not None:
            what = f"{quoted(f'&{event.anchor}')} (an anchor) is not allowed in a {self.thing}"
            raise self.refuse(event, what, "delete it, or put the text into quotes")
        if event.tag is not None:
            what = f"a tag (a word that begins with '!') is not allowed in a {self.thing}"
            raise self.refuse(event, what, "delete it, or put the text into quotes")
        if self.nodes > MOST_NODES:
            raise self.refuse(event, f"more than {MOST_NODES} values", f"split it into several {self.thing}s")
        if len(path) >= MOST_DEPTH and not isinstance(event, yaml.ScalarEvent):
            raise self.refuse(
                event, f"nested more than {MOST_DEPTH} levels deep", f"no {self.thing} needs that many"
            )

    def refuse(self, event: _Event, what: str, advice: str) -> DrillError:
        mark = _mark_of(event)
        return self.error(what, advice, mark.line, mark.column)

    def unreadable(self, error: yaml.MarkedYAMLError) -> DrillError:
        mark = error.problem_mark or error.context_mark
        assert mark is not None
        what, advice = _in_plain_words(error.problem or error.context or "unreadable")
        if error.context_mark is not None and error.context_mark.line != mark.line:
            what += f" (in what began in line {error.context_mark.line + 1})"
        return self.error(f"this is not YAML: {what}", advice, mark.line + 1, mark.column + 1)

    def error(self, what: str, advice: str, line: int, column: int) -> DrillError:
        return DrillError(Problem(self.file, what, advice, line, column))


def _mark_of(event: _Event) -> Mark:
    return Mark(event.start_mark.line + 1, event.start_mark.column + 1)


def _value_of(event: _Event) -> Plain:
    """The value of a scalar: text, unless it is plain and one of the few exceptions."""
    text: str = event.value
    if event.style is not None:
        return text
    if text in _WORDS:
        return _WORDS[text]
    if _INTEGER.fullmatch(text):
        return int(text)
    return float(text) if _DECIMAL.fullmatch(text) else text


_COMPLAINTS: tuple[tuple[str, str, str], ...] = (
    (r"character '\\t'", "a tab", "indent with blanks"),
    (r"character (.+) that cannot start", "text can't begin with {0}", "put the whole text into quotes"),
    (
        "mapping values are not allowed",
        "a colon that does not belong here",
        "put text that holds a colon into quotes, or check the indentation",
    ),
    (
        r"expected '?<(block end|document start)>",
        "this does not belong to what stands before it",
        "check the indentation, and put text that begins with a bracket, a brace or a quote into quotes",
    ),
    ("could not find expected ':'", "a colon is missing after a key", "write it as 'key: value'"),
    ("unexpected end of stream", "a quote is not closed", "close it"),
    ("expected ',' or '([]}])'", "a comma or the closing '{0}' is missing", "add it"),
    ("unknown escape", "a backslash that means nothing", "write two of them, or use single quotes"),
    ("hexadecimal", "an escape that is not complete", "write the character itself"),
    ("sequence entries are not allowed", "a list item that does not belong here", "check the indentation"),
    ("expected the node content", "a value is missing", "write one"),
    (
        "indicator|a comment or a line break",
        "text on the line of a '|' or '>'",
        "begin the text on the next line, or put it into quotes",
    ),
    ("document separator", "'---' or '...' inside a quote", "close the quote before it"),
    ("<stream end>", "the file ends too early", "close what is open"),
)
"""PyYAML's commonest complaints, and how to say them to somebody who does not know its words."""


def _in_plain_words(problem: str) -> tuple[str, str]:
    """What is wrong and what to do, for one of PyYAML's complaints."""
    for pattern, what, advice in _COMPLAINTS:
        if found := re.search(pattern, problem):
            return what.format(*found.groups()), advice
    return one_line(problem), "check the indentation, quotes and brackets here"
