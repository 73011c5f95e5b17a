"""Tokens to nodes: brackets, choices, slots, words with opposites, synonyms."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from voice_trainer.phraseology import opposites
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Slot, Word
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.phraseology.normaliser import normalise, normalise_words
from voice_trainer.phraseology.pattern_text import PatternError, Place, Token, tokens_of
from voice_trainer.phraseology.slots import UnknownSlotTypeError, slot_type

DEPTH_LIMIT = 50
"""Deeper brackets than this are a mistake, and would exhaust the stack."""

Synonyms = Mapping[tuple[str, ...], tuple[tuple[str, ...], ...]]

Counts = dict[str, int]
"""How often each slot label was used on the way so far: the number behind the next key."""


def tidy_synonyms(synonyms: Mapping[str, Sequence[str]], place: Place) -> Synonyms:
    """Synonyms with their words normalised; raises PatternError for one that crosses opposites."""
    tidied: dict[tuple[str, ...], tuple[tuple[str, ...], ...]] = {}
    for written, others in synonyms.items():
        words = normalise(written)
        if not words:
            raise place.error(f"the synonym {written!r} has no words")
        alternatives = []
        for other in others:
            said = normalise(other)
            if not said:
                raise place.error(f"{other!r}, a synonym of {written!r}, has no words")
            for one in words:
                for another in said:
                    if opposites.opposed(one, another):
                        raise place.error(
                            f"{other!r} can't be a synonym of {written!r}: {one} and {another} are opposites"
                        )
            if any(
                opposites.NOT in one and not opposites.DENIALS & set(other)
                for one, other in _both(words, said)
            ):
                raise place.error(f"{other!r} can't be a synonym of {written!r}: only one of them says 'not'")
            alternatives.append(said)
        tidied[words] = tuple(dict.fromkeys(alternatives))
    return tidied


def _both(
    one: tuple[str, ...], other: tuple[str, ...]
) -> tuple[tuple[tuple[str, ...], tuple[str, ...]], ...]:
    """A pair of wordings, either way round."""
    return (one, other), (other, one)


SynonymsAt = Callable[[tuple[str, ...], int], int]
"""How many words from a place have synonyms; 0 for none."""


def no_synonyms(_words: tuple[str, ...], _at: int) -> int:
    """A synonym is never replaced by another one."""
    return 0


class Parser:
    """One pattern; `parse` once."""

    def __init__(
        self,
        text: str,
        place: Place,
        synonyms: Synonyms,
        *,
        verbatim: bool = False,
        fixes: Sequence[str] = (),
    ) -> None:
        self._tokens = tokens_of(text, place)
        self._place = place
        self._synonyms = synonyms
        self._verbatim = verbatim
        self._fixes = tuple(fixes)
        self._longest = max((len(words) for words in synonyms), default=0)
        self._at = 0
        self._depth = 0

    def parse(self) -> Node:
        """The whole pattern; raises PatternError."""
        counts: Counts = {}
        node = self._sequence(counts)
        if self._at < len(self._tokens):
            token = self._tokens[self._at]
            if token.kind == "|":
                raise token.place.error("'|' stands between choices in brackets only: (this | that)")
            raise token.place.error(f"{token.text!r} closes nothing")
        if node == Parts(()):
            raise self._place.error("the pattern is empty")
        return node

    def _peek(self) -> Token | None:
        return self._tokens[self._at] if self._at < len(self._tokens) else None

    def _sequence(self, counts: Counts) -> Node:
        parts: list[Node] = []
        while (token := self._peek()) is not None and token.kind not in ("]", ")", "|"):
            match token.kind:
                case "word":
                    parts.extend(self._words(counts))
                case "slot":
                    self._at += 1
                    parts.append(self._slot(token, counts))
                case _:
                    parts.append(self._bracket(token, counts))
        return joined(parts)

    def _bracket(self, opening: Token, counts: Counts) -> Node:
        """What stands in brackets. Options count their slots from the same number: only one is said."""
        closing = "]" if opening.kind == "[" else ")"
        self._depth += 1
        if self._depth > DEPTH_LIMIT:
            raise opening.place.error(f"brackets are nested deeper than {DEPTH_LIMIT}")
        before = dict(counts)
        options: list[Node] = []
        end = opening
        while end.kind != closing:
            self._at += 1
            own = dict(before)
            options.append(self._sequence(own))
            raise_counts(counts, own)
            after = self._peek()
            if after is None:
                raise opening.place.error(f"{opening.text!r} is not closed: {closing!r} is missing")
            if after.kind not in ("|", closing):
                raise after.place.error(
                    f"{after.text!r} does not close {opening.text!r}: {closing!r} is missing"
                )
            if options[-1] == Parts(()):
                what = "an empty choice" if after.kind == "|" or len(options) > 1 else "empty brackets"
                raise after.place.error(f"{what}: write the words, or leave it out")
            end = after
        self._at += 1
        self._depth -= 1
        node = one_of(options)
        if opening.kind == "(":
            return node
        if isinstance(node, Slot) and node.type == opposites.NOT:
            raise opening.place.error("'not' alone can't be optional: both would be right; write two calls")
        return Maybe(node)

    def _slot(self, token: Token, counts: Counts) -> Slot:
        try:
            found = slot_type(token.text)
            if found.declare is not None:
                if not self._fixes:
                    raise token.place.error(
                        f"{{{found.label}}} needs declared values: declare 'fixes: [KELDA]'"
                    )
                found = slot_type(found.declare(self._fixes))
        except UnknownSlotTypeError as error:
            raise token.place.error(str(error)) from None
        except PatternError:
            raise
        except ValueError as error:
            raise token.place.error(str(error)) from None
        if token.value is None or token.value_place is None:
            if found.form is None:
                raise token.place.error(f"{{{token.text}}} needs a value: {found.written_example}")
            return Slot(key_of(found.label, counts), found.name, None)
        try:
            value = found.canonical(token.value)
        except ValueError as error:
            raise token.value_place.error(str(error)) from None
        name = found.refine(value) if found.refine is not None else found.name
        return Slot(key_of(found.label, counts), name, value)

    def _words(self, counts: Counts) -> list[Node]:
        run: list[str] = []
        while (token := self._peek()) is not None and token.kind == "word":
            run.append(token.text)
            self._at += 1
        words = tuple(word for word, _ in normalise_words(run))
        return self._literals(words, counts, self._synonym_length)

    def _literals(self, words: tuple[str, ...], counts: Counts, synonyms_at: SynonymsAt) -> list[Node]:
        nodes: list[Node] = []
        at = 0
        while at < len(words):
            if length := synonyms_at(words, at):
                nodes.append(self._choice(words[at : at + length], counts))
            elif length := fixed_term_length(words, at):
                nodes.extend(Word(word) for word in words[at : at + length])
            else:
                length = 1
                nodes.append(literal(words[at], counts, verbatim=self._verbatim))
            at += length
        return nodes

    def _synonym_length(self, words: tuple[str, ...], at: int) -> int:
        for length in range(min(self._longest, len(words) - at), 0, -1):
            if words[at : at + length] in self._synonyms:
                return length
        return 0

    def _choice(self, written: tuple[str, ...], counts: Counts) -> Node:
        before = dict(counts)
        options: list[Node] = []
        for words in (written, *self._synonyms[written]):
            own = dict(before)
            options.append(joined(self._literals(words, own, no_synonyms)))
            raise_counts(counts, own)
        return one_of(options)


def joined(parts: list[Node]) -> Node:
    """The parts as one node, without sequences inside sequences."""
    flat: list[Node] = []
    for part in parts:
        flat.extend(part.parts if isinstance(part, Parts) else (part,))
    return flat[0] if len(flat) == 1 else Parts(tuple(flat))


def one_of(options: list[Node]) -> Node:
    """A choice of the distinct options, or the only one."""
    distinct = tuple(dict.fromkeys(options))
    return distinct[0] if len(distinct) == 1 else Choice(distinct)


def raise_counts(counts: Counts, own: Counts) -> None:
    """Behind a choice, keys go on from the option that used most."""
    for label, count in own.items():
        counts[label] = max(counts.get(label, 0), count)


def key_of(label: str, counts: Counts) -> str:
    """The next key for a label: 'heading', then 'heading 2'."""
    counts[label] = counts.get(label, 0) + 1
    return label if counts[label] == 1 else f"{label} {counts[label]}"


def literal(word: str, counts: Counts, *, verbatim: bool = False) -> Node:
    """A written word: itself, or the slot of its opposites; `verbatim`, other inflections are opposites too."""
    kind = opposites.verbatim_type_of_word(word) if verbatim else opposites.type_of_word(word)
    return Word(word) if kind is None else Slot(key_of(kind, counts), kind, word)


def fixed_term_length(words: Sequence[str], at: int) -> int:
    """How many words from `at` are a fixed term, the longest; 0 for none."""
    return max(
        (len(term) for term in opposites.FIXED_TERMS if tuple(words[at : at + len(term)]) == term), default=0
    )
