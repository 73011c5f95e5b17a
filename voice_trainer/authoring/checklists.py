"""A checklist that somebody has as a table or a list, made into a drill: challenge, response, item by item.

Read are CSV (comma, semicolon or tab; challenge, response) and Markdown: a table of two columns, or a list of
'- challenge - response' ('–', '—' and ':' will do, with a blank behind). Figures are put into words; a response may
hold slots, '{altimeter: 29.84}'. Nothing in the file is taken for a pattern, a key or a command.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from voice_trainer.authoring.sounds import Sounds
from voice_trainer.authoring.templates import as_yaml, checked_name
from voice_trainer.drills.model import Drill
from voice_trainer.library.drill_files import read_drill
from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.reading import content_of
from voice_trainer.phraseology.nodes import words_of
from voice_trainer.phraseology.pattern import PatternError, compile_pattern
from voice_trainer.phraseology.speaking import read_out, spoken_text
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.pronunciation import pronounce

MOST_ITEMS = 100
LONGEST_ITEM = 200
"""Characters of a challenge or a response."""

LONGEST_ADDRESS_WORDS = 4
"""Up to so many words of a challenge may be said again before its response: 'landing lights on'."""

_SLOT = re.compile(r"(\{[^{}]*\})")
_LIST_ITEM = re.compile(r"\s*(?:[-*+]|\d{1,3}[.)])\s+(?:\[[ xX]\]\s+)?(.+)")
_BETWEEN = re.compile(r"\s+[-–—]+\s+|:\s+|\s*\.{3,}\s*|\s*…+\s*")
_RULE = re.compile(r"[\s|:\-]*-[\s|:\-]*")
_HEADINGS = ("challenge", "item", "check")


@dataclass(frozen=True, slots=True)
class Item:
    """One item of a checklist, and the line of the file that it is in."""

    challenge: str
    response: str
    line: int


def checklist_drill(path: Path, name: str) -> str:
    """The text of a drill file made of the checklist at `path`. Raises DrillError with all that is in the way."""
    checked_name(name)
    items = list(items_in(path))
    problems: list[Problem] = []
    lines: list[tuple[str, str]] = []
    for item in items:
        try:
            lines.append((_cue(item), _call(item)))
        except (ValueError, PatternError) as error:
            what = error.reason if isinstance(error, PatternError) else str(error)
            advice = "put it into words, or write a slot such as {altimeter: 29.84}"
            problems.append(Problem(str(path), what, advice, item.line, 1))
    if problems:
        raise DrillError(*problems)
    text = _drill(name, path.name, items, lines, {})
    drill = read_drill(text.encode(), str(path))
    guesses = _guesses(drill)
    return _drill(name, path.name, items, lines, guesses) if guesses else text


def items_in(path: Path) -> Iterator[Item]:
    """The items of a checklist file, by its ending. Raises DrillError."""
    advice = "name a checklist, such as before-landing.csv"
    content = content_of(path, str(path), advice)
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise DrillError(
            Problem(str(path), "this is not UTF-8 text", "save the file as UTF-8", line, 1)
        ) from error
    readers = {".csv": _of_csv, ".md": _of_markdown}
    reader = readers.get(path.suffix.lower())
    if reader is None:
        raise DrillError(Problem(str(path), "this is neither a .csv nor a .md file", advice))
    try:
        rows = [(line, [_tidy(cell) for cell in cells]) for line, cells in reader(text) if any(cells)]
    except csv.Error as error:
        raise DrillError(Problem(str(path), f"this is no CSV ({error})", "save it again as CSV")) from error
    if rows and rows[0][1][0].casefold() in _HEADINGS:
        del rows[0]
    if not 0 < len(rows) <= MOST_ITEMS:
        what = f"it has {len(rows)} items" if rows else "there is no item in it"
        raise DrillError(Problem(str(path), what, f"give 1 to {MOST_ITEMS}: a challenge and a response each"))
    problems = []
    for line, cells in rows:
        if len(cells) != 2 or not all(cells):
            what = f"this is no challenge with a response: {quoted(' | '.join(cells))}"
            problems.append(Problem(str(path), what, "write one of each", line, 1))
        elif max(map(len, cells)) > LONGEST_ITEM:
            what = f"an item of more than {LONGEST_ITEM} characters"
            problems.append(Problem(str(path), what, "shorten it", line, 1))
        else:
            yield Item(cells[0], cells[1], line)
    if problems:
        raise DrillError(*problems)


def _of_csv(text: str) -> Iterator[tuple[int, list[str]]]:
    first = text.partition("\n")[0]
    mark = max(",;\t", key=first.count)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    for cells in reader:
        while cells and not cells[-1].strip():
            cells.pop()
        yield reader.line_num, cells


def _of_markdown(text: str) -> Iterator[tuple[int, list[str]]]:
    lines = text.splitlines()
    for number, line in enumerate(lines, 1):
        if line.lstrip().startswith("|"):
            below = lines[number] if number < len(lines) else ""
            if not _RULE.fullmatch(line) and not _RULE.fullmatch(below):  # not a heading
                yield number, line.strip().strip("|").split("|")
        elif found := _LIST_ITEM.fullmatch(line):
            yield number, _BETWEEN.split(found[1], maxsplit=1)


def _tidy(cell: str) -> str:
    """One line of a cell without emphasis and what can't be seen."""
    plain = "".join(sign if sign.isprintable() else " " for sign in cell)
    return " ".join(re.sub(r"[*_`]", "", plain).split())


