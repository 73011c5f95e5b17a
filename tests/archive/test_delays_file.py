"""The noted delays of speakers: kept, replaced, forgotten, and one line for a file that is none."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.archive.delays_file import MOST_SECONDS, note_delay, read_delays
from voice_trainer.archive.errors import ArchiveError


def test_a_delay_is_noted_replaced_and_forgotten(tmp_path: Path) -> None:
    path = tmp_path / "data" / "speaker-delays.json"
    assert read_delays(path) == {}
    note_delay(path, "headset", 0.2431)
    note_delay(path, "loudspeaker", 0.1)
    note_delay(path, "headset", 0.26)
    assert read_delays(path) == {"headset": 0.26, "loudspeaker": 0.1}
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    note_delay(path, "headset", 0.0)
    assert read_delays(path) == {"loudspeaker": 0.1}


@given(st.text(max_size=40), st.floats(0.001, MOST_SECONDS))
def test_any_name_and_delay_come_back(
    tmp_path_factory: pytest.TempPathFactory, name: str, seconds: float
) -> None:
    path = tmp_path_factory.mktemp("delays") / "speaker-delays.json"
    note_delay(path, name, seconds)
    assert read_delays(path) == {name: pytest.approx(seconds, abs=1e-4)}


@pytest.mark.parametrize("seconds", [-0.1, MOST_SECONDS + 0.1, float("nan")])
def test_no_device_is_as_slow(tmp_path: Path, seconds: float) -> None:
    with pytest.raises(ValueError, match="a delay is from 0"):
        note_delay(tmp_path / "speaker-delays.json", "headset", seconds)


BROKEN = (
    "",
    "[]",
    "{}",
    '{"seconds": 1}',
    '{"seconds": {"a": "x"}}',
    '{"seconds": {"a": 9}}',
    '{"seconds": {"a": NaN}}',
)


@pytest.mark.parametrize("content", BROKEN)
def test_what_is_no_such_file_is_said_in_one_line(tmp_path: Path, content: str) -> None:
    path = tmp_path / "speaker-delays.json"
    path.write_text(content)
    with pytest.raises(ArchiveError) as caught:
        read_delays(path)
    assert str(caught.value).startswith(f"{path}: ")
    assert "doctor --measure-delay" in str(caught.value)
    assert "\n" not in str(caught.value)
