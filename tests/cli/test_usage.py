"""Slips on the command line: one line that says what and what to do, exit 2, for every command."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ((), "no command was given; see 'voice-trainer --help'"),
        (("rnu", "kelda-outbound"), "there is no command 'rnu'; did you mean 'run'?"),
        (("kelda-outbound",), "did you mean 'run kelda-outbound'?"),
        (("xyzzy",), "there is no command 'xyzzy'; use list, guide, run, handsfree, plan, hear"),
        (("run",), "run: DRILL is missing; see 'voice-trainer run --help'"),
        (("run", "kelda-outbound", "--hedset"), "run: there is no option '--hedset'; did you mean '--headset'?"),
        (("run", "kelda-outbound", "--head"), "did you mean '--headset'?"),
        (("run", "kelda-outbound", "--headset=yes"), "--headset takes no value; write --headset alone"),
        (("run", "kelda-outbound", "--seed", "many"), "--seed: 'many' is no whole number"),
        (("run", "kelda-outbound", "--seed", "-1"), "--seed: '-1' is no whole number"),
        (("run", "kelda-outbound", "--seed", "9" * 5000), "is no whole number"),
        (("run", "kelda-outbound", "--engine"), "--engine needs a value after it"),
        (("run", "kelda-outbound", "two\nlines"), "'two lines' is one argument too many"),
        (("hear", "a.wav", "--region", "us"), "--region: 'us' is no choice; use faa or icao"),
        (("record", "prompts.txt"), "record: --out is missing"),
        (("enrol", "--forgt"), "did you mean '--forget'?"),
        (("models", "quux"), "models: there is no command 'quux'; use list, add, fetch or remove"),
        (("models", "ad", "x"), "did you mean 'add'?"),
        (("models", "add", "x", "--nmae", "y"), "models add: there is no option '--nmae'; did you mean '--name'?"),
        (("list", "drills"), "list: 'drills' is one argument too many"),
        (("debrief", "a", "b"), "debrief: 'b' is one argument too many"),
        (("doctor", "--no-sound"), "doctor: there is no option '--no-sound'; did you mean '--no-audio'?"),
    ],
)  # fmt: skip
def test_a_slip_is_one_line(arguments: tuple[str, ...], says: str, tmp_path: Path) -> None:
    done = voice_trainer(*arguments, home=tmp_path)
    assert says in one_line_of_trouble(done)
    assert done.stdout == ""


def test_commands_in_messages_are_those_that_work_here(tmp_path: Path) -> None:
    started_as = {"VOICE_TRAINER_COMMAND": "scripts/run"}
    assert "see 'scripts/run run --help'" in one_line_of_trouble(
        voice_trainer("run", home=tmp_path, env=started_as)
    )
    assert "scripts/run run DRILL" in one_line_of_trouble(
        voice_trainer("debrief", home=tmp_path, env=started_as)
    )
    assert "scripts/run run [" in voice_trainer("run", "--help", home=tmp_path, env=started_as).stdout


def test_a_data_folder_that_is_a_file_is_named(tmp_path: Path) -> None:
    file = tmp_path / "notes.txt"
    file.write_text("mine", encoding="utf-8")
    for command in (("privacy",), ("due",), ("run", "kelda-outbound", "--input=typed")):
        line = one_line_of_trouble(voice_trainer(*command, home=file))
        assert "VOICE_TRAINER_HOME: " in line
        assert line.endswith("is no folder; name one, there already or not")
    assert file.read_text(encoding="utf-8") == "mine"


def test_sessions_have_the_same_name_for_every_command(tmp_path: Path) -> None:
    voice_trainer("run", "brannock-clearance", "--input=typed", home=tmp_path, stdin="+9\nleft heading 310\n")
    for command in ("debrief", "regrade"):
        done = voice_trainer(command, "20", home=tmp_path)
        assert (done.returncode, done.stderr) == (0, "")
        assert "is no session in" in one_line_of_trouble(voice_trainer(command, "nonsense", home=tmp_path))
