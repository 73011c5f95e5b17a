"""A node back to pattern text: canonical, so that equal patterns have equal texts."""

from __future__ import annotations

from voice_trainer.phraseology import opposites
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word
from voice_trainer.phraseology.slots import slot_type


def _label(kind: str, value: str) -> str:
    """What an author writes for this type; its whole name where the value alone doesn't lead back to it."""
    label = slot_type(kind).label
    refine = slot_type(label).refine
    return label if label == kind or (refine is not None and refine(value) == kind) else kind


def rendered(node: Node) -> str:
    """The text that compiles to `node`; an open slot is '{heading}', an opened opposite '{left/right}'."""
    match node:
        case Word(text):
            return text
        case Slot(_, kind, None):
            return f"{{{kind}}}"
        case Slot(_, kind, str(value)):
            if kind in opposites.TYPES:
                return value if opposites.type_of_word(value) == kind else f"{{{kind}: {value}}}"
            return f"{{{_label(kind, value)}: {value}}}"
        case Sequence(parts):
            return " ".join(rendered(part) for part in parts)
        case Choice(options):
            return f"({' | '.join(rendered(option) for option in options)})"
        case Maybe(Choice() as choice):
            return f"[{rendered(choice)[1:-1]}]"
        case Maybe(part):
            return f"[{rendered(part)}]"
    raise AssertionError(node)
