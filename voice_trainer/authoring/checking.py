"""Everything that is wrong with files of drills, and what is doubtful about them, in one go; loads no model."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

from voice_trainer.authoring.findings import Finding
from voice_trainer.authoring.pack_findings import pack_problems
from voice_trainer.authoring.sounds import Sound, Sounds, alike
from voice_trainer.authoring.timing import too_hasty
from voice_trainer.drills.model import Call, Drill, House
from voice_trainer.library.drill_files import drill_and_drawing
from voice_trainer.library.errors import DrillError, Problem
from voice_trainer.library.flow_files import is_flow, read_flow
from voice_trainer.library.flown import Wanted, flown_drill
from voice_trainer.library.house_files import HOUSE_FILE, house_beside, read_house
from voice_trainer.library.marks import Path as Place
from voice_trainer.library.packs import PACK_FILE
from voice_trainer.library.procedure_files import is_procedure, read_procedure
from voice_trainer.library.reading import content_of
from voice_trainer.library.strict_yaml import Document, read_yaml
from voice_trainer.library.wording import nearest
from voice_trainer.phraseology.nodes import slots_of, words_of
from voice_trainer.phraseology.pattern import Pattern, PatternError
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.pronunciation import pronounce

ENDINGS = (".yaml", ".yml")

MOST_PHRASES = 300
"""Beyond so many different calls a drill's are compared within their flows only."""


@dataclass(frozen=True, slots=True)
class _Read:
    drill: Drill
    document: Document
    file: str

    def warning(self, place: Place, what: str, advice: str) -> Finding:
        mark = self.document.marks.value(place)
        return Finding("warning", Problem(self.file, what, advice, mark.line, mark.column))

    def line(self, place: Place) -> int:
        return self.document.marks.value(place).line


@dataclass(frozen=True, slots=True)
class _Spoken:
    """A call with its place, its flow, and how it sounds."""

    place: Place
    step: int
    call: Call
    pattern: Pattern
    sounds: tuple[Sound, ...]


def files_of(path: Path) -> list[Path]:
    """The drills and the house in a folder, by name; a file is its own list. Raises DrillError for none."""
    if not path.is_dir():
        if path.suffix.lower() == ".zip":
            what = "this is an archive"
            advice = "unpack it, and name its folder; 'packs add' checks an archive by itself"
            raise DrillError(Problem(str(path), what, advice))
        return [path]
    found = sorted(each for each in path.iterdir() if each.suffix in ENDINGS)
    if not found:
        what = "there is no drill in this folder"
        raise DrillError(Problem(str(path), what, "name a folder with .yaml files, or a file"))
    return found


def check_files(paths: Iterable[Path]) -> list[Finding]:
    """All that is found in drill and house files, each finding once, in the order of the files."""
    errors: dict[Path, list[Finding]] = {}
    reads: dict[Path, _Read] = {}
    order = list(dict.fromkeys(paths))
    for path in order:
        try:
            if (read := _read(path)) is not None:
                reads[path] = read
        except DrillError as error:
            errors[path] = [Finding("error", problem) for problem in error.problems]
    sounds = Sounds(read.drill for read in reads.values())
    found: dict[Finding, None] = {}
    for path in order:
        found.update(dict.fromkeys(errors.get(path, ())))
        if path in reads:
            warnings = list(_warnings(reads[path], sounds))
            warnings.sort(key=lambda each: (each.problem.line or 0, each.problem.column or 0))
            found.update(dict.fromkeys(warnings))
    return list(found)


def _read(path: Path) -> _Read | None:
    """The drill of a file, None for anything else without a fault. Raises DrillError."""
    content = content_of(path, str(path))
    if path.name == PACK_FILE:
        if problems := pack_problems(path.parent):
            raise DrillError(*problems)
        return None
    if is_procedure(path):
        _check_procedure(path, content)
        return None
    if is_flow(path):
        read_flow(content, str(path))
        return None
    if path.name == HOUSE_FILE:
        read_house(content, str(path))
        return None
    house: House | None = None
    of_house: tuple[Problem, ...] = ()
    try:
        house = house_beside(path)
    except DrillError as error:
        of_house = error.problems
    try:
        drill, _ = drill_and_drawing(content, str(path), house)
    except DrillError as error:
        raise DrillError(*of_house, *error.problems) from error
    if of_house:
        raise DrillError(*of_house)
    return _Read(drill, read_yaml(content, str(path)), str(path))


def _check_procedure(path: Path, content: bytes) -> None:
    """Its words are the program's own: what can be wrong is in its numbers, and what its house makes of them."""
    house = house_beside(path)
    drill = flown_drill(read_procedure(content, str(path), house), str(path), Wanted(), house=house)
    for step in drill.steps:
        for call in step.flow.calls if step.flow else ():
            try:
                drill.pattern(call)
            except PatternError as error:
                house_file = str(path.with_name(HOUSE_FILE))
                what = f"with its synonyms a call of {path.name} can't be read: {error.reason}"
                raise DrillError(Problem(house_file, what, "change the synonyms")) from error


