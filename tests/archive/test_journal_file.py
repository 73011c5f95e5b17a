"""Journals on disk: what was appended is there, whatever becomes of the process, and reading is strict."""

from __future__ import annotations

import json
import os
import resource
import signal
import stat
import subprocess
import sys
import time
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.journal_file import JournalWriter, read_journal
from voice_trainer.journal import events
from voice_trainer.journal.events import AnyDecision, AnyFact, Header, Position, Settings, StepBegan
from voice_trainer.journal.hearing import HeardWord, Hearing, Interpretation, Span

RECORD_TYPES = get_args(AnyFact) + get_args(AnyDecision)
HEADER = Header(
    program="0.1.0",
    session="s",
    started_utc="2026-11-25T10:15:00Z",
    drill={"drill": "kelda", "steps": [{"step": "one", "when": None}]},
    settings=Settings(),
)

finite = st.floats(allow_nan=False, allow_infinity=False)
KNOWN: dict[Any, st.SearchStrategy[Any]] = {float: finite, float | None: st.none() | finite}


def built(kind: Any) -> st.SearchStrategy[Any]:
    """Records of one type; `KNOWN` says how to fill the fields of certain types, hypothesis does the rest."""
    fields = {name: KNOWN[f.annotation] for name, f in kind.model_fields.items() if f.annotation in KNOWN}
    return st.builds(kind, **fields)


KNOWN[tuple[HeardWord, ...]] = st.lists(built(HeardWord), max_size=3).map(tuple)
KNOWN[tuple[Span, ...]] = st.lists(built(Span), max_size=2).map(tuple)
KNOWN[tuple[Interpretation, ...]] = st.lists(built(Interpretation), max_size=2).map(tuple)
KNOWN[Hearing] = built(Hearing)
records: st.SearchStrategy[Any] = st.one_of(*(built(kind) for kind in RECORD_TYPES))


def one_of_each() -> list[Any]:
    """One record of every type, the same every time."""
    by_hand = {
        "str": "Brannock tower, „naïve“ \u2028 \n",
        "float": 1.25,
        "int": 3,
        "bool": True,
    }
    made = []
    for kind in RECORD_TYPES:
        values: dict[str, Any] = {}
        for name, field in kind.model_fields.items():
            if field.is_required():
                values[name] = by_hand.get(getattr(field.annotation, "__name__", ""))
        special = {
            "verdict": "wrong value",
            "slots": {"heading": "095"},
            "order": ("a", "b"),
            "calls": ("a", "b"),
            "level": "cold",
            "by": "student",
        }
        values |= {name: value for name, value in special.items() if name in kind.model_fields}
        if kind in (events.ToTrainer, events.Ordered):
            values["order"] = "freeze"
        if kind is events.Heard:
            values["hearing"] = {
                "start_seconds": 0,
                "end_seconds": 1,
                "clarity": "unclear",
                "engine": "typed",
            }
        made.append(kind.model_validate(values))
    return made


def write(path: Path, *them: Any) -> Path:
    with JournalWriter(path, HEADER) as writer:
        for record in them:
            writer.append(record)
    return path


def test_every_type_of_record_comes_back_as_it_was(tmp_path: Path) -> None:
    journal = read_journal(write(tmp_path / "j.jsonl", *one_of_each()))
    assert journal.header == HEADER
    assert list(journal.records) == one_of_each()
    assert {type(record) for record in journal.records} == set(RECORD_TYPES)
    assert journal.torn is None


@settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture], deadline=None)
@given(them=st.lists(records, max_size=5))
def test_any_records_come_back_as_they_were(tmp_path: Path, them: list[Any]) -> None:
    path = tmp_path / "any.jsonl"
    path.unlink(missing_ok=True)
    assert list(read_journal(write(path, *them)).records) == them


def test_a_journal_is_json_lines(tmp_path: Path) -> None:
    """JSON Lines (jsonlines.org): UTF-8, one JSON value a line, '\\n' ends each."""
    content = write(tmp_path / "j.jsonl", *one_of_each()).read_bytes()
    assert content.endswith(b"\n")
    lines = content.decode("utf-8").removesuffix("\n").split("\n")
    assert [json.loads(line)["event"] for line in lines] == [
        "header",
        *(record.event for record in one_of_each()),
    ]


