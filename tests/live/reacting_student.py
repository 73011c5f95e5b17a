"""A student outside the program: hears what the speaker plays, and talks into the microphone.

It knows what the trainer may say, as a student knows the words of a controller, and tells by the sound alone
which cue it was: the captured sound is held against each known clip. It speaks when the trainer is silent.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from typing import Generic, Protocol, TypeVar

import numpy as np

from tests.pulse import PrivatePulse, Samples, SpeakerRecording
from voice_trainer.audio.soundcheck import CLEARLY_HEARD, best_fit
from voice_trainer.drills.model import Drill
from voice_trainer.sequencing.answers import SAY_AGAIN
from voice_trainer.session.performance import REACTION_SECONDS, Line, Performance

RATE_HZ = 16_000
FRAME_SECONDS = 0.05
SOUND_RMS = 60.0
SILENCE_SECONDS = 0.4
SHORTEST_CUE_SECONDS = 0.35
"""Tones are shorter, cues are longer."""


class Spoken(Protocol):
    """A line of a script, said `after_seconds` of silence."""

    @property
    def text(self) -> str: ...

    @property
    def after_seconds(self) -> float: ...


L = TypeVar("L", bound=Spoken)


class Script(Protocol[L]):
    """What a student says to what it hears: `Performing`, or a `Story`."""

    def hear(self, text: str) -> Sequence[L]: ...

    def said(self, line: L) -> None: ...


class Performing:
    """The script of a synthetic student: a performance, what is asked for, and what was not made out once more."""

    def __init__(self, drill: Drill, performance: Performance) -> None:
        self._performance = performance
        self._steps = {drill.spoken(step.cue): step.step for step in drill.steps if step.cue}
        self._step = ""
        self._asked = {
            (step.step, call.ask): call.call
            for step in drill.steps
            for call in (step.flow.calls if step.flow else ())
            if call.ask
        }
        self._last_said = ""

    def hear(self, text: str) -> Sequence[Line]:
        if text in self._steps:
            self._step = self._steps[text]
            return self._performance.lines.get(self._step, ())
        if text.startswith(SAY_AGAIN):
            return [Line("", self._last_said, REACTION_SECONDS)]
        if (self._step, text) in self._asked:
            call = self._asked[self._step, text]
            return [Line(call, self._performance.words[self._step, call], REACTION_SECONDS)]
        return ()

    def said(self, line: Line) -> None:
        self._last_said = line.text


class ReactingStudent(threading.Thread, Generic[L]):
    """Lives until `stop`; `clips` are the sounds of every text that the trainer may say, `voice` its own.

    What the trainer asks for is said before what was still to be said, by `asks`. It is silent when nothing has sounded
    for `silence_seconds`: long sentences have pauses in them.
    """

    def __init__(
        self,
        pulse: PrivatePulse,
        script: Script[L],
        clips: dict[str, Samples],
        voice: Callable[[L], Samples],
        asks: Callable[[str], bool] = lambda text: False,
        silence_seconds: float = SILENCE_SECONDS,
    ) -> None:
        super().__init__(daemon=True)
        self._pulse = pulse
        self._script = script
        self._clips = clips
        self._voice = voice
        self._asks = asks
        self._silence_seconds = silence_seconds
        self._to_say: deque[L] = deque()
        self._speaks_until = 0.0
        self._quiet_since = time.monotonic()
        self._stopped = threading.Event()
        self.recognised: list[str] = []
        self.unknown_sounds = 0
        """Sounds that are no clip, up to the last one that is: what is said after the last cue does not count."""
        self._unknown_since = 0

    def stop(self) -> None:
        self._stopped.set()
        self.join(timeout=5)

    def run(self) -> None:
        captured: list[Samples] = []
        quiet_frames = 0
        with SpeakerRecording(self._pulse, RATE_HZ) as ear:
            while not self._stopped.is_set():
                frame = ear.read(FRAME_SECONDS)
                if len(frame) == 0:
                    return
                now = time.monotonic()
                loud = float(np.sqrt(np.mean(frame.astype(np.float64) ** 2))) > SOUND_RMS
                if loud or captured:
                    captured.append(frame)
                    quiet_frames = 0 if loud else quiet_frames + 1
                    if quiet_frames * FRAME_SECONDS >= self._silence_seconds:
                        self._quiet_since = max(self._speaks_until, now - quiet_frames * FRAME_SECONDS)
                        self._understand(np.concatenate(captured))
                        captured, quiet_frames = [], 0
                if not captured:
                    self._speak_when_it_is_time(now)

    def _understand(self, sound: Samples) -> None:
        if len(sound) < (SHORTEST_CUE_SECONDS + self._silence_seconds) * RATE_HZ:
            return
        padded = np.concatenate([np.zeros(RATE_HZ // 4, np.int16), sound, np.zeros(RATE_HZ // 2, np.int16)])
        likeness, text = max((best_fit(clip, padded)[1], text) for text, clip in self._clips.items())
        if likeness < CLEARLY_HEARD:
            self._unknown_since += 1
            return
        self.unknown_sounds += self._unknown_since
        self._unknown_since = 0
        self.recognised.append(text)
        lines = self._script.hear(text)
        if self._asks(text) or text.startswith(SAY_AGAIN):
            self._to_say.extendleft(reversed(lines))
        else:
            self._to_say.extend(lines)

    def _speak_when_it_is_time(self, now: float) -> None:
        if (
            not self._to_say
            or now < max(self._quiet_since, self._speaks_until) + self._to_say[0].after_seconds
        ):
            return
        line = self._to_say.popleft()
        clip = self._voice(line)
        self._pulse.say(clip, RATE_HZ)
        self._script.said(line)
        self._speaks_until = now + len(clip) / RATE_HZ
