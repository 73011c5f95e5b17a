"""Right calls with values drawn anew, and their wrong twins: what is said, and in which grammar.

A twin is a right call with one thing changed: a digit changed, two digits swapped, a digit dropped, a reciprocal, a
word for its opposite, a 'not' put in or left out. It means something else, or nothing, and must never be taken for the
right call.
"""

from __future__ import annotations

import random
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

from scripts.benchmarks.phrases import (
    DIRECTION_TYPES,
    FIGURES,
    HALVES,
    SAMPLERS,
    Half,
    compiled,
    label_of,
    phrases,
)
from voice_trainer.drills.domain import domain_of
from voice_trainer.journal.hearing import Hearing
from voice_trainer.library.builtin import find_drill
from voice_trainer.phraseology import nodes
from voice_trainer.phraseology.codes import ALPHABET
from voice_trainer.phraseology.grammar import Grammar, Phrase, Piece
from voice_trainer.phraseology.normaliser import normalise_words
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS
from voice_trainer.phraseology.opposites import FAMILIES, NAMED_SETS, NOT, NOT_SAID
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.orders import control_phrases
from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.trade import trade_phrases

MEASURED_DRILLS = (
    "approach-callouts",
    "before-landing-checklist",
    "brannock-callouts",
    "brannock-clearance",
    "brannock-taxi-icao",
    "engine-failure",
    "engine-fire-in-flight",
    "kelda-outbound",
    "kelda-vor-approach",
    "kelda-vor-brief",
    "reckon-course-reversal",
    "reckon-descent",
    "yarrow-descent",
)
"""The drills from which lines are drawn: the same ones, however many come with the program, so that runs compare."""

Kind = Literal["right", "twin", "unrelated", "non-speech", "four calls"]
KINDS: tuple[Kind, ...] = ("right", "twin", "unrelated", "non-speech")
FOUR_CALLS: Kind = "four calls"
"""Four right calls in one breath: counted apart."""

NUMBER_EDITS = ("digit changed", "digits swapped", "digit dropped", "unit changed", "reciprocal")
WORD_EDITS = ("opposite", "letter changed", "not")

BROAD = "broad"
FIGURES_ONLY = "figures "
"""With the name of a slot type behind it: a grammar that listens for bare values of that type."""

UNITS = ("hundred", "thousand")
NEAR_DIGITS = frozenset({"nine", "five", "eight"})
"""Alike to a recogniser: half of the changed digits that can be are exchanged among these."""

COLLOQUIAL_SHARE = 0.2
"""How many values are said in some other legal way than the standard one: 'three thirty' for three three zero."""

JOINED_SHARE = 0.1
"""How many utterances of the broad grammar are two calls in one breath."""


@dataclass(frozen=True)
class Line:
    """One thing to say. `spoken` are the words for a voice, `words` the same as the normaliser leaves them.

    `grammar` names what listens (see `grammar_named`). For a twin, `edit` is what was changed and `right` holds the
    words of the right call.
    """

    half: Half
    kind: Kind
    grammar: str
    phrase: str
    spoken: tuple[str, ...]
    words: tuple[str, ...]
    edit: str = ""
    right: tuple[str, ...] = ()


@cache
def grammar_named(name: str) -> Grammar:
    """A grammar that listens: 'broad', 'figures squawk' and the like, or that of a built-in drill or a drill's file."""
    common = (*trade_phrases(), *control_phrases())
    if name == BROAD:
        texts = [text for half in HALVES for text in phrases(half)]
        return Grammar((*(Phrase(compiled(text), "call") for text in texts), *common))
    if name.startswith(FIGURES_ONLY):
        return Grammar((Phrase(compiled(f"{{{name.removeprefix(FIGURES_ONLY)}}}"), "call"), *common))
    return domain_of(find_drill(name))


def pronunciations(name: str) -> dict[str, str]:
    """What a session with this grammar would tell the recogniser about made-up words."""
    names = MEASURED_DRILLS if name == BROAD or name.startswith(FIGURES_ONLY) else (name,)
    return {word: phones for each in names for word, phones in find_drill(each).pronounce.items()}


def meaning_of(pieces: Sequence[Piece]) -> Hashable:
    """What pieces mean, to compare; equal neighbours count once."""
    return _once(
        frozenset((each.phrase, tuple(sorted(each.slots.items()))) for each in piece.meanings)
        or (piece.first, piece.last_exclusive)
        for piece in pieces
    )