def _cue(item: Item) -> str:
    text = read_out(re.sub(r"[(){}]", " ", item.challenge)).strip(" .")
    text = f"{text[:1].upper()}{text[1:]}."
    spoken_text(text)
    if not any(sign.isalpha() for sign in text):
        raise ValueError(f"{quoted(item.challenge)} has no words")
    return text


def _call(item: Item) -> str:
    response = " ".join(
        part if _SLOT.fullmatch(part) else _words(part) for part in _SLOT.split(item.response)
    )
    response = " ".join(response.split())
    if not response:
        raise ValueError(f"{quoted(item.response)} has no words")
    address = _words(item.challenge)
    compile_pattern(response)
    if address and len(address.split()) <= LONGEST_ADDRESS_WORDS and not response.startswith(address):
        whole = f"[{_shortened(address)}] {response}"
        try:
            compile_pattern(whole)
        except PatternError:
            return response
        return whole
    return response


def _shortened(address: str) -> str:
    """Of 'landing gear' the last word will do: 'gear down'."""
    first, _, last = address.rpartition(" ")
    return f"[{first}] {last}" if first else last


def _words(text: str) -> str:
    """The words of a text as a pattern has them."""
    words = read_out(re.sub(r"[()]", " ", text)).casefold().replace("’", "'")
    return " ".join(re.sub(r"[^\w']+|_", " ", words).split())


def _guesses(drill: Drill) -> dict[str, str]:
    """How words sound that no dictionary has, as far as it can be guessed."""
    sounds = Sounds([drill])
    found: dict[str, str] = {}
    for step in drill.steps:
        for call in step.flow.calls if step.flow else ():
            for word in words_of(drill.pattern(call).node):
                if not sounds.is_known(word, found):
                    try:
                        found[word] = pronounce(word)
                    except RecogniserError:
                        continue
    return found


def _drill(
    name: str, source: str, items: list[Item], lines: list[tuple[str, str]], guesses: dict[str, str]
) -> str:
    title = name.replace("-", " ")
    out = [
        f"# Made of {_shown(source)}. Your own aircraft's checklist comes first. Study aid only.",
        f"drill: {as_yaml(name)}",
        f"title: {json.dumps(title[:1].upper() + title[1:])}",
        "kind: checklist",
        "trains: answering each challenge with the state of the item",
    ]
    if guesses:
        out.append("pronounce:  # guessed: correct what is wrong")
        out += [f"  {json.dumps(word, ensure_ascii=False)}: {phones}" for word, phones in guesses.items()]
    out += ["", "steps:"]
    names: set[str] = set()
    for number, (item, (cue, call)) in enumerate(zip(items, lines, strict=True), 1):
        step = re.sub(r"[^a-z0-9]+", " ", item.challenge.casefold())[:50].strip() or f"item {number}"
        step = step if step not in names else f"{step} {number}"
        names.add(step)
        out += [
            f"  - step: {json.dumps(step)}",
            *(["    when: start"] if number == 1 else []),
            f"    cue: {{speaker: instructor, say: {json.dumps(cue, ensure_ascii=False)}}}",
            "    flow:",
            "      calls:",
            f"        - call: {json.dumps(step)}",
            f"          say: {json.dumps(call, ensure_ascii=False)}",
            "",
        ]
    return "\n".join(out)


def _shown(source: str) -> str:
    return "".join(sign if sign.isprintable() else "?" for sign in source)[:80]
