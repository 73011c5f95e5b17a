"""Common sentences of the trade that belong to no drill.

They are listened for in every drill, so that 'stand by' or 'say again' is understood as what it is and never
forced into the nearest call.
"""

from __future__ import annotations

from voice_trainer.phraseology.grammar import Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.phraseology.slots import Region

TRADE: tuple[str, ...] = (
    # Pilot/Controller Glossary: the words with a meaning of their own.
    "radio check",
    "say again [all after | all before]",
    "stand by",
    "roger",
    "wilco",
    "affirmative",
    "negative",
    "unable",
    "correction",
    "disregard",
    "acknowledge",
    "how do you hear me",
    "loud and clear",
    "go ahead",
    "speak slower",
    "verify",
    "(going around | go around)",
    "missed approach",
    "minimum fuel",
    "low approach",
    "traffic in sight",
    "negative contact",
    # AIM 4-2-1 to 4-2-3: contact procedures.
    "contact tower [on] [{frequency}]",
    "contact (approach | departure | ground | center) [on] [{frequency}]",
    "with you",
    "request vectors",
    # AIM 4-4 and 5-4, Pilot/Controller Glossary: clearances and their readback.
    "maintain {altitude}",
    "(descend and maintain | descending to) {altitude}",
    "(climb and maintain | climbing to) {altitude}",
    "maintain flight level {level}",
    "leaving {altitude} [for {altitude}]",
    "passing {altitude}",
    "level [at] {altitude}",
    "turn left [heading {heading}]",
    "turn right [heading {heading}]",
    "(fly heading | heading) {heading}",
    "(maintain | reduce) speed {speed}",
    "squawk {squawk}",
    "altimeter {altimeter}",
    "cleared for the approach",
    "cleared to land [runway {runway}]",
    "hold short [of] [runway {runway}]",
    # AIM 5-3-2 and 5-3-3: reports.
    "field in sight",
    "runway in sight",
    "airport in sight",
    "established",
    "established inbound",
    "procedure turn inbound",
    "final approach fix [inbound]",
    # Common practice: crew talk on the flight deck.
    "gear down",
    "gear up",
    "before landing checklist complete",
    "one hundred above",
    "minimums",
    "approaching minimums",
    "say heading",
    "say altitude",
    "say airspeed",
    "say position",
    "say distance",
    "say radial",
    "say wind",
    "say needle",
    "say time",
    "my controls",
    "your controls",
)


def trade_phrases(region: Region = "faa") -> tuple[Phrase, ...]:
    """The common sentences as phrases of kind 'trade'."""
    return tuple(Phrase(compile_pattern(text, region=region), "trade") for text in TRADE)
