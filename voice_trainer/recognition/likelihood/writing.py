"""Every way to write down every sentence of the domain: the word automaton, unfolded into tokens.

A `Place` is where a writer may be: between two words (in some state of the word automaton), inside a numeral,
or inside a word. Places are made when they are first reached, and kept. One token may lead to several places
('2' is 'two' or the beginning of 'twenty four'), each with the words that it completes.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum, auto
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from voice_trainer.phraseology.word_automaton import WordAutomaton
from voice_trainer.recognition.likelihood.spelling import (
    MISHEARD,
    MISHEARD_NATS,
    Numeral,
    forms,
    may_end,
    numerals,
)
from voice_trainer.recognition.likelihood.tokeniser import BLANK, Tokeniser

JOIN_NATS = 2.0
"""What another phrase in the same breath costs."""

Words = tuple[str, ...]
Move = tuple[Words, "Place", float]
"""Words that a token completes (mostly one or none), where it leads, and what it costs in nats besides its
likelihood: for a word that begins another phrase after a whole one, and for a word that is taken for another."""


Style = tuple[bool, bool, bool]


class Spelling(NamedTuple):
    """One way to write some words from some place, where it leads, and what it costs."""

    tokens: tuple[int, ...]
    words: Words
    place: Place
    cost: float


class Mode(Enum):
    """What was written last, where words meet."""

    BEGINNING = auto()
    WORD = auto()
    COMMA = auto()
    STOP = auto()
    LETTER = auto()


class Place:
    """Tokens that may come next (as numbers of the alphabet in use, ascending) and the moves of each.

    `costs` is for each token the cost of its cheapest move.
    """

    __slots__ = ("costs", "may_end", "moves", "tokens")

    between = False
    """Whether words meet here."""

    unfinished = False
    """Whether words meet here, and those so far are only the beginning of a sentence."""

    def __init__(self) -> None:
        self.tokens: NDArray[np.int64] | None = None
        self.costs: NDArray[np.float64] = np.zeros(0)
        self.moves: list[tuple[Move, ...]] = []
        self.may_end = False

    def on(self, token: int) -> tuple[Move, ...]:
        """The moves on one token, none where it may not come."""
        if self.tokens is None or not len(self.tokens):
            return ()
        at = int(np.searchsorted(self.tokens, token))
        return self.moves[at] if at < len(self.tokens) and self.tokens[at] == token else ()


class Writing:
    """The token automaton of one grammar.

    `alphabet` holds the model's numbers of all tokens that may ever be written; everywhere else tokens are
    counted within this alphabet.
    """

    def __init__(
        self, automaton: WordAutomaton, tokeniser: Tokeniser, more_words: Iterable[str] = ()
    ) -> None:
        """`more_words` are not written, but their tokens are in the alphabet: writings that are to share one."""
        self._automaton = automaton
        self._tokeniser = tokeniser
        vocabulary = frozenset(automaton.vocabulary) | frozenset(more_words)
        self._misheard = {
            word: tuple(other for other in MISHEARD.get(word, ()) if other not in vocabulary)
            for word in sorted(vocabulary)
        }
        self._forms = {
            word: forms(word, self._is_name(word), misheard) for word, misheard in self._misheard.items()
        }
        texts = {BLANK, ",", "."} | set("0123456789LRC") | set("ABCDEFGHIJKLMNOPQRSTUVWXYZ")
        for word_forms in self._forms.values():
            texts.update(
                BLANK + text.replace(" ", BLANK) for text in word_forms.inside + word_forms.beginning
            )
        used = {token for text in texts for token in tokeniser.encode(text)}
        self.alphabet: NDArray[np.int64] = np.array(sorted(used), dtype=np.int64)
        self._local = {int(token): at for at, token in enumerate(self.alphabet)}
        self._blank = self._spell(BLANK)[0]
        self.comma = self._spell(",")[0]
        self.stop = self._spell(".")[0]
        self.unrewarded = np.zeros(len(self.alphabet), dtype=bool)
        # A figure after a blank of its own is two tokens, and must earn no more than the word.
        self.unrewarded[[self.comma, self.stop, self._blank]] = True
        texts_of = [tokeniser.piece(int(token)) for token in self.alphabet]
        self._opens_word = np.array([text.startswith(BLANK) for text in texts_of], dtype=bool)
        self._capitals = np.array([text.lstrip(BLANK)[:1].isupper() for text in texts_of], dtype=bool)
        self._figures = frozenset(self._spell(figure)[0] for figure in "0123456789")
        self._spellings: dict[int, dict[str, tuple[Spelling, ...]]] = {}
        self._places: dict[tuple[int, Mode | Numeral], Place] = {}
        self.start = self._place(automaton.start, Mode.BEGINNING)

    @property
    def size(self) -> int:
        """How many places have been made so far."""
        return len(self._places)

    def open(self, place: Place) -> NDArray[np.int64]:
        """The tokens that may come next; after this, `place.moves` is filled."""
        if place.tokens is None:
            self._fill(place)
        assert place.tokens is not None
        return place.tokens

    def spellings(self, place: Place) -> dict[str, tuple[Spelling, ...]]:
        """All ways to write one word more (or, under '', one punctuation mark), by the first word written."""
        known = self._spellings.get(id(place))
        if known is None:
            found: dict[str, list[Spelling]] = {}
            waiting: list[tuple[tuple[int, ...], Place]] = [((), place)]
            while waiting:
                tokens, inside = waiting.pop()
                for at, token in enumerate(self.open(inside)):
                    for words, then, cost in inside.moves[at]:
                        longer = (*tokens, int(token))
                        if words or isinstance(then, _Between):
                            found.setdefault(words[0] if words else "", []).append(
                                Spelling(longer, words, then, cost)
                            )
                        else:
                            waiting.append((longer, then))
            known = {word: tuple(sorted(ways, key=_plainest)) for word, ways in found.items()}
            self._spellings[id(place)] = known
        return known

    def rewarded(self, tokens: tuple[int, ...]) -> int:
        """How many of some tokens are parts of words, and earn a bonus."""
        return sum(not self.unrewarded[token] for token in tokens)

    def style(self, tokens: tuple[int, ...]) -> Style:
        """What a spelling looks like: with figures or without, glued to what came before, with a capital."""
        return (
            any(token in self._figures for token in tokens),
            not self._opens_word[tokens[0]],
            bool(self._capitals[tokens[0]]),
        )

    def _is_name(self, word: str) -> bool:
        # What the tokeniser has no piece for is rare in print, and mostly a name; of the spelling alphabet
        # both forms are common.
        return len(self._tokeniser.encode(BLANK + word)) > 1 or word in _SPELLING_ALPHABET

    def _spell(self, text: str) -> tuple[int, ...]:
        return tuple(self._local[token] for token in self._tokeniser.encode(text.replace(" ", BLANK)))

    def _place(self, state: int, mode: Mode | Numeral) -> Place:
        key = (state, mode)
        place = self._places.get(key)
        if place is None:
            whole = self._automaton.complete(state)
            place = self._places[key] = _Between(state, mode, unfinished=not whole)
            if isinstance(mode, Numeral):
                place.may_end = whole and may_end(mode)
            elif mode is Mode.STOP:
                # After a full stop the state is that before it, so that both may end here.
                place.may_end = whole
            else:
                place.may_end = whole and mode in (Mode.WORD, Mode.LETTER)
        return place

    def _fill(self, place: Place) -> None:
        assert isinstance(place, _Between), "places inside words are filled when they are made"
        root: _Branch = {}
        state, mode = place.state, place.mode
        between = not isinstance(mode, Numeral) or may_end(mode)
        following = self._automaton.following(state)
        if isinstance(mode, Numeral):
            self._numeral(root, state, mode, (), 0.0)
        if between:
            fresh = mode in (Mode.BEGINNING, Mode.STOP)
            for word, target in following.items():
                cost = JOIN_NATS * self._automaton.begins_phrase(state, word)
                misheard = self._misheard[word]
                spelled = self._forms[word]
                texts = spelled.beginning if fresh else spelled.inside
                if not fresh and self._automaton.complete(state):
                    texts = tuple(dict.fromkeys(texts + spelled.beginning))
                letter = len(word) == 1
                after = self._place(target, Mode.LETTER if letter else Mode.WORD)
                for text in texts:
                    more = MISHEARD_NATS if text.lower() in misheard else 0.0
                    _add(root, self._spell(BLANK + text), ((word,), after, cost + more))
                if mode is Mode.LETTER and letter:
                    _add(root, self._spell(word.upper()), ((word,), after, cost))
            numeral: _Branch = {}
            self._numeral(numeral, state, Numeral.OUTSIDE, (), 0.0)
            if numeral:
                root.setdefault(self._blank, _Fork()).children.update(numeral)
            if mode not in (Mode.BEGINNING, Mode.COMMA, Mode.STOP):
                _add(root, (self.comma,), ((), self._place(state, Mode.COMMA), 0.0))
                _add(root, (self.stop,), ((), self._place(state, Mode.STOP), 0.0))
        _freeze(place, root)

    def _numeral(self, root: _Branch, state: int, numeral: Numeral, said: Words, cost: float) -> None:
        """Add all words that may go on with a numeral; those that write nothing wait for the one after them."""
        for word, target in self._automaton.following(state).items():
            for text, then in numerals(word, numeral):
                more = cost + JOIN_NATS * self._automaton.begins_phrase(state, word)
                if text:
                    _add(root, self._digits(text), ((*said, word), self._place(target, then), more))
                else:
                    self._numeral(root, target, then, (*said, word), more)

    def _digits(self, text: str) -> tuple[int, ...]:
        # Digits, points and commas are always pieces of their own.
        return tuple(self._spell(character)[0] for character in text)


def _plainest(way: Spelling) -> tuple[float, int, tuple[int, ...]]:
    return way.cost, len(way.tokens), way.tokens


class _Between(Place):
    """A place where words meet."""

    __slots__ = ("mode", "state", "unfinished")

    between = True

    def __init__(self, state: int, mode: Mode | Numeral, *, unfinished: bool) -> None:
        super().__init__()
        self.state = state
        self.mode = mode
        self.unfinished = unfinished


class _Fork:
    """One token of a spelling: what it completes, and what may follow inside the word."""

    __slots__ = ("children", "moves")

    def __init__(self) -> None:
        self.moves: list[Move] = []
        self.children: _Branch = {}


_Branch = dict[int, _Fork]


def _add(root: _Branch, tokens: tuple[int, ...], move: Move) -> None:
    branch = root
    for token in tokens[:-1]:
        branch = branch.setdefault(token, _Fork()).children
    moves = branch.setdefault(tokens[-1], _Fork()).moves
    # 'niner' written 'nine' and 'nine' itself lead to the same place: one of them is enough.
    if all(other[1] is not move[1] or len(other[0]) != len(move[0]) for other in moves):
        moves.append(move)


def _freeze(place: Place, root: _Branch) -> None:
    order = sorted(root)
    place.tokens = np.array(order, dtype=np.int64)
    place.moves = []
    for token in order:
        fork = root[token]
        moves = list(fork.moves)
        if fork.children:
            inside = Place()
            _freeze(inside, fork.children)
            moves.append(((), inside, 0.0))
        place.moves.append(tuple(moves))
    place.costs = np.array([min(move[2] for move in moves) for moves in place.moves], dtype=np.float64)


_SPELLING_ALPHABET_TEXT = (
    "alfa alpha bravo charlie delta echo foxtrot golf hotel india juliett juliet kilo lima mike november oscar "
    "papa quebec romeo sierra tango uniform victor whiskey xray yankee zulu"
)
_SPELLING_ALPHABET = frozenset(_SPELLING_ALPHABET_TEXT.split())
