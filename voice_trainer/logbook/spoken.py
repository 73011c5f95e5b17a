"""What is due, in a sentence or two to be spoken."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from voice_trainer.drills.spoken_names import in_words
from voice_trainer.logbook.due import Due, DueItem
from voice_trainer.phraseology.numerals import cardinal_words

MOST_COUNTED = 999

KINDS: dict[str, tuple[str, str]] = {
    "procedure": ("flow", "flows"),
    "radio": ("radio exchange", "radio exchanges"),
    "checklist": ("checklist item", "checklist items"),
    "memory": ("memory item", "memory items"),
    "callouts": ("callout", "callouts"),
    "brief": ("brief", "briefs"),
    "reckoning": ("sum", "sums"),
}
"""One of each kind of drill, and several, in words."""


def due_in_brief(found: Due) -> str:
    """'Five things are due: two flows, one checklist item, one memory item, one radio exchange.', '' for none.

    Where nothing is due, how many new ones there are.
    """
    if found.due:
        count = len(found.due)
        are = "thing is" if count == 1 else "things are"
        return f"{_number(count).capitalize()} {are} due: {_kinds(found.due)}."
    if found.new:
        return f"Nothing is due. {_number(len(found.new)).capitalize()} new: {_kinds(found.new)}."
    return ""


def due_in_full(found: Due) -> list[str]:
    """The same, and what it is by name; then what is new."""
    if not (found.due or found.new):
        return ["Nothing is due, and no more new ones are for today."]
    lines = [due_in_brief(found)]
    if found.due:
        lines.append(f"{_titles(found.due)}.")
    if found.due and found.new:
        lines.append(f"And {_number(len(found.new))} new.")
    return lines


MOST_NAMED = 5
"""Nobody keeps more in mind (ours)."""


def _titles(items: Sequence[DueItem]) -> str:
    titles = list(dict.fromkeys(in_words(each.item.drill) for each in items))
    more = "; and more" if len(titles) > MOST_NAMED else ""
    return "; ".join(titles[:MOST_NAMED]).capitalize() + more


def _kinds(items: Sequence[DueItem]) -> str:
    counts = Counter(each.item.kind for each in items)
    parts = [f"{_number(count)} {_kind(kind, count)}" for kind, count in counts.items()]
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"


def _kind(kind: str, count: int) -> str:
    one, several = KINDS.get(kind, ("thing", "things"))
    return one if count == 1 else several


def _number(count: int) -> str:
    return " ".join(cardinal_words(count)) if count <= MOST_COUNTED else "very many"
