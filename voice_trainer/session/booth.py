"""The recording booth: texts become clips before they are needed.

A clip is rendered once, in the background, as soon as its text is known, so that a cue begins at the moment
it is due and not a synthesiser's delay later.
"""

from __future__ import annotations

from collections.abc import Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace

from voice_trainer.audio.ports import Samples
from voice_trainer.voices.casting import Casting, Role
from voice_trainer.voices.ports import Voice


class Booth:
    """Renders with one voice engine; `casting` says how each speaker sounds."""

    def __init__(self, voice: Voice, casting: Casting, workers: int = 2) -> None:
        self.voice = voice
        self._casting = casting
        self._pool = ThreadPoolExecutor(workers, thread_name_prefix="booth")
        self._clips: dict[tuple[Role, str, float], Future[Samples]] = {}

    def clip(self, speaker: Role, text: str, pace: float = 1.0) -> Future[Samples]:
        """The clip of `text`, perhaps still being rendered; its result raises VoiceError.

        `pace` is the rate of speech, of the speaker's usual one.
        """
        key = (speaker, text, pace)
        if key not in self._clips:
            self._clips[key] = self._pool.submit(self._render, speaker, text, pace)
        return self._clips[key]

    def prepare(self, lines: Iterable[tuple[Role, str]], pace: float = 1.0) -> None:
        """Begin to render (speaker, text) pairs, the first first."""
        for speaker, text in lines:
            self.clip(speaker, text, pace)

    def drop_waiting(self) -> None:
        """Forget what nobody has begun to render: a drill that is over needs no cues."""
        self._clips = {key: clip for key, clip in self._clips.items() if not clip.cancel()}

    def close(self) -> None:
        """Drop what is not rendered yet."""
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _render(self, speaker: Role, text: str, pace: float) -> Samples:
        style = self._casting.style(speaker)
        style = replace(style, words_per_minute=round(style.words_per_minute * pace))
        return self.voice.render(text, style)
