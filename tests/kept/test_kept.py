"""What users of earlier versions have on disk stays readable, and their sessions keep their grades."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.html_outline import Outline
from tests.kept.grades import CHANGED, Change, changes_between, complaint, grade_of, named_changes
from tests.kept.make import sums
from voice_trainer.archive.consent_file import read_consent
from voice_trainer.archive.corpus_folder import CorpusFolder
from voice_trainer.archive.delays_file import read_delays
from voice_trainer.archive.first_run_file import settled_questions
from voice_trainer.archive.instructor_consent_file import read_agreements
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.archive.profile_file import read_profile
from voice_trainer.archive.session_files import reviews_of, sound_folder, utterance_sound
from voice_trainer.audio.wav import read_wav
from voice_trainer.cli.debriefing import debrief_with_reviews
from voice_trainer.debrief.document import document_of
from voice_trainer.debrief.report import differences
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import Heard
from voice_trainer.logbook.schema import SCHEMA_VERSION

HERE = Path(__file__).parent
FOLDERS = sorted(path.parent for path in HERE.glob("*/SHA256SUMS"))
SESSIONS = [(folder, golden.stem) for folder in FOLDERS for golden in sorted((folder / "golden").iterdir())]

DECISIONS, AS_LIVE, OTHERWISE = "decisions", "as live", "not as live"
"""What the session decided when it ran, and a replay decides now: it may differ where no grade does."""

each_folder = pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
each_session = pytest.mark.parametrize(
    ("folder", "session"), SESSIONS, ids=[f"{folder.name}-{session}" for folder, session in SESSIONS]
)


@pytest.fixture
def home(folder: Path, tmp_path: Path) -> Path:
    """A copy of the data folder, as its user has it."""
    return shutil.copytree(folder / "home", tmp_path / "home")


def ran(home: Path, *arguments: str | Path, stdin: str = "", may_be: Sequence[int] = (0,)) -> str:
    done = voice_trainer(*arguments, home=home, stdin=stdin)
    assert done.returncode in may_be, (arguments, done.stdout, done.stderr)
    assert done.stderr == "", arguments
    return done.stdout


def test_something_is_kept() -> None:
    assert FOLDERS
    for folder in FOLDERS:
        kept = {path.stem for path in (folder / "home" / "journals").glob("*.jsonl")}
        assert {session for of, session in SESSIONS if of == folder} == {
            each for each in kept if not each.endswith(".reviews")
        }


@each_folder
def test_a_kept_folder_is_never_changed(folder: Path) -> None:
    assert sums(folder) == (folder / "SHA256SUMS").read_text(), (
        "restore it from the version control; later versions add a folder"
    )


@each_session
def test_a_session_keeps_its_grade_or_a_rule_says_why_not(folder: Path, session: str) -> None:
    path = folder / "home" / "journals" / f"{session}.jsonl"
    journal = read_journal(path)
    document = json.loads(document_of(debrief_with_reviews(path, journal)).model_dump_json())
    golden = json.loads((folder / "golden" / f"{session}.json").read_text(encoding="utf-8"))
    again = replay(Drill.model_validate(journal.header.drill), journal.header.settings, journal.records)
    decided = OTHERWISE if differences(journal.records, again) else AS_LIVE
    found = changes_between(
        session, {**grade_of(golden), DECISIONS: AS_LIVE}, {**grade_of(document), DECISIONS: decided}
    )
    wrong = complaint(folder / CHANGED, session, found, named_changes(folder))
    assert not wrong, f"\n\n{wrong}"


@each_folder
def test_what_changed_is_of_sessions_that_are_kept(folder: Path) -> None:
    kept = {session for of, session in SESSIONS if of == folder}
    assert {each.journal for each in named_changes(folder)} <= kept


def golden_of(**verdicts: str) -> dict[str, Any]:
    calls = [
        {
            "step": "one",
            "call": call,
            "verdict": verdict,
            "held": verdict,
            "points": float(verdict == "correct"),
        }
        for call, verdict in verdicts.items()
    ]
    return {"calls": calls, "scores": None, "reviewed": None, "forbidden": []}


def test_a_difference_without_a_rule_is_told_with_what_to_write(tmp_path: Path) -> None:
    before, now = (
        grade_of(golden_of(gear="correct", flaps="missed")),
        grade_of(golden_of(gear="late", flaps="missed")),
    )
    (change,) = found = changes_between("session", before, now)
    wrong = complaint(tmp_path / CHANGED, "session", found, [])
    assert "session is graded differently" in wrong
    # What it says to write, written with a rule, settles it.
    told = wrong[wrong.index("- journal:") :]
    (tmp_path / CHANGED).write_text(told)
    with pytest.raises(AssertionError, match="name the rule"):
        named_changes(tmp_path)
    (tmp_path / CHANGED).write_text(told.replace(change.rule, "a call is late behind its window"))
    named = named_changes(tmp_path)
    assert [(each.call, each.from_, each.to) for each in named] == [
        ("one/gear", "correct, 1 points", "late, 0 points")
    ]
    assert complaint(tmp_path / CHANGED, "session", found, named) == ""
    # A rule whose difference is no more is red as well, and so is one that tells it otherwise.
    assert "are no more: remove them" in complaint(tmp_path / CHANGED, "session", [], named)
    other = Change("session", "one/gear", "correct, 1 points", "early, 0 points", "a rule")
    both = complaint(tmp_path / CHANGED, "session", found, [other])
    assert "graded differently" in both and "are no more" in both


@each_session
def test_a_session_is_told_and_graded_again(folder: Path, session: str, home: Path) -> None:
    otherwise = any(each.journal == session and each.call == DECISIONS for each in named_changes(folder))
    told = ran(home, "regrade", session, may_be=(1,) if otherwise else (0,))
    assert "Graded again: " in told
    torn = read_journal(home / "journals" / f"{session}.jsonl").torn
    assert ("torn" in (folder / "contents.txt").read_text().split(session)[1].split("\n")[0]) == (
        torn is not None
    )


@each_folder
def test_every_command_reads_what_is_there(folder: Path, home: Path) -> None:
    sessions = [session for of, session in SESSIONS if of == folder]
    assert ran(home, "debrief")
    assert len(ran(home, "debrief", "--csv").splitlines()) > 1
    reviewed = next(each for each in sessions if reviews_of(home / "journals" / f"{each}.jsonl").exists())
    assert "After review" in ran(home, "debrief", reviewed)
    assert "1 of " in ran(home, "review", reviewed, "--all")
    rebuilt = ran(home, "logbook", "rebuild")
    assert f"{len(sessions)} sessions" in rebuilt
    assert ran(home, "due", "--student", "Anna Berg")
    report = json.loads(ran(home, "progress", "--json", "--student", "Anna Berg"))
    assert report["sessions"] > 0
    assert "Anna Berg" in ran(home, "progress", "--instructor")
    (pack,) = [path.parent for path in (home / "packs").glob("*/pack.yaml")]
    assert pack.name in ran(home, "packs")
    assert f"{pack.name}/" in ran(home, "list")
    assert "Anna Berg" in ran(home, "privacy")
    assert "installed" in ran(home, "models", "list")


@each_folder
def test_the_logbook_that_is_there_is_brought_in_step(folder: Path, home: Path) -> None:
    sessions = [session for of, session in SESSIONS if of == folder]
    for student in ({"student": "Anna Berg"}, {}):
        name = [f"--student={student['student']}"] if student else []
        before = json.loads(ran(home, "progress", "--json", *name))["sessions"]
        (home / "logbook.sqlite").unlink()
        assert json.loads(ran(home, "progress", "--json", *name))["sessions"] == before > 0
    assert len(sessions) > 10


@pytest.mark.parametrize("folder", [HERE / "2026-11-30"], ids=["2026-11-30"])
def test_a_logbook_without_words_is_made_anew_and_what_was_said_instead_is_told_by_what_is_meant(
    folder: Path, home: Path
) -> None:
    """'altimeter 29.85' instead of '[brannock] altimeter 29.84': the station's name is no mistake."""

    def version() -> int:
        with sqlite3.connect(home / "logbook.sqlite") as connection:
            (number,) = connection.execute("PRAGMA user_version").fetchone()
        connection.close()
        return int(number)

    assert version() < SCHEMA_VERSION
    told = json.loads(ran(home, "progress", "--json", "--student", "Anna Berg"))
    assert version() == SCHEMA_VERSION
    (instead,) = (said for weak in told["weakest_calls"] for said in weak["said_instead"])
    assert instead["said"] == "altimeter two nine eight five"
    marked = [word for word in instead["words"] if word["difference"] != "same"]
    assert marked == [{"expected": "four", "said": "five", "difference": "instead"}]
    ran(home, "progress", "--student", "Anna Berg", "--html", home / "page.html")
    words = re.sub(r"\s+", "", Outline((home / "page.html").read_text(encoding="utf-8")).text)
    assert "Saidinstead,1timeExpectedSaidaltimeteraltimetertwotwoninenineeighteightfourfiveinstead" in words


