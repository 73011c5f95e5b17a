"""Patterns: how a call may be worded. Compiled once, with errors by line and column.

A pattern is written as words, `[optional]` parts, `(this | that)` choices, as in the W3C JSpeech Grammar
Format note (2000), and typed slots `{heading: 095}`.

A pattern is matched *opened*: every slot may hold any legal value, and every word with an opposite may be its
opposite, for what is heard must not depend on what is expected. What differs from the expectation is then
listed by `Pattern.differences`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache

from voice_trainer.phraseology.automaton import Automaton, FirstWords, Taken
from voice_trainer.phraseology.callsign_rules import CallsignRules, with_callsign_rules
from voice_trainer.phraseology.corrections import correction_node
from voice_trainer.phraseology.nodes import Choice, Maybe, Node, Slot, Word, slots_of, words_of
from voice_trainer.phraseology.nodes import Sequence as Parts
from voice_trainer.phraseology.opposites import NOT
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.parser import Parser, tidy_synonyms
from voice_trainer.phraseology.pattern_text import PatternError, Place
from voice_trainer.phraseology.rendering import rendered
from voice_trainer.phraseology.slot_reader import SlotReader
from voice_trainer.phraseology.slots import Region, slot_type

__all__ = ["Difference", "Match", "Pattern", "PatternError", "compile_pattern"]


@dataclass(frozen=True, slots=True)
class Match:
    """What the slots of a pattern held in some words.

    `slots` maps slot keys to canonical texts, `slot_words` to the words of each slot as (first, one past the
    last). A slot in an optional part that was not said has no entry.
    """

    slots: dict[str, str]
    remarks: tuple[str, ...]
    slot_words: dict[str, tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Difference:
    """A slot that did not hold what was expected; `heard` is None where it was not said at all."""

    key: str
    type: str
    expected: str
    heard: str | None


@dataclass(frozen=True)
class Pattern:
    """A compiled pattern: `node` is what was written, `text` its canonical rendering."""

    text: str
    node: Node
    region: Region = "faa"

    @cached_property
    def expected(self) -> dict[str, str]:
        """The expected value of every slot that has one, by key; the first where a choice has several."""
        values: dict[str, str] = {}
        for slot in slots_of(self.node):
            if slot.value is not None:
                values.setdefault(slot.key, slot.value)
        return values

    @cached_property
    def _opened(self) -> Pattern:
        node = opened_node(self.node)
        return self if node == self.node else Pattern(rendered(node), node, self.region)

    def opened(self) -> Pattern:
        """The same wording with every slot open to any value: what a recogniser listens for."""
        return self._opened

    @property
    def phrase(self) -> str:
        """The opened pattern's text, by which hearings name this phrase."""
        return self._opened.text

    @cached_property
    def correction(self) -> Pattern:
        """'correction' and this call again, opened: the whole of it, or a part that holds a value."""
        node = correction_node(self._opened.node)
        return Pattern(rendered(node), node, self.region)

    def with_values(self, values: Mapping[str, str]) -> Pattern:
        """The same wording with other expected values, by slot key, in canonical text."""
        node = revalued(self.node, values)
        return Pattern(rendered(node), node, self.region)

    def spoken(self) -> tuple[str, ...]:
        """The standard words, first choices taken, optional parts said."""
        return tuple(_spoken(self.node, self.region, full=True))

    def brief(self) -> tuple[str, ...]:
        """The standard words, first choices taken, optional parts left out."""
        return tuple(_spoken(self.node, self.region, full=False))

    def outline(self, said: Sequence[str]) -> tuple[str, ...]:
        """The standard words without what is to be known: values are '...', a 'not' is '(not)', and of words with
        opposites stands the one that was `said`, '...' where none was.
        """
        return tuple(_outlined(self.node, frozenset(said)))

    def is_near(self, said: Sequence[str]) -> bool:
        """Whether other words hold all that the call is about: a value for each slot that must be said, and one
        of the call's own words.
        """
        owed = [slot for slot in _required_slots(self.node) if slot.type not in OPPOSITES]
        return (
            bool(owed)
            and any(_is_own_word(self.node, word) for word in said)
            and all(_holds(slot, said, self.region) for slot in owed)
        )

    @cached_property
    def automaton(self) -> Automaton:
        """The graph of the opened pattern."""
        return Automaton.of(self._opened.node)

    def match(self, words: Sequence[str]) -> Match | None:
        """The opened pattern against all of the normalised `words`; None when they are not this phrase."""
        reader = SlotReader(words, self.region)
        ends = self.automaton.ends(words, 0, reader.ends)
        if len(words) not in ends:
            return None
        return match_of(ends[len(words)], reader)

    def holds(self, words: Sequence[str]) -> bool:
        """Whether all of the normalised `words` are a stretch of this phrase, with whatever whole values."""
        return self.automaton.holds(words, SlotReader(words, self.region).ends)

    def remarks(self, slots: Mapping[str, str]) -> tuple[str, ...]:
        """Remarks on what was left out, where a house lets it be but not without a word."""
        return tuple(dict.fromkeys(_left_out(self.node, slots, self.region)))

    def differences(self, slots: Mapping[str, str]) -> tuple[Difference, ...]:
        """Where the heard `slots` are not what is expected, in the order of the pattern.

        A slot that was not heard counts unless it stands in an optional part that is not owed. Of a choice, the
        option that fits best counts.
        """
        return tuple(_differences(self.node, slots, optional=False)[1])


