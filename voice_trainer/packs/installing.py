"""A pack is written beside its place, checked there, and put in place with one rename: whole or not at all."""

from __future__ import annotations

import os
import re
import shutil
from dataclasses import dataclass, replace
from pathlib import Path

from voice_trainer.authoring.checking import check_files, files_of
from voice_trainer.authoring.findings import Finding
from voice_trainer.authoring.pack_findings import TEXTS, is_left_out
from voice_trainer.library.errors import DrillError, quoted
from voice_trainer.library.packs import PACK_FILE, Pack, load_pack
from voice_trainer.unpacking.errors import UnpackingError, of_the_disk, shown
from voice_trainer.unpacking.placing import folder_for_writing, put_aside, written_beside
from voice_trainer.unpacking.sources import Parts, Source, below, open_source, refused
from voice_trainer.unpacking.terms import Terms

TERMS = Terms(
    thing="pack",
    advice="ask whoever made it for a sound one",
    most_files=300,
    most_depth=8,  # of what lies around the pack in its archive: the pack itself is one folder
    most_bytes=2_000_000,
    most_packed_bytes=2_000_000,
    most_times_packed=30,  # drills, all alike, pack to a tenth of their size or less
    free_of_ratio_bytes=1_000_000,
)

NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,60}")
_YAML = re.compile(r"[a-z0-9][a-z0-9-]{0,60}\.yaml")


class FaultyPackError(UnpackingError):
    """A pack whose files have errors; `findings` are all that was found, named as in the source."""

    def __init__(self, source: Path, findings: list[Finding]) -> None:
        self.findings = findings
        errors = sum(finding.severity == "error" for finding in findings)
        count = "one error was" if errors == 1 else f"{errors} errors were"
        super().__init__(
            f"{source}: nothing was installed, since {count} found in it; mend it, then add it again"
        )


@dataclass(frozen=True, slots=True)
class Added:
    """A pack that is installed now, and the warnings of its drills, named as in the source."""

    pack: Pack
    warnings: list[Finding]


def add_pack(path: Path, packs_folder: Path) -> Added:
    """Install the pack in a folder or a ZIP archive. Raises UnpackingError; then no part of it is there."""
    source = _pack_in(open_source(path, TERMS, left_out=is_left_out))
    try:
        with (
            folder_for_writing(packs_folder, TERMS),
            written_beside(source, packs_folder, TERMS) as unfinished,
        ):
            # What is checked is the copy, so that nobody can change it in between.
            try:
                pack = load_pack(unfinished.folder)
            except DrillError:
                raise FaultyPackError(path, _findings(unfinished.folder, path)) from None
            place = packs_folder / pack.name
            _refuse_second(place)
            findings = _findings(unfinished.folder, path)
            if any(finding.severity == "error" for finding in findings):
                raise FaultyPackError(path, findings)
            unfinished.put_in_place(place)
    except OSError as error:
        raise of_the_disk(packs_folder, error) from error
    return Added(replace(pack, folder=place), findings)


def remove_pack(name: str, packs_folder: Path) -> Path:
    """Take a pack away; returns where it was. Raises UnpackingError."""
    place = packs_folder / name
    if not NAME.fullmatch(name) or not os.path.lexists(place):
        raise UnpackingError(
            f"{shown(name)}: no pack of this name is installed; 'voice-trainer packs' lists them"
        )
    if place.is_symlink() or not place.is_dir():
        raise UnpackingError(f"{place}: it was not installed by 'packs add'; delete it yourself")
    with folder_for_writing(packs_folder, TERMS):
        shutil.rmtree(put_aside(place), ignore_errors=True)
    return place


def _pack_in(source: Source) -> Source:
    """The pack in a source: one folder of files, at the top of it or further down."""
    roots = [file.parts[:-1] for file in source.files if file.parts[-1] == PACK_FILE]
    if not roots:
        raise refused(source.path, f"there is no {PACK_FILE} in it, which every pack has", TERMS)
    root: Parts = min(roots, key=len)
    if len(roots) > 1:
        raise refused(source.path, f"it holds {len(roots)} packs, and one is added at a time", TERMS)
    pack = below(source, root)
    for file in pack.files:
        name = "/".join(file.parts)
        if len(file.parts) > 1:
            raise refused(
                source.path, f"a pack is one folder of files, and this lies deeper: {shown(name)}", TERMS
            )
        if not _YAML.fullmatch(name) and not TEXTS.fullmatch(name):
            what = f"a pack holds .yaml files of small letters, digits and hyphens, .md and .txt, not {shown(name)}"
            raise refused(source.path, what, TERMS)
    return pack


def _findings(folder: Path, source: Path) -> list[Finding]:
    """All that `check` finds in a folder, its files named as they are in the source."""
    found = check_files(files_of(folder))
    return [
        replace(each, problem=replace(each.problem, file=_named(each.problem.file, folder, source)))
        for each in found
    ]


def _named(file: str, folder: Path, source: Path) -> str:
    return str(source / Path(file).relative_to(folder)) if Path(file).is_relative_to(folder) else file


def _refuse_second(place: Path) -> None:
    if not os.path.lexists(place):
        return
    try:
        version = f", version {quoted(load_pack(place).manifest.version)[1:-1]}"
    except DrillError:
        version = ""
    raise UnpackingError(
        f"{place}: a pack of this name is installed{version}; run 'voice-trainer packs remove {place.name}' first"
    )
