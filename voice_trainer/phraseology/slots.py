"""Slot types: what a value is, how it is said, and what words say it. Look one up with `slot_type`.

A type knows values only as canonical text ('095', '2600', '114.3', '1:15'): the text that a drill's author
writes, tidied, and the text that a hearing carries. Two values are equal exactly when their texts are.
What can be heard is the open language, the same for every drill; the expected value never enters it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cache, lru_cache

from voice_trainer.phraseology import forms, nodes
from voice_trainer.phraseology.forms import Form, FormReader
from voice_trainer.phraseology.regions import Region

__all__ = ["Region", "SlotType", "UnknownSlotTypeError", "slot_type", "slot_type_names"]


class UnknownSlotTypeError(ValueError):
    """There is no slot type of that name: one line with the nearest names."""


@dataclass(frozen=True, eq=False)
class SlotType:
    """One type of value.

    `label` is the name that an author writes, `name` the one that finds exactly this language again (they
    differ for a callsign, whose language depends on the telephony name). `form` is None where a type has no
    language of its own before a value is known: then `refine` gives the name of the type for a value.
    """

    name: str
    form: Form | None
    tidy: Callable[[str], str]
    """An author's text to canonical text; raises ValueError with one line that says what is legal."""
    speak: Callable[[str, Region], tuple[str, ...]]
    """Canonical text to the standard spoken words, with 'niner' for nine."""
    show: Callable[[str], str]
    """Canonical text as it is printed in a debrief."""
    label: str = ""
    finish: Callable[[str], str | None] = field(default=lambda text: text)
    """The joined texts of a form to canonical text; None where they are no legal value."""
    spellings: Callable[[str], tuple[str, ...]] = field(default=lambda value: (value,))
    """A canonical value to every joined text of which `finish` makes it; those that no form has do no harm."""
    refine: Callable[[str], str] | None = None
    declare: Callable[[Sequence[str]], str] | None = None
    """Where a drill declares the values: the name of the type that has them; raises ValueError."""
    example: str = ""
    """A value for messages; only for a type that has no language before a value is known."""

    def __post_init__(self) -> None:
        if not self.label:
            object.__setattr__(self, "label", self.name)

    @property
    def written_example(self) -> str:
        """A slot of this type with a value, as an author writes it."""
        return f"{{{self.label}: {self.example}}}"

    def language(self, region: Region = "faa") -> nodes.Node:
        """Every way to say any legal value, in `Word`, `Sequence`, `Choice` and `Maybe` only.

        It holds the forms of every region and the non-standard ones, so it does not depend on `region` today.
        Words are as the normaliser leaves them. Raises ValueError for a type that needs a value first.
        """
        if self.form is None:
            raise ValueError(f"{{{self.label}}} can't be open: write whose, as in {self.written_example}")
        return _language(self)

    def value(self, words: Sequence[str], region: Region = "faa") -> tuple[str, tuple[str, ...]] | None:
        """The canonical text of normalised `words`, and remarks on style; None for no legal value.

        `region` only chooses the wording that a remark recommends.
        """
        return _value(self, tuple(words), region)

    def words(self, value: str, region: Region = "faa") -> tuple[str, ...]:
        """The standard spoken form of a canonical value; units ('knots', 'miles') are not part of it."""
        return self.speak(value, region)

    def canonical(self, text: str) -> str:
        """What an author wrote, checked and tidied; raises ValueError that says what is legal."""
        return self.tidy(text.strip())

    def describe(self, value: str) -> str:
        """The value as it is printed: 'heading 095', '2,600 ft', '114.3', '1:15'."""
        return self.show(value)


@cache
def _language(of: SlotType) -> nodes.Node:
    assert of.form is not None
    return forms.language(of.form)


@cache
def form_reader(of: SlotType) -> FormReader:
    """The reader of a type's form; only for a type that has one."""
    assert of.form is not None
    return FormReader(of.form)


@lru_cache(maxsize=65536)
def _value(of: SlotType, words: tuple[str, ...], region: Region) -> tuple[str, tuple[str, ...]] | None:
    if of.form is None:
        return None
    for understood in form_reader(of).read(words):
        value = of.finish(understood.text)
        if value is None:
            continue
        if not understood.styles:
            return value, ()
        standard = of.words(value, region)
        if _plain(standard) == words:
            return value, ()
        advice = " ".join(standard)
        return value, tuple(dict.fromkeys(f"{style}: say {advice}" for style in understood.styles))
    return None


def _plain(words: Sequence[str]) -> tuple[str, ...]:
    return tuple("nine" if word == "niner" else word for word in words)


def slot_type_names() -> tuple[str, ...]:
    """The names that an author may write, the word sets of `opposites` left out."""
    from voice_trainer.phraseology.registry import TYPES

    return tuple(TYPES)


def slot_type(name: str) -> SlotType:
    """The type of that name; raises UnknownSlotTypeError with the nearest names."""
    from voice_trainer.phraseology.registry import find

    return find(name)