def match_of(taken: Taken | None, reader: SlotReader) -> Match:
    """The slots on a way through a pattern as values."""
    slots: dict[str, str] = {}
    remarks: dict[str, None] = {}
    slot_words: dict[str, tuple[int, int]] = {}
    for each in taken.in_order() if taken is not None else ():
        value, notes = reader.value(each.slot, each.start, each.end)
        slots[each.slot.key] = value
        slot_words[each.slot.key] = (each.start, each.end)
        remarks.update(dict.fromkeys(notes))
    return Match(slots, tuple(remarks), slot_words)


def compile_pattern(
    text: str,
    *,
    region: Region = "faa",
    synonyms: Mapping[str, Sequence[str]] | None = None,
    fixes: Sequence[str] = (),
    verbatim: bool = False,
    callsigns: CallsignRules | None = None,
    line: int = 1,
    column: int = 1,
) -> Pattern:
    """Compile a pattern that stands at `line` and `column` of its file; the same one again is not worked out twice.

    `synonyms` maps a word or several to other wordings of the same meaning, `fixes` are the names that
    `{fix: ...}` may hold. `verbatim`: the wording counts, so no synonym is taken and 'descending' is not 'descend'.
    `callsigns` says in what short form a callsign may be given, and whether it may be missing. Raises
    PatternError, which says where and what, for anything that can't be spoken, matched or graded.
    """
    hashable = tuple((written, tuple(others)) for written, others in (synonyms or {}).items())
    return _compiled(text, region, hashable, tuple(fixes), verbatim, callsigns, Place(line, column))


@lru_cache(maxsize=4096)
def _compiled(
    text: str,
    region: Region,
    synonyms: tuple[tuple[str, tuple[str, ...]], ...],
    fixes: tuple[str, ...],
    verbatim: bool,
    callsigns: CallsignRules | None,
    place: Place,
) -> Pattern:
    tidied = tidy_synonyms(dict(synonyms), place)
    node = Parser(text, place, {} if verbatim else tidied, verbatim=verbatim, fixes=fixes).parse()
    pattern = Pattern(rendered(node), node, region)
    if _may_be_silent(pattern):
        raise place.error("every part of this pattern may be left unsaid: one word at least must be required")
    if callsigns is None:
        return pattern
    node = with_callsign_rules(node, callsigns, region)
    ruled = Pattern(rendered(node), node, region)
    if not _may_be_silent(ruled):
        return ruled
    # A call that is nothing but a callsign can't do without it.
    node = with_callsign_rules(pattern.node, replace(callsigns, unsaid=None), region)
    return Pattern(rendered(node), node, region)


def _may_be_silent(pattern: Pattern) -> bool:
    return pattern.automaton.first_words(_firsts)[1]


def _firsts(slot: Slot) -> FirstWords:
    return frozenset(), slot.type == NOT


def opened_node(node: Node) -> Node:
    """`node` with every slot open; options that become the same are one."""
    match node:
        case Slot(key, kind, _):
            return Slot(key, kind, None)
        case Parts(parts):
            return Parts(tuple(opened_node(part) for part in parts))
        case Choice(options):
            opened = tuple(dict.fromkeys(opened_node(option) for option in options))
            return opened[0] if len(opened) == 1 else Choice(opened)
        case Maybe(part):
            return Maybe(opened_node(part))
        case Word():
            return node