def heard_meaning(hearing: Hearing) -> Hashable:
    """What was heard, to compare with `meaning_of_words`."""
    return _once(
        frozenset((each.phrase, tuple(sorted(each.slots.items()))) for each in span.meanings) or span.text
        for span in (hearing.best.spans if hearing.best else ())
    )


def _once(keys: Iterator[Hashable]) -> Hashable:
    found: list[Hashable] = []
    for key in keys:
        if not found or found[-1] != key:
            found.append(key)
    return tuple(found)


def meaning_of_words(words: Sequence[str], grammar: Grammar) -> Hashable | None:
    """What words mean where all of them belong to calls, and mean one thing only; else None."""
    cuts = grammar.read(words)
    if not cuts or any(piece.kind == "other" for piece in cuts[0]):
        return None
    meanings = {meaning_of(cut) for cut in cuts}
    return meanings.pop() if len(meanings) == 1 else None


# --- right calls -----------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Call:
    """A pattern with values, the words that say it, and the same pattern's slots with how each was said."""

    pattern: Pattern
    ways: Mapping[str, tuple[str, ...]]
    full: bool

    def words(self, ways: Mapping[str, tuple[str, ...]] | None = None) -> tuple[str, ...]:
        return tuple(_said(self.pattern.node, ways or self.ways, self.full))


def _said(node: nodes.Node, ways: Mapping[str, tuple[str, ...]], full: bool) -> Iterator[str]:
    match node:
        case nodes.Word(text):
            yield text
        case nodes.Slot(key, _, _):
            yield from ways[key]
        case nodes.Sequence(parts):
            for part in parts:
                yield from _said(part, ways, full)
        case nodes.Choice(options):
            yield from _said(options[0], ways, full)
        case nodes.Maybe(part):
            if full:
                yield from _said(part, ways, full)


def _drawn(pattern: Pattern, chance: random.Random) -> _Call:
    """The pattern with other values, most of them said as they should be."""
    ways: dict[str, tuple[str, ...]] = {}
    for slot in nodes.slots_of(pattern.node):
        kind = slot_type(slot.type)
        if slot.type == NOT:
            ways[slot.key] = kind.words(chance.choice((NOT, NOT, NOT_SAID)))
        elif slot.type in OPPOSITES:
            ways[slot.key] = kind.words(_other_side(slot, chance))
        else:
            colloquial = chance.random() < COLLOQUIAL_SHARE
            ways[slot.key] = (_walked(slot.type, chance) if colloquial else None) or kind.words(
                _value(slot, chance)
            )
    return _Call(pattern, ways, full=chance.random() < 0.6)


def _other_side(slot: nodes.Slot, chance: random.Random) -> str:
    return str(slot.value) if slot.type in NAMED_SETS else chance.choice(slot.type.split("/"))


def _value(slot: nodes.Slot, chance: random.Random) -> str:
    value = SAMPLERS[label_of(slot.type)](chance)
    if label_of(slot.type) == "callsign" and slot.value is not None:
        value = f"{slot.value.rpartition(' ')[0]} {value.rpartition(' ')[2]}"
    return slot_type(slot.type).canonical(value)


def _walked(name: str, chance: random.Random) -> tuple[str, ...] | None:
    """Some legal way to say some legal value."""
    kind = slot_type(name)
    for _ in range(10):
        words = tuple(_walk(kind.language(), chance))
        if kind.value(words) is not None:
            return words
    return None


def _walk(node: nodes.Node, chance: random.Random) -> Iterator[str]:
    match node:
        case nodes.Word(text):
            yield text
        case nodes.Sequence(parts):
            for part in parts:
                yield from _walk(part, chance)
        case nodes.Choice(options):
            yield from _walk(chance.choice(options), chance)
        case nodes.Maybe(part):
            if chance.random() < 0.5:
                yield from _walk(part, chance)


def _line(half: Half, grammar: str, calls: Sequence[_Call], chance: random.Random) -> Line | None:
    """The calls in one breath, where that is one thing to the grammar and nothing else."""
    words = tuple(word for call in calls for word in call.words())
    plain = tuple(word for word, _ in normalise_words(words))
    if meaning_of_words(plain, grammar_named(grammar)) is None:
        return None
    phrase = " + ".join(call.pattern.phrase for call in calls)
    return Line(half, "right", grammar, phrase, _nines(words, chance), plain)


def _nines(words: Sequence[str], chance: random.Random) -> tuple[str, ...]:
    """Half of all people say 'nine', whatever is standard."""
    said = chance.choice(("nine", "niner"))
    return tuple(said if word in ("nine", "niner") else word for word in words)


