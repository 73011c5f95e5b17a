"""A track's file as somebody else reads it: its sound by FFmpeg, its chapters by mutagen."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
from mutagen.id3 import ID3
from mutagen.mp4 import MP4
from mutagen.oggopus import OggOpus
from numpy.typing import NDArray

RATE = 16_000


def decoded(path: Path) -> NDArray[np.int16]:
    """The sound at 16 kHz, mono."""
    with av.open(str(path)) as container:
        resampler = av.AudioResampler("s16", "mono", RATE)
        frames = [part for frame in container.decode(audio=0) for part in resampler.resample(frame)]
        frames += resampler.resample(None)
    return np.concatenate([frame.to_ndarray()[0] for frame in frames])


def chapters(path: Path) -> list[tuple[float, str]]:
    """When each chapter begins, in seconds, and its name."""
    match path.suffix.lower():
        case ".mp3":
            frames = sorted(ID3(path).getall("CHAP"), key=lambda frame: frame.start_time)
            return [(frame.start_time / 1000, frame.sub_frames["TIT2"].text[0]) for frame in frames]
        case ".m4a":
            return [(each.start, each.title) for each in MP4(path).chapters]
        case _:
            tags = OggOpus(path).tags
            numbers = sorted(key for key in tags.as_dict() if key.startswith("chapter") and key[7:].isdigit())
            return [(_seconds(tags[key][0]), tags[f"{key}name"][0]) for key in numbers]


def _seconds(clock: str) -> float:
    hours, minutes, seconds = clock.split(":")
    return int(hours) * 3600 + int(minutes) * 60 + float(seconds)
