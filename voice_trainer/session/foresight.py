"""What a hearing tells before its utterance is over: that whole calls were said, that nothing more is due, and whether
what was said last may still become something else.

Which values are expected plays no part in where utterances are cut and which parts belong together, so none in what is
heard; only `completes` and `agrees`, which decide *when* a hearing is acted upon, know what is due.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from voice_trainer.grading.recognised import agrees_with_what_is_due, completes_what_is_due
from voice_trainer.grading.state import MatchState
from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.reading import said_once


class Foresight(Protocol):
    """What may be concluded from a hearing before the utterance is over."""

    def is_whole(self, hearing: Hearing) -> bool:
        """Whether it is clearly one or more whole calls, so that more speech would be something else."""

    def completes(self, hearing: Hearing) -> bool:
        """Whether it is that, and nothing more is due."""

    def agrees(self, hearing: Hearing) -> bool:
        """Whether all of it is what is due, and right, so that it may be acted upon although it may grow."""

    def may_go_on(self, hearing: Hearing) -> bool:
        """Whether more words could belong to its last call, be it a tail that says nothing more."""

    def may_grow(self, hearing: Hearing) -> bool:
        """Whether more words could make something of another meaning of its end."""

    def open_since(self, hearing: Hearing) -> float | None:
        """The moment just before what may still grow; None where nothing may, or where nothing was said before that."""

    def is_beginning(self, hearing: Hearing) -> bool:
        """Whether it is the beginning of a call, which is no call yet."""

    def reaches_over(self, hearing: Hearing, seconds: float) -> bool:
        """Whether one call has words on both sides of a moment: whole, or as far as it goes."""

    def goes_on(self, first: Hearing, second: Hearing) -> bool:
        """Whether the words of both, one after the other, are such that a call reaches from one into the other."""

    def has_grown(self, call: Sequence[str], after: Sequence[str]) -> bool:
        """Whether words that came after those of a call belong to it, as far as they go."""


class NoForesight:
    """Waits for the end of every utterance, and takes each by itself."""

    def is_whole(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def completes(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def agrees(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def may_go_on(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def may_grow(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def open_since(self, hearing: Hearing) -> float | None:
        """See Foresight."""
        return None

    def is_beginning(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return False

    def reaches_over(self, hearing: Hearing, seconds: float) -> bool:
        """See Foresight."""
        return False

    def goes_on(self, first: Hearing, second: Hearing) -> bool:
        """See Foresight."""
        return False

    def has_grown(self, call: Sequence[str], after: Sequence[str]) -> bool:
        """See Foresight."""
        return False


class OrderForesight:
    """For talk between drills: an order that can't go on is obeyed at the first pause."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar

    def is_whole(self, hearing: Hearing) -> bool:
        """Clear, and the last call is over: 'three thousand' might still become 'three thousand five hundred'."""
        return hearing.clarity == "clear" and hearing.best is not None and not self.may_go_on(hearing)

    def completes(self, hearing: Hearing) -> bool:
        """Whole: one order at a time."""
        return self.is_whole(hearing)

    def agrees(self, hearing: Hearing) -> bool:
        """Nothing is due between drills."""
        return False

    def may_go_on(self, hearing: Hearing) -> bool:
        """See Foresight; in a doubt, any of the things that it may have been."""
        if hearing.clarity == "clear":
            return self._grammar.may_go_on(_words(hearing)[0]) if hearing.best else False
        return self.may_grow(hearing) or self.is_beginning(hearing)

    def may_grow(self, hearing: Hearing) -> bool:
        """See Foresight; in a doubt, any of the things that it may have been."""
        return any(self._grammar.may_grow(words) for words in _with_restarts(_words(hearing)))

    def open_since(self, hearing: Hearing) -> float | None:
        """See Foresight."""
        words = hearing.words
        first = self._grammar.open_from([word.text for word in words])
        return (words[first - 1].end_seconds + words[first].start_seconds) / 2 if first else None

    def is_beginning(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return any(self._grammar.is_beginning(words) for words in _with_restarts(_words(hearing)[:1]))

    def reaches_over(self, hearing: Hearing, seconds: float) -> bool:
        """See Foresight."""
        words = hearing.words
        joint = sum((word.start_seconds + word.end_seconds) / 2 <= seconds for word in words)
        return self._grammar.reaches_over([word.text for word in words], joint)

    def goes_on(self, first: Hearing, second: Hearing) -> bool:
        """See Foresight."""
        before, after = _words(first)[:1], _words(second)[:1]
        return bool(before and after) and self._grammar.reaches_over([*before[0], *after[0]], len(before[0]))

    def has_grown(self, call: Sequence[str], after: Sequence[str]) -> bool:
        """See Foresight."""
        return any(
            self._grammar.first_reaches_over([*call, *words], len(call))
            for words in _with_restarts([[*after]])
        )


class Matching(Protocol):
    """Whoever knows what is due: a sequencer, for one."""

    state: MatchState


class DrillForesight(OrderForesight):
    """For a drill."""

    def __init__(self, grammar: Grammar, matching: Matching) -> None:
        super().__init__(grammar)
        self._matching = matching

    def completes(self, hearing: Hearing) -> bool:
        """Whole, and with it every required call of the open flows has been said, and rightly."""
        return self.is_whole(hearing) and completes_what_is_due(self._matching.state, hearing)

    def agrees(self, hearing: Hearing) -> bool:
        """See Foresight."""
        return agrees_with_what_is_due(self._matching.state, hearing)


def _with_restarts(texts: list[list[str]]) -> list[list[str]]:
    """Each of these, and what it is where what was begun anew counts once."""
    once = [said_once(words) for words in texts]
    return [*texts, *(words for words in once if words not in texts)]


def _words(hearing: Hearing) -> list[list[str]]:
    """The words of what was heard, the likeliest first; of a clear hearing the best reading only."""
    readings = hearing.interpretations[:1] if hearing.clarity == "clear" else hearing.interpretations
    found = [[word.text for span in reading.spans for word in span.words] for reading in readings]
    return list({tuple(words): words for words in found if words}.values())