@pytest.mark.parametrize("last", [StepBegan(at_seconds=3.5, step="gear"), *one_of_each()[-2:]])
def test_a_last_line_cut_off_anywhere_is_reported_and_the_rest_is_read(tmp_path: Path, last: Any) -> None:
    first = StepBegan(at_seconds=1, step="naïve ✓")
    content = write(tmp_path / "whole.jsonl", first, last).read_bytes()
    start = content.rindex(b"\n", 0, -1) + 1
    for end in range(start, len(content) + 1):
        path = tmp_path / "cut.jsonl"
        path.write_bytes(content[:end])
        journal = read_journal(path)
        whole = end >= len(content) - 1  # without its line end it still says all that it had to
        assert journal.records == ((first, last) if whole else (first,))
        if whole or end == start:
            assert journal.torn is None
        else:
            assert journal.torn == content[start:end].decode("utf-8", errors="replace")


def test_what_a_power_cut_leaves_of_a_line_is_torn(tmp_path: Path) -> None:
    """A file system may have noted the new length of a file, but not yet what is in it: zeros."""
    path = write(tmp_path / "j.jsonl", StepBegan(at_seconds=1, step="a"))
    path.write_bytes(path.read_bytes() + b"\0" * 100)
    journal = read_journal(path)
    assert len(journal.records) == 1
    assert journal.torn == "\0" * 100


@pytest.mark.parametrize(
    "broken",
    [
        b"",
        b"{",
        b"null",
        b"\xff\xfe",
        b'{"event": "step began"}',
        b'{"event": "step began", "at_seconds": 1, "stop": "a"}',
    ],
)
def test_a_broken_line_in_the_middle_is_refused_with_its_number(tmp_path: Path, broken: bytes) -> None:
    path = write(tmp_path / "j.jsonl", StepBegan(at_seconds=1, step="a"), StepBegan(at_seconds=2, step="b"))
    lines = path.read_bytes().split(b"\n")
    lines[1] = broken
    path.write_bytes(b"\n".join(lines))
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(caught.value, f"{path}:2: this line of the journal is damaged")


def test_two_journals_in_one_file_are_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "j.jsonl", StepBegan(at_seconds=1, step="a"))
    path.write_bytes(path.read_bytes() * 2)
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(caught.value, f"{path}:3: a second header")


