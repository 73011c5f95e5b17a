"""The drill while it is written: its steps, and the segments with their limits, in the order of the flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from voice_trainer.drills.model import Call, Cue, Flow, Segment, Speaker, Step
from voice_trainer.flight.timing import duration_text

GIVE_UP_SECONDS = 8.0


@dataclass(slots=True)
class Sheet:
    """Steps and segments so far."""

    steps: list[Step] = field(default_factory=list)
    segments: list[Segment] = field(default_factory=list)

    def step(
        self,
        name: str,
        when: str,
        cue: str,
        calls: Sequence[Call] = (),
        *,
        speaker: Speaker = "aeroplane",
        flow_name: str = "",
        in_any_order: bool = False,
        asks: bool = False,
        closing_question: str | None = None,
        give_up_seconds: float = GIVE_UP_SECONDS,
        after_seconds: float = 0.0,
    ) -> None:
        """Add a step; with no calls it is a cue alone."""
        flow = None
        if calls:
            flow = Flow(
                name=flow_name or name,
                order="any" if in_any_order else "strict",
                asks=asks,
                closing_question=closing_question,
                give_up_seconds=give_up_seconds,
                calls=tuple(calls),
            )
        self.steps.append(
            Step(
                step=name,
                when=when,
                after_seconds=after_seconds,
                cue=Cue(speaker=speaker, say=cue),
                flow=flow,
            )
        )

    def segment(
        self,
        name: str,
        begins: str,
        *,
        lowest_altitude_feet: float | None = None,
        fastest_knots: float | None = None,
        course: tuple[str, float] | None = None,
        is_minimums: bool = False,
    ) -> None:
        """Add a segment; `course` is the navaid's ident and the degrees."""
        self.segments.append(
            Segment(
                segment=name,
                begins=begins,
                lowest_altitude_feet=lowest_altitude_feet,
                fastest_knots=fastest_knots,
                navaid=course[0] if course else None,
                course_degrees=course[1] if course else None,
                is_minimums=is_minimums,
            )
        )


def seconds_spoken(seconds: int) -> str:
    """A clock reading as a cue says it."""
    return f"{{duration: {duration_text(seconds)}}}."
