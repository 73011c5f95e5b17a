"""What a session needs of a speech synthesiser."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.int16]


@dataclass(frozen=True, slots=True)
class VoiceStyle:
    """How a text is to be spoken: an engine's voice by name, the rate, and whether over the radio."""

    voice: str
    words_per_minute: int = 165
    radio: bool = False


class Voice(Protocol):
    """Text to audio, one text at a time."""

    name: str

    def render(self, text: str, style: VoiceStyle) -> Samples:
        """Speak `text`, in which every number is already written out in words.

        Returns mono PCM at 16 kHz, without long silences around it. Raises VoiceError.
        """

    def voices(self) -> tuple[str, ...]:
        """The names of the voices that this engine has."""
