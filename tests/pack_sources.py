"""Small packs, sound ones and such as nobody should install. Their schools are invented."""

from __future__ import annotations

from pathlib import Path

from tests.model_archives import write_folder, write_zip

EXAMPLE = Path(__file__).parents[1] / "voice_trainer" / "guide" / "tarlen-school"

NAME = "gull-school"

MANIFEST = """\
pack: {name}
format: 1
version: "2.1"
title: Gull School
made_by: nobody
licence: CC0-1.0
holds: [{holds}]
"""

FLOW = """\
house_flow: gull order
title: Turn, twist, time, transition, talk
source: invented
checks: [turn, twist, time, transition, talk]
"""

DRILL = """\
drill: {name}
title: {title}
kind: checklist
trains: a check
steps:
  - step: one
    when: start
    cue: {{speaker: instructor, say: "Landing gear."}}
    flow:
      calls:
        - call: gear
          say: "gear down"
"""

HOUSE = "house: gull school\nsynonyms:\n  gear down: [wheels out]\n"


def drill(name: str = "gear", title: str = "The gear of the gulls") -> bytes:
    return DRILL.format(name=name, title=title).encode()


def pack(files: dict[str, bytes] | None = None, name: str = NAME) -> dict[str, bytes]:
    """A pack's files: a house flow, unless others are given, with a manifest that holds them."""
    files = {"gull-order.yaml": FLOW.encode()} if files is None else files
    holds = ", ".join(each for each in files if each.endswith(".yaml"))
    return {"pack.yaml": MANIFEST.format(name=name, holds=holds).encode()} | files


def pack_folder(folder: Path, files: dict[str, bytes] | None = None) -> Path:
    return write_folder(folder, pack() if files is None else files)


def pack_zip(path: Path, files: dict[str, bytes] | None = None, top: str = NAME) -> Path:
    return write_zip(path, pack() if files is None else files, top)