def _warnings(read: _Read, sounds: Sounds) -> Iterator[Finding]:
    spoken = list(_spoken(read.drill, sounds))
    yield from _unknown_words(read, spoken, sounds)
    yield from _alike(read, spoken)
    yield from _answers_alike(read, spoken, sounds)
    yield from _strange_names(read, spoken)
    for haste in too_hasty(read.drill):
        yield read.warning(haste.place, haste.what, haste.advice)


def _spoken(drill: Drill, sounds: Sounds) -> Iterator[_Spoken]:
    for index, step in enumerate(drill.steps):
        for number, call in enumerate(step.flow.calls if step.flow else ()):
            pattern = drill.pattern(call)
            place: Place = ("steps", index, "flow", "calls", number, "say")
            yield _Spoken(place, index, call, pattern, sounds.of_call(pattern, drill.pronounce))


def _unknown_words(read: _Read, spoken: list[_Spoken], sounds: Sounds) -> Iterator[Finding]:
    """Words whose sound a recogniser would have to guess, each where it is first heard."""
    told: set[str] = set()
    for each in spoken:
        for word in dict.fromkeys((*words_of(each.pattern.node), *each.pattern.spoken())):
            if word in told or sounds.is_known(word, read.drill.pronounce):
                continue
            told.add(word)
            what = f"the recogniser has to guess how '{word}' sounds"
            advice = f"say how in 'pronounce: {{{word}: {_guess(word)}}}', or use another word"
            yield read.warning(each.place, what, advice)


def _guess(word: str) -> str:
    try:
        return pronounce(word)
    except RecogniserError:
        return "K EH L D AH"


def _alike(read: _Read, spoken: list[_Spoken]) -> Iterator[Finding]:
    """Calls of one flow that are worded the same, and calls of the drill that sound alike."""
    distinct = len({each.pattern.phrase for each in spoken})
    told: set[frozenset[str]] = set()
    by_step: dict[int, list[_Spoken]] = {}
    for each in spoken:
        by_step.setdefault(each.step, []).append(each)
    pairs = (
        combinations(spoken, 2)
        if distinct <= MOST_PHRASES and len(spoken) <= 2 * MOST_PHRASES
        else (pair for calls in by_step.values() for pair in combinations(calls, 2))
    )
    for one, other in pairs:
        same_flow = one.step == other.step
        phrases = frozenset((one.pattern.phrase, other.pattern.phrase))
        if len(phrases) == 1:
            if same_flow and one.pattern.expected == other.pattern.expected:
                what = f"'{other.call.call}' is worded as '{one.call.call}' in line {read.line(one.place)} is"
                yield read.warning(
                    other.place, what, "word it otherwise, or nobody can tell which of them was said"
                )
            continue
        if not same_flow and set(one.sounds) & set(other.sounds):
            continue  # the same call again, with other words left out
        if phrases not in told and alike(one.sounds, other.sounds):
            told.add(phrases)
            where = "" if same_flow else f" of step '{read.drill.steps[one.step].step}'"
            what = f"'{other.call.call}' sounds like '{one.call.call}'{where} in line {read.line(one.place)}"
            yield read.warning(other.place, what, "word one of them otherwise, or let less of it be left out")


def _answers_alike(read: _Read, spoken: list[_Spoken], sounds: Sounds) -> Iterator[Finding]:
    """Bare answers of one flow that sound alike: only the call that is due can tell whose one is."""
    bare = [
        (each, sounds.of_call(answer, read.drill.pronounce))
        for each in spoken
        if (answer := read.drill.answer_pattern(each.call)) is not None
    ]
    for (one, sound), (other, sound_of_other) in combinations(bare, 2):
        if one.step == other.step and alike(sound, sound_of_other):
            what = (
                f"the bare answer of '{other.call.call}' sounds like that of '{one.call.call}' in line "
                f"{read.line(one.place)}"
            )
            advice = "give each its own step and cue, or delete one: it is taken for whichever is due first"
            yield read.warning((*other.place[:-1], "answers"), what, advice)


def _strange_names(read: _Read, spoken: list[_Spoken]) -> Iterator[Finding]:
    """Fixes that were not declared, and stations that the drill doesn't have."""
    fixes = [fix.upper() for fix in read.drill.fixes]
    for each in spoken:
        for slot in slots_of(each.pattern.node):
            if slot.type.startswith("fix ") and slot.value is not None and slot.value not in fixes:
                likely = nearest(slot.value, [fix.lower() for fix in fixes])
                advice = f"did you mean '{likely.upper()}'?" if likely else "declare it in 'fixes'"
                yield read.warning(
                    each.place, f"'{slot.value}' is none of the fixes, and would be spelled out", advice
                )
    if read.drill.station is None:
        return
    ident = read.drill.station.ident
    for place, text in read.document.marks.scalars():
        with suppress(IndexError):
            found = re.fullmatch(r"(passage|nearing) ([A-Z]{2,3})", text.strip())
            if found and place[-1] in ("when", "opens", "closes") and found[2] != ident:
                what = f"the station is {ident}: '{text}' never comes"
                yield read.warning(place, what, f"did you mean '{found[1]} {ident}'?")
