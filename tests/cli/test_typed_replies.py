"""What a typed line is answered: one line each, of what was understood, and no more than a heard session would tell."""

from __future__ import annotations

import fcntl
import os
import re
import struct
import sys
import termios
import time
from itertools import pairwise
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.terminal import Terminal
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.journal.events import Heard

REPLY = re.compile(r" +\d+:\d\d {15}(\S.*)")

WHOLE_SESSION = (
    ("+16", "16 seconds pass"),
    ("time not required, turn right 323",
     "heard: crossing, time: with 'not'; heard: crossing, turn: right, heading 323"),
    ("stand by", "stand by: 20 more seconds for what is due"),
    ("set course 333", "heard: crossing, twist: course 333"),
    ("nonsense all of it", "words of no call; ? shows what may be said"),
    ("", None),
    ("freeze", "words of no call; an order is 'trainer, freeze'"),
    ("decsend and maintain", "words of no call; nearest: '... and maintain ...'"),
    ("descend and maintain", "only the beginning of a call: 'descend and maintain ...' wants <altitude>; "
     "asked to say again, as: descend and maintain ..."),
    ("descend and maintain 2600 please", "heard: crossing, transition: descend, 2,600 ft; the rest: words of no call"),
    ("roger", "'roger': understood, but no call that is due"),
    ("start the clock", "heard: wings level, clock: start"),
    ("correction, turn right heading 333", "corrected: crossing, turn: right, heading 333"),
    ("say heading", "say heading: asked of the aeroplane"),
    ("trainer, freeze", "order: freeze, obeyed"),
    ("trainer, freeze", "order: freeze, of no use now: everything stands still already"),
    ("Heron 24 kelda outbound", "not listened to: everything stands still; 'trainer, continue' goes on"),
    ("trainer, continue", "order: continue, obeyed"),
    ("trainer, continue", "order: continue, of no use now: nothing was frozen"),
    ("trainer, go ahead", "'go ahead': understood, but no call that is due; the rest: words of no call"),
    ("I said that", "'i said that': an order needs the name here: 'trainer, i said that'"),
    ("trainer, I said that", "order: i said, of no use now: nothing was held against you there"),
    ("Heron 24 kelda outbound", "heard: crossing, talk: Heron 24, outbound"),
    ("set course 323", "'set course three two three': a call, but said before"),
    ("turn left heading 111", "'turn left heading one one one': a call, but said before"),
    ("disregard", "disregard: no call that is due has been said"),
    ("trainer, skip", "order: skip, of no use now: no call is due"),
    ("+37", "37 seconds pass"),
    ("turn left 288", "heard: one minute, turn: left, heading 288"),
    ("disregard", "withdrawn: one minute, turn; it is due again"),
    ("turn left 288 correction 278", "corrected: one minute, turn: left, heading 278"),
    ("correction", "correction: what is typed next is taken for it"),
    ("288", "corrected: one minute, turn: left, heading 288"),
    ("trainer, skip", "order: skip, obeyed"),
    ("trainer, cold", "order: cold, obeyed"),
    ("...", "nothing said: there is no word in it"),
    ("trainer, end", "order: end, obeyed"),
)  # fmt: skip
"""Flying through; each line with its reply, None where it has none."""


def replies_in(printed: str) -> list[str]:
    """What follows each line that was said, or the passing of time."""
    lines = printed.split("Debrief: ", maxsplit=1)[0].splitlines()
    found: list[str] = []
    for before, line in pairwise(lines):
        match = REPLY.fullmatch(line)
        if match and ("  You        " in before or match[1].endswith("seconds pass")):
            found.append(match[1])
    return found


