"""What a hearing tells before its utterance is over: that whole calls were said, and that nothing more is due."""

from __future__ import annotations

from typing import Protocol

from voice_trainer.grading.recognised import completes_what_is_due
from voice_trainer.grading.state import MatchState
from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.grammar import Grammar


class Matching(Protocol):
    """Whoever knows what is due: a sequencer, for one."""

    state: MatchState


class OrderForesight:
    """For talk between drills, see Foresight in `ears`: an order that can't go on is obeyed at the first pause."""

    def __init__(self, grammar: Grammar) -> None:
        self._grammar = grammar

    def is_whole(self, hearing: Hearing) -> bool:
        """Clear, and the last call is over: 'three thousand' might still become 'three thousand five hundred'."""
        if hearing.clarity != "clear" or hearing.best is None:
            return False
        words = [word.text for span in hearing.best.spans for word in span.words]
        return not self._grammar.may_go_on(words)

    def is_unfinished(self, hearing: Hearing) -> bool:
        """No clear call, but the first words of one: 'turn left heading'."""
        if hearing.clarity == "clear" or hearing.best is None:
            return False
        return self._grammar.is_beginning([word.text for span in hearing.best.spans for word in span.words])

    def completes(self, hearing: Hearing) -> bool:
        """Whole: one order at a time."""
        return self.is_whole(hearing)


class DrillForesight(OrderForesight):
    """For a drill. Which values are expected plays no part in `is_whole`, so none in what is heard."""

    def __init__(self, grammar: Grammar, matching: Matching) -> None:
        super().__init__(grammar)
        self._matching = matching

    def completes(self, hearing: Hearing) -> bool:
        """Whole, and with it every required call of the open flows has been said, and rightly."""
        return self.is_whole(hearing) and completes_what_is_due(self._matching.state, hearing)
