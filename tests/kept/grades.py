"""Grades of kept sessions: as they were, as they are, and which rule made the difference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

CHANGED = "changed.yaml"
PARTS = ("total", "completeness", "accuracy", "timing", "order")

Grade = Mapping[str, str]
"""What each call came to, by 'STEP/CALL'; by 'score PART' what each score did, the reviewed ones included."""


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that a later version grades differently, and by which rule."""

    journal: str
    call: str
    from_: str
    to: str
    rule: str

    def written(self) -> str:
        """As it is written in `changed.yaml`."""
        fields = {
            "journal": self.journal,
            "call": self.call,
            "from": self.from_,
            "to": self.to,
            "rule": self.rule,
        }
        return yaml.safe_dump([fields], sort_keys=False, width=1000, allow_unicode=True)


NOT_THERE = "not there"
RULE = "which rule, where it stands, and why it is fairer now"


def grade_of(document: Mapping[str, Any]) -> Grade:
    """The grade in what `debrief --json` gives."""
    found: dict[str, str] = {}
    for call in document["calls"]:
        verdict = str(call["verdict"] or "not reached")
        held = "" if call["held"] == call["verdict"] else f", after review {call['held']}"
        points = "not counted" if call["points"] is None else f"{call['points']:g} points"
        name = f"{call['step']}/{call['call']}"
        assert name not in found, f"{name} is there twice"
        found[name] = f"{verdict}{held}, {points}"
    for what, scores in (("score", document["scores"]), ("reviewed score", document["reviewed"])):
        for part in PARTS if scores else ():
            found[f"{what} {part}"] = f"{scores[part]['got']:g} of {scores[part]['of']:g}"
    for each in document["forbidden"]:
        found[f"forbidden {each['step']}/{each['call']} at {each['at_seconds']:g} s"] = "made"
    return found


def changes_between(journal: str, before: Grade, now: Grade) -> list[Change]:
    """What is graded differently, in the order of the grade; the rule is left to be written."""
    return [
        Change(journal, name, before.get(name, NOT_THERE), now.get(name, NOT_THERE), RULE)
        for name in dict.fromkeys([*before, *now])
        if before.get(name, NOT_THERE) != now.get(name, NOT_THERE)
    ]


def named_changes(folder: Path) -> list[Change]:
    """What `changed.yaml` of a kept folder names, nothing where there is none."""
    path = folder / CHANGED
    entries = yaml.safe_load(path.read_text(encoding="utf-8")) if path.exists() else None
    found: list[Change] = []
    for entry in entries or []:
        fields = {"journal", "call", "from", "to", "rule"}
        assert isinstance(entry, dict) and set(entry) == fields, (
            f"{path}: {entry}: write {', '.join(sorted(fields))}"
        )
        texts = {key: str(value).strip() for key, value in entry.items()}
        assert texts["rule"] and texts["rule"] != RULE, (
            f"{path}: {texts['journal']}, {texts['call']}: name the rule"
        )
        found.append(Change(texts["journal"], texts["call"], texts["from"], texts["to"], texts["rule"]))
    return found


def complaint(path: Path, journal: str, found: list[Change], named: list[Change]) -> str:
    """What is wrong with what is named of one journal, and exactly what to write; '' where all of it is named."""
    wanted = {(each.call, each.from_, each.to) for each in found}
    known = {(each.call, each.from_, each.to) for each in named if each.journal == journal}
    unnamed = [each for each in found if (each.call, each.from_, each.to) not in known]
    gone = [
        each for each in named if each.journal == journal and (each.call, each.from_, each.to) not in wanted
    ]
    lines: list[str] = []
    if unnamed:
        lines.append(f"{journal} is graded differently than by the version that wrote it.")
        lines.append(f"If that is meant, add to {path} (with the rule in words), else mend the grading:\n")
        lines += [each.written() for each in unnamed]
    if gone:
        lines.append(f"These differences of {journal} are no more: remove them from {path}:\n")
        lines += [each.written() for each in gone]
    return "\n".join(lines)
