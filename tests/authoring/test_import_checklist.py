"""`import checklist`: a table or a list becomes a drill in which `check` finds nothing; nothing else comes in."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cli.commands import one_line_of_trouble, voice_trainer
from voice_trainer.authoring.checking import check_files
from voice_trainer.authoring.checklists import checklist_drill
from voice_trainer.drills.model import Drill
from voice_trainer.library.drill_files import load_drill, read_drill
from voice_trainer.library.errors import DrillError
from voice_trainer.phraseology.normaliser import normalise

SAME = {
    "comma.csv": 'Challenge,Response\n"Landing lights",ON\nLanding gear,"Down, 3 green"\nYarrowby valve,Closed\n',
    "semicolon.csv": "Landing lights;ON\r\nLanding gear;Down 3 green\r\nYarrowby valve;Closed\r\n",
    "table.md": (
        "# Before landing\n\n| Item | Response |\n|---|:--:|\n| Landing lights | **ON** |\n"
        "| Landing gear | Down, 3 green |\n| Yarrowby valve | Closed |\n"
    ),
    "list.md": (
        "Before landing\n\n- Landing lights - ON\n* Landing gear: down, 3 green\n3. Yarrowby valve … closed\n"
    ),
}


def answers(drill: Drill, number: int, said: str) -> bool:
    flow = drill.steps[number].flow
    assert flow is not None
    pattern = drill.pattern(flow.calls[0])
    match = pattern.match(normalise(said))
    return match is not None and not pattern.differences(match.slots)


@pytest.mark.parametrize("name", SAME)
def test_each_form_becomes_the_same_drill_in_one_command(tmp_path: Path, name: str) -> None:
    source, out = tmp_path / name, tmp_path / "mine.yaml"
    source.write_text(SAME[name], encoding="utf-8")
    done = voice_trainer("import", "checklist", source, "--name", "mine", "--out", out, home=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert check_files([out]) == []
    drill = load_drill(out)
    assert [step.step for step in drill.steps] == ["landing lights", "landing gear", "yarrowby valve"]
    assert answers(drill, 0, "landing lights on")
    assert answers(drill, 0, "on")
    assert not answers(drill, 0, "off")
    assert answers(drill, 1, "down three green")
    assert answers(drill, 1, "gear down three green")
    assert not answers(drill, 1, "gear up three green")
    assert "yarrowby" in drill.pronounce
    again = voice_trainer("import", "checklist", source, "--name", "mine", "--out", out, home=tmp_path)
    assert "is there already" in one_line_of_trouble(again)


def test_a_value_may_be_a_slot(tmp_path: Path) -> None:
    source = tmp_path / "list.csv"
    source.write_text('Altimeter,"{altimeter: 29.84} set"\n', encoding="utf-8")
    drill = read_drill(checklist_drill(source, "mine").encode(), "mine")
    assert answers(drill, 0, "two nine eight four set")
    assert not answers(drill, 0, "two nine eight five set")


@pytest.mark.parametrize(
    ("name", "content", "place"),
    [
        ("a.csv", b"gear,down\nlights\n", ":2:1: "),
        ("a.csv", b"gear,down\nlights,on,off\n", ":2:1: "),
        ("a.csv", b"gear,{altimeter: 99.99}\n", ":1:1: "),
        ("a.csv", b"gear,!!!\n", ":1:1: "),
        ("a.csv", b"", ": there is no item"),
        ("a.csv", b'gear,"down\n', ": this is no CSV"),
        ("a.csv", b"gear,d\xffown\n", ":1:1: this is not UTF-8"),
        ("a.csv", b"gear,down\n" * 101, ": it has 101 items"),
        ("a.csv", b"gear," + b"x" * 300_000, ": "),
        ("a.md", b"only prose\n", ": there is no item"),
        ("a.pdf", b"%PDF", ": this is neither"),
    ],
)
def test_what_is_no_checklist_is_refused_with_its_place(
    tmp_path: Path, name: str, content: bytes, place: str
) -> None:
    (tmp_path / name).write_bytes(content)
    out = tmp_path / "mine.yaml"
    done = voice_trainer(
        "import", "checklist", tmp_path / name, "--name", "mine", "--out", out, home=tmp_path
    )
    assert f"{tmp_path / name}{place}" in one_line_of_trouble(done)
    assert not out.exists()


def test_what_looks_like_keys_or_patterns_stays_text(tmp_path: Path) -> None:
    source = tmp_path / "a.csv"
    source.write_text('"gear"": x\nsteps: []",[down] (up | off)\n"=cmd()",&a *b !!python on\n', "utf-8")
    drill = read_drill(checklist_drill(source, "mine").encode(), "mine")
    assert len(drill.steps) == 2
    assert answers(drill, 0, "down up off")
    assert not answers(drill, 0, "off")


@settings(max_examples=150, deadline=None)
@given(
    rows=st.lists(st.tuples(st.text(max_size=30), st.text(max_size=30)), min_size=1, max_size=5),
    ending=st.sampled_from([".csv", ".md"]),
)
def test_whatever_is_in_the_file_becomes_a_readable_drill_or_is_refused(
    tmp_path_factory: pytest.TempPathFactory, rows: list[tuple[str, str]], ending: str
) -> None:
    source = tmp_path_factory.mktemp("any") / f"any{ending}"
    form = "{},{}\n" if ending == ".csv" else "- {} - {}\n"
    source.write_bytes("".join(form.format(*row) for row in rows).encode("utf-8", "replace"))
    try:
        text = checklist_drill(source, "mine")
    except DrillError as error:
        assert all("\n" not in str(problem) for problem in error.problems)
        return
    assert read_drill(text.encode(), "mine").kind == "checklist"
