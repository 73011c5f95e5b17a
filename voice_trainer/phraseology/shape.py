"""A pattern to look at: how a call goes, without any value that has to be known."""

from __future__ import annotations

from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Slot, Word
from voice_trainer.phraseology.opposites import NOT
from voice_trainer.phraseology.slots import slot_type


def shape_of(node: Node) -> str:
    """The wording with slots for values: 'turn <left/right> [heading] <heading>', 'time [not] required'.

    A word with an opposite is a slot as well, so that the right one can't be read off.
    """
    match node:
        case Word(text):
            return text
        case Slot(_, kind, _):
            return slot_shape(kind)
        case Sequence(parts):
            return " ".join(shape for part in parts if (shape := shape_of(part)))
        case Choice(options):
            shapes = list(dict.fromkeys(shape_of(option) for option in options))
            return shapes[0] if len(shapes) == 1 else f"({' | '.join(shapes)})"
        case Maybe(part):
            shape = shape_of(part)
            if shape.startswith("(") and isinstance(part, Choice):
                shape = shape[1:-1]
            return f"[{shape}]"
    raise AssertionError(node)


def slot_shape(kind: str) -> str:
    """A slot of that type, without its value."""
    return "[not]" if kind == NOT else f"<{slot_type(kind).label}>"
