"""Every sentence of the domain as the model writes it: the word automaton, unfolded into tokens.

The model was trained to write each word in one way: lower case, digits as words, in the pieces that the tokeniser cuts
the word into by itself, of which only the first begins with a blank. So tokens say which words they are, and a `Place`
is all that has to be known of a sentence so far.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.tokeniser import BLANK, Tokeniser

Words = tuple[str, ...]


class _Branch:
    """Some of the words that may come next, as pieces: by the piece that follows, and the state of the word automaton
    behind the word that is whole here, if one is.
    """

    __slots__ = ("children", "target")

    def __init__(self, target: int | None = None) -> None:
        self.children: dict[int, _Branch] = {}
        self.target = target


class Place:
    """Where a writer is. `tokens` may come next, ascending; `is_word_over`: what is written ends with a whole word;
    `may_end`: it is a whole sentence, or more than one.
    """

    __slots__ = ("following", "is_word_over", "may_end", "tokens")

    def __init__(self, following: dict[int, _Branch], *, is_word_over: bool, may_end: bool) -> None:
        self.tokens: NDArray[np.int64] = np.array(sorted(following), dtype=np.int64)
        self.following = following
        self.is_word_over = is_word_over
        self.may_end = may_end


class Writing:
    """The token automaton of one word automaton, made as far as it is asked for."""

    def __init__(self, automaton: WordAutomaton, tokeniser: Tokeniser) -> None:
        self._automaton = automaton
        self._tokeniser = tokeniser
        self._firsts: dict[int, _Branch] = {}
        self._places: dict[_Branch, Place] = {}
        self._root = _Branch(automaton.start)

    @property
    def size(self) -> int:
        """How many places have been made."""
        return len(self._places)

    @property
    def start(self) -> Place:
        """Before the first word."""
        return self._place(self._root)

    def behind(self, place: Place, token: int) -> Place | None:
        """The place behind one more token, None where it may not come."""
        branch = place.following.get(token)
        return self._place(branch) if branch is not None else None

    def _place(self, branch: _Branch) -> Place:
        place = self._places.get(branch)
        if place is None:
            following = dict(branch.children)
            is_over = branch.target is not None and branch is not self._root
            if branch.target is not None:
                # No clash: only the first piece of a word has a blank.
                following.update(self._first_of(branch.target).children)
            may_end = branch.target is not None and is_over and self._automaton.complete(branch.target)
            place = self._places[branch] = Place(following, is_word_over=is_over, may_end=may_end)
        return place

    def _first_of(self, state: int) -> _Branch:
        """The words that may come next in a state of the word automaton."""
        first = self._firsts.get(state)
        if first is None:
            first = self._firsts[state] = _Branch()
            for word, target in self._automaton.following(state).items():
                branch = first
                for token in self._tokeniser.encode(BLANK + word):
                    branch = branch.children.setdefault(token, _Branch())
                branch.target = target
        return first
