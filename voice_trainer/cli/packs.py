"""`voice-trainer packs`: the packs of drills that are installed; add, remove, begin a new one."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from rich.text import Text

from voice_trainer.archive.places import packs_folder
from voice_trainer.authoring.findings import Finding
from voice_trainer.authoring.templates import pack_template
from voice_trainer.cli.checking import STYLES
from voice_trainer.cli.command_name import as_typed_here
from voice_trainer.cli.finding import installed_packs
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.terminal import console
from voice_trainer.library.builtin import everything
from voice_trainer.library.packs import Pack
from voice_trainer.outputs.writing import write_new_files
from voice_trainer.packs.installing import FaultyPackError, add_pack, remove_pack
from voice_trainer.phraseology.counting import counted


def packs(options: argparse.Namespace) -> int:
    """Do what was asked for; without a word, list."""
    match options.action:
        case "add":
            return add(options.source)
        case "new":
            return new(options.name, options.out)
        case "remove":
            place = remove_pack(options.name, packs_folder())
            console().print(f"Removed {place}.", markup=False)
            return 0
        case _:
            return list_packs()


def list_packs() -> int:
    """Print every pack: who made it, what it holds."""
    out = console()
    found = installed_packs()
    for pack in found.all:
        manifest = pack.manifest
        out.print(Text.assemble((pack.name, "bold"), f"  {manifest.title}, version {manifest.version}"))
        out.print(Text(f"    made by {manifest.made_by}, licence {manifest.licence}", style="dim"))
        out.print(Text(f"    {contents(pack)}", style="dim"))
        for name in sorted((*pack.drills, *pack.procedures)):
            out.print(f"    {pack.name}/{name}", markup=False)
        for name in pack.flows:
            flow = f"{pack.name}/{name}"
            usual = name == (manifest.house_flow or "").replace(" ", "-")
            out.print(Text(f"    --house-flow {flow}{', the usual one of its approaches' if usual else ''}"))
    for problem in found.unusable:
        out.print(Text(f"can't be used: {problem}", style="yellow"))
    if not found.all and not found.unusable:
        out.print(
            as_typed_here("No pack is installed; 'voice-trainer packs add FOLDER' or 'ZIP' adds one."),
            markup=False,
        )
    return 0


def contents(pack: Pack) -> str:
    """What a pack holds, counted."""
    counts = (
        (len(pack.drills), "drill", "drills"),
        (len(pack.procedures), "approach or hold", "approaches and holds"),
        (len(pack.flows), "house flow", "house flows"),
    )
    parts = [f"{number} {one if number == 1 else many}" for number, one, many in counts if number]
    return ", ".join([*parts, *(["its own phraseology"] if pack.has_house else [])])


def add(source: Path) -> int:
    """Install a pack; of a faulty one every finding is printed."""
    out = console()
    try:
        added = add_pack(source, packs_folder())
    except FaultyPackError as error:
        for finding in error.findings:
            out.print(_line(finding))
        raise
    pack = added.pack
    out.print(f"Installed {pack.name}, version {pack.manifest.version}: {contents(pack)}.", markup=False)
    if added.warnings:
        says = (
            f"'voice-trainer check {source}' shows them"
            if source.is_dir()
            else "their author can see them with 'check'"
        )
        out.print(
            as_typed_here(f"{counted(len(added.warnings), 'warning')} about its drills; {says}."),
            markup=False,
        )
    _tell_of_built_in(sorted({*pack.drills, *pack.procedures} & everything().keys()), pack)
    first = next(iter(sorted((*pack.drills, *pack.procedures))), None)
    if first is not None:
        out.print(as_typed_here(f"Begin with: voice-trainer run {pack.name}/{first}"), markup=False)
    return 0


def new(name: str, folder: Path | None) -> int:
    """Write a commented pack to begin with. Raises DrillError, UsageError, OutputError."""
    texts = pack_template(name)
    folder = folder or Path(name)
    if not folder.parent.is_dir():
        raise UsageError(f"{folder}: there is no folder {folder.parent}; make it, or name another")
    if folder.exists():
        raise UsageError(f"{folder} is there already; name another folder with --out")
    write_new_files(folder, texts)
    says = f"{folder}: written. Change its files, then: voice-trainer check {folder}"
    console().print(as_typed_here(says), markup=False)
    return 0


def _tell_of_built_in(names: Sequence[str], pack: Pack) -> None:
    for name in names:
        console().print(
            f"'{name}' alone is still the built-in one; this one is '{pack.name}/{name}'.", markup=False
        )


def _line(finding: Finding) -> Text:
    return Text(str(finding), style=STYLES[finding.severity])
