"""Packs that are installed: each a folder with a manifest, drills, approaches, holds and house flows beside it.

All of a pack lies in one folder: `pack.yaml` says what it is, `house.yaml` how its house speaks, and every other YAML
file holds one thing, by whose name the file is called. So names are known without reading the files. A pack's things
are called PACK/NAME, as in 'tarlen-school/finch-before-start'.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Annotated

from pydantic import AfterValidator, Field, ValidationError

from voice_trainer.drills.model import Name, Part
from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.flow_files import FLOW_KEY
from voice_trainer.library.house_files import HOUSE_FILE
from voice_trainer.library.procedure_files import FIRST_KEYS
from voice_trainer.library.reading import content_of, first_key
from voice_trainer.library.strict_yaml import read_yaml
from voice_trainer.library.wording import nearest, problems_of

PACK_FILE = "pack.yaml"
FORMAT = 1
"""The newest format of packs that this program knows."""

_QUALIFIED = re.compile(r"[a-z0-9][a-z0-9-]{0,60}/[a-z0-9][a-z0-9 -]{0,60}")


def _seen(value: str) -> str:
    """Nothing in it may change how the rest of a line looks: no second line, no change of direction."""
    if not value.isprintable():
        raise ValueError("it holds characters that can't be seen; write it in one line")
    return value


Line = Annotated[str, Field(min_length=1, max_length=200), AfterValidator(_seen)]
FileName = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]{0,60}\.yaml$")]


class Manifest(Part):
    """What a pack says of itself.

    `format` is that of packs, `version` the pack's own. `holds` names every YAML file beside it, so that nothing gets
    lost on the way. `house_flow` is the flow, by name, with which its approaches and holds are flown unless another is
    asked for.
    """

    pack: Annotated[
        str,
        Field(
            pattern=r"^[a-z0-9][a-z0-9-]{0,60}$",
            description="The name of the pack: its things are called PACK/NAME.",
        ),
    ]
    format: Annotated[int, Field(ge=1, description="The format of packs, 1.")]
    version: Annotated[
        str, Field(pattern=r"^[0-9A-Za-z][0-9A-Za-z.+-]{0,30}$", description="The pack's own version.")
    ]
    title: Annotated[Line, Field(description="Its title, in a line.")]
    made_by: Annotated[Line, Field(description="Who made it.")]
    licence: Annotated[Line, Field(description="What others may do with it.")]
    holds: Annotated[
        tuple[FileName, ...],
        Field(min_length=1, max_length=300, description="The name of every YAML file beside this one."),
    ]
    house_flow: Annotated[
        Name | None,
        Field(
            description="The house flow, by name, with which its approaches are flown unless another "
            "is asked for."
        ),
    ] = None


def read_manifest(content: bytes, file: str) -> Manifest:
    """The manifest in the `content` of a file that messages call `file`. Raises DrillError with all that is wrong."""
    document = read_yaml(content, file, "manifest")
    if not isinstance(document.data, dict):
        what = "a manifest must be lines of 'key: value'"
        raise DrillError(Problem(file, what, "begin with a line 'pack: its-name'", 1, 1))
    mark = document.marks.value(("format",))
    given = document.data.get("format")
    if isinstance(given, int) and given > FORMAT:
        what = f"this is format {given} of packs, and this program knows {FORMAT} at most"
        raise DrillError(Problem(file, what, "get a newer voice_trainer", mark.line, mark.column))
    try:
        return Manifest.model_validate(document.data)
    except ValidationError as error:
        found = problems_of(error, document, file, Manifest)
        raise DrillError(*sorted(found, key=lambda each: (each.line or 0, each.column or 0))) from None


@dataclass(frozen=True)
class Pack:
    """A pack in a folder. Its files are looked at once."""

    folder: Path
    manifest: Manifest

    @property
    def name(self) -> str:
        """By which its things are called."""
        return self.manifest.pack

    @cached_property
    def drills(self) -> dict[str, Path]:
        """The files of its drills, by name, without the pack's."""
        return {name: path for name, (key, path) in self._files.items() if key not in (*FIRST_KEYS, FLOW_KEY)}

    @cached_property
    def procedures(self) -> dict[str, Path]:
        """The files of its approaches and holds, likewise."""
        return {name: path for name, (key, path) in self._files.items() if key in FIRST_KEYS}

    @cached_property
    def flows(self) -> dict[str, Path]:
        """The files of its house flows, by the name of the file: 'our order' is in our-order.yaml."""
        return {name: path for name, (key, path) in self._files.items() if key == FLOW_KEY}

    @property
    def has_house(self) -> bool:
        """Whether it says how its house speaks."""
        return (self.folder / HOUSE_FILE).is_file()

    def flow_file(self, name: str) -> Path | None:
        """The file of the house flow of that name."""
        return self.flows.get(name.replace(" ", "-"))

    @cached_property
    def _files(self) -> dict[str, tuple[str, Path]]:
        found = {}
        for path in sorted(self.folder.glob("*.yaml")):
            if path.name not in (PACK_FILE, HOUSE_FILE):
                found[path.stem] = (first_key(path), path)
        return found


