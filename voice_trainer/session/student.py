"""The synthetic student: hears the cues' events, and speaks the calls into the trainer's microphone.

It is a stand-in for a person without a microphone, and the way in which the whole chain is tested: what it
says goes through endpointing, recognition, matching and grading like anybody's voice. Nothing is handed over
as text. It behaves as a polite person does: it holds its tongue while the trainer speaks, repeats what was
not understood, answers what it is asked for, and says rightly what the trainer stopped it for.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from voice_trainer.audio.ports import Samples
from voice_trainer.drills.cue_names import question_about
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    AskAgain,
    AskFor,
    CorrectionBegan,
    CueEnded,
    CueStarted,
    StepBegan,
)
from voice_trainer.sequencing.sequencer import CORRECTION
from voice_trainer.session.performance import REACTION_SECONDS, Line, Performance


class SyntheticStudent:
    """Performs `performance`; `voice` turns a text into a clip, `say` puts a clip before the microphone at a session
    time and returns when it ends (`ScheduledSource.say`).

    Set `on_say` to be given each clip as it is said, for whoever wants to hear it.
    """

    def __init__(
        self,
        performance: Performance,
        say: Callable[[float, Samples], float],
        voice: Callable[[str], Samples],
        steps_without_cue: frozenset[str] = frozenset(),
    ) -> None:
        self._performance = performance
        self._say = say
        self._voice = voice
        self._steps_without_cue = steps_without_cue
        self.on_say: Callable[[Samples], None] = lambda clip: None
        self._to_say: deque[Line] = deque()
        self._last_text = ""
        self._answers: dict[str, list[Line]] = {}
        self._trainer_speaks = False
        self._quiet_since = 0.0

    def observe(self, record: AnyFact | AnyDecision) -> None:
        """Take notice of what a person in the chair would notice."""
        match record:
            case CueStarted():
                self._trainer_speaks = True
            case CueEnded(cue=cue, at_seconds=now):
                self._trainer_speaks = False
                self._quiet_since = max(self._quiet_since, now)
                self._to_say.extendleft(reversed(self._answers.pop(cue, [])))
                self._begin(cue)
            case StepBegan(step=step, at_seconds=now) if step in self._steps_without_cue:
                self._quiet_since = max(self._quiet_since, now)
                self._begin(step)
            case CorrectionBegan(step=step, calls=calls):
                right = self._performance.right_words
                lines = [Line(each, right[step, each], REACTION_SECONDS) for each in calls]
                self._answers[f"{CORRECTION}{step}"] = lines
            case AskAgain(step=step) if self._last_text:  # else somebody else was not made out
                repeat = Line("", self._last_text, REACTION_SECONDS)
                self._answers.setdefault(question_about(step), []).append(repeat)
            case AskFor(step=step, call=call):
                words = self._performance.words[step, call]
                self._answers.setdefault(question_about(step), []).append(Line(call, words, REACTION_SECONDS))
            case _:
                pass

    def live_on(self, now_seconds: float) -> None:
        """Time has passed: say the next line when its time has come and nobody speaks."""
        if not self._to_say or self._trainer_speaks:
            return
        if now_seconds < self._quiet_since + self._to_say[0].after_seconds:
            return
        line = self._to_say.popleft()
        clip = self._voice(line.text)
        self._quiet_since = self._say(now_seconds, clip)
        self._last_text = line.text
        self.on_say(clip)

    def _begin(self, step: str) -> None:
        self._to_say.extend(self._performance.lines.get(step, ()))