@dataclass(frozen=True)
class Source:
    """A phrase that can be said, in its half."""

    half: Half
    grammar: str
    pattern: Pattern


@cache
def sources() -> tuple[Source, ...]:
    """Every phrase of the broad grammar, of the drills, and of joined recordings. No phrase is in both halves."""
    found = [Source(half, BROAD, compiled(text)) for half in HALVES for text in phrases(half)]
    half_of: dict[str, Half] = {}
    for source in found:
        if half_of.setdefault(source.pattern.phrase, source.half) != source.half:
            raise AssertionError(f"{source.pattern.phrase} is in both halves: reword one in phrases.py")
    for name in MEASURED_DRILLS:
        drill = find_drill(name)
        for step in drill.steps:
            for call in step.flow.calls if step.flow else ():
                pattern = drill.pattern(call)
                alike = (each.half for each in found if _can_be_the_same(each.pattern, pattern))
                half = half_of.get(pattern.phrase, next(alike, HALVES[len(half_of) % 2]))
                half_of[pattern.phrase] = half
                found.append(Source(half, name, pattern))
    # One person recorded the single words: in the half that no threshold may see.
    joined = (Source("test", f"{FIGURES_ONLY}{name}", compiled(f"{{{name}}}")) for name in FIGURES)
    return (*found, *joined)


def _can_be_the_same(one: Pattern, other: Pattern) -> bool:
    """Whether two phrases have a wording in common: 'turn left heading ...' and '[turn] left [heading] ...'."""
    for a, b in ((one, other), (other, one)):
        ways = {slot.key: slot_type(slot.type).words(_value_or(slot)) for slot in nodes.slots_of(a.node)}
        if any(b.match(_plain(_said(a.node, ways, full))) is not None for full in (True, False)):
            return True
    return False


def _value_or(slot: nodes.Slot) -> str:
    return slot.value if slot.value is not None else _value(slot, random.Random(0))


def right_and_twins(half: Half, count: int, seed: int) -> list[tuple[Line, Line | None]]:
    """`count` distinct right calls of a half, by turns of every phrase, each with a twin where it has one."""
    every = [source for source in sources() if source.half == half]
    found: list[tuple[Line, Line | None]] = []
    known: set[tuple[str, tuple[str, ...]]] = set()
    turn = 0
    while every and len(found) < count:
        fresh: list[Source] = []
        for source in every:
            chance = random.Random(f"{seed}/{half}/{source.grammar}/{source.pattern.phrase}/{turn}")
            calls = [_drawn(source.pattern, chance)]
            if source.grammar == BROAD and chance.random() < JOINED_SHARE:
                calls.append(_drawn(chance.choice(_others(every, source)).pattern, chance))
            line = _line(half, source.grammar, calls, chance)
            if line is None or (line.grammar, line.words) in known:
                # A phrase without values has soon been said in every way.
                if turn < 30:
                    fresh.append(source)
                continue
            fresh.append(source)
            known.add((line.grammar, line.words))
            twin = _twin(line, calls, chance, known)
            if twin is not None:
                known.add((twin.grammar, twin.words))
            found.append((line, twin))
            if len(found) == count:
                break
        every = fresh
        turn += 1
    return found


def _others(every: Sequence[Source], source: Source) -> list[Source]:
    return [each for each in every if each.grammar == source.grammar and each.pattern != source.pattern] or [
        source
    ]


def four_calls(half: Half, rights: Sequence[Line], seed: int, count: int) -> list[Line]:
    """Four right calls of the broad grammar in one breath, `count` times; each reads as four calls."""
    single = [line for line in rights if line.grammar == BROAD and " + " not in line.phrase]
    chance = random.Random(f"{seed}/{half}/four")
    found: list[Line] = []
    while len(found) < count:
        four = chance.sample(single, 4)
        words = tuple(word for line in four for word in line.words)
        cuts = grammar_named(BROAD).read(words)
        if [piece.last_exclusive for piece in cuts[0]] == _ends(four) and len(cuts) == 1:
            spoken = tuple(word for line in four for word in line.spoken)
            phrase = " + ".join(line.phrase for line in four)
            found.append(Line(half, FOUR_CALLS, BROAD, phrase, spoken, words))
    return found


def _ends(lines: Sequence[Line]) -> list[int]:
    return [sum(len(line.words) for line in lines[: at + 1]) for at in range(len(lines))]


# --- twins -----------------------------------------------------------------------------------------------

WEIGHTS = {
    "digit changed": 3, "digits swapped": 3, "digit dropped": 2, "unit changed": 1, "reciprocal": 4,
    "opposite": 6, "letter changed": 1, "not": 12,
}  # fmt: skip


