"""A track as the bytes of an audio file, its chapters in the container's own form.

By PyAV, which brings FFmpeg's libraries in its wheel: one library writes all formats and their chapters (CHAP frames of
ID3v2 in MP3, CHAPTER001 comments in Ogg, a chapter track and list in M4A), and reads them back. A WAV file has none.
"""

from __future__ import annotations

import io
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

import av
import numpy as np

from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.tracks.assembling import Chapter, Track

_FRAME_SAMPLES = SAMPLE_RATE_HZ
_MILLISECONDS = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class Format:
    """A kind of file: FFmpeg's names for container and encoder, its rates, and whether chapters can be in it."""

    name: str
    container: str
    encoder: str
    rate_hz: int
    bits_per_second: int | None
    chapters: Literal["by the library", "comments", "none"] = "by the library"


_OPUS = Format("Opus", "ogg", "libopus", 48_000, 32_000, "comments")
FORMATS = {
    ".opus": _OPUS,
    ".ogg": _OPUS,
    # nothing is above 8 kHz, and twice the rate takes twice the time
    ".mp3": Format("MP3", "mp3", "libmp3lame", 24_000, 64_000),
    ".m4a": Format("M4A", "ipod", "aac", 24_000, 64_000),
    ".wav": Format("WAV", "wav", "pcm_s16le", SAMPLE_RATE_HZ, None, "none"),
}
"""By the ending of the file's name, in small letters."""


def encode(track: Track, form: Format, title: str, comment: str) -> bytes:
    """The whole file; the same track gives the same bytes."""
    file = io.BytesIO()
    with av.open(file, "w", format=form.container, container_options={"fflags": "+bitexact"}) as container:
        stream = container.add_stream(form.encoder, rate=form.rate_hz, layout="mono")
        assert isinstance(stream, av.AudioStream)
        if form.bits_per_second is not None:
            stream.bit_rate = form.bits_per_second
        container.metadata.update({"title": title, "genre": "Speech", "comment": comment})
        if form.chapters == "by the library":
            container.set_chapters([_chapter(number, each) for number, each in enumerate(track.chapters)])
        elif form.chapters == "comments":
            container.metadata.update(_comments(track))
        for at in range(0, len(track.samples), _FRAME_SAMPLES):
            block = np.ascontiguousarray(track.samples[None, at : at + _FRAME_SAMPLES])
            frame = av.AudioFrame.from_ndarray(block, format="s16", layout="mono")
            frame.sample_rate = SAMPLE_RATE_HZ
            frame.pts = at
            frame.time_base = Fraction(1, SAMPLE_RATE_HZ)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return file.getvalue()


def _chapter(number: int, chapter: Chapter) -> av.container.Chapter:
    return {
        "id": number,
        "start": round(chapter.start_seconds * 1000),
        "end": round(chapter.end_seconds * 1000),
        "time_base": _MILLISECONDS,
        "metadata": {"title": chapter.title},
    }


def _comments(track: Track) -> dict[str, str]:
    """The chapters as Vorbis comments: CHAPTER000 and CHAPTER000NAME, and so on.

    FFmpeg writes them itself, but rounds the seconds and not the milliseconds: from half a second on its chapters begin
    a second late (libavformat 62.12).
    """
    comments: dict[str, str] = {}
    for number, each in enumerate(track.chapters):
        seconds, milliseconds = divmod(round(each.start_seconds * 1000), 1000)
        clock = f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}.{milliseconds:03d}"
        comments |= {f"CHAPTER{number:03d}": clock, f"CHAPTER{number:03d}NAME": each.title}
    return comments
