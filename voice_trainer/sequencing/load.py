"""What makes a drill harder under load: the radio talks to others, and somebody asks something. Never graded.

The callsigns are invented. When what is said follows from the seed alone.
"""

from __future__ import annotations

import hashlib

from voice_trainer.drills.model import Drill
from voice_trainer.phraseology.speaking import spoken_text
from voice_trainer.sequencing.commands import Speak

FIRST_SECONDS = 8.0
LEAST_BETWEEN_SECONDS = 14.0
MOST_BETWEEN_SECONDS = 34.0

CHATTER = "chatter"
"""The cue name of all of it."""

CALLSIGNS = ("Plover 31", "Dunlin 62", "Lapwing 17", "Bunting 85")

MESSAGES = (
    "turn right heading {heading: 220}.",
    "descend and maintain {altitude: 4000}.",
    "contact departure {frequency: 124.35}.",
    "reduce speed {speed: 170}.",
    "squawk {squawk: 4271}.",
    "traffic, two o'clock, four miles, opposite direction.",
    "expect further clearance in ten minutes.",
)

DISTRACTIONS = (
    "A passenger asks how long it will be.",
    "A passenger wants to know whether that noise is normal.",
    "How much fuel is left? Answer when you can.",
)
"""Said by the instructor, once a drill; an answer costs nothing, nor does none."""


def load_of(drill: Drill, seed: int) -> tuple[tuple[float, Speak], ...]:
    """When, by the running clock, and what is said under load. Nothing of it has the drill's callsign."""
    lines: list[tuple[float, Speak]] = []
    others = [callsign for callsign in CALLSIGNS if callsign != drill.callsign]
    moment = FIRST_SECONDS
    distraction_at = 1 + _drawn(seed, "distraction", 3)
    number = 0
    while moment < drill.limit_seconds:
        number += 1
        if number == distraction_at:
            text = DISTRACTIONS[_drawn(seed, "question", len(DISTRACTIONS))]
            lines.append((moment, Speak(CHATTER, "instructor", text)))
        else:
            callsign = others[_drawn(seed, f"callsign {number}", len(others))]
            message = MESSAGES[_drawn(seed, f"message {number}", len(MESSAGES))]
            text = spoken_text(f"{{callsign: {callsign}}}, {message}", drill.region)
            lines.append((moment, Speak(CHATTER, "controller", text)))
        spread = MOST_BETWEEN_SECONDS - LEAST_BETWEEN_SECONDS
        moment += LEAST_BETWEEN_SECONDS + spread * _drawn(seed, f"pause {number}", 1000) / 1000
    return tuple(lines)


def _drawn(seed: int, what: str, below: int) -> int:
    """A number from 0 to before `below`: the same on every machine and in every version of Python."""
    return int.from_bytes(hashlib.sha256(f"{seed}, {what}".encode()).digest()[:8], "big") % below
