"""A call of hundreds of words: checked, run, corrected and graded again like any other."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer

REST = " ".join(["fuel tank pump nose"] * 95)
DRILL = """\
drill: long-readback
title: A long readback
kind: radio
trains: a long call
steps:
  - step: all
    when: start
    cue: {{speaker: controller, say: "Say all."}}
    flow:
      calls:
        - call: all
          say: "{call}"
"""


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (f"turn left heading {{heading: 310}} {REST}", f"turn left heading 310 {REST}"),
        (
            f"turn left heading {{heading: 310}} {REST}",
            f"turn left heading 320 {REST} correction heading 310",
        ),
        (f"{REST} turn left heading {{heading: 310}}", f"{REST} turn left heading 310"),
        (" ".join(["[pump]"] * 250) + " heading {heading: 310}", "heading 310"),
    ],
    ids=["value first", "corrected", "value last", "much may be left out"],
)
def test_a_call_of_hundreds_of_words(call: str, said: str, tmp_path: Path) -> None:
    drill = tmp_path / "long.yaml"
    drill.write_text(DRILL.format(call=call), encoding="utf-8")
    checked = voice_trainer("check", drill, home=tmp_path)
    assert "Traceback" not in checked.stderr
    assert " 0 errors" in checked.stdout
    done = voice_trainer(
        "run", drill, "--input=typed", "--mode=fly-through", home=tmp_path, stdin=f"+2\n{said}\n+9\n"
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "Accuracy: 1 of 1" in done.stdout, done.stdout[-1500:]
    again = voice_trainer("regrade", home=tmp_path)
    assert (again.returncode, again.stderr) == (0, "")
