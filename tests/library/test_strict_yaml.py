"""The strict reader: what the author wrote is what is read, or there is one clear line."""

from __future__ import annotations

import json
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.library.errors import DrillError
from voice_trainer.library.marks import Mark
from voice_trainer.library.strict_yaml import MOST_BYTES, MOST_DEPTH, MOST_NODES, read_yaml


def read(text: str | bytes) -> object:
    return read_yaml(text if isinstance(text, bytes) else text.encode(), "kelda.yaml").data


def refusal(text: str | bytes) -> str:
    with pytest.raises(DrillError) as caught:
        read(text)
    (problem,) = caught.value.problems
    assert "\n" not in str(problem)
    return str(problem)


@pytest.mark.parametrize(
    "text",
    # What YAML 1.1 reads as truth values, octal, base 60, grouped, hexadecimal and special numbers and as
    # dates (yaml.org/type/bool.html, int.html, float.html, timestamp.html), and numbers with a leading zero.
    [
        *("on", "off", "yes", "no", "On", "OFF", "Yes", "NO", "y", "n", "True", "FALSE", "Null", "~"),
        *(
            "010",
            "095",
            "007.5",
            "12:30",
            "190:20:30",
            "1_000",
            "0x1f",
            "0b1",
            "0o7",
            "+5",
            "1e5",
            ".5",
            "5.",
        ),
        *(".inf", ".nan", "2026-11-25", "1.5.2", "=", "00", "-01"),
    ],
)
def test_stays_text(text: str) -> None:
    assert read(f"value: {text}\n") == {"value": text}


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("true", True),
        ("false", False),
        ("null", None),
        ("", None),
        ("0", 0),
        ("-1", -1),
        ("2600", 2600),
        ("114.30", 114.3),
        ("0.5", 0.5),
        ("-0.25", -0.25),
        ("'true'", "true"),
        ('"12"', "12"),
        ("''", ""),
    ],
)
def test_becomes(text: str, value: object) -> None:
    found = read(f"value: {text}\n")
    assert found == {"value": value}
    assert isinstance(found, dict)
    assert type(found["value"]) is type(value)


def test_keys_are_text() -> None:
    assert read("on: 1\n095: 2\ntrue: 3\n1.50: 4\n") == {"on": 1, "095": 2, "true": 3, "1.50": 4}


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("a: 1\nb: 2\na: 3\n", "kelda.yaml:3:1: 'a' is given twice (first in line 1); keep one of the two"),
        (
            "steps:\n  - {x: 1, y: 2, x: 3}\n",
            "kelda.yaml:2:18: 'x' is given twice (first in line 2); keep one of the two",
        ),
        (
            "a: &one [1]\nb: *one\n",
            "kelda.yaml:1:4: '&one' (an anchor) is not allowed in a drill; delete it, or put the text into quotes",
        ),
        (
            "a: *one\n",
            "kelda.yaml:1:4: '*one' (an alias) is not allowed in a drill; write the value out, or put the "
            "text into quotes",
        ),
        (
            "a: {<<: {b: 1}}\n",
            "kelda.yaml:1:5: '<<' (a merge key) is not allowed in a drill; write the values out",
        ),
        (
            "a: !!python/object/apply:os.system [ls]\n",
            "kelda.yaml:1:4: a tag (a word that begins with '!') is not allowed in a drill; delete it, or put the "
            "text into quotes",
        ),
        (
            "%YAML 1.2\n---\na: 1\n",
            "kelda.yaml:1:1: a line that begins with % is not allowed in a drill; delete it",
        ),
        (
            "a: 1\n---\nb: 2\n",
            "kelda.yaml:2:1: a second document begins here; put each drill into a file of its own",
        ),
        ("", "kelda.yaml:1:1: the file is empty; write a drill into it"),
        ("# nothing but a comment\n", "kelda.yaml:1:1: the file is empty; write a drill into it"),
        (
            "say: [turn] left\n",
            "kelda.yaml:1:13: this is not YAML: this does not belong to what stands before it; check the "
            "indentation, and put text that begins with a bracket, a brace or a quote into quotes",
        ),
        (
            "say: turn {heading: 095}\n",
            "kelda.yaml:1:19: this is not YAML: a colon that does not belong here; put text that holds a colon "
            "into quotes, or check the indentation",
        ),
        ("a:\n\t- b\n", "kelda.yaml:2:1: this is not YAML: a tab; indent with blanks"),
        (
            "a: 'one\nb: two\n",
            "kelda.yaml:3:1: this is not YAML: a quote is not closed (in what began in line 1); close it",
        ),
        (
            "a: [1, 2\n",
            "kelda.yaml:2:1: this is not YAML: a comma or the closing ']' is missing (in what began in line 1); add it",
        ),
        (
            "a: @b\n",
            "kelda.yaml:1:4: this is not YAML: text can't begin with '@'; put the whole text into quotes",
        ),
        (
            'a: "\\d"\n',
            "kelda.yaml:1:6: this is not YAML: a backslash that means nothing; write two of them, or use single "
            "quotes",
        ),
        (
            "a: \x1b[2J\n",
            "kelda.yaml:1:4: character U+001B can't be seen and does not belong in a drill; delete it",
        ),
        (
            'a: "\\e[2J"\n',
            "kelda.yaml:1:4: character U+001B can't be seen and does not belong in a drill; delete its escape",
        ),
        (
            '"a": "\\uD800"\n',
            "kelda.yaml:1:6: character U+D800 can't be seen and does not belong in a drill; delete its escape",
        ),
    ],
)
def test_is_refused(text: str, line: str) -> None:
    assert refusal(text) == line


