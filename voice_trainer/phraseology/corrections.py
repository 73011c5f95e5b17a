"""What may follow the word 'correction': a whole call again, or a part of it that holds a value.

ICAO Annex 10 Volume II 5.2.1.5.7 (from memory): after an error 'correction' is said, the last correct group or
phrase, and then the right version. So who said 'turn left heading three one one' may go on with 'correction, three
one zero', 'correction, heading three one zero', or the whole call. The word stands at the head of the phrase, so
that a bare value is listened for behind it and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator

from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Sequence, Word, slots_of
from voice_trainer.phraseology.opposites import NOT

CORRECTION = "correction"
DISREGARD = "disregard"

PARTS_IN_A_BLOCK = 20
"""What is said again of a call of more than two blocks ends in the block in which it begins, or in the next: nobody
takes up more words and values at once, save the whole call.

Every part that might be said stands in the phrase, each with its ends one inside of the other: of a call of hundreds of
words there would be too many, nested too deeply. Those that begin in one block have their ends in common.
"""


def correction_node(opened: Node) -> Node:
    """'correction' and then the call, or a part of it; `opened` is the call's node with every slot open.

    Slots keep the keys that they have in the call.
    """
    parts = tuple(dict.fromkeys(_parts(opened)))
    return Sequence((Word(CORRECTION), parts[0] if len(parts) == 1 else Choice(parts)))


def _parts(node: Node) -> Iterator[Node]:
    """Every run of `node`'s parts in which a value is said, the whole first; the whole alone where none is."""
    match node:
        case Choice(options):
            for option in options:
                yield from _parts(option)
        case Sequence(parts) if _holds_value(node):
            if len(parts) > 2 * PARTS_IN_A_BLOCK:
                yield node
            for first in range(len(parts)):
                head = parts[first : (first // PARTS_IN_A_BLOCK + 2) * PARTS_IN_A_BLOCK]
                at = next((i for i, part in enumerate(head) if _holds_value(part)), None)
                if at is not None:
                    rest = _may_end(head[at + 1 :])
                    yield _joined((*head[:at], _required(head[at]), *rest))
                    if at == 0:
                        for inner in _inner_parts(head[0]):
                            yield _joined((inner, *rest))
        case _:
            yield node


def _inner_parts(node: Node) -> Iterator[Node]:
    """Of a part of several words, what may be said again without the first: 'one five' of '[runway one five]'."""
    required = _required(node)
    if isinstance(required, Sequence):
        whole = next(iter(_parts(required)))
        yield from (part for part in _parts(required) if part != whole)


def _holds_value(node: Node) -> bool:
    # 'not' is heard also where it is not said: it would make a call out of the bare word 'correction'.
    return any(slot.type != NOT for slot in slots_of(node))


def _required(node: Node) -> Node:
    return node.part if isinstance(node, Maybe) else node


def _may_end(parts: tuple[Node, ...]) -> tuple[Node, ...]:
    """`parts` such that one may stop after any of them, or before the first."""
    ended: tuple[Node, ...] = ()
    for part in reversed(parts):
        rest = _joined((part, *ended))
        ended = (rest if isinstance(rest, Maybe) else Maybe(rest),)
    return ended


def _joined(parts: tuple[Node, ...]) -> Node:
    return parts[0] if len(parts) == 1 else Sequence(parts)
