"""One flow of a drill as a short drill of its own, to be practised by itself.

It keeps the names of the drill and of the step, so that a logbook knows it for the same. Nothing flies in it: what the
flight would show is said beforehand, in words.
"""

from __future__ import annotations

import re

from voice_trainer.drills.conditions import OF_THE_DRILL
from voice_trainer.drills.length import spoken_seconds
from voice_trainer.drills.model import Call, Cue, Drill, Flow, Step
from voice_trainer.drills.spoken_names import in_words, spoken_name
from voice_trainer.phraseology.speaking import spoken_text

LEAD_IN = "lead in"
"""What the first step of an excerpt is called: the lead-in, a cue without a flow. The second one is the step itself."""

MOST_AFTER_SECONDS = 1.0
"""A step begins no later than this after its lead-in (ours)."""

LIMIT_SECONDS = 600.0

_SLOT = re.compile(r"\{\s*([a-z/ ]+?)\s*:\s*([^{}]+?)\s*\}")
_SENTENCE_ENDS = re.compile(r"(?<=[.?!])\s+")


def excerpt_of(drill: Drill, step: str) -> Drill:
    """The drill that is nothing but the flow of `step`, behind a lead-in that says where one is.

    Its steps are the lead-in and the step. `minutes` is what it takes at a normal rate of speech. Raises KeyError where
    there is no such step, ValueError for a step without calls, PatternError for calls that can't be compiled.
    """
    found = next((each for each in drill.steps if each.step == step), None)
    if found is None:
        raise KeyError(step)
    if found.flow is None:
        raise ValueError(f"step '{step}' of {drill.drill} has no calls to practise")
    before = drill.steps[: drill.steps.index(found)]
    name = LEAD_IN if step != LEAD_IN else f"{LEAD_IN} to it"
    says = lead_in(drill, found)
    alone = drill.model_copy(
        update={
            "station": None,
            "navaids": (),
            "aeroplane": None,
            "segments": (),
            "area": None,
            "limit_seconds": min(drill.limit_seconds, LIMIT_SECONDS),
            "in_contact": drill.in_contact or any(_has_callsign(each) for each in before),
            "steps": (
                Step(step=name, when="start", cue=Cue(speaker="instructor", say=says)),
                found.model_copy(
                    update={
                        "when": "settled",
                        "after_seconds": min(found.after_seconds, MOST_AFTER_SECONDS),
                        "lead_in": says,
                        "flow": _on_the_ground(found.flow),
                    }
                ),
            ),
        }
    )
    return alone.model_copy(update={"minutes": round(spoken_seconds(alone) / 60, 2)})


def lead_in(drill: Drill, step: Step) -> str:
    """What is said before a step that is practised by itself, as a cue's text: the drill's name, and where one is.

    The step may have its own words for it. Else it is what led up to the step: the cues before it that expect no
    answer, those whose values its calls need, and, where the step waits for the flight, its name.
    """
    own = step.cue.say if step.cue is not None else ""
    name = _sentence(spoken_name(drill))
    if step.lead_in is not None:
        return _behind(name, step.lead_in)
    before = drill.steps[: drill.steps.index(step)]
    told = [each.cue.say for each in before if each.cue is not None and each.flow is None]
    needed = _values_of(step)
    if needed - _values_in(own, *told):
        told = [
            each.cue.say if each.flow is None else _without_questions(each.cue.say)
            for each in before
            if each.cue is not None and (each.flow is None or _values_in(each.cue.say))
        ]
    if step.when not in OF_THE_DRILL:
        told.append(_sentence(in_words(step.step)))
    said = " ".join(text for text in told if text)
    if drill.callsign is not None and ("callsign", drill.callsign) in needed:
        callsign = f"{{callsign: {drill.callsign}}}"
        words = spoken_text(callsign, drill.region).lower()
        if words not in spoken_text(f"{said} {own}", drill.region).lower():
            said = f"{callsign}. {said}"
    return _behind(name, said)


def _behind(name: str, said: str) -> str:
    """What is said, the drill's name before it where it does not begin with that already."""
    return said if said.lower().startswith(name.lower()) else f"{name} {said}".strip()


def _on_the_ground(flow: Flow) -> Flow:
    """A flow whose windows wait for no event, and whose calls move no aeroplane."""
    calls = tuple(
        call.model_copy(
            update={
                "does": None,
                "given": {},
                "window": call.window.model_copy(update={"opens": None, "closes": None}),
            }
        )
        for call in flow.calls
    )
    return flow.model_copy(update={"calls": calls})


def _has_callsign(step: Step) -> bool:
    return step.flow is not None and any("{callsign" in call.say.replace(" ", "") for call in step.flow.calls)


def _values_of(step: Step) -> set[tuple[str, str]]:
    """The values, by type, that the step's required calls give."""
    calls: tuple[Call, ...] = step.flow.calls if step.flow else ()
    return _values_in(*(call.say for call in calls if call.need == "required"))


def _values_in(*texts: str) -> set[tuple[str, str]]:
    return {found for text in texts for found in _SLOT.findall(text)}


def _without_questions(text: str) -> str:
    return " ".join(each for each in _SENTENCE_ENDS.split(text) if not each.endswith("?"))


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}."
