"""The profile on disk: private, whole or not there, and one clear line where it can't be used."""

from __future__ import annotations

import json
import stat
from pathlib import Path
from typing import Any

import pytest

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.profile_file import forget_profile, read_profile, write_profile
from voice_trainer.journal.personal import Count, Personal, Profile

PROFILE = Profile(
    made_utc="2026-11-25T10:00:00+00:00",
    engine="scripted 1",
    model_hash="ab" * 32,
    microphone="some microphone",
    noise_floor_dbfs=-61.5,
    speech_dbfs=-27.0,
    values=Personal(hangover_seconds=0.9, fit_shift_nats=1.0),
    before=Count(prompts=8, right=5, wrong=0),
    after=Count(prompts=8, right=7, wrong=0),
)


def test_it_comes_back_as_it_was(tmp_path: Path) -> None:
    path = tmp_path / "new" / "profile.json"
    assert read_profile(path) is None
    write_profile(path, PROFILE)
    assert read_profile(path) == PROFILE
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    write_profile(path, PROFILE.model_copy(update={"microphone": "another"}))
    assert [each.name for each in path.parent.iterdir()] == ["profile.json"]
    assert (forget_profile(path), forget_profile(path)) == (True, False)


def changed(**fields: Any) -> str:
    return json.dumps(PROFILE.model_dump() | fields)


@pytest.mark.parametrize(
    "content",
    [
        "",
        "no json",
        "[]",
        "{}",
        PROFILE.model_dump_json()[:-20],
        changed(profile_format=0),
        changed(profile_format=2),
        changed(values={"fit_shift_nats": 9.0}),
        changed(values={"margin_shift_nats": 1.0}),
        changed(more="?"),
        changed(engine=None),
    ],
)
def test_what_is_damaged_old_new_or_beyond_the_limits_says_what_to_do(content: str, tmp_path: Path) -> None:
    path = tmp_path / "profile.json"
    path.write_text(content)
    with pytest.raises(ArchiveError) as trouble:
        read_profile(path)
    line = str(trouble.value)
    assert line.startswith(f"{path}: the profile")
    assert "enrol --forget" in line
    assert "\n" not in line
    assert forget_profile(path)