def test_a_whole_session_is_answered_line_by_line(tmp_path: Path) -> None:
    journal = tmp_path / "session.jsonl"
    stdin = "".join(f"{line}\n" for line, _ in WHOLE_SESSION)
    done = voice_trainer(
        "run", "kelda-outbound", "--input=typed", "--mode=fly-through", "--journal", journal,
        home=tmp_path, stdin=stdin,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert replies_in(done.stdout) == [reply for _, reply in WHOLE_SESSION if reply is not None]
    said = [line for line, reply in WHOLE_SESSION if reply is not None and not line.startswith("+")]
    heard = [record for record in read_journal(journal).records if isinstance(record, Heard)]
    assert len(heard) == len(said)


def test_a_wrong_value_is_told_when_it_is_stopped_for_and_no_sooner(tmp_path: Path) -> None:
    stdin = (
        "+16\nturn right 323\n+3\nturn right heading 332\ndescend 2600\nstand by\nturn right heading 333\n"
    )
    done = voice_trainer("run", "kelda-outbound", "--input=typed", home=tmp_path, stdin=stdin)
    assert (
        replies_in(done.stdout)
        == [
            "16 seconds pass",
            "heard: crossing, turn: right, heading 323",
            "3 seconds pass",
            "not right yet: crossing, turn, with a value or a word that is not the expected one",
            "heard: crossing, transition: descend, 2,600 ft",  # what else is due counts while everything stands still
            "stand by: 20 more seconds for what is due",
            "put right: crossing, turn: right, heading 333",
        ]
    )
    lines = done.stdout.splitlines()
    stopped = next(i for i, line in enumerate(lines) if line.endswith("stopped: crossing, turn"))
    assert "3 seconds pass" in lines[stopped - 1]


def test_a_call_of_later_on_is_not_due(tmp_path: Path) -> None:
    done = voice_trainer(
        "run", "brannock-clearance", "--input=typed", home=tmp_path, stdin="+3\naltimeter 29 84\n"
    )
    assert replies_in(done.stdout)[1:] == ["'altimeter two nine eight four': a call, but not due now"]


@pytest.mark.parametrize(
    ("level", "mode"),
    [
        ("read-along", "stop-and-correct"),
        ("prompted", "fly-through"),
        ("cold", "stop-and-correct"),
        ("under-load", "fly-through"),
    ],
)
def test_no_reply_tells_a_value_that_was_not_typed(level: str, mode: str, tmp_path: Path) -> None:
    """Up to the verdicts, which the session gives by itself."""
    stdin = "+16\n?\nturn left 123\nturn left\ndescend\nset the course\ndecsend and maintian\n?\n"
    done = voice_trainer(
        "run", "kelda-outbound", "--input=typed", f"--level={level}", f"--mode={mode}", home=tmp_path, stdin=stdin
    )  # fmt: skip
    assert done.returncode == 0
    printed = done.stdout[done.stdout.index("16 seconds pass") :].split("ended: ", maxsplit=1)[0]
    ours = [line for line in printed.splitlines() if "Instructor" not in line and "Controller" not in line]
    assert any("turn: left, heading 123" in line for line in ours)
    assert not re.search(r"333|2,?600|three three three|two six|two thousand|right head", "\n".join(ours))


SHOWN = "  crossing, turn: (turn | turning | coming) <left/right> [heading] <heading>"


@pytest.mark.parametrize(
    ("level", "shows"),
    [("read-along", True), ("prompted", True), ("cold", False), ("under-load", False)],
)
def test_a_question_mark_shows_what_may_be_said_as_far_as_the_level_allows(
    level: str, shows: bool, tmp_path: Path
) -> None:
    journal = tmp_path / "session.jsonl"
    done = voice_trainer(
        "run", "kelda-outbound", "--input=typed", f"--level={level}", "--mode=fly-through", "--journal", journal,
        home=tmp_path, stdin="?\n+16\n?\ntime not required\n?\n",
    )  # fmt: skip
    lines = done.stdout.splitlines()
    assert lines.count("  No call is due: an empty line lets a second pass.") == 1
    assert lines.count(f"  {SHOWN}") == (2 if shows else 0)
    assert lines.count("    crossing, time: time [not] required") == (1 if shows else 0)
    told = [line for line in lines if "which, you know at the level" in line]
    named = level.replace("-", " ")
    assert told == (
        [] if shows else [f"  Due now: {n} calls; which, you know at the level '{named}'." for n in (5, 4)]
    )
    assert (
        sum("'trainer, freeze', and behind its name: continue, say again, slower" in line for line in lines)
        == 3
    )
    assert sum(isinstance(record, Heard) for record in read_journal(journal).records) == 1


SOON_OVER = """\
drill: short
title: A drill that is soon over
kind: radio
trains: being quick
callsign: Heron 24
limit_seconds: 10
steps:
  - step: ready
    when: start
    cue: {speaker: instructor, say: "Go."}
    flow:
      give_up_seconds: 30
      calls:
        - {call: ready, say: "heron ready", window: {within_seconds: 30}}
"""


def test_what_is_typed_as_the_session_ends_is_not_lost_in_silence(tmp_path: Path) -> None:
    drill = tmp_path / "short.yaml"
    drill.write_text(SOON_OVER, encoding="utf-8")
    done = voice_trainer("run", drill, "--input=typed", home=tmp_path, stdin="+9\nheron ready\n")
    assert "not said: the session was over before" in done.stdout.split("Debrief: ", maxsplit=1)[0]
    assert "You  " not in done.stdout


def plain(seen: str) -> str:
    """What a terminal shows, without bold and dim."""
    return re.sub(r"\x1b\[[0-9;]*m", "", seen).replace("\r\n", "\n")


def wait_for_prompt(terminal: Terminal, number: int) -> None:
    deadline = time.monotonic() + 40
    while plain(terminal.seen).count("\n> ") < number:
        assert time.monotonic() < deadline, terminal.seen
        terminal._read()


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_on_a_terminal_lines_break_between_words_behind_a_prompt(columns: int, tmp_path: Path) -> None:
    command = (sys.executable, "-m", "voice_trainer", "run", "kelda-outbound", "--input=typed")
    env = {k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES")}
    env |= {"VOICE_TRAINER_HOME": str(tmp_path), "NO_COLOR": "1", "TERM": "xterm"}
    lines = ("+16", "time not required, turn right 323", "set course", "stand by", "?")
    with Terminal(command, env) as terminal:
        fcntl.ioctl(terminal.descriptor, termios.TIOCSWINSZ, struct.pack("HHHH", 40, columns, 0, 0))
        for number, keys in enumerate((*(f"{line}\n" for line in lines), "\x04"), start=1):
            wait_for_prompt(terminal, number)
            terminal.press(keys)
        assert terminal.ends() == 0
    shown = plain(terminal.seen).split("Debrief: ", maxsplit=1)[0].split("\n")
    assert max(len(line) for line in shown) <= columns
    assert [line[2:] for line in shown if line.startswith("> ")] == [*lines, ""]
    text = " ".join(" ".join(shown).split())
    assert "'set course ...' wants <course>" in text
    assert "heard: crossing, time: with 'not'; heard: crossing, turn: right, heading 323" in text
    assert "crossing, talk: [brannock <facility>] <callsign> kelda <inbound/outbound>" in text
    assert "You are one mile from Kelda, heading three zero zero, three thousand" in text
    assert " You " not in " ".join(line[:19] for line in shown)


BARE_ANSWERS = (
    ("29 84 set", "heard: altimeter, altimeter: 29.84"),
    ("on", "'on': a call, but not due now"),
    ("fullest", "heard: fuel, fuel"),
    ("on", "heard: ice, pitot heat: on"),
    ("I said that", "'i said that': an order needs the name here: 'trainer, i said that'"),
    (
        "auto",
        "only the beginning of a call: 'auto ...' wants its rest; asked to say again, as: auto feather ...",
    ),
    ("trainer, end", "order: end, obeyed"),
)


def test_bare_answers_of_a_checklist_are_the_items_that_are_due(tmp_path: Path) -> None:
    stdin = "".join(f"{line}\n" for line, _ in BARE_ANSWERS)
    done = voice_trainer(
        "run", "before-landing-checklist", "--input=typed", "--mode=fly-through",
        "--journal", tmp_path / "session.jsonl", home=tmp_path, stdin=stdin,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert replies_in(done.stdout) == [reply for _, reply in BARE_ANSWERS]
    assert voice_trainer("regrade", tmp_path / "session.jsonl", home=tmp_path).returncode == 0