def revalued(node: Node, values: Mapping[str, str]) -> Node:
    """`node` with other expected values in the slots whose keys `values` holds."""
    match node:
        case Slot(key, kind, value):
            return Slot(key, kind, values.get(key, value))
        case Parts(parts):
            return Parts(tuple(revalued(part, values) for part in parts))
        case Choice(options):
            return Choice(tuple(revalued(option, values) for option in options))
        case Maybe(part, unsaid):
            return Maybe(revalued(part, values), unsaid)
        case Word():
            return node


def _spoken(node: Node, region: Region, *, full: bool) -> Iterator[str]:
    match node:
        case Word(text):
            yield text
        case Slot(_, kind, value):
            if value is None:
                yield from kind.split()
            else:
                yield from slot_type(kind).words(value, region)
        case Parts(parts):
            for part in parts:
                yield from _spoken(part, region, full=full)
        case Choice(options):
            yield from _spoken(options[0], region, full=full)
        case Maybe(part, unsaid):
            if full or unsaid != "free":
                yield from _spoken(part, region, full=full)


def _outlined(node: Node, said: frozenset[str]) -> Iterator[str]:
    match node:
        case Word(text):
            yield text
        case Slot(_, kind, _):
            if kind == NOT:
                yield "(not)"
            else:
                words = sorted(said) if kind in OPPOSITES else []
                yield next((word for word in words if OPPOSITES[kind].value((word,)) is not None), "...")
        case Parts(parts):
            for part in parts:
                yield from _outlined(part, said)
        case Choice(options):
            yield from _outlined(options[0], said)
        case Maybe(part):
            yield from _outlined(part, said)


def _required_slots(node: Node) -> Iterator[Slot]:
    match node:
        case Slot():
            yield node
        case Parts(parts):
            for part in parts:
                yield from _required_slots(part)
        case Choice(options):
            yield from _required_slots(options[0])
        case Maybe() | Word():
            return


def _is_own_word(node: Node, word: str) -> bool:
    sets = [OPPOSITES[slot.type] for slot in slots_of(node) if slot.type in OPPOSITES and slot.type != NOT]
    return word in words_of(node) or any(each.value((word,)) is not None for each in sets)


LONGEST_VALUE_WORDS = 10


def _holds(slot: Slot, said: Sequence[str], region: Region) -> bool:
    kind = slot_type(slot.type)
    return any(
        kind.value(said[first:end], region) is not None
        for first in range(len(said))
        for end in range(first + 1, min(len(said), first + LONGEST_VALUE_WORDS) + 1)
    )


def _left_out(node: Node, heard: Mapping[str, str], region: Region) -> Iterator[str]:
    match node:
        case Maybe(part, "remarked"):
            missing = next((slot for slot in slots_of(part) if slot.key not in heard), None)
            if missing is not None and missing.value is not None:
                words = " ".join(slot_type(missing.type).words(missing.value, region))
                yield f"no {slot_type(missing.type).label}: say {words}"
        case Maybe(part):
            yield from _left_out(part, heard, region)
        case Parts(parts) | Choice(parts):
            for part in parts:
                yield from _left_out(part, heard, region)


UNFIT = 1000
"""What it costs to take an option of a choice that has no place for a slot that was heard."""


def _differences(node: Node, heard: Mapping[str, str], *, optional: bool) -> tuple[int, list[Difference]]:
    match node:
        case Word():
            return 0, []
        case Slot(key, kind, expected):
            value = heard.get(key)
            if expected is None or value == expected or (value is None and optional):
                return 0, []
            return 1, [Difference(key, kind, expected, value)]
        case Parts(parts):
            each = [_differences(part, heard, optional=optional) for part in parts]
            return sum(cost for cost, _ in each), [difference for _, found in each for difference in found]
        case Maybe(part, unsaid):
            return _differences(part, heard, optional=unsaid != "owed")
        case Choice(options):
            keys = [{slot.key for slot in slots_of(option)} for option in options]
            said = set().union(*keys) & heard.keys()
            costed = []
            for option, own in zip(options, keys, strict=True):
                cost, found = _differences(option, heard, optional=optional)
                costed.append((cost + UNFIT * len(said - own), found))
            return min(costed, key=lambda each: each[0])
