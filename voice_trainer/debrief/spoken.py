"""The spoken debrief: what went well in a sentence, then the corrections that are worth most, with their reasons."""

from __future__ import annotations

from voice_trainer.debrief.report import CORRECTIONS_SHOWN, Debrief
from voice_trainer.journal.events import Settled
from voice_trainer.phraseology.numerals import cardinal_words
from voice_trainer.phraseology.speaking import read_out, said_aloud

MOST_COUNTED = 999


def spoken_debrief(debrief: Debrief, *, full: bool = False) -> list[str]:
    """Sentences for a voice, every number in words; `full`: with every correction and note."""
    if not debrief.practised:
        return ["Nothing was practised."]
    correct = debrief.grade.count("correct")
    counted = int(debrief.grade.total.of)
    lines = [f"Debrief. {number_said(correct).capitalize()} of {number_said(counted)} calls correct."]
    corrections = debrief.corrections()[: None if full else CORRECTIONS_SHOWN]
    lines += [correction_said(settled) for settled in corrections]
    lines += [f"Critical: {read_out(each.said)}" for each in debrief.deviations if each.critical][:1]
    if not corrections and counted:
        lines.append("Nothing to correct. Well done.")
    if full:
        lines += [read_out(note[:1].upper() + note[1:]) for note in debrief.notes()]
    return lines


def correction_said(settled: Settled) -> str:
    """Which call, why it cost something, and where the words were wrong or missing, the right ones."""
    name = f"{settled.step}, {settled.call}"
    verdict = "wrong" if settled.verdict == "wrong value" else settled.verdict
    told = f"{name[:1].upper()}{name[1:]}: {verdict}. {read_out(settled.reason)}"
    if settled.verdict in ("wrong value", "missed"):
        told += f" Say: {said_aloud(settled.expected.split())}."
    return read_out(told)


def number_said(count: int) -> str:
    """A plain count, as people count: 'nine', which only a value on the radio is 'niner' of."""
    return " ".join(cardinal_words(count)) if count <= MOST_COUNTED else "very many"
