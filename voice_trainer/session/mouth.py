"""The trainer's mouth: cues and tones, one after the other, through a speaker."""

from __future__ import annotations

from collections import deque
from concurrent.futures import Future
from dataclasses import dataclass

from voice_trainer.audio.errors import DeviceLostError
from voice_trainer.audio.ports import Samples, Speaker
from voice_trainer.audio.tones import tone
from voice_trainer.journal.events import CueEnded, CueStarted, at
from voice_trainer.sequencing.commands import Speak, Tone
from voice_trainer.session.booth import Booth

ROOM_TAIL_SECONDS = 0.15
"""How long a speaker's sound hangs in the room: a half-duplex trainer stays deaf that much longer."""


@dataclass(slots=True)
class _Waiting:
    name: str
    clip: Future[Samples]
    speak: Speak | None


class Mouth:
    """Plays what it is told, in order, and reports cues (not tones) as facts.

    With `in_step` it waits for a clip that is not rendered yet, so that a session in virtual time does not
    depend on how fast this machine renders; otherwise the session goes on meanwhile.
    """

    def __init__(self, speaker: Speaker, booth: Booth, *, in_step: bool) -> None:
        self.speaker = speaker
        self._booth = booth
        self._in_step = in_step
        self._queue: deque[_Waiting] = deque()
        self._playing: _Waiting | None = None
        self._quiet_since = float("-inf")

    @property
    def idle(self) -> bool:
        """Nothing sounds and nothing waits."""
        return self._playing is None and not self._queue

    def is_heard_in_the_room(self, now_seconds: float) -> bool:
        """Whether a cue sounds, is about to, or has only just ended. Tones are too short to count."""
        cue_ahead = any(entry.speak for entry in self._queue) or (self._playing and self._playing.speak)
        return bool(cue_ahead) or now_seconds < self._quiet_since + ROOM_TAIL_SECONDS

    def speak(self, speak: Speak) -> None:
        """Say a cue, after what is already waiting."""
        self._queue.append(
            _Waiting(speak.cue, self._booth.clip(speak.speaker, speak.text, speak.pace), speak)
        )
        self._play_next()

    def sound(self, name: Tone) -> None:
        """Play a tone, unless a cue is sounding or waiting: it would say nothing new."""
        if self.idle:
            clip: Future[Samples] = Future()
            clip.set_result(tone(name))
            self._queue.append(_Waiting(f"tone: {name}", clip, None))
            self._play_next()

    def fall_silent(self, now_seconds: float) -> list[CueEnded]:
        """Stop what sounds, and drop what waits; the end of what sounds is reported by `poll`."""
        dropped = [entry for entry in self._queue if entry.speak]
        self._queue.clear()
        if self._playing is not None:
            self.speaker.stop()
        return [CueEnded(at_seconds=at(now_seconds), cue=entry.name, complete=False) for entry in dropped]

    def poll(self, now_seconds: float) -> list[CueStarted | CueEnded]:
        """What has happened up to now; begins the next clip when the last one has ended."""
        facts: list[CueStarted | CueEnded] = []
        for event in self.speaker.events(now_seconds):
            playing = self._playing
            if playing is None or event.name != playing.name:
                continue
            speak = playing.speak
            if event.kind == "ended":
                self._playing = None
                if speak is not None:
                    self._quiet_since = event.at_seconds
                    facts.append(
                        CueEnded(at_seconds=at(event.at_seconds), cue=speak.cue, complete=event.complete)
                    )
            elif speak is not None:
                facts.append(
                    CueStarted(
                        at_seconds=at(event.at_seconds), cue=speak.cue, speaker=speak.speaker, text=speak.text
                    )
                )
        self._play_next()
        return facts

    def _play_next(self) -> None:
        """Begin the next clip at once, not a block later, if it is ready and nothing sounds."""
        if self._playing is None and self._queue and (self._in_step or self._queue[0].clip.done()):
            try:
                self.speaker.play(self._queue[0].name, self._queue[0].clip.result())
            except DeviceLostError:
                return  # `poll` raises it, and the clip waits for the device
            self._playing = self._queue.popleft()
