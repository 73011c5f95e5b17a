"""What is wrong with a pack as a whole: what its manifest says against what lies beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.flow_files import FLOW_KEY
from voice_trainer.library.house_files import HOUSE_FILE
from voice_trainer.library.marks import Path as Place
from voice_trainer.library.packs import PACK_FILE, Manifest, load_pack
from voice_trainer.library.procedure_files import FIRST_KEYS
from voice_trainer.library.reading import content_of, first_key
from voice_trainer.library.strict_yaml import Document, read_yaml
from voice_trainer.library.wording import listed, nearest

TEXTS = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,99}\.(?:md|txt)|LICEN[CS]E|NOTICE|COPYING")
"""Files for people, which the program does not read."""


def is_left_out(name: str) -> bool:
    """Whether what is called that is no part of a pack: hidden, or left by the program that made the archive."""
    return name.startswith(".") or name == "__MACOSX"


def pack_problems(folder: Path) -> list[Problem]:
    """What is wrong with the pack in a folder, but for what is wrong inside each of its files but the manifest."""
    file = folder / PACK_FILE
    try:
        pack = load_pack(folder)
        document = read_yaml(content_of(file, str(file)), str(file), "manifest")
    except DrillError as error:
        return list(error.problems)
    return [
        *_against_the_files(pack.manifest, document, folder),
        *_flow(pack.manifest, document, folder),
        *_names(folder),
    ]


def _against_the_files(manifest: Manifest, document: Document, folder: Path) -> Iterator[Problem]:
    present = {each.name: each for each in sorted(folder.iterdir()) if not is_left_out(each.name)}
    wanted = dict.fromkeys(manifest.holds)
    for number, name in enumerate(manifest.holds):
        place: Place = ("holds", number)
        if name == PACK_FILE:
            yield _problem(document, folder, place, f"{quoted(name)} is the manifest itself", "leave it out")
        elif name not in present:
            likely = nearest(name, present.keys() - wanted.keys())
            advice = (
                f"did you mean '{likely}'?" if likely else "put it beside the manifest, or leave it out here"
            )
            yield _problem(document, folder, place, f"there is no file {quoted(name)}", advice)
        elif name in manifest.holds[:number]:
            yield _problem(document, folder, place, f"{quoted(name)} is named twice", "leave one out")
    for name, path in present.items():
        if path.is_symlink() or not path.is_file():
            yield Problem(str(path), "this is no file", "a pack is one folder of files: take it out")
        elif name.endswith((".yaml", ".yml")):
            if name not in (PACK_FILE, *wanted):
                yield Problem(str(path), f"{PACK_FILE} does not hold it", "add it to 'holds', or take it out")
        elif not TEXTS.fullmatch(name):
            advice = "a pack holds .yaml files, and .md and .txt for people: take it out"
            yield Problem(str(path), "this is no part of a pack", advice)


def _flow(manifest: Manifest, document: Document, folder: Path) -> Iterator[Problem]:
    flows = load_pack(folder).flows
    if manifest.house_flow is not None and manifest.house_flow.replace(" ", "-") not in flows:
        likely = nearest(manifest.house_flow, flows)
        known = f"use {listed(flows)}" if flows else "add its file, or leave the key out"
        advice = f"did you mean '{likely}'?" if likely else known
        what = f"no house flow of this pack is called {quoted(manifest.house_flow)}"
        yield _problem(document, folder, ("house_flow",), what, advice)


def _names(folder: Path) -> Iterator[Problem]:
    """Files that are not called after what they hold: whoever looks for it by name would not find it."""
    for path in sorted(folder.glob("*.yaml")):
        if path.name in (PACK_FILE, HOUSE_FILE):
            continue
        try:
            document = read_yaml(content_of(path, str(path)), str(path))
        except DrillError:
            continue  # said by whoever reads the file itself
        key = first_key(path)
        key = key if key in (*FIRST_KEYS, FLOW_KEY) else "drill"
        name = document.data.get(key) if isinstance(document.data, dict) else None
        if isinstance(name, str) and name.replace(" ", "-") != path.stem:
            mark = document.marks.value((key,))
            should = f"{name.replace(' ', '-')}.yaml"
            advice = f"call the file {quoted(should)}, or the {key.replace('_', ' ')} like the file"
            yield Problem(
                str(path),
                f"this file holds {quoted(name)}, but is called otherwise",
                advice,
                mark.line,
                mark.column,
            )


def _problem(document: Document, folder: Path, place: Place, what: str, advice: str) -> Problem:
    mark = document.marks.value(place)
    return Problem(str(folder / PACK_FILE), what, advice, mark.line, mark.column)
