"""Forms: ways to say a value, each written once, from which both the words and the value are read.

A form is a small tree like a `Node`, but every leaf also carries the text that it stands for: 'thirty' then
'three' stand for '3' and '3', 'thousand' at the end of an altitude for '000'. `language` forgets the texts
and leaves the words that a recogniser must be able to hear; `FormReader` runs words through the tree and joins
the texts. So what can be heard and what can be understood are the same by construction.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from voice_trainer.phraseology import nodes


@dataclass(frozen=True, slots=True)
class Said:
    """Words, said in this order, that stand for `text`; no words at all are allowed."""

    words: tuple[str, ...]
    text: str


@dataclass(frozen=True, slots=True)
class Then:
    """Forms said one after the other; their texts are joined."""

    parts: tuple[Form, ...]


@dataclass(frozen=True, slots=True)
class Either:
    """Exactly one of the options."""

    options: tuple[Form, ...]


@dataclass(frozen=True, slots=True)
class Styled:
    """A form that is understood but not the standard one: `style` names what is unusual about it."""

    part: Form
    style: str


Form = Said | Then | Either | Styled


@dataclass(frozen=True, slots=True)
class Understood:
    """What some words stand for, and the styles that were met on the way."""

    text: str
    styles: tuple[str, ...] = ()


def say(words: str, text: str) -> Said:
    """The blank-separated `words`, standing for `text`."""
    return Said(tuple(words.split()), text)


def then(*parts: Form) -> Form:
    """The parts in order."""
    return parts[0] if len(parts) == 1 else Then(parts)


def either(*options: Form) -> Form:
    """One of the options."""
    return options[0] if len(options) == 1 else Either(options)


def perhaps(*words: str) -> Form:
    """One of these words or phrases, or nothing; it stands for nothing."""
    return Either((Said((), ""), *(say(each, "") for each in words)))


def silent(text: str) -> Said:
    """No words, standing for `text`."""
    return Said((), text)


def nested_repeat(unit: Form, least: int, most: int) -> Form:
    """`unit` said from `least` to `most` times."""
    form: Form = silent("")
    for _ in range(most - least):
        form = either(silent(""), then(unit, form))
    return then(*([unit] * least), form)


def language(form: Form) -> nodes.Node:
    """The words of a form as a node; nothing-or-something becomes `Maybe`."""
    match form:
        case Said(words):
            return nodes.Word(words[0]) if len(words) == 1 else nodes.Sequence(tuple(map(nodes.Word, words)))
        case Styled(part):
            return language(part)
        case Then(parts):
            flat: list[nodes.Node] = []
            for part in parts:
                node = language(part)
                flat.extend(node.parts if isinstance(node, nodes.Sequence) else (node,))
            return flat[0] if len(flat) == 1 else nodes.Sequence(tuple(flat))
        case Either(options):
            silence = nodes.Sequence(())
            heard: list[nodes.Node] = []
            for option in options:
                node = language(option)
                for each in node.options if isinstance(node, nodes.Choice) else (node,):
                    if each not in heard:
                        heard.append(each)
            spoken = tuple(node for node in heard if node != silence)
            if not spoken:
                return silence
            choice = spoken[0] if len(spoken) == 1 else nodes.Choice(spoken)
            return choice if len(spoken) == len(heard) else nodes.Maybe(choice)


class FormReader:
    """Reads words along a form: its tree as a graph, where a state with many one-word edges looks one up."""

    def __init__(self, form: Form) -> None:
        self._words: list[dict[str, tuple[str, int]]] = []
        self._silent: list[list[tuple[str, str, int]]] = []
        self._end = self._add(form, self._state())

    @property
    def end(self) -> int:
        """The state behind the whole form; reading begins in state 0."""
        return self._end

    def word_edges(self, state: int) -> Iterator[tuple[str, str, int]]:
        """The words that lead on from a state: (word, text that it stands for, state behind it)."""
        return ((word, text, after) for word, (text, after) in self._words[state].items())

    def silent_edges(self, state: int) -> Sequence[tuple[str, str, int]]:
        """What leads on without a word: (text that is added, style or '', state behind it)."""
        return self._silent[state]

    def _state(self) -> int:
        self._words.append({})
        self._silent.append([])
        return len(self._words) - 1

    def _skip(self, start: int, end: int, text: str = "", style: str = "") -> None:
        self._silent[start].append((text, style, end))

    def _add(self, form: Form, start: int) -> int:
        """Add `form` from a state without edges; returns the state behind it."""
        match form:
            case Said(words, text):
                at = start
                for word in words:
                    after = self._state()
                    self._words[at][word] = (text if at == start else "", after)
                    at = after
                if words:
                    return at
                end = self._state()
                self._skip(start, end, text)
                return end
            case Styled(part, style):
                inner = self._add(part, start)
                end = self._state()
                self._skip(inner, end, style=style)
                return end
            case Then(parts):
                for part in parts:
                    start = self._add(part, start)
                return start
            case Either(options):
                end = self._state()
                leaf = self._state()
                self._skip(start, leaf)
                for option in options:
                    if (
                        isinstance(option, Said)
                        and len(option.words) == 1
                        and option.words[0] not in self._words[leaf]
                    ):
                        self._words[leaf][option.words[0]] = (option.text, end)
                        continue
                    first = self._state()
                    self._skip(start, first)
                    self._skip(self._add(option, first), end)
                return end

    def read(self, words: Sequence[str]) -> list[Understood]:
        """Everything that all of `words` can stand for, fewest styles first; empty for no way to say it."""
        found: dict[Understood, None] = {}
        todo: list[tuple[int, int, str, tuple[str, ...]]] = [(0, 0, "", ())]
        count = len(words)
        while todo:
            state, at, text, styles = todo.pop()
            if state == self._end and at == count:
                found[Understood(text, styles)] = None
            for more, style, after in self._silent[state]:
                todo.append((after, at, text + more, (*styles, style) if style else styles))
            if at < count and (edge := self._words[state].get(words[at])) is not None:
                todo.append((edge[1], at + 1, text + edge[0], styles))
        return sorted(found, key=lambda each: len(each.styles))


def sentences(form: Form) -> Iterator[tuple[tuple[str, ...], Understood]]:
    """Every word sequence of a form with what it stands for: finite, for tests and for listing."""
    match form:
        case Said(words, text):
            yield words, Understood(text)
        case Styled(part, style):
            for words, understood in sentences(part):
                yield words, Understood(understood.text, (*understood.styles, style))
        case Either(options):
            for option in options:
                yield from sentences(option)
        case Then(parts):
            yield from _sentences_of_parts(parts)


def _sentences_of_parts(parts: tuple[Form, ...]) -> Iterator[tuple[tuple[str, ...], Understood]]:
    if not parts:
        yield (), Understood("")
        return
    rests = list(_sentences_of_parts(parts[1:]))
    for words, first in sentences(parts[0]):
        for more, rest in rests:
            yield words + more, Understood(first.text + rest.text, first.styles + rest.styles)


def one_of(pairs: Iterable[tuple[str, str]]) -> Form:
    """One of several (words, text) pairs."""
    return either(*(say(words, text) for words, text in pairs))
