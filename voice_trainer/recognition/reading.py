"""Words with times to interpretations: the same for every engine that hears words, and for typed text."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence

from voice_trainer.journal.hearing import HeardWord, Interpretation, Meaning, Span
from voice_trainer.phraseology.codes import ALPHABET
from voice_trainer.phraseology.grammar import Grammar, Piece
from voice_trainer.phraseology.left_over import LeftOver
from voice_trainer.phraseology.normaliser import FILLERS, normalise_words
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS

SAID_TWICE = frozenset({*DIGITS, *TEENS, *TENS, *ALPHABET, "hundred", "thousand"})
"""Words that may follow themselves, and mean something by it."""


def read_words(
    words: Sequence[HeardWord], grammar: Grammar, log_likelihood: float | None = None
) -> tuple[Interpretation, ...]:
    """Every best reading of `words`, in the order of `Grammar.read`; none for no words.

    The words are put into plain form first ('niner' becomes 'nine'). A word that becomes several shares its
    time among them, several that become one lend it theirs. A word that is said twice, or a call that is begun
    anew in its middle, is read as if it had been said once where only that makes a call. All readings carry
    `log_likelihood`, the engine's own score of the words in nats.
    """
    plain = without_restart(plain_words(words), grammar)
    return tuple(
        Interpretation(spans=spans_of(pieces, plain), log_likelihood=log_likelihood)
        for pieces in grammar.read([word.text for word in plain])
    )


LONGEST_RESTART_WORDS = 6
MOST_RESTARTS = 3
LONGEST_WITH_RESTARTS = 80
"""In an utterance of more words than a breath has only one restart is looked for, and nothing said again (ours)."""


def without_restart(words: Sequence[HeardWord], grammar: Grammar) -> list[HeardWord]:
    """`words` without what was begun and begun anew: 'turn right heading, uh, heading three three three'.

    Numbers and letters may well be said twice, and values are never dropped for others: only what more than the
    dropped words becomes a call by it is a restart, or where they are said again to the word.
    """
    best = list(words)
    for _ in range(MOST_RESTARTS if len(words) <= LONGEST_WITH_RESTARTS else 1):
        best = _without_one_restart(best, grammar)
    return best


def _without_one_restart(words: list[HeardWord], grammar: Grammar) -> list[HeardWord]:
    texts = [word.text for word in words]
    best = words
    words_of_no_call = LeftOver(texts, grammar)
    left_over = least = words_of_no_call.count()
    for at, text in enumerate(texts):
        if not least or text in SAID_TWICE:
            continue
        for again in range(at + 1, min(len(texts), at + 1 + LONGEST_RESTART_WORDS)):
            if texts[again] == text:
                rest = words_of_no_call.count_without(at, again)
                dropped = again - at
                becomes_more = rest < left_over - dropped
                if rest < least and (becomes_more or _is_said_again(texts, at, again, grammar)):
                    best, least = [*words[:at], *words[again:]], rest
    return best


def said_once(texts: Sequence[str]) -> list[str]:
    """`texts` where words that are said again right away, as far as they have been, count once.

    For what is not over yet: what becomes a call by it can't be asked there.
    """
    left = list(texts)
    at = 0
    while at < len(left):
        for again in range(at + 1, min(len(left), at + 1 + LONGEST_RESTART_WORDS)):
            known = min(again - at, len(left) - again)
            if left[at] not in SAID_TWICE and left[at : at + known] == left[again : again + known]:
                del left[at:again]
                break
        else:
            at += 1
    return left


def _is_said_again(texts: list[str], at: int, again: int, grammar: Grammar) -> bool:
    """Whether the words from `at` to `again` are said again, and what follows is a call with them.

    One word alone may well end a call and begin the next ('... after departure, departure one two seven point three'):
    it must stand inside of one.
    """
    if len(texts) > LONGEST_WITH_RESTARTS or texts[at:again] != texts[again : 2 * again - at]:
        return False
    pieces = (p for reading in grammar.read([*texts[:at], *texts[again:]]) for p in reading)
    calls = [p for p in pieces if p.kind == "call" and p.first <= at < p.last_exclusive]
    return any(again - at > 1 or p.first < at < p.last_exclusive - 1 for p in calls)


def spans_of(pieces: Iterable[Piece], words: Sequence[HeardWord]) -> tuple[Span, ...]:
    """The pieces into which a grammar has cut `words`, with the words in them."""
    return tuple(
        Span(
            kind=piece.kind,
            words=tuple(words[piece.first : piece.last_exclusive]),
            meanings=tuple(
                Meaning(phrase=each.phrase, slots=dict(each.slots), remarks=each.remarks)
                for each in piece.meanings
            ),
        )
        for piece in pieces
    )


def meaning_of(reading: Interpretation) -> tuple[object, ...]:
    """What a reading means, to compare: phrases and slot values in order, and the words that are nobody's."""
    return tuple(
        tuple((meaning.phrase, tuple(sorted(meaning.slots.items()))) for meaning in span.meanings)
        if span.meanings
        else span.text
        for span in reading.spans
    )


def plain_words(words: Sequence[HeardWord]) -> list[HeardWord]:
    """`words` as the normaliser leaves them, each with its place on the session clock."""
    tokens = normalise_words([word.text for word in words])
    sources = [source for _, source in tokens]  # in order: what becomes of a word stays where it was
    shares = {
        source: range(len(sources))[bisect_left(sources, source) : bisect_right(sources, source)]
        for source in sources
    }
    plain: list[HeardWord] = []
    for index, (text, source) in enumerate(tokens):
        share = shares[source]
        after = sources[share.stop] if share.stop < len(sources) else len(words)
        last = after - 1
        while last > source and words[last].text.lower() in FILLERS:
            last -= 1
        start, end = words[source].start_seconds, words[last].end_seconds
        part = (end - start) / len(share)
        place = index - share.start
        last_of_share = place == len(share) - 1
        plain.append(
            HeardWord(
                text=text,
                start_seconds=start + place * part,
                end_seconds=end if last_of_share else start + (place + 1) * part,
            )
        )
    return plain


def evenly_spaced(texts: Sequence[str], start_seconds: float, end_seconds: float) -> list[HeardWord]:
    """`texts` as words that share the time from `start_seconds` to `end_seconds` evenly."""
    each = (end_seconds - start_seconds) / max(1, len(texts))
    return [
        HeardWord(
            text=text,
            start_seconds=start_seconds + index * each,
            end_seconds=end_seconds if index == len(texts) - 1 else start_seconds + (index + 1) * each,
        )
        for index, text in enumerate(texts)
    ]
