"""A voice whose radio styles sound like a radio."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from voice_trainer.voices.ports import Samples, Voice, VoiceStyle


class RadioVoice:
    """Puts `effect` (`audio.effects.radio`) on what `voice` speaks in a style that is `radio`."""

    def __init__(self, voice: Voice, effect: Callable[[Samples], Samples]) -> None:
        self.name = voice.name
        self._voice = voice
        self._effect = effect

    def render(self, text: str, style: VoiceStyle) -> Samples:
        """See Voice."""
        samples = self._voice.render(text, replace(style, radio=False))
        return self._effect(samples) if style.radio else samples

    def voices(self) -> tuple[str, ...]:
        """See Voice."""
        return self._voice.voices()
