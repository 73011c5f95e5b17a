"""`check`: every fault of a file at once, with its place; warnings for what is doubtful; quick."""

from __future__ import annotations

import json
import os
import time
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.authoring.checking import check_files
from voice_trainer.library.builtin import builtin_drills
from voice_trainer.library.flown import builtin_procedures
from voice_trainer.library.folders import CONTENT

HEAD = "drill: mine\ntitle: Mine\nkind: checklist\ntrains: a check\n"


def drill_file(folder: Path, body: str, name: str = "mine.yaml") -> Path:
    path = folder / name
    path.write_text(HEAD + body, encoding="utf-8")
    return path


def found(path: Path) -> list[tuple[str, int | None, str, str]]:
    return [(f.severity, f.problem.line, f.problem.what, f.problem.advice) for f in check_files([path])]


def calls(*says: str, order: str = "any") -> str:
    lines = "".join(f'        - call: call {n}\n          say: "{say}"\n' for n, say in enumerate(says))
    return f"steps:\n  - step: one\n    flow:\n      order: {order}\n      calls:\n{lines}"


def test_the_builtin_drills_have_neither_errors_nor_warnings() -> None:
    assert check_files(list(builtin_drills().values())) == []


def test_approaches_and_holds_are_checked_by_their_numbers(tmp_path: Path) -> None:
    assert check_files(list(builtin_procedures().values())) == []
    path = tmp_path / "mine.yaml"
    text = builtin_procedures()["kelda-vor-15"].read_text(encoding="utf-8")
    path.write_text(text.replace("climb_feet: 3000", "climb_feet: 800"), encoding="utf-8")
    (only,) = found(path)
    assert only[0] == "error"
    assert "does not climb from 820" in only[2]


def test_every_fault_is_found_at_once_with_its_place_and_what_was_meant(tmp_path: Path) -> None:
    path = drill_file(
        tmp_path,
        """\
trians: no
fixes: [KELDA]
steps:
  - step: one
    when: wing level
    cue: {speaker: controler, say: "Turn."}
    flow:
      calls:
        - call: turn
          say: "turn left {headng: 310}"
          does: tun
""",
    )
    errors = found(path)
    assert [(severity, line) for severity, line, *_ in errors] == [("error", n) for n in (5, 9, 10, 14, 15)]
    advice = [each[3] for each in errors]
    assert advice[0] == "did you mean 'trains'?"
    assert advice[1] == "did you mean 'wings level'?"
    assert advice[2] == "did you mean 'controller'?"
    assert "heading" in advice[3] + errors[3][2]
    assert advice[4] == "did you mean 'turn'?"


@pytest.mark.parametrize(
    ("says", "is_alike"),
    [
        (("flaps set", "flap set"), True),
        (("mixture checked", "mixtures checked"), True),
        (("gear checked", "tanks checked"), False),
        (("fuel pump on", "fuel pump off"), False),  # opposites are values: told apart exactly
        (("maintain {altitude: 2600}", "descend {altitude: 1900}"), False),
        (("[cross at] {altitude: 2600}", "[then] {altitude: 1900}"), True),
    ],
)
def test_calls_of_one_flow_that_sound_alike(tmp_path: Path, says: tuple[str, str], is_alike: bool) -> None:
    warnings = found(drill_file(tmp_path, calls(*says)))
    assert [(each[0], each[1]) for each in warnings] == ([("warning", 13)] if is_alike else [])
    assert all("sounds like 'call 0' in line 11" in each[2] for each in warnings)


def test_two_calls_of_one_flow_that_are_worded_the_same(tmp_path: Path) -> None:
    ((severity, line, what, _),) = found(drill_file(tmp_path, calls("gear down", "gear down")))
    assert (severity, line) == ("warning", 13)
    assert "is worded as 'call 0'" in what


def test_a_word_that_no_dictionary_has_and_one_that_the_drill_pronounces(tmp_path: Path) -> None:
    ((severity, line, what, advice),) = found(drill_file(tmp_path, calls("yarrowby checked")))
    assert (severity, line) == ("warning", 11)
    assert "'yarrowby'" in what
    assert "pronounce: {yarrowby: " in advice
    assert (
        found(drill_file(tmp_path, "pronounce: {yarrowby: Y AE R OW B IY}\n" + calls("yarrowby checked")))
        == []
    )


FLOWN = """\
station: {ident: KLD, name: Kelda, frequency: 114.3}
aeroplane: {distance_nm: 1, radial_degrees: 120, heading_degrees: 300, course_degrees: 300, altitude_feet: 4000,
  airspeed_knots: 110}
"""


