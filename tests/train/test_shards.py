from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from scripts.train.shards import RATE, Clip, ShardWriter, new_shards, read_shard, trimmed


def _clip(length: int, row: int) -> Clip:
    return Clip(np.arange(length, dtype=np.int16), row, 7)


def test_clips_come_back_in_order(tmp_path: Path) -> None:
    writer = ShardWriter(tmp_path, "espeak_0", clips_each=2)
    for number, length in enumerate((5, 9, 3)):
        writer.add(_clip(length, number))
    known: set[str] = set()
    assert [path.name for path in new_shards(tmp_path, known)] == ["espeak_0_0.npz"]
    writer.flush()
    assert [path.name for path in new_shards(tmp_path, known)] == ["espeak_0_1.npz"]
    assert new_shards(tmp_path, known) == []
    clips = [clip for name in ("espeak_0_0.npz", "espeak_0_1.npz") for clip in read_shard(tmp_path / name)]
    assert [(len(clip.samples), clip.row, clip.voice) for clip in clips] == [(5, 0, 7), (9, 1, 7), (3, 2, 7)]
    assert clips[1].samples.tolist() == list(range(9))


def test_silence_around_speech_is_cut_and_its_loudness_set() -> None:
    speech = np.sin(np.arange(RATE) * 0.3).astype(np.float32) * 0.02
    sound = np.concatenate([np.zeros(RATE, np.float32), speech, np.zeros(2 * RATE, np.float32)])
    clip = trimmed(sound)
    assert abs(len(clip) - (RATE + RATE // 20 + RATE // 10)) < 20
    assert np.abs(clip).max() == 16_000


@pytest.mark.parametrize(
    "sound", [np.zeros(RATE), np.zeros(0), np.full(RATE, np.nan), np.ones(14 * RATE), np.ones(300)]
)
def test_what_is_no_speech_is_refused(sound: np.ndarray) -> None:
    with pytest.raises(ValueError, match=r"sound|short"):
        trimmed(sound.astype(np.float32))
