"""The spoken debrief: what went well in a sentence, then the corrections that are worth most."""

from __future__ import annotations

from voice_trainer.debrief.report import CORRECTIONS_SHOWN, Debrief
from voice_trainer.journal.events import Settled
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud


def spoken_debrief(debrief: Debrief) -> list[str]:
    """Sentences for a voice, every number in words."""
    if not debrief.practised:
        return ["Nothing was practised."]
    correct = debrief.grade.count("correct")
    counted = int(debrief.grade.total.of)
    lines = [f"Debrief. {_number(correct).capitalize()} of {_number(counted)} calls correct."]
    corrections = debrief.corrections()[:CORRECTIONS_SHOWN]
    lines += [_correction(settled) for settled in corrections]
    if not corrections and counted:
        lines.append("Nothing to correct. Well done.")
    return lines


def _correction(settled: Settled) -> str:
    name = f"{settled.step}, {settled.call}"
    match settled.verdict:
        case "wrong value":
            said, expected = said_aloud(settled.said.split()), said_aloud(settled.expected.split())
            return f"{name}. You said: {said}. It is: {expected}."
        case "missed":
            return f"{name}, missed. Say: {said_aloud(settled.expected.split())}."
        case verdict:
            return f"{name}, {verdict}."


def _number(count: int) -> str:
    kind = slot_type("count")
    return " ".join(kind.words(kind.canonical(str(count))))