def test_what_is_not_utf_8_is_refused_where_it_stands() -> None:
    content = "title: Kelda\ncallsign: Müller\n".encode("latin-1")
    assert refusal(content) == "kelda.yaml:2:12: byte 0xfc is not UTF-8 text; save the file as UTF-8"


def test_a_byte_order_mark_is_no_part_of_the_text() -> None:
    assert read("a: 1\n".encode("utf-8-sig")) == {"a": 1}


def test_the_bomb_of_a_billion_laughs_is_refused_at_its_first_anchor() -> None:
    layers = ["a0: &a0 [lol, lol]"] + [f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]" for n in range(1, 40)]
    assert refusal("\n".join(layers)).startswith("kelda.yaml:1:5: '&a0' (an anchor) is not allowed")


def test_depth_has_a_limit() -> None:
    def nested(depth: int) -> str:
        return "[" * depth + "]" * depth

    assert read(nested(MOST_DEPTH)) is not None
    assert refusal(nested(MOST_DEPTH + 1)) == (
        f"kelda.yaml:1:{MOST_DEPTH + 1}: nested more than {MOST_DEPTH} levels deep; no drill needs that many"
    )


def test_the_number_of_values_has_a_limit() -> None:
    assert read("- a\n" * (MOST_NODES - 1)) is not None
    assert refusal("- a\n" * MOST_NODES) == (
        f"kelda.yaml:{MOST_NODES}:3: more than {MOST_NODES} values; split it into several drills"
    )


def test_size_has_a_limit() -> None:
    assert read(b"a" * MOST_BYTES) == "a" * MOST_BYTES
    assert refusal(b"a" * (MOST_BYTES + 1)) == (
        "kelda.yaml: larger than 256 KiB, which no drill needs; split it into several drills"
    )


@pytest.mark.parametrize(
    "unit",
    [
        "[",
        "{",
        "- ",
        "? ",
        "'",
        '"',
        "a: ",
        "&a ",
        "*a ",
        "!",
        "!<a> ",
        "%",
        "#\n",
        "---\n",
        "|\n",
        "\n",
        "a\n",
        "\\",
        "é",
        "- |\n x\n",
    ],
)
def test_nothing_of_the_largest_size_takes_long(unit: str) -> None:
    content = (unit * MOST_BYTES).encode()[: MOST_BYTES - 1]
    began = time.process_time()
    try:
        read(content)
    except DrillError as error:
        assert len(error.problems) == 1
    assert time.process_time() - began < 5


@given(st.binary(max_size=400))
def test_bytes_are_read_or_refused(content: bytes) -> None:
    try:
        read(content)
    except DrillError as error:
        assert str(error).startswith("kelda.yaml:")


@given(
    st.lists(
        st.sampled_from(
            [
                *"[]{}-?:,&*!|>'\"%@`#\\ \n\t",
                "- ",
                ": ",
                "\n  ",
                "a",
                "095",
                "---",
                "...",
                "<<",
                "\\x",
                "\u2028",
                "\ufeff",
            ]
        ),
        max_size=40,
    ).map("".join)
)
def test_yaml_s_own_signs_are_read_or_refused(text: str) -> None:
    try:
        read(text)
    except DrillError as error:
        assert str(error).startswith("kelda.yaml:")
        assert len(str(error).splitlines()) == 1


plain = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**14), 10**14)
    | st.text(st.characters(categories=["L", "N", "P", "S", "Zs"])),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text("abc ", min_size=1), inner, max_size=3)
    ),
    max_leaves=10,
)


@given(plain)
def test_json_is_read_as_json(data: object) -> None:
    """Every JSON document is YAML with the same meaning (YAML 1.2.2, section 1.2)."""
    assert read(json.dumps(data, ensure_ascii=False)) == data


@pytest.mark.parametrize(
    "written",
    [
        "turn left heading",
        "'turn left heading'",
        '"turn left heading"',
        "turn\n      left\n      heading",
        "'turn\n      left heading'",
        '"turn \\\n      left\n\n      heading"',
        '"\\x74\\u0075rn\\nleft\\theading"',
        "|\n      turn\n      left heading",
        "|2-\n      turn\n      left heading",
        ">- # folded: with a comment\n      turn\n\n      left\n      heading",
        "'turn ''left'' heading'",
        "it's \\x 'left' heading",
        '"say \\"left\\" or heading"',
    ],
)
def test_a_place_inside_a_text_is_found_in_the_file(written: str) -> None:
    source = f"steps:\n  - say: {written}\n"
    document = read_yaml(source.encode(), "kelda.yaml")
    path = ("steps", 0, "say")
    text = document.marks.written(path)
    assert text is not None
    lines = source.split("\n")
    for word in ("left", "heading"):
        mark = document.marks.inside(path, text.index(word))
        assert lines[mark.line - 1][mark.column - 1 :].startswith(word)
    end = document.marks.inside(path, len(text.rstrip()))
    assert lines[end.line - 1][: end.column - 1].endswith("heading")


def test_every_key_and_value_has_its_place() -> None:
    marks = read_yaml(b"a: 1\nsteps:\n  - step: one\n    cue: {say: hello}\n  - two\n", "kelda.yaml").marks
    assert marks.value(()) == Mark(1, 1)
    assert marks.key(("steps",)) == Mark(2, 1)
    assert marks.value(("steps",)) == Mark(3, 3)
    assert marks.value(("steps", 0)) == Mark(3, 5)
    assert marks.key(("steps", 0, "cue", "say")) == Mark(4, 11)
    assert marks.value(("steps", 0, "cue", "say")) == Mark(4, 16)
    assert marks.value(("steps", 1)) == Mark(5, 5)
    assert marks.value(("steps", 0, "flow", "calls")) == Mark(3, 5)
