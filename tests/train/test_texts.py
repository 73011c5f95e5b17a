"""The training texts: what they hold, what they must never hold, and that a seed makes the same ones."""

import random
import re
from collections import Counter
from itertools import pairwise, product
from pathlib import Path

import pytest

from scripts.benchmarks.phrases import phrases, unrelated
from scripts.train.texts import handwritten
from scripts.train.texts.english import English
from scripts.train.texts.held_out import (
    HeldOut,
    fits,
    held_out,
    read_sentences,
    sentences_of_the_test_half,
    unseen_words,
)
from scripts.train.texts.library import library
from scripts.train.texts.lines import GENERAL_ENGLISH, KINDS, LINES, Line, read_lines, write_lines
from scripts.train.texts.missing import LIBRARY_OFTEN
from scripts.train.texts.mixture import SHARES, make_texts
from scripts.train.texts.proof import found_in
from scripts.train.texts.unseen import words_of_the_library
from scripts.train.texts.walks import walk
from scripts.train.texts.wording import AS_IN_ENGLISH, HESITATIONS, plain, plain_english
from voice_trainer.phraseology.numerals import DIGITS

COUNT = 8000
CALLS = 80
"""Of the spoken corpus' test half: enough to see that what is held out stays out, and quickly made."""

SENTENCES = tuple(
    (*who.split(), does, *what.split())
    for who, does, what in product(
        (
            "my brother", "the old farmer", "nobody", "a tall stranger", "her cousin", "every child", "our teacher",
            "the baker",
        ),
        ("likes", "painted", "forgot", "carries", "sold", "wants", "found", "broke", "hides", "washes"),
        (
            "the blue lamp", "two green apples", "a letter from home", "his winter coat", "the garden gate",
            "some fresh bread", "that heavy box", "an empty bottle", "the kitchen clock", "a good story",
            "the last train", "those wet shoes", "a wooden spoon", "the piano", "her brother's bicycle",
            "nineteen white horses", "the long road", "this tree", "all of it", "a cup of tea",
            "the other half", "my best friend", "the whole village", "some of the money", "a bar of soap",
            "the first page", "a map of the city", "more sugar", "an old song", "the front door",
        ),
    )
)  # fmt: skip
ENGLISH = English(
    SENTENCES,
    tuple((*words[-3:], "or", *words[:2]) for words in SENTENCES),
    tuple(dict.fromkeys(word for words in SENTENCES for word in words)),
    ("lamp", "gate", "bottle", "bicycle", "piano"),
)


@pytest.fixture(scope="module")
def held() -> HeldOut:
    return held_out((1,), CALLS)


@pytest.fixture(scope="module")
def texts(held: HeldOut):
    return make_texts(ENGLISH, held, 1, COUNT, days=1)


@pytest.fixture(scope="module")
def lines(texts) -> tuple[Line, ...]:
    return texts.lines


def test_a_seed_makes_the_same_lines_and_another_one_others(held: HeldOut):
    first = make_texts(ENGLISH, held, 5, 1000, 50, days=1)
    assert make_texts(ENGLISH, held, 5, 1000, 50, days=1) == first
    other = make_texts(ENGLISH, held, 6, 1000, 50, days=1)
    assert len(set(other.lines) & set(first.lines)) < len(first.lines) / 4


def test_the_same_lines_are_the_same_bytes_and_come_back(tmp_path: Path, lines: tuple[Line, ...]):
    write_lines(tmp_path / "one.jsonl.gz", lines)
    write_lines(tmp_path / "two.jsonl.gz", lines)
    assert (tmp_path / "one.jsonl.gz").read_bytes() == (tmp_path / "two.jsonl.gz").read_bytes()
    assert tuple(read_lines(tmp_path / "one.jsonl.gz")) == lines


def test_nothing_that_is_held_out_is_in_a_line(texts):
    sentences = {" ".join(each) for each in sentences_of_the_test_half((1,), CALLS) | read_sentences()}
    sentences |= {" ".join(plain(each.split())) for each in unrelated("test")}
    kept = unseen_words()
    words = (*kept["names"], *kept["checklist"])
    several = {each for each in sentences if " " in each}
    assert list(found_in((*texts.lines, *texts.development), several, words, phrases("test"))) == []


def test_the_proof_finds_what_it_looks_for():
    written = ("turn left now please", "check the flanges", "steering zero one zero", "on")
    lines = [Line(each, each, "call") for each in written]
    assert len(list(found_in(lines, {"turn left now please"}, ["flange"], ["steering {heading}"]))) == 4
    assert list(found_in(lines, {"left now", "turn left", "check"}, ["lange"], ["climbing {heading}"])) == []


def test_the_words_kept_aside_are_in_no_line(texts):
    kept = unseen_words()
    assert [len(set(kept[kind])) for kind in ("names", "checklist")] == [200, 200]
    words = {
        word
        for line in (*texts.lines, *texts.development)
        for word in f"{line.spoken} {line.written}".split()
    }
    for word in (*kept["names"], *kept["checklist"]):
        assert not {word, f"{word}s", f"{word}es"} & words
    # What drills or our own phrases need can't be kept aside.
    assert not {*kept["names"], *kept["checklist"]} & (
        words_of_the_library(days=1) | handwritten.words_by_hand()
    )


