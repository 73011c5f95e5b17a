"""Reading a drill from its file: strictly, and with everything that is wrong in it said at once.

Four readings follow each other: of the file as YAML, of its variables (drawn by a seed, and put into its texts), of
its values as a `Drill` (those of its house filled in), and of every text that is spoken or heard as a pattern. The
first stops at its first problem, because what follows a broken line can't be trusted; the others report all that they
find, in the order of the file.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import get_args

from pydantic import ValidationError

from voice_trainer.drills.bare_answers import what_is_wrong
from voice_trainer.drills.model import Drill, House
from voice_trainer.drills.templates import Resolved
from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.house_files import HOUSE_FILE, furnished, house_beside
from voice_trainer.library.marks import Mark
from voice_trainer.library.marks import Path as Place
from voice_trainer.library.reading import content_of
from voice_trainer.library.strict_yaml import Document, Plain, read_yaml
from voice_trainer.library.synonyms import pattern_problem, synonyms_in, united, unreadable_synonyms
from voice_trainer.library.variables import Drawing, drawn
from voice_trainer.library.wording import problems_of
from voice_trainer.phraseology.fixes import type_name as fixes_type
from voice_trainer.phraseology.pattern import PatternError, compile_pattern
from voice_trainer.phraseology.phones import ARPABET, is_phone
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.speaking import spoken_text

LONGEST_TEXT = 2000
"""Characters of one text, as the model of a drill has it; a longer one is not worth reading as a pattern."""


def load_drill(path: Path | str, seed: int = 0) -> Drill:
    """The drill in a file, as the house beside it speaks and `seed` draws its variables.

    Raises DrillError with every problem that was found, also where there is no such file; what is wrong with
    the house is said alone.
    """
    content = content_of(Path(path), str(path))
    if Path(path).name == HOUSE_FILE:
        raise DrillError(
            Problem(str(path), "this is a house, not a drill", "name one of the drills beside it")
        )
    return read_drill(content, str(path), house_beside(Path(path)), seed)


def read_drill(content: bytes, file: str, house: House | None = None, seed: int = 0) -> Drill:
    """The drill in the `content` of a file that messages call `file`, spoken as in `house`. Raises DrillError."""
    return drill_and_drawing(content, file, house, seed)[0]


def drill_and_drawing(
    content: bytes, file: str, house: House | None = None, seed: int = 0
) -> tuple[Drill, Drawing]:
    """The drill, and how its variables were tried and drawn. Raises DrillError."""
    document = read_yaml(content, file)
    if not isinstance(document.data, dict):
        what = "a drill must be lines of 'key: value'"
        raise DrillError(Problem(file, what, "begin with a line 'drill: its-name'", 1, 1))
    drawing = drawn(document, file, seed)
    problems = drawing.problems
    drill: Drill | None = None
    try:
        drill = Drill.model_validate(furnished(drawing.data, house))
    except ValidationError as error:
        places = [drawing.unresolved & {complaint["loc"]} for complaint in error.errors(include_url=False)]
        complaints = problems_of(error, document, file)
        known = {document.marks.value(place) for each in places for place in each}
        problems += [each for each in complaints if Mark(each.line or 0, each.column or 0) not in known]
    problems += _name_of_a_pack(document, file)
    problems += _unreadable_texts(document, file, house, drawing)
    problems += _unreadable_pronunciations(document, file)
    if drill is not None and not problems:
        problems += _answers_of_other_values(drill, document, file)
    if problems or drill is None:
        raise DrillError(*sorted(problems, key=lambda problem: (problem.line or 0, problem.column or 0)))
    return drill, drawing


def _name_of_a_pack(document: Document, file: str) -> Iterator[Problem]:
    """Only an installed pack calls its drills PACK/NAME; a file that did would pass for one of them."""
    name = _below(document.data, "drill")
    if isinstance(name, str) and re.fullmatch(r"[a-z0-9-]+/[a-z0-9-]+", name.strip()):
        mark = document.marks.value(("drill",))
        advice = f"write {quoted(name.partition('/')[2])} alone: a pack's name comes before it by itself"
        yield Problem(file, f"'drill' can't be {quoted(name)}", advice, mark.line, mark.column)


def _unreadable_texts(
    document: Document, file: str, house: House | None, drawing: Drawing
) -> Iterator[Problem]:
    """What is wrong inside cues, calls and questions, also where the drill as a whole is not valid yet."""
    data = drawing.data
    region = _region(_below(data, "region"), house)
    fixes = _usable_fixes(_below(data, "fixes"))
    synonyms = synonyms_in(_below(data, "synonyms"))
    bad_synonyms = list(unreadable_synonyms(synonyms, document, file))
    yield from bad_synonyms
    if bad_synonyms:
        synonyms = {}  # or every call of the drill would be blamed for them
    synonyms = united(house.synonyms if house else {}, synonyms)

    def read_as_pattern(text: str) -> object:
        return compile_pattern(text, region=region, synonyms=synonyms, fixes=fixes)

    def read_as_speech(text: str) -> object:
        return spoken_text(text, region)

    for place, reading, value in _texts(data, read_as_pattern, read_as_speech):
        if place not in drawing.unresolved:
            yield from _read(reading, value, place, document, drawing.origins.get(place), file)


def _answers_of_other_values(drill: Drill, document: Document, file: str) -> Iterator[Problem]:
    """Bare answers that don't say what their calls say."""
    for index, step in enumerate(drill.steps):
        for number, call in enumerate(step.flow.calls if step.flow else ()):
            answer = drill.answer_pattern(call)
            wrong = None if answer is None else what_is_wrong(drill.pattern(call), answer)
            if wrong is not None:
                mark = document.marks.value(("steps", index, "flow", "calls", number, "answers"))
                yield Problem(file, *wrong, mark.line, mark.column)


