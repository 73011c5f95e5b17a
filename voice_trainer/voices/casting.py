"""Who speaks with which voice: the student must know by the sound alone whether it is the radio."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from voice_trainer.voices.errors import VoiceError
from voice_trainer.voices.ports import Voice, VoiceStyle

Role = Literal["instructor", "controller", "aeroplane", "student"]
"""aeroplane: what the panel would show, spoken; student: only where a session plays the student too (a demo)."""

ROLES: tuple[Role, ...] = ("instructor", "controller", "aeroplane", "student")

_WORDS_PER_MINUTE: dict[Role, int] = {"instructor": 160, "controller": 160, "aeroplane": 165, "student": 160}

_ESPEAK_VOICES: dict[Role, tuple[str, ...]] = {
    "instructor": ("gmw/en-gb-x-rp", "gmw/en"),
    "controller": ("gmw/en-us+m7", "gmw/en+m3"),
    "aeroplane": ("gmw/en-us+f3", "gmw/en+f3"),
    "student": ("gmw/en-us", "gmw/en+m7"),
}
"""First choice, then what any espeak-ng has."""


class Casting:
    """One style for each role; the controller's is `radio`."""

    def __init__(self, styles: Mapping[Role, VoiceStyle]) -> None:
        self._styles = dict(styles)

    @classmethod
    def of(cls, voice: Voice, chosen: Mapping[Role, str] | None = None) -> Casting:
        """Cast the voices of an engine; `chosen` names the voice of some roles.

        Where the engine doesn't have our own choice, its voices are dealt out in turn. Raises VoiceError when
        a chosen voice isn't one of the engine's, or it has none.
        """
        names = voice.voices()
        if not names:
            raise VoiceError(f"{voice.name} has no voices: choose another engine")
        for role, name in (chosen or {}).items():
            if name.partition("+")[0] not in names:
                raise VoiceError(
                    f"{voice.name} has no voice {name!r} for the {role}: choose from {_some(names)}"
                )
        return cls(
            {
                role: VoiceStyle(
                    (chosen or {}).get(role) or _own_choice(role, number, names),
                    _WORDS_PER_MINUTE[role],
                    radio=role == "controller",
                )
                for number, role in enumerate(ROLES)
            }
        )

    def style(self, role: Role) -> VoiceStyle:
        """How this role speaks."""
        return self._styles[role]


def _own_choice(role: Role, number: int, names: Sequence[str]) -> str:
    for name in _ESPEAK_VOICES[role]:
        if name.partition("+")[0] in names:
            return name
    return names[number % len(names)]


def _some(names: Sequence[str]) -> str:
    """Enough names to choose from, English ones first."""
    english = [name for name in names if "en" in name.replace("/", "-").split("-")]
    listed = (english or list(names))[:12]
    return ", ".join(listed)
