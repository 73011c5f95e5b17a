"""A synthetic student between drills: says its lines one by one, each when it is its turn."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Sequence

from voice_trainer.audio.ports import Samples
from voice_trainer.session.conversation import ConversationOverError
from voice_trainer.session.performance import REACTION_SECONDS

REPEAT_AFTER_SECONDS = 10.0
MOST_TRIES = 4


class ScriptedTalk:
    """`lines` are said in their order; one that was not understood is said again, four times in all.

    `voice` turns a text into a clip. Give each stretch's `say` to `begin`.
    """

    def __init__(self, lines: Sequence[str], voice: Callable[[str], Samples]) -> None:
        self._lines = deque(lines)
        self._voice = voice
        self._say: Callable[[float, Samples], float] | None = None
        self._due: float | None = None
        self._tries = 0

    def begin(self, say: Callable[[float, Samples], float]) -> None:
        """A new stretch of time begins."""
        self._say = say
        self._due = None

    def your_turn(self, now_seconds: float) -> None:
        """The trainer listens."""
        self._due = now_seconds + REACTION_SECONDS

    def understood(self) -> None:
        """The line was understood: the next one is next."""
        if self._tries:
            self._lines.popleft()
        self._tries = 0
        self._due = None

    def live_on(self, now_seconds: float) -> None:
        """Time has passed. Raises ConversationOverError when there is nothing more to say."""
        if self._say is None or self._due is None or now_seconds < self._due:
            return
        if not self._lines or self._tries >= MOST_TRIES:
            raise ConversationOverError
        self._tries += 1
        self._due = self._say(now_seconds, self._voice(self._lines[0])) + REPEAT_AFTER_SECONDS