@pytest.mark.parametrize(
    "content",
    [
        b"hello\n",
        b"{}\n",
        b"[]\n",
        b"1",
        b"\n",
        b'{"event": "step began", "at_seconds": 1, "step": "a"}\n',
        b'{"event": "header", "journ',
        bytes(range(256)) * 4,
        b"[" * 100_000,
        b"\x1f\x8b\x08\x00",
    ],
)
def test_what_is_not_a_journal_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "j.jsonl"
    path.write_bytes(content)
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(caught.value, f"{path}: this is not a journal")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(content=st.binary(max_size=300))
def test_no_garbage_is_taken_for_a_journal(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "j.jsonl"
    path.write_bytes(content)
    with pytest.raises(ArchiveError):
        read_journal(path)


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "j.jsonl"
    path.touch()
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(caught.value, f"{path}: the file is empty")


def test_a_journal_of_a_newer_format_is_refused(tmp_path: Path) -> None:
    path = write(tmp_path / "j.jsonl")
    fields = json.loads(path.read_bytes())
    fields |= {"journal_format": events.JOURNAL_FORMAT + 1, "something": "that only a newer program knows"}
    path.write_text(json.dumps(fields) + "\n")
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(caught.value, f"{path}: journal format 2 is newer than this program, which reads up to 1")


@pytest.mark.parametrize(
    ("line", "unknown"),
    [
        ({"event": "turbulence met", "at_seconds": 1.0}, "turbulence met"),
        ({"event": "step began", "at_seconds": 1.0, "step": "a", "mood": "calm"}, "mood"),
    ],
)
def test_an_event_or_a_field_of_a_newer_version_is_called_so(
    line: dict[str, object], unknown: str, tmp_path: Path
) -> None:
    path = write(tmp_path / "j.jsonl")
    path.write_text(f"{path.read_text()}{json.dumps(line)}\n")
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(
        caught.value, f"{path}:2: the journal can't be read: it was written by a newer voice_trainer"
    )
    assert f"which knows '{unknown}'; update voice_trainer to read it" in str(caught.value)


@pytest.mark.parametrize("where", [(), ("settings",)])
def test_a_header_of_a_newer_version_is_called_so(where: tuple[str, ...], tmp_path: Path) -> None:
    path = write(tmp_path / "j.jsonl")
    fields = json.loads(path.read_bytes())
    part = fields[where[0]] if where else fields
    part["mood"] = "calm"
    path.write_text(json.dumps(fields) + "\n")
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(
        caught.value, f"{path}:1: the journal can't be read: it was written by a newer voice_trainer"
    )
    assert "which knows 'mood'" in str(caught.value)


def test_where_the_writer_is_newer_it_is_named_whatever_is_not_understood(tmp_path: Path) -> None:
    path = write(tmp_path / "j.jsonl", StepBegan(at_seconds=1, step="a"))
    lines = [json.loads(line) for line in path.read_text().splitlines()]
    lines[0]["program"] = "voice_trainer 99.10"
    lines[1]["step"] = ["a", "b"]
    path.write_text("".join(f"{json.dumps(line)}\n" for line in lines))
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(
        caught.value, f"{path}:2: the journal can't be read: it was written by voice_trainer 99.10, newer"
    )


def test_a_damaged_header_is_named(tmp_path: Path) -> None:
    path = tmp_path / "j.jsonl"
    path.write_bytes(b'{"event": "header", "journal_format": 1}\n')
    with pytest.raises(ArchiveError) as caught:
        read_journal(path)
    assert_one_line(caught.value, f"{path}:1: the header of the journal is damaged")


def test_a_file_that_is_not_there_or_is_a_folder_is_named(tmp_path: Path) -> None:
    for path in (tmp_path / "none.jsonl", tmp_path):
        with pytest.raises(ArchiveError) as caught:
            read_journal(path)
        assert_one_line(caught.value, f"{path}: the journal can't be read")


def test_only_the_owner_may_read_it(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        path = write(tmp_path / "home" / "journals" / "j.jsonl")
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    assert stat.S_IMODE(path.parent.parent.stat().st_mode) == 0o700


def test_a_folder_that_was_there_keeps_its_mode(tmp_path: Path) -> None:
    tmp_path.chmod(0o755)
    write(tmp_path / "j.jsonl")
    assert stat.S_IMODE(tmp_path.stat().st_mode) == 0o755


def test_a_journal_is_never_written_over(tmp_path: Path) -> None:
    path = write(tmp_path / "j.jsonl", StepBegan(at_seconds=1, step="a"))
    before = path.read_bytes()
    with pytest.raises(ArchiveError) as caught:
        JournalWriter(path, HEADER)
    assert_one_line(caught.value, f"{path}: there is a journal of this name")
    assert path.read_bytes() == before


def test_a_folder_that_can_t_be_made_is_named(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    path = tmp_path / "file" / "journals" / "j.jsonl"
    with pytest.raises(ArchiveError) as caught:
        JournalWriter(path, HEADER)
    assert_one_line(caught.value, f"{path}: the journal can't be made (Not a directory)")


def test_a_folder_without_permission_is_named() -> None:
    """Below /proc not even root may make a folder."""
    path = Path("/proc/journals/j.jsonl")
    with pytest.raises(ArchiveError) as caught:
        JournalWriter(path, HEADER)
    assert_one_line(caught.value, f"{path}: the journal can't be made (")


def test_appending_after_close_is_refused_and_closing_twice_is_not(tmp_path: Path) -> None:
    writer = JournalWriter(tmp_path / "j.jsonl", HEADER)
    writer.close()
    writer.close()
    with pytest.raises(ArchiveError) as caught:
        writer.append(StepBegan(at_seconds=1, step="a"))
    assert_one_line(caught.value, f"{writer.path}: the journal is closed")


def test_text_that_is_no_text_is_refused_and_nothing_is_written(tmp_path: Path) -> None:
    """A device may have a name that is not UTF-8; Python keeps such bytes as lone surrogates (PEP 383)."""
    with JournalWriter(tmp_path / "j.jsonl", HEADER) as writer:
        with pytest.raises(ArchiveError):
            writer.append(StepBegan(at_seconds=1, step="\udcff"))
        writer.append(StepBegan(at_seconds=2, step="b"))
    assert read_journal(writer.path).records == (StepBegan(at_seconds=2, step="b"),)


def test_a_full_disk_is_one_clear_line(tmp_path: Path) -> None:
    """/dev/full of Linux answers every write as a full disk does (full(4)); the journal is led there."""
    writer = JournalWriter(tmp_path / "j.jsonl", HEADER)
    (ours,) = [int(fd.name) for fd in Path("/proc/self/fd").iterdir() if links_to(fd, writer.path)]
    disk, full = os.dup(ours), os.open("/dev/full", os.O_WRONLY)
    os.dup2(full, ours)
    with pytest.raises(ArchiveError) as caught:
        writer.append(StepBegan(at_seconds=1, step="a"))
    assert_one_line(caught.value, f"{writer.path}: the journal can't be written (No space left on device)")
    os.dup2(disk, ours)
    os.close(disk)
    os.close(full)
    writer.append(StepBegan(at_seconds=2, step="b"))
    writer.close()
    assert read_journal(writer.path).records == (StepBegan(at_seconds=2, step="b"),)


def test_half_a_line_is_taken_back_when_the_disk_is_full_in_the_middle_of_it(tmp_path: Path) -> None:
    """A limit on the size of files (setrlimit(2)) stops a write half way, as a disk does that fills up."""
    writer = JournalWriter(tmp_path / "j.jsonl", HEADER)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (writer.path.stat().st_size + 100, hard))
    try:
        with pytest.raises(ArchiveError) as caught:
            writer.append(StepBegan(at_seconds=1, step="long " * 100))
        assert_one_line(caught.value, f"{writer.path}: the journal can't be written (File too large)")
        writer.append(StepBegan(at_seconds=2, step="short"))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    writer.close()
    journal = read_journal(writer.path)
    assert journal.records == (StepBegan(at_seconds=2, step="short"),)
    assert journal.torn is None


CHILD = """
import sys
from pathlib import Path
from voice_trainer.archive.journal_file import JournalWriter
from voice_trainer.journal.events import Header, Settings, StepBegan

header = Header(program="p", session="s", started_utc="t", drill={}, settings=Settings())
writer = JournalWriter(Path(sys.argv[1]), header)
number = 0
while True:
    writer.append(StepBegan(at_seconds=number, step="x" * (number % 977)))
    sys.stdout.write(f"{number}\\n")
    sys.stdout.flush()
    number += 1
"""


@pytest.mark.slow
@pytest.mark.parametrize("after_seconds", [0.0, 0.003, 0.011, 0.029, 0.067, 0.15, 0.31, 1.3])
def test_a_killed_writer_loses_nothing_that_it_had_acknowledged(tmp_path: Path, after_seconds: float) -> None:
    path = tmp_path / "j.jsonl"
    told = tmp_path / "told.txt"
    with (
        told.open("wb") as out,
        subprocess.Popen([sys.executable, "-c", CHILD, str(path)], stdout=out) as child,
    ):
        while told.stat().st_size == 0:
            assert child.poll() is None
            time.sleep(0.001)
        time.sleep(after_seconds)
        child.send_signal(signal.SIGKILL)
        assert child.wait(timeout=10) == -signal.SIGKILL
    acknowledged = told.read_bytes().count(b"\n")
    assert acknowledged > 0
    found = [record.at_seconds for record in read_journal(path).records]
    assert found == list(range(len(found)))
    assert acknowledged <= len(found) <= acknowledged + 1


def test_a_long_session_is_written_and_read_quickly(tmp_path: Path) -> None:
    """An hour of positions, one a second: each append far below a block of the microphone (32 ms)."""
    position = Position(
        at_seconds=1.0, east_nm=1, north_nm=2, altitude_feet=2600, heading_degrees=333, airspeed_knots=150
    )
    slowest = 0.0
    with JournalWriter(tmp_path / "j.jsonl", HEADER) as writer:
        began = time.process_time()
        for _ in range(3600):
            writer.append(position)
        slowest = (time.process_time() - began) / 3600
    assert slowest < 0.001
    assert len(read_journal(writer.path).records) == 3600


def links_to(descriptor: Path, path: Path) -> bool:
    try:
        return descriptor.readlink() == path
    except FileNotFoundError:  # the one that listed the folder
        return False


def assert_one_line(error: ArchiveError, begins: str) -> None:
    assert str(error).startswith(begins)
    assert "\n" not in str(error)
    assert "pydantic" not in str(error)