@each_folder
def test_a_new_session_begins_in_an_old_home(folder: Path, home: Path) -> None:
    before = len(list((home / "journals").iterdir()))
    (pack,) = [path.parent for path in (home / "packs").glob("*/pack.yaml")]
    ran(home, "run", f"{pack.name}/finch-before-start", "--input=typed", stdin="adjusted and locked\n+60\n")
    ran(home, "run", folder / "drills" / "two-items.yaml", "--input=typed", stdin="wheels out\n+30\n")
    assert len(list((home / "journals").iterdir())) == before + 2
    assert "Gear" in ran(home, "debrief") or "gear" in ran(home, "debrief")


@each_folder
def test_what_was_chosen_and_found_out_still_holds(folder: Path, home: Path) -> None:
    profile = read_profile(home / "profile.json")
    assert profile is not None
    journals = [read_journal(path) for path in (home / "journals").glob("*T*Z-*[0-9a-f].jsonl")]
    assert profile in [journal.header.profile for journal in journals]
    consent = read_consent(home / "consent.json")
    assert consent is not None
    assert consent.keep == "calls"
    assert [each.student for each in read_agreements(home / "instructor-consent.json")] == ["Anna Berg"]
    assert {"cautions", "level check"} <= settled_questions(home / "first-run.json")
    assert read_delays(home / "speaker-delays.json") == {"Gull headset": 0.12}
    recordings = CorpusFolder(shutil.copytree(folder / "recorded", home / "recorded")).recordings
    assert [each.said for each in recordings] == ["gear down", "flaps up"]
    assert all(len(read_wav(home / "recorded" / each.file)) for each in recordings)


