"""Of all the ways to say a value, the one nearest to some words: the expected value in the form that was said.

Who says 'twenty nine forty eight' is shown 'twenty nine eighty four', not 'two nine eight four'. The language of the
slot's type is searched along its form, with the least cost of `word_edits` first, and only where the text that is
read so far can still become the value.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from heapq import heappop, heappush
from itertools import count

from voice_trainer.phraseology.forms import FormReader
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.slots import form_reader, slot_type
from voice_trainer.phraseology.word_edits import LONE, cost_of, cost_over

UNUSUAL = 2
"""What a form that is not the standard one costs: it decides between forms that are equally near."""

NOT_WORTH_A_WORD = 70
"""A wording that is longer than the standard one, 'point three zero', must be nearer by more than this."""

UNITS = {"minutes": "minute", "seconds": "second", "miles": "mile", "degrees": "degree"}


def standard_wording(type_name: str, value: str, region: Region) -> tuple[str, ...]:
    """The standard words of a value, as the normaliser leaves them."""
    return normalise(" ".join(slot_type(type_name).words(value, region)))


@lru_cache(maxsize=4096)
def nearest_wording(type_name: str, value: str, said: tuple[str, ...], region: Region) -> tuple[str, ...]:
    """The wording of `value` that is nearest to `said`; the standard one where nothing was said."""
    kind = slot_type(type_name)
    if not said or kind.form is None:
        return standard_wording(type_name, value, region)
    found = _search(form_reader(kind), kind.spellings(value), said)
    if found is None:
        return standard_wording(type_name, value, region)
    standard = standard_wording(type_name, value, region)
    if len(standard) < len(found) and cost_over(standard, said) < cost_over(found, said) + NOT_WORTH_A_WORD:
        return standard
    tidied = _in_number(found)
    read = kind.value(tidied, region)
    return tidied if read is not None and read[0] == value else found


def _search(reader: FormReader, texts: Sequence[str], said: tuple[str, ...]) -> tuple[str, ...] | None:
    turn = count()  # of equal costs what was found first, and no comparing of words
    todo: list[tuple[int, int, int, str, int, tuple[str, ...]]] = [(0, next(turn), 0, "", 0, ())]
    seen: set[tuple[int, str, int]] = set()
    while todo:
        cost, _, state, text, at, words = heappop(todo)
        if (state, text, at) in seen:
            continue
        seen.add((state, text, at))
        if state == reader.end and at == len(said) and text in texts:
            return words
        for more, style, after in reader.silent_edges(state):
            if _begins(texts, text + more):
                dearer = cost + (UNUSUAL if style else 0)
                heappush(todo, (dearer, next(turn), after, text + more, at, words))
        for word, more, after in reader.word_edges(state):
            if not _begins(texts, text + more):
                continue
            heappush(todo, (cost + LONE, next(turn), after, text + more, at, (*words, word)))
            if at < len(said):
                dearer = cost + cost_of(word, said[at])
                heappush(todo, (dearer, next(turn), after, text + more, at + 1, (*words, word)))
        if at < len(said):
            heappush(todo, (cost + LONE, next(turn), state, text, at + 1, words))
    return None


def _begins(texts: Sequence[str], beginning: str) -> bool:
    return any(text.startswith(beginning) for text in texts)


def _in_number(words: tuple[str, ...]) -> tuple[str, ...]:
    """Units in the number of what they count: 'one minute', 'two minutes'."""
    plurals = {one: many for many, one in UNITS.items()}
    tidied: list[str] = []
    for at, word in enumerate(words):
        alone = (
            at and words[at - 1] in ("one", "a") and (at == 1 or words[at - 2] in ("and", "plus", "minus"))
        )
        tidied.append(UNITS.get(word, word) if alone else plurals.get(word, word) if at else word)
    return tuple(tidied)
