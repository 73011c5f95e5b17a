"""Everyday English as it stands in free texts, to words that can be said and written."""

import gzip
import random
from pathlib import Path

import pytest

from scripts.train.texts import __main__ as command
from scripts.train.texts import proof, sources
from scripts.train.texts.english import english_in, sentences_of, words_of
from scripts.train.texts.lines import LINES_FILE, Line, read_lines, write_lines
from scripts.train.texts.made_up_names import made_up_names
from scripts.train.texts.wording import everyday, said


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Mr. Smith's dog -- it barked!", "mister smith's dog it barked"),
        ("It's 12 o'clock", "it's twelve o'clock"),
        ("in 1984 we had 120 cats", "in nineteen eighty four we had one hundred twenty cats"),
        ("since 1905", "since nineteen oh five"),
    ],
)
def test_a_sentence_becomes_words(text: str, words: str):
    assert words_of(text) == tuple(words.split())


@pytest.mark.parametrize("text", ["the 3rd man", "007 is here", "xyz grr", "12345 of them", "plan b works"])
def test_what_cant_be_read_out_is_no_sentence(text: str):
    assert words_of(text) is None


def test_markup_and_addresses_are_left_out():
    assert list(sentences_of("see foo@example.org for more")) == []
    assert list(sentences_of("a <b>bold</b> move")) == []
    assert list(sentences_of("One thing leads to another. Run!")) == [
        ("one", "thing", "leads", "to", "another")
    ]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder of sources, as `sources.py` lays it."""
    (tmp_path / "fortunes").mkdir()
    (tmp_path / "fortunes" / "work").write_text(
        "Never put off until run-time.\n%\nThe tree fell xyzzy over.\n"
    )
    (tmp_path / "fortunes" / "work.dat").write_bytes(b"\0\1")
    (tmp_path / "wordnet").mkdir()
    for part in ("adj", "adv", "verb"):
        (tmp_path / "wordnet" / f"data.{part}").write_text("  1 licence text\n")
    entry = '0001 06 n 02 valve 0 gate_valve 0 000 | a thing that stops the flow; "the valve is open"\n'
    (tmp_path / "wordnet" / "data.noun").write_text("  1 licence | text\n" + entry)
    frequent = "the a is that never put off until run time valve open thing stops flow"
    (tmp_path / "frequency.txt").write_text(frequent.replace(" ", "\n"))
    return tmp_path


def test_a_folder_of_sources_is_read(folder: Path):
    found = english_in(folder)
    assert found.sentences == (
        ("never", "put", "off", "until", "run", "time"),
        ("the", "valve", "is", "open"),
    )
    assert found.definitions == (("a", "thing", "that", "stops", "the", "flow"),)
    assert found.things == ("valve",)


@pytest.mark.slow  # plans three whole spoken corpora
def test_the_command_writes_both_files_and_the_proof_finds_nothing_in_them(
    folder: Path, capsys: pytest.CaptureFixture[str]
):
    out = folder / "out"
    assert command.main(["--english", str(folder), "--out", str(out), "--lines", "1000", "--seed", "3"]) == 0
    assert "120 call" in capsys.readouterr().out
    assert proof.main([str(out)]) == 0
    assert capsys.readouterr().out.endswith(" 0 found\n")
    # One line of the test half among them, and it is found.
    held_out = Line("steering oh one oh", "steering zero one zero", "call")
    write_lines(out / LINES_FILE, [*read_lines(out / LINES_FILE), held_out])
    assert proof.main([str(out)]) == 1
    assert "steering {heading}" in capsys.readouterr().out


def test_strings_are_read_out_of_a_packed_list():
    packed = (
        bytes([0x92, 0x81, 0xA1]) + b"f" + bytes([0x01, 0xDC, 0, 2, 0xA3]) + b"the" + bytes([0xD9, 2]) + b"of"
    )
    assert sources._strings(packed) == ["f", "the", "of"]
    assert gzip.decompress(gzip.compress(packed)) == packed


def test_a_tree_is_no_three_in_a_sentence_and_is_one_in_a_number():
    assert everyday(("oh", "look", "um", "the", "tree"), "english").written == "oh look the tree"
    assert (
        said(("heading", "tree", "um", "two", "oh"), "call", random.Random(0)).written
        == "heading three two zero"
    )
    assert everyday(("the", "air", "speed", "is", "ok"), "english").written == "the airspeed is okay"


def test_made_up_names_are_of_a_seed_and_distinct():
    names = made_up_names(500, "s")
    assert names == made_up_names(500, "s") and len(set(names)) == 500
    assert made_up_names(500, "t") != names
    assert not set(made_up_names(100, "s", frozenset(names[:50]))) & set(names[:50])
    assert all(4 <= len(name) <= 9 and name.isalpha() for name in names)


def test_without_the_english_texts_the_command_says_how_to_get_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    assert command.main(["--english", str(tmp_path / "none"), "--out", str(tmp_path / "out")]) == 2
    said_on_screen = capsys.readouterr().err
    assert said_on_screen.count("\n") == 1 and "scripts.train.texts.sources FOLDER" in said_on_screen


def test_sources_and_proof_want_one_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert sources.main([]) == 2
    assert "name one folder" in capsys.readouterr().err
    assert proof.main([]) == 2
    assert "name the folder" in capsys.readouterr().err
    assert proof.main([str(tmp_path / "none")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
