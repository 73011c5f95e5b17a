"""What is wrong with the values of a drill, in the words of somebody who writes one.

The model's own complaints speak of models, tuples and regular expressions; here they become a `Problem` each,
at the line and column of the key or value that they are about.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from rapidfuzz import fuzz, process

from voice_trainer.drills.conditions import OF_THE_DRILL
from voice_trainer.drills.model import Drill
from voice_trainer.flight.conditions import KINDS
from voice_trainer.library.errors import Problem, one_line, quoted
from voice_trainer.library.marks import Mark, Path
from voice_trainer.library.strict_yaml import Document, Plain

_FORMS = {
    r"^[a-z0-9][a-z0-9 -]{0,60}$": "use up to 61 small letters, digits, blanks and hyphens",
    r"^[a-z0-9][a-z0-9-]{0,60}$": "use up to 61 small letters, digits and hyphens",
    r"^[a-z0-9][a-z0-9-]{0,60}(/[a-z0-9][a-z0-9-]{0,60})?$": "use up to 61 small letters, digits and hyphens",
    r"^[a-z0-9][a-z0-9-]{0,60}\.yaml$": "name a file as in my-drill.yaml: small letters, digits and hyphens",
    r"^[0-9A-Za-z][0-9A-Za-z.+-]{0,30}$": 'use up to 31 letters, digits, dots and hyphens, as in "1.0"',
    r"^[a-z']+( [a-z']+){0,5}$": "use up to six words of small letters, figures as words, too",
    r"^[A-Z]{2,3}$": "use two or three capital letters",
}
_BOUNDS = {
    "greater_than": ("gt", "more than"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "less than"),
    "less_than_equal": ("le", "at most"),
}
SLIP = 75.0
"""How like one another, of 100, a condition and what was written for it must be: 'crossing' is no slip of 'passing'."""

_NUMBERS = ("float", "int", "finite")


def problems_of(
    error: ValidationError, document: Document, file: str, model: type[BaseModel] = Drill
) -> list[Problem]:
    """Everything that `model` found wrong with the data of `document`."""
    complaints = error.errors(include_url=False)
    misspelt = {
        (*path[:-1], nearest(str(path[-1]), _keys_known_at(path[:-1], model)))
        for path in (each["loc"] for each in complaints if each["type"] == "extra_forbidden")
    }
    return [
        _problem(each, document, file, model)
        for each in complaints
        # A key that is missing because it is misspelt is one fault, not two.
        if not _is_echo(each, document) and not (each["type"] == "missing" and each["loc"] in misspelt)
    ]


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that `name` is most likely a slip of, or None if it is like none of them."""
    best = process.extractOne(name.lower(), list(known), scorer=fuzz.ratio, score_cutoff=60)
    return None if best is None else str(best[0])


def listed(names: Iterable[str]) -> str:
    """'a', 'a or b', 'a, b or c'."""
    *most, last = list(names) or ["(none)"]
    return f"{', '.join(most)} or {last}" if most else last


def _is_echo(complaint: Any, document: Document) -> bool:
    """Whether a list is called too short only because what is wrong with its items left none to count."""
    return complaint["type"] == "too_short" and bool(_at(document.data, complaint["loc"]))


def _problem(complaint: Any, document: Document, file: str, model: type[BaseModel]) -> Problem:
    kind: str = complaint["type"]
    path: Path = complaint["loc"]
    marks = document.marks
    if kind == "missing":
        what, advice = f"the key '{path[-1]}' is missing here", f"add a line '{path[-1]}: …'"
        mark = marks.value(path[:-1])
    elif kind == "extra_forbidden":
        what, advice = _unknown_key(path, model)
        mark = marks.key(path)
    elif kind == "value_error":
        message = one_line(str(complaint["ctx"]["error"]))
        what, _, advice = message.partition("; ")
        advice = _likely_condition(message) or advice or "correct it"
        mark = _pointed_at(message, document) if not path else marks.value(path)
    else:
        what, advice = _wrong_value(kind, path, complaint.get("ctx") or {}, document)
        mark = marks.value(path)
    return Problem(file, what, advice, mark.line, mark.column)


def _likely_condition(message: str) -> str | None:
    """The condition that an unknown one is a slip of, with what followed it."""
    if "' is no condition" not in message:
        return None
    words = message[1 : message.index("' is no condition")].split()
    slips = {
        f"{likely} {' '.join(words[taken:])}".strip(): fuzz.ratio(begun, likely)
        for taken in (1, 2)
        for begun in [" ".join(words[:taken]).lower()]
        if len(words) >= taken and (likely := nearest(begun, (*OF_THE_DRILL, *KINDS)))
    }
    best = max(slips, key=lambda each: slips[each], default="")
    return f"did you mean '{best}'?" if slips.get(best, 0.0) >= SLIP else None


def _unknown_key(path: Path, model: type[BaseModel]) -> tuple[str, str]:
    known = sorted(_keys_known_at(path[:-1], model))
    likely = nearest(str(path[-1]), known)
    advice = f"did you mean '{likely}'?" if likely else f"use {listed(known)}"
    return f"unknown key {quoted(path[-1])}", advice


