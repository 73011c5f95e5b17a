"""A drill to begin with, for each kind: commented, whole, and without a fault."""

from __future__ import annotations

import re
from pathlib import Path

from voice_trainer.library.errors import DrillError, Problem, quoted
from voice_trainer.library.packs import PACK_FILE

TEMPLATES = Path(__file__).parent / "templates"
"""A YAML file a kind. Its drill is called NAME."""


def template_of(kind: str, name: str) -> str:
    """The text of a new drill file. Raises DrillError where `name` can't be a drill's name."""
    text = (TEMPLATES / f"{kind}.yaml").read_text(encoding="utf-8")
    return text.replace("drill: NAME", f"drill: {as_yaml(checked_name(name))}")


def pack_template(name: str) -> dict[str, str]:
    """The text of each file of a new pack. Raises DrillError where `name` can't be a pack's name."""
    texts = {
        path.name: path.read_text(encoding="utf-8") for path in sorted((TEMPLATES / "pack").glob("*.yaml"))
    }
    texts[PACK_FILE] = texts[PACK_FILE].replace("pack: NAME", f"pack: {as_yaml(checked_name(name, 'pack'))}")
    return texts | {"first-checklist.yaml": template_of("checklist", "first-checklist")}


def checked_name(name: str, thing: str = "drill") -> str:
    """`name` if a drill, or another `thing`, can be called that. Raises DrillError."""
    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,60}", name):
        what = f"a {thing} can't be called that"
        advice = f"use up to 61 small letters, digits and hyphens, as in my-{thing}"
        raise DrillError(Problem(quoted(name), what, advice))
    return name


def as_yaml(name: str) -> str:
    """A drill's name as a YAML file has it: in quotes where it would be no text without them."""
    return f'"{name}"' if name.isdigit() or name in ("true", "false", "null") else name
