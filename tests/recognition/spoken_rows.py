"""Ears that are given a text: the package's own voice says it, the best recogniser hears it."""

from __future__ import annotations

import functools

import numpy as np

from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.choosing import choose_recogniser
from voice_trainer.recognition.ports import Recogniser
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

USUAL_PACE = 165
SLOWER = 15
QUIET = np.zeros(4800, np.int16)


@functools.cache
def _voice() -> Pyttsx3Voice:
    return Pyttsx3Voice()


@functools.cache
def _recogniser() -> Recogniser:
    return choose_recogniser("likelihood")


def prepare(drill: Drill) -> None:
    """Make the recogniser ready for a drill; it is one for all, since its model takes a while to load."""
    _recogniser().prepare(domain_of(drill), drill.pronounce)


class Ears:
    """One session's ears; what is said again is said slower. Call `prepare` before."""

    def __init__(self, voice: str) -> None:
        self._name = voice
        self._said: list[str] = []

    def __call__(self, text: str, grammar: Grammar, onset_seconds: float) -> Hearing:
        pace = USUAL_PACE - SLOWER * self._said.count(text)
        self._said.append(text)
        clip = _voice().render(text, VoiceStyle(self._name, pace))
        return _recogniser().hear(np.concatenate([QUIET, clip, QUIET]), onset_seconds)