def _twin(
    line: Line, calls: Sequence[_Call], chance: random.Random, known: set[tuple[str, tuple[str, ...]]]
) -> Line | None:
    grammar = grammar_named(line.grammar)
    right = meaning_of_words(line.words, grammar)
    candidates = {edit: words for edit, words in _edits(line, calls, chance).items() if words}
    while candidates:
        edit = chance.choices(list(candidates), [WEIGHTS[edit] for edit in candidates])[0]
        words = candidates[edit].pop(chance.randrange(len(candidates[edit])))
        if not candidates[edit]:
            del candidates[edit]
        if (line.grammar, words) in known or _may_mean(words, grammar, right):
            continue
        return Line(
            line.half, "twin", line.grammar, line.phrase, _nines(words, chance), words, edit, line.words
        )
    return None


def _may_mean(words: Sequence[str], grammar: Grammar, meaning: Hashable) -> bool:
    return any(meaning_of(cut) == meaning for cut in grammar.read(words))


def _edits(line: Line, calls: Sequence[_Call], chance: random.Random) -> dict[str, list[tuple[str, ...]]]:
    words = line.words
    changed: list[tuple[str, ...]] = []
    near: list[tuple[str, ...]] = []
    swapped: list[tuple[str, ...]] = []
    dropped: list[tuple[str, ...]] = []
    opposite: dict[str, list[tuple[str, ...]]] = {"unit changed": [], "letter changed": [], "opposite": []}
    for at, word in enumerate(words):
        before, after = words[:at], words[at + 1 :]
        for row in (DIGITS, TEENS, TENS):
            if word in row:
                for other in row:
                    if other != word:
                        likely = {word, other} <= NEAR_DIGITS
                        (near if likely else changed).append((*before, other, *after))
                dropped.append((*before, *after))
                if after and after[0] in row and after[0] != word:
                    swapped.append((*before, after[0], word, *after[1:]))
        edit = "unit changed" if word in UNITS else "letter changed" if word in ALPHABET else "opposite"
        opposite[edit] += [(*before, other, *after) for other in _opposites(word)]
    if near and chance.random() < 0.5:
        changed = near
    reciprocal = [
        tuple(word for call in calls for word in _with_reciprocal(call, key))
        for key in {slot.key for call in calls for slot in nodes.slots_of(call.pattern.node)}
        if any(_direction_value(call, key) for call in calls)
    ]
    has_not = any(slot.type == NOT for call in calls for slot in nodes.slots_of(call.pattern.node))
    denied = [tuple(word for call in calls for word in _denied(call))] if has_not else []
    return {
        "digit changed": changed,
        "digits swapped": swapped,
        "digit dropped": [each for each in dropped if each],
        "reciprocal": [_plain(each) for each in reciprocal],
        **opposite,
        "not": [_plain(each) for each in denied],
    }


def _plain(words: Iterable[str]) -> tuple[str, ...]:
    return _normalised(tuple(words))


@lru_cache(maxsize=100_000)
def _normalised(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word for word, _ in normalise_words(words))


def _direction_value(call: _Call, key: str) -> str | None:
    """The value of a direction slot as it was said; None for any other slot."""
    for slot in nodes.slots_of(call.pattern.node):
        if slot.key == key and slot.type in DIRECTION_TYPES:
            read = slot_type(slot.type).value(_plain(call.ways[key]))
            return read[0] if read else None
    return None


def _with_reciprocal(call: _Call, key: str) -> tuple[str, ...]:
    value = _direction_value(call, key)
    if value is None:
        return call.words()
    reciprocal = f"{(int(value) + 179) % 360 + 1:03d}"
    kind = next(slot.type for slot in nodes.slots_of(call.pattern.node) if slot.key == key)
    return call.words({**call.ways, key: slot_type(kind).words(reciprocal)})


def _denied(call: _Call) -> tuple[str, ...]:
    """The call with its 'not' left out, or put in."""
    ways = dict(call.ways)
    for slot in nodes.slots_of(call.pattern.node):
        if slot.type == NOT:
            ways[slot.key] = () if ways[slot.key] else (NOT,)
    return call.words(ways)


@cache
def _opposites(word: str) -> tuple[str, ...]:
    for row in (*(row for family in FAMILIES for row in family), NAMED_SETS["facility"]):
        if word in row:
            return tuple(other for other in row if other != word)
    return tuple(other for other in ALPHABET if other != word)[:3] if word in ALPHABET else ()