def test_what_is_held_out_is_found_alone_in_a_longer_line_and_with_other_values():
    sentences = [("turn", "left", "heading", "two"), ("gear", "down"), ("five", "five", "five", "one")]
    held = HeldOut(sentences, ["flange"], ["steering {heading}"])
    for said in (
        "turn left heading two", "okay turn left heading two please", "gear down", "check the flanges", "flange",
        "steering zero one zero", "five five five one",
    ):  # fmt: skip
        assert held.holds(said.split()), said
    for said in (
        "turn left heading three",
        "gear down three green",
        "steering left",
        "five five five one two",
        "down",
    ):
        assert not held.holds(said.split()), said


def test_the_development_set_has_every_kind_and_nothing_that_is_trained_on(texts):
    kinds = Counter(line.kind for line in texts.development)
    assert set(kinds) == set(KINDS) and min(kinds.values()) >= 4
    assert 350 <= len(texts.development) <= 400
    # Bare words are the same everywhere.
    kept = {line.written for line in texts.development if line.kind != "short"}
    assert all(len(each.split()) > 3 for each in kept)
    assert not kept & {line.written for line in texts.lines}


def test_a_line_is_written_in_canonical_words(texts):
    for line in (*texts.lines, *texts.development):
        words = line.written.split()
        assert re.fullmatch(r"[a-z']+(?: [a-z']+)*", line.written), line
        assert re.fullmatch(r"[a-z']+(?: [a-z']+)*", line.spoken), line
        assert not set(words) & {*HESITATIONS, "niner"}, line
        english = line.kind in GENERAL_ENGLISH
        assert tuple(words) == (plain_english(words) if english else plain(words)), line
        assert english or not set(words) & AS_IN_ENGLISH, line
        assert line.kind in KINDS


def test_what_is_written_is_what_is_said_but_for_hesitations_and_spelling(lines: tuple[Line, ...]):
    hesitating = [line for line in lines if set(line.spoken.split()) & set(HESITATIONS)]
    assert len(hesitating) > len(lines) / 50
    for line in lines:
        said = [word for word in line.spoken.split() if word not in HESITATIONS]
        if line.spoken != line.written and line.kind not in GENERAL_ENGLISH:
            assert tuple(line.written.split()) == plain(said), line
    spoken = " ".join(line.spoken for line in lines)
    assert " niner " in spoken and " nine " in spoken and " v o r " in spoken


def test_every_word_of_the_library_is_said_often_enough(lines: tuple[Line, ...]):
    counts = Counter(word for line in lines for word in set(line.written.split()))
    least = max(2, LIBRARY_OFTEN * COUNT // LINES)
    assert {word: counts[word] for word in words_of_the_library(days=1) if counts[word] < least} == {}


def test_every_pattern_is_said_but_where_all_its_ways_are_held_out(lines: tuple[Line, ...], held: HeldOut):
    written = [tuple(line.written.split()) for line in lines if line.kind in ("call", "twin", "disturbed")]
    chance = random.Random(1)
    for pattern in library(1).calls:
        if not any(pattern.match(words) is not None for words in written):
            ways = {plain(walk(pattern.node, chance)) for _ in range(50)}
            assert all(not way or held.holds(way) for way in ways), pattern.text


def test_digits_are_about_evenly_frequent_and_stand_everywhere(lines: tuple[Line, ...]):
    numbers = [line.written.split() for line in lines]
    counts = Counter(word for words in numbers for word in words if word in DIGITS)
    assert max(counts[digit] for digit in DIGITS) < 2.5 * min(counts[digit] for digit in DIGITS), counts
    pairs = Counter(pair for words in numbers for pair in pairwise(words))
    assert [pair for pair in product(DIGITS, DIGITS) if pairs[pair] < 3] == []
    for digit in DIGITS:
        assert sum(words[0] == digit for words in numbers) > 20
        assert sum(words[-1] == digit for words in numbers) > 20
        for word in handwritten.around_digits("before"):
            assert pairs[word, digit], f"{word} {digit}"
        for word in handwritten.around_digits("behind"):
            assert pairs[digit, word], f"{digit} {word}"


def test_shares_are_as_told_and_a_third_is_general_english(lines: tuple[Line, ...]):
    kinds = Counter(line.kind for line in lines)
    for kind, share in SHARES.items():
        if kind not in ("words", "short", "talk", "order", "string"):
            assert kinds[kind] == pytest.approx(share * COUNT, rel=0.05), kind
    assert sum(kinds[kind] for kind in GENERAL_ENGLISH) > len(lines) / 3
    only_short = Counter((line.spoken, line.written) for line in lines if line.kind != "short")
    assert max(only_short.values()) == 1


def test_any_beginning_is_a_fair_sample(lines: tuple[Line, ...]):
    whole, first = (Counter(line.kind for line in part) for part in (lines, lines[: len(lines) // 4]))
    for kind in ("english", "call", "breath", "string"):
        assert first[kind] * 4 == pytest.approx(whole[kind], rel=0.25)


def test_a_line_that_is_empty_or_too_long_does_not_fit():
    nothing = HeldOut([], [])
    assert not fits(Line("um", "", "call"), nothing)
    assert not fits(Line("two " * 60, "two " * 60, "string"), nothing)
    assert fits(Line("two", "two", "short"), nothing)