@each_folder
def test_kept_sound_is_found_by_its_utterance(folder: Path, home: Path) -> None:
    unclear = 0
    found = [path for path in (home / "journals").glob("*.jsonl") if sound_folder(path).is_dir()]
    assert found
    for path in found:
        hearings = [record.hearing for record in read_journal(path).records if isinstance(record, Heard)]
        sounds = {utterance_sound(path, each.start_seconds): each for each in hearings}
        assert set(sound_folder(path).iterdir()) <= set(sounds)
        for sound in sound_folder(path).iterdir():
            assert len(read_wav(sound)) > 0
            unclear += sounds[sound].clarity == "unclear"
    assert unclear > 0


@each_folder
def test_sessions_of_an_old_home_can_be_forgotten(folder: Path, home: Path) -> None:
    ran(home, "forget", "--student", "Anna Berg", "--yes")
    ran(home, "forget", "--all", "--yes")
    assert list((home / "journals").iterdir()) == []


@each_folder
@pytest.mark.slow
def test_a_corpus_that_was_recorded_is_still_heard(folder: Path, home: Path) -> None:
    recorded = shutil.copytree(folder / "recorded", home / "recorded")
    heard = voice_trainer("hear", "--manifest", recorded / "manifest.jsonl", "--json", home=home, timeout=180)
    assert heard.returncode in (0, 1), heard.stderr
    assert [json.loads(line)["verdict"] for line in heard.stdout.splitlines()] == ["correct", "correct"]


@each_folder
@pytest.mark.parametrize(
    ("part", "command"),
    [((), "debrief"), (("settings",), "regrade"), (("drill",), "debrief"), (("drill",), "regrade")],
)
def test_a_journal_of_a_newer_version_is_one_line_and_the_others_are_read(
    part: tuple[str, ...], command: str, folder: Path, home: Path
) -> None:
    path = home / "journals" / f"{[session for of, session in SESSIONS if of == folder][-1]}.jsonl"
    header, *rest = path.read_text(encoding="utf-8").splitlines(keepends=True)
    fields = json.loads(header)
    (fields[part[0]] if part else fields)["mood"] = "calm"
    path.write_text("".join([f"{json.dumps(fields)}\n", *rest]), encoding="utf-8")
    said = one_line_of_trouble(voice_trainer(command, path.stem, home=home))
    assert (
        "it was written by a newer voice_trainer, which knows 'mood'; update voice_trainer to read it" in said
    )
    done = voice_trainer("logbook", "rebuild", home=home)
    assert done.returncode in (0, 1)
    assert "written by a newer voice_trainer, which knows 'mood'" in done.stdout + done.stderr
