"""What is said to the trainer itself, behind its name.

The name keeps these apart from the radio: 'say again' is said to the controller, 'trainer, say again' to the
trainer. Only 'I said that' and 'again from the fix' are heard without it too, since no sentence of the trade begins so;
they are obeyed without it once the drill is over (`grading/orders.py`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from functools import lru_cache

from voice_trainer.phraseology.grammar import Phrase
from voice_trainer.phraseology.pattern import Pattern, PatternError, compile_pattern
from voice_trainer.phraseology.slots import Region
from voice_trainer.phraseology.trainer_name import TRAINER_NAME

ORDERS: dict[str, str] = {
    "freeze": "freeze",
    "continue": "(continue | resume)",
    "say again": "say again",
    "slower": "[speak] slower",
    "faster": "[speak] faster",
    "read along": "read along",
    "prompted": "prompted",
    "cold": "[go] cold",
    "under load": "under load",
    "skip": "skip [this | it]",
    "next event": "next event",
    "back": "[go] back [to [the] last fix]",
    "again": "(again | once more)",
    "what did i miss": "what did i miss",
    "end": "(end | stop)",
}
"""What the trainer can be told to do, and the words for it behind its name."""

FROM_THE_FIX = "again from the fix"
"""The order that flies a drill anew from before its last fix; like 'I said', no sentence of the trade begins so."""

I_SAID = "i said"
"""The order that disputes a verdict: 'I said that', 'I said' and the call, or 'I said' and the call's name."""

START = "start"
"""The order that begins another drill: 'start NAME', 'fly NAME'."""


def control_phrases(
    name: str = TRAINER_NAME,
    region: Region = "faa",
    *,
    drills: Mapping[str, str] | None = None,
    calls: Iterable[str] = (),
) -> tuple[Phrase, ...]:
    """The phrases said to the trainer, which goes by `name` ('trainer, freeze'), of kind 'control'.

    `drills` maps the spoken names of drills that may be started to the drills' own; `calls` are the names of
    calls, for 'I said the turn'. Raises PatternError for a name of the trainer or of a drill that can't be
    spoken; a call's name that can't be is left out.
    """
    patterns = _patterns(name, region, tuple((drills or {}).items()), tuple(calls))
    return tuple(Phrase(pattern, "control") for _, pattern in patterns)


def control_action(
    phrase: str,
    slots: Mapping[str, str],
    name: str = TRAINER_NAME,
    *,
    drills: Mapping[str, str] | None = None,
    calls: Iterable[str] = (),
) -> str | None:
    """What a heard control phrase asks for; None for what is no such phrase.

    A key of `ORDERS`, 'start DRILL', 'again from the fix', 'i said', or 'i said: NAME' with the name of a call.
    `phrase` and `slots` are those of the hearing's meaning: 'trainer, start' is no 'trainer, stop'.
    """
    for action, pattern in _patterns(name, "faa", tuple((drills or {}).items()), tuple(calls)):
        if pattern.phrase == phrase and not pattern.differences(slots):
            return action
    return None


@lru_cache(maxsize=64)
def _patterns(
    name: str, region: Region, drills: tuple[tuple[str, str], ...], calls: tuple[str, ...]
) -> tuple[tuple[str, Pattern], ...]:
    """Every order with its pattern."""
    found = [(action, compile_pattern(f"{name} {text}", region=region)) for action, text in ORDERS.items()]
    found += [
        (f"{START} {drill}", compile_pattern(f"{name} (start | fly) {spoken}", region=region))
        for spoken, drill in drills
    ]
    found.append(
        (FROM_THE_FIX, compile_pattern(f"[{name}] (again | once more) from [the] [last] fix", region=region))
    )
    found.append((I_SAID, compile_pattern(f"[{name}] {I_SAID} [that | it]", region=region)))
    for call in dict.fromkeys(calls):
        with suppress(PatternError):  # 'flaps 15' is a fine name on paper
            pattern = compile_pattern(f"[{name}] {I_SAID} [the] {call}", region=region)
            found.append((f"{I_SAID}: {call}", pattern))
    return tuple(found)