def load_pack(folder: Path) -> Pack:
    """The pack in a folder; only its manifest is read. Raises DrillError."""
    file = folder / PACK_FILE
    return Pack(folder, read_manifest(content_of(file, str(file)), str(file)))


@dataclass(frozen=True, slots=True)
class PackThing:
    """Something of a pack: its name without the pack's, and its file."""

    pack: Pack
    name: str
    path: Path

    @property
    def qualified(self) -> str:
        """PACK/NAME."""
        return f"{self.pack.name}/{self.name}"


class Packs:
    """All that is installed in a folder, None for none; read when it is first needed."""

    def __init__(self, folder: Path | None) -> None:
        self._folder = folder

    @cached_property
    def _read(self) -> tuple[dict[str, Pack], tuple[Problem, ...]]:
        packs: dict[str, Pack] = {}
        problems: list[Problem] = []
        folders = sorted(self._folder.iterdir()) if self._folder is not None and self._folder.is_dir() else []
        for folder in folders:
            if folder.name.startswith(".") or not folder.is_dir():
                continue
            try:
                pack = load_pack(folder)
            except DrillError as error:
                problems.append(error.problems[0])
                continue
            if pack.name == folder.name:
                packs[pack.name] = pack
            else:
                what = f"it calls itself {quoted(pack.name)}"
                problems.append(Problem(str(folder), what, "give the folder that name"))
        return packs, tuple(problems)

    @property
    def all(self) -> tuple[Pack, ...]:
        """The packs, by name."""
        return tuple(self._read[0].values())

    @property
    def unusable(self) -> tuple[Problem, ...]:
        """What is wrong with folders that can't be used."""
        return self._read[1]

    def drills(self) -> dict[str, Path]:
        """The file of every drill of every pack, by PACK/NAME."""
        return {f"{pack.name}/{name}": path for pack in self.all for name, path in pack.drills.items()}

    def procedures(self) -> dict[str, Path]:
        """The file of every approach and hold of every pack, by PACK/NAME."""
        return {f"{pack.name}/{name}": path for pack in self.all for name, path in pack.procedures.items()}

    def called(self, name: str) -> PackThing | None:
        """The drill, approach or hold that `name`, PACK/NAME or NAME alone, means; None where it is of no pack.

        Raises DrillError for a name that two packs have, and for one that an installed pack has not.
        """
        if "/" not in name:
            return self._alone(name)
        if not _QUALIFIED.fullmatch(name):
            return None
        of_pack, _, own = name.partition("/")
        pack = self._read[0].get(of_pack)
        if pack is None:
            if Path(name).exists():
                return None
            likely = nearest(of_pack, self._read[0])
            advice = f"did you mean '{likely}/{own}'?" if likely else "see 'voice-trainer packs'"
            raise DrillError(Problem(quoted(name), "there is no such pack, nor such a file", advice))
        things = pack.drills | pack.procedures
        if own in things:
            return PackThing(pack, own, things[own])
        likely = nearest(own, things)
        advice = f"did you mean '{of_pack}/{likely}'?" if likely else "see 'voice-trainer packs'"
        raise DrillError(Problem(quoted(name), "this pack has no drill of this name", advice))

    def flow_called(self, name: str) -> Path | None:
        """The file of the house flow PACK/NAME, None where there is none."""
        of_pack, _, own = name.partition("/")
        pack = self._read[0].get(of_pack) if _QUALIFIED.fullmatch(name) else None
        return None if pack is None else pack.flow_file(own)

    def _alone(self, name: str) -> PackThing | None:
        found = [
            PackThing(pack, name, things[name])
            for pack in self.all
            if name in (things := pack.drills | pack.procedures)
        ]
        if len(found) > 1:
            which = " or ".join(quoted(each.qualified) for each in found)
            raise DrillError(Problem(quoted(name), "more than one pack has this drill", f"say {which}"))
        return found[0] if found else None


NO_PACKS = Packs(None)
