"""A node back to pattern text: canonical, so that equal patterns have equal texts."""

from __future__ import annotations

from voice_trainer.phraseology import opposites
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word
from voice_trainer.phraseology.slots import slot_type


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
            return f"{{{slot_type(kind).label}: {value}}}"
        case Sequence(parts):
            return " ".join(rendered(part) for part in parts)
        case Choice(options):
            return f"({' | '.join(rendered(option) for option in options)})"
        case Maybe(Choice() as choice):
            return f"[{rendered(choice)[1:-1]}]"
        case Maybe(part):
            return f"[{rendered(part)}]"
    raise AssertionError(node)