def test_a_window_that_closes_before_the_call_can_be_said(tmp_path: Path) -> None:
    # Eight words at 100 a minute (ICAO Annex 10 Volume II 5.2.1.5.3, from memory) are 4.8 s; two of cue at 160, 0.75.
    def body(closes: str) -> str:
        return (
            FLOWN
            + f"""\
steps:
  - step: one
    when: "clock 1:00"
    cue: {{speaker: aeroplane, say: "One minute."}}
    flow:
      calls:
        - call: first
          say: "power set and mixture rich and tanks checked"
        - call: second
          say: "gear down"
          window: {{closes: "clock {closes}"}}
"""
        )

    ((severity, line, what, _),) = found(drill_file(tmp_path, body("1:05")))
    assert (severity, line) == ("warning", 18)
    assert "closes 5 seconds after it opens" in what
    assert "takes 7 seconds" in what
    assert found(drill_file(tmp_path, body("1:08"))) == []


def test_a_window_shorter_than_anybody_answers(tmp_path: Path) -> None:
    body = calls("gear down") + "          window: {within_seconds: 0.5}\n"
    ((severity, line, what, _),) = found(drill_file(tmp_path, body))
    assert (severity, line) == ("warning", 12)
    assert "0.5 seconds" in what


def test_a_call_that_is_too_long_to_be_heard(tmp_path: Path) -> None:
    said = "gear down and locked " * 10  # 40 words at 100 a minute are 24 seconds
    assert found(drill_file(tmp_path, calls(said.strip(), "flaps up"))) == []
    ((severity, line, what, advice),) = found(drill_file(tmp_path, calls("flaps up", f"{said}now")))
    assert (severity, line) == ("warning", 13)
    assert "a call of 41 words is too long to be heard as one: the limit is 40 words, 24 seconds" in what
    assert advice == "make several calls of it"


def test_a_cue_that_is_longer_than_its_gap(tmp_path: Path) -> None:
    def body(gap: int) -> str:
        return (
            'steps:\n  - step: one\n    when: start\n    cue: {speaker: instructor, say: "'
            + "One word " * 16
            + f'"}}\n  - step: two\n    when: start\n    after_seconds: {gap}\n'
            + '    cue: {speaker: instructor, say: "Gear."}\n'
        )

    # 32 words at 160 a minute are 12 seconds.
    ((severity, line, what, _),) = found(drill_file(tmp_path, body(8)))
    assert (severity, line) == ("warning", 8)
    assert "takes 12 seconds, and that of 'two' begins 8 seconds after it" in what
    assert found(drill_file(tmp_path, body(13))) == []


def test_a_drill_that_ends_before_it_can_be_over(tmp_path: Path) -> None:
    ((severity, line, *_),) = found(
        drill_file(tmp_path, "limit_seconds: 2\n" + calls("gear down and landing lights on"))
    )
    assert (severity, line) == ("warning", 5)


def test_names_that_the_drill_does_not_have(tmp_path: Path) -> None:
    body = f"""\
fixes: [KELDA]
{FLOWN}steps:
  - step: one
    when: passage KLX
    flow:
      calls:
        - call: report
          say: "position {{fix: KEDLA}}"
"""
    warnings = found(drill_file(tmp_path, body))
    assert [(line, advice) for _, line, _, advice in warnings] == [
        (11, "did you mean 'passage KLD'?"),
        (15, "did you mean 'KELDA'?"),
    ]


def test_exit_codes_and_lines(tmp_path: Path) -> None:
    good = drill_file(tmp_path, calls("gear down"), "good.yaml")
    doubtful = drill_file(tmp_path, calls("yarrowby checked"), "doubtful.yaml")
    bad = drill_file(tmp_path, calls("gear (down"), "bad.yaml")
    done = voice_trainer("check", good, home=tmp_path)
    assert (done.returncode, done.stdout) == (0, "1 file, 0 errors, 0 warnings.\n")
    assert voice_trainer("check", doubtful, home=tmp_path).returncode == 0
    assert voice_trainer("check", doubtful, "--strict", home=tmp_path).returncode == 1
    done = voice_trainer("check", tmp_path, home=tmp_path)
    assert (done.returncode, done.stderr) == (2, "")
    lines = done.stdout.splitlines()
    assert [line.split(": ")[1] for line in lines[:-1]] == ["error", "warning"]
    assert lines[0].startswith(f"{bad}:11:")
    assert lines[-1] == "3 files, 1 error, 1 warning."
    done = voice_trainer("check", bad, doubtful, "--json", home=tmp_path)
    assert done.returncode == 2
    rows = [json.loads(line) for line in done.stdout.splitlines()]
    assert [(row["file"], row["line"], row["severity"]) for row in rows] == [
        (str(bad), 11, "error"),
        (str(doubtful), 11, "warning"),
    ]