def _keys_known_at(path: Path, model: type[BaseModel]) -> set[str]:
    """The keys that the part of a `model` at `path` may have."""
    for name in path:
        if isinstance(name, str) and name in model.model_fields:
            model = _model_in(model.model_fields[name].annotation) or model
    return {each.alias or name for name, each in model.model_fields.items()}


def _model_in(annotation: Any) -> type[BaseModel] | None:
    """The model inside an annotation such as `Annotated[tuple[Step, ...], …]` or `Cue | None`."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for inner in get_args(annotation) if (found := _model_in(inner))), None)


def _wrong_value(kind: str, path: Path, context: dict[str, Any], document: Document) -> tuple[str, str]:
    """What and advice for a value of the wrong type, size or form."""
    name, value, shown = _name_of(path), _at(document.data, path), _shown(path, document)
    if kind in _BOUNDS:
        key, words = _BOUNDS[kind]
        return f"{name} must be {words} {context[key]:g}, not {shown}", "change the number"
    match kind:
        case "string_type" if value is None:
            return f"{name} has no value", "write it, or delete the key"
        case "string_type":
            return f"{name} must be text, not {shown}", _advice_on_text(value, shown)
        case "string_too_short":
            return f"{name} is empty", "write it, or delete the key"
        case "string_too_long":
            return f"{name} is longer than {context['max_length']} characters", "shorten it"
        case "string_pattern_mismatch":
            return f"{name} can't be {shown}", _FORMS.get(context["pattern"], "write it in another form")
        case "too_short":
            return f"{name} must have at least {context['min_length']} item", "add one"
        case "too_long":
            return f"{name} has more than {context['max_length']} items", "leave some out"
        case "tuple_type" | "list_type":
            return f"{name} must be a list, not {shown}", "begin each item with '- ' on a line of its own"
        case "dict_type" | "model_type" | "model_attributes_type":
            return f"{name} must be lines of 'key: value', not {shown}", "write its keys below it, indented"
        case "literal_error":
            choices = str(context["expected"])
            likely = nearest(str(value), choices.split("'")[1::2])
            advice = f"did you mean '{likely}'?" if likely else f"use {one_line(choices)}"
            return f"{name} can't be {shown}", advice
        case "union_tag_invalid":
            choices, key = str(context["expected_tags"]), str(context["discriminator"])
            likely = nearest(str(context["tag"]), choices.split("'")[1::2])
            advice = f"did you mean '{likely}'?" if likely else f"use {one_line(choices)}"
            return f"{key} of {name} can't be '{one_line(str(context['tag']))}'", advice
        case "union_tag_not_found":
            return f"{name} lacks the key {context['discriminator']}", "add it"
    if kind.startswith("bool"):
        return f"{name} must be true or false, not {shown}", "write one of the two"
    if kind.startswith(_NUMBERS):
        return f"{name} must be a number, not {shown}", "write one such as 8 or 2.5, without a unit"
    return f"{name} can't be {shown}", "correct it"


def _advice_on_text(value: Plain, shown: str) -> str:
    if isinstance(value, dict | list):
        return "put text that begins with a bracket or a brace into quotes"
    return f"put it into quotes: '{shown}'"


def _name_of(path: Path) -> str:
    """How a message speaks of the value at `path`."""
    if not path:
        return "the file"
    if isinstance(path[-1], str):
        return quoted(path[-1])
    return f"item {path[-1] + 1} of {_name_of(path[:-1])}"


def _shown(path: Path, document: Document) -> str:
    """The value at `path` as a message repeats it."""
    value = _at(document.data, path)
    match value:
        case None:
            return "nothing"
        case dict():
            return "lines of 'key: value'"
        case list():
            return "a list"
        case str():
            return quoted(value)
    return str(document.marks.written(path))


def _at(data: Plain, path: Path) -> Plain:
    for name in path:
        if isinstance(data, dict) and isinstance(name, str):
            data = data.get(name)
        elif isinstance(data, list) and isinstance(name, int) and name < len(data):
            data = data[name]
        else:
            return None
    return data


def _pointed_at(message: str, document: Document) -> Mark:
    """Where a complaint about the drill as a whole ("two steps are called 'gear'") points.

    Such a complaint comes without a place, but quotes what it is about: of the values that read like its last
    quotation, it is the second where the complaint is of two, within the step that it quotes first.
    """
    quotations = message.split("'")[1::2]
    if not quotations:
        return Mark(1, 1)
    within: Path = ()
    if len(quotations) > 1:
        names = (path for path, text in document.marks.scalars() if text == quotations[0])
        within = next((path[:-1] for path in names if path[-1:] == ("step",)), ())
    places = [
        path
        for path, text in document.marks.scalars()
        if text == quotations[-1] and path[: len(within)] == within
    ]
    if "does" in message.split():
        places = [path for path in places if path[-1] == "does"]
    if "two" in message.split():
        places = [path for path in places if path[-1] in ("step", "call")][1:]
    return document.marks.value(places[0] if places else ())
