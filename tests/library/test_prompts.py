"""Prompts: those of the enrolment are balanced; files and drills give theirs."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.forced_alignment import shared_aligner
from voice_trainer.drills.domain import domain_of
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.library.drill_files import read_drill
from voice_trainer.library.errors import DrillError
from voice_trainer.library.prompts import EnrolmentPrompt, drill_prompts, enrolment_prompts, prompts_from
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.normaliser import normalise_words
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES

DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def half(fits: bool) -> list[EnrolmentPrompt]:
    return [prompt for prompt in enrolment_prompts() if prompt.fits is fits]


def words(prompts: list[EnrolmentPrompt]) -> list[str]:
    return [word for prompt in prompts for word, _ in normalise_words(prompt.said.split())]


def test_twelve_are_fitted_and_eight_others_measured() -> None:
    assert (len(half(True)), len(half(False))) == (12, 8)
    assert len({prompt.said for prompt in enrolment_prompts()}) == 20
    # By turns: wherever reading gets worse with time, both halves get their share of it.
    assert all(any(not p.fits for p in enrolment_prompts()[i : i + 4]) for i in range(0, 20, 4))


@pytest.mark.parametrize("fits", [True, False])
def test_every_digit_is_in_both_halves(fits: bool) -> None:
    count = Counter(words(half(fits)))
    assert all(count[digit] for digit in DIGITS), count


def test_every_kind_of_number_and_the_opposites_are_read() -> None:
    types = {slot.type for prompt in enrolment_prompts() for slot in slots_of(prompt.pattern.node)}
    assert types >= {
        "heading", "altitude", "frequency", "squawk", "altimeter", "radial", "runway", "course", "speed", "wind",
        "time",
    }  # fmt: skip
    said = set(words(list(enrolment_prompts())))
    for pair in ("left right", "climb descend", "on off", "up down", "tower approach", "inbound outbound"):
        assert said >= set(pair.split()), pair


def test_nearly_every_sound_of_english_is_read() -> None:
    """The 39 phones of the CMU Pronouncing Dictionary, by its own entries."""
    aligner = shared_aligner()
    phones = {phone for word in words(list(enrolment_prompts())) for phone in aligner.phones(word).split()}
    assert phones <= ALL_PHONES
    assert ALL_PHONES - phones <= {"JH", "UH", "ZH"}, ALL_PHONES - phones


ALL_PHONES = frozenset(
    word
    for row in (
        "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K",
        "L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH",
    )
    for word in row.split()
)


def test_a_text_file_has_a_prompt_a_line(tmp_path: Path) -> None:
    path = tmp_path / "prompts.txt"
    path.write_text(
        "# calls\n\nturn  left heading {heading: 095} # a vector\n  gear down\n{callsign: Heron 24} inbound\n"
    )
    assert [prompt.said for prompt in prompts_from(str(path))] == [
        "turn left heading zero niner five",
        "gear down",
        "Heron two four inbound",
    ]
    assert {prompt.drill for prompt in prompts_from(str(path))} == {None}


@pytest.mark.parametrize(
    ("content", "says"),
    [
        ("gear down\nheading 095\n", ":2:9: "),
        ("heading {heading: 400}\n", ":1:"),
        ("# nothing\n\n", "no prompt"),
    ],
)
def test_a_prompt_that_is_none_says_where(content: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "prompts.txt"
    path.write_text(content)
    with pytest.raises(DrillError, match=r"prompts\.txt") as trouble:
        prompts_from(str(path))
    assert says in str(trouble.value)
    assert "\n" not in str(trouble.value)


def test_files_that_are_none(tmp_path: Path) -> None:
    (tmp_path / "sound.txt").write_bytes(b"\xff\xfe\x00RIFF")
    for name in (tmp_path / "absent.txt", tmp_path / "sound.txt", tmp_path):
        with pytest.raises(DrillError):
            prompts_from(str(name))
    with pytest.raises(DrillError, match="kelda-outbound"):
        prompts_from("kelda-outbond")


@pytest.mark.parametrize("name", list(builtin_drills()))
def test_a_drills_calls_with_seeded_values_are_still_its_calls(name: str) -> None:
    grammar = domain_of(find_drill(name))
    one, same, other = (prompts_from(name, seed) for seed in (1, 1, 2))
    assert one == same
    has_values = any(slot.type not in OPPOSITES for each in one for slot in slots_of(each.pattern.node))
    assert (one != other) == has_values
    for prompt in (*one, *other):
        assert prompt.drill == name
        plain = [word for word, _ in normalise_words(prompt.said.lower().split())]
        (pieces, *_) = grammar.read(plain)
        assert [piece.kind for piece in pieces] == ["call"], prompt.said


ALTITUDES = """\
drill: values
title: Values
kind: radio
trains: values
steps:
  - step: one
    flow:
      calls:
        - {call: altitude, say: "maintain {altitude: 10000}"}
        - {call: low, say: "maintain {altitude: 2600}"}
        - {call: heading, say: "turn left heading {heading: 310}"}
        - {call: speed, say: "reduce speed {speed: 190}"}
        - {call: course, say: "set course {course: 333}"}
"""


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_other_values_are_as_round_and_about_as_large(seed: int) -> None:
    altitude, low, heading, speed, course = (
        int(prompt.pattern.expected[name])
        for prompt, name in zip(
            drill_prompts(read_drill(ALTITUDES.encode(), "values.yaml"), seed),
            ("altitude", "altitude", "heading", "speed", "course"),
            strict=True,
        )
        if prompt.pattern
    )
    assert altitude % 1000 == 0
    assert 10_000 <= altitude <= 20_000
    assert low % 100 == 0
    assert 1300 <= low <= 5200
    assert heading % 10 == 0
    assert speed % 10 == 0
    assert 100 <= speed <= 380
    assert 1 <= course <= 360