@pytest.mark.parametrize("name", ["nowhere.yaml", "empty"])
def test_what_is_not_there_is_an_error(tmp_path: Path, name: str) -> None:
    (tmp_path / "empty").mkdir()
    done = voice_trainer("check", tmp_path / name, home=tmp_path)
    assert (done.returncode, done.stderr) == (2, "")
    assert done.stdout.startswith(f"{tmp_path / name}: error: ")


def test_a_house_is_checked_too_and_its_fault_is_said_once(tmp_path: Path) -> None:
    (tmp_path / "house.yaml").write_text("house: ours\nregoin: faa\n", encoding="utf-8")
    for number in range(3):
        drill_file(tmp_path, calls("gear down"), f"{number}.yaml")
    done = voice_trainer("check", tmp_path, home=tmp_path)
    assert done.returncode == 2
    assert len(done.stdout.splitlines()) == 2
    assert "house.yaml:2:1: error: unknown key 'regoin'; did you mean 'region'?" in done.stdout


def test_forty_drills_take_a_few_seconds_and_load_no_model(tmp_path: Path) -> None:
    sources = list(builtin_drills().values())
    for number in range(40):
        source = sources[number % len(sources)]
        (tmp_path / f"{number}-{source.name}").write_bytes(source.read_bytes())
    began = time.process_time() + sum(os.times()[2:4])
    done = voice_trainer("check", tmp_path, home=tmp_path)
    took = time.process_time() + sum(os.times()[2:4]) - began
    assert (done.returncode, done.stdout) == (0, "40 files, 0 errors, 0 warnings.\n")
    assert took < 10  # of processor time, children included; about two on an idle core
    assert CONTENT.is_dir()


def answered(say: str, answers: str, more: str = "", cue: bool = True) -> str:
    asks = '    cue: {speaker: instructor, say: "Lights."}\n' if cue else ""
    return (
        f"steps:\n  - step: one\n{asks}    flow:\n      order: any\n      calls:\n"
        f'        - call: lights\n          say: "{say}"\n          answers: "{answers}"\n{more}'
    )


@pytest.mark.parametrize(
    ("say", "answers"),
    [
        ("landing lights on", "on"),
        ("gear down three green", "three green"),
        ("flaps {flap: 15} set", "[at] {flap: 15}"),
        ("lights checked and on", "checked"),
    ],
)
def test_a_bare_answer_of_the_values_of_its_call_is_in_order(tmp_path: Path, say: str, answers: str) -> None:
    assert found(drill_file(tmp_path, answered(say, answers))) == []


@pytest.mark.parametrize(
    ("say", "answers", "what"),
    [
        ("landing lights on", "off", "'answers' has 'off', and the call has not"),
        ("landing lights on", "on left", "'answers' has 'left', and the call has not"),
        ("landing lights on", "on {count: 2}", "'answers' has {count: 2}, and the call has not"),
        ("flaps {flap: 15} set", "{flap: 20}", "'answers' has {flap: 20}, and the call has not"),
        ("flaps {flap: 15} set", "set", "'answers' lacks {flap: 15}"),
        ("flaps {flap: 15} set", "(set | {flap: 15})", "'answers' lacks {flap: 15}"),
        ("[landing] lights on", "[landing] lights on", "'answers' is the call itself"),
        ("landing lights on", "[on]", "every part of this pattern may be left unsaid"),
    ],
)
def test_a_bare_answer_of_other_values_is_an_error_at_its_place(
    tmp_path: Path, say: str, answers: str, what: str
) -> None:
    ((severity, line, said, advice),) = found(drill_file(tmp_path, answered(say, answers)))
    assert (severity, line, said) == ("error", 13, what)
    assert advice


def test_a_bare_answer_needs_a_cue_that_asks_and_a_call_that_is_due(tmp_path: Path) -> None:
    ((severity, _, what, advice),) = found(drill_file(tmp_path, answered("lights on", "on", cue=False)))
    assert (severity, advice) == ("error", "add a cue that names it")
    assert what == "'answers' of 'lights' in a step that asks for nothing"
    optional = answered("lights on", "on", "          need: optional\n")
    ((severity, _, what, _),) = found(drill_file(tmp_path, optional))
    assert (severity, what) == ("error", "'answers' of a call that is optional")


def test_bare_answers_of_one_flow_that_are_alike_and_of_two_that_may_be(tmp_path: Path) -> None:
    heat = '        - call: heat\n          say: "pitot heat on"\n          answers: "on"\n'
    ((severity, line, what, advice),) = found(drill_file(tmp_path, answered("landing lights on", "on", heat)))
    assert (severity, line) == ("warning", 16)
    assert what == "the bare answer of 'heat' sounds like that of 'lights' in line 12"
    assert "due first" in advice
    own_step = f"  - step: two\n    cue: {{speaker: instructor, say: Heat.}}\n    flow:\n      calls:\n{heat}"
    assert found(drill_file(tmp_path, answered("landing lights on", "on", own_step))) == []
