"""Where files are kept."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from voice_trainer.archive import places

NOON = datetime(2026, 11, 25, 10, 15, tzinfo=UTC)


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    return tmp_path


def test_without_a_choice_the_user_s_folders_are_used(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """XDG Base Directory Specification 0.8: $XDG_DATA_HOME and $XDG_CACHE_HOME."""
    monkeypatch.setenv("VOICE_TRAINER_HOME", "")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    assert places.journals_folder() == tmp_path / "data" / "voice_trainer" / "journals"
    assert places.voice_cache_folder() == tmp_path / "cache" / "voice_trainer" / "voices"
    assert places.models_folders()[0] == tmp_path / "data" / "voice_trainer" / "models"


def test_everything_is_below_the_chosen_home(home: Path) -> None:
    assert places.journals_folder() == home / "journals"
    assert places.voice_cache_folder().is_relative_to(home)
    assert places.models_folders()[0] == home / "models"


def test_a_relative_home_is_below_the_current_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("VOICE_TRAINER_HOME", "here")
    assert places.data_folder() == tmp_path / "here"


def test_nothing_is_made_by_asking(home: Path) -> None:
    places.new_journal_path("kelda", NOON)
    assert places.latest_journal() is None
    assert list(home.iterdir()) == []


def test_the_models_of_a_checkout_are_found() -> None:
    checkout = Path(__file__).resolve().parents[2]
    assert checkout / "models" in places.models_folders()


def test_a_name_says_when_and_what(home: Path) -> None:
    path = places.new_journal_path("brannock-clearance", NOON.astimezone(timezone(timedelta(hours=5))))
    assert path.parent == home / "journals"
    stem, ending = path.name.rsplit("-", 1)
    assert stem == "20261125T101500Z-brannock-clearance"
    assert len(ending) == len("ab12.jsonl")
    assert ending.endswith(".jsonl")


def test_names_of_one_second_differ(home: Path) -> None:
    made = set()
    for _ in range(300):
        path = places.new_journal_path("kelda", NOON)
        assert path not in made
        path.parent.mkdir(exist_ok=True)
        path.touch()
        made.add(path)


@pytest.mark.usefixtures("home")
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.text())
def test_no_drill_s_name_leaves_the_folder(name: str) -> None:
    path = places.new_journal_path(name, NOON)
    assert path.parent == places.journals_folder()
    assert path.name.isascii()
    assert len(path.name) < 120


@pytest.mark.usefixtures("home")
def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        places.new_journal_path("kelda", NOON.replace(tzinfo=None))


@pytest.mark.usefixtures("home")
def test_the_latest_journal_is_that_of_the_newest_session() -> None:
    times = [NOON + timedelta(days=day) for day in (3, 40, 1)]
    paths = [places.new_journal_path("kelda", time) for time in times]
    places.journals_folder().mkdir()
    for path in paths:  # written in another order than they were begun
        path.touch()
    (places.journals_folder() / "notes.jsonl").touch()
    paths[1].with_suffix(".reviews.jsonl").touch()
    assert places.latest_journal() == paths[1]


def test_of_two_sessions_of_one_second_the_latest_is_the_one_written_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    folder = tmp_path / "journals"
    folder.mkdir()
    for number, name in enumerate(
        ("20261128T101500Z-b-ffff", "20261128T101500Z-a-0000", "20261128T101459Z-c-ffff")
    ):
        path = folder / f"{name}.jsonl"
        path.touch()
        os.utime(path, ns=(number, number))
    assert places.latest_journal() == folder / "20261128T101500Z-a-0000.jsonl"