def _texts(
    data: Plain, as_pattern: Callable[[str], object], as_speech: Callable[[str], object]
) -> Iterator[tuple[Place, Callable[[str], object], Plain]]:
    """Every text that is spoken or heard, with its place and how it is read."""
    for step, step_place in _items(_below(data, "steps"), ("steps",)):
        yield (*step_place, "lead_in"), as_speech, _below(step, "lead_in")
        yield (*step_place, "cue", "say"), as_speech, _below(step, "cue", "say")
        for call, place in _items(_below(step, "flow", "calls"), (*step_place, "flow", "calls")):
            yield (*place, "say"), as_pattern, _below(call, "say")
            yield (*place, "answers"), as_pattern, _below(call, "answers")
            yield (*place, "ask"), as_speech, _below(call, "ask")


def _read(
    reading: Callable[[str], object],
    value: Plain,
    place: Place,
    document: Document,
    origin: Resolved | None,
    file: str,
) -> Iterator[Problem]:
    """The problem that `reading` finds in the text at `place`, if it is a text and there is one."""
    if not isinstance(value, str) or not 0 < len(text := value.strip()) <= LONGEST_TEXT:
        return
    try:
        reading(text)
    except PatternError as error:
        lines = text.split("\n")
        offset = sum(len(line) + 1 for line in lines[: error.line - 1]) + error.column - 1
        offset += len(value) - len(value.lstrip())
        mark = document.marks.inside(place, origin.origin(offset) if origin else offset)
        yield pattern_problem(error, mark, file)


def _unreadable_pronunciations(document: Document, file: str) -> Iterator[Problem]:
    pronunciations = _below(document.data, "pronounce")
    for word, phones in pronunciations.items() if isinstance(pronunciations, dict) else ():
        if not isinstance(phones, str):
            continue
        mark = document.marks.value(("pronounce", word))
        wrong = [phone for phone in phones.split() if not is_phone(phone.upper())]
        if wrong:
            what = f"{quoted(wrong[0])} is not a sound of the CMU dictionary"
            advice = f"use {' '.join(sorted(ARPABET))}"
            yield Problem(file, what, advice, mark.line, mark.column)
        elif not phones.strip():
            what = f"{quoted(word)} has no sounds"
            yield Problem(file, what, "write them, or delete it", mark.line, mark.column)


def _region(value: Plain, house: House | None) -> Region:
    known: tuple[Region, ...] = get_args(Region)
    default = house.region if house and house.region else known[0]
    return next((region for region in known if region == value), default)


def _usable_fixes(value: Plain) -> list[str]:
    """The declared fixes that nothing is wrong with, so that no call is blamed for the others."""
    usable: list[str] = []
    for name in value if isinstance(value, list) else ():
        with suppress(ValueError):
            fixes_type((*usable, name if isinstance(name, str) else ""))
            usable.append(str(name))
    return usable


def _below(data: Plain, *names: str) -> Plain:
    for name in names:
        data = data.get(name) if isinstance(data, dict) else None
    return data


def _items(value: Plain, place: Place) -> Iterator[tuple[Plain, Place]]:
    for index, item in enumerate(value if isinstance(value, list) else ()):
        yield item, (*place, index)
