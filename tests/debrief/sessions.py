"""Sessions to debrief: one with everything that a page may have to show, in a drill whose every text is hostile."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from tests.scenes import FLOWN_HEAD, Scene, drill_of
from voice_trainer.archive.journal_file import JournalWriter
from voice_trainer.archive.review_file import add_review
from voice_trainer.archive.session_files import utterance_sound
from voice_trainer.audio.wav import write_wav
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import AnyDecision, AnyFact, Disputed, Flown, Header, Heard, Position
from voice_trainer.journal.reviewing import Overruling

HOSTILE = (
    "</script><script>document.title='taken'</script><img src=x onerror=\"document.title='taken'\">"
    "' onmouseover='document.title=1' \u202etxt.exe\u2066 ../../../etc/passwd C:\\NUL \x07\x00 {{7*7}} 👩🏽‍✈️ & <b>"
)
VERY_LONG = "niner" * 2000

CALLS: list[dict[str, Any]] = [
    {"call": "heading", "say": "turn left [heading] {heading: 310}", "because": "340 less 30 is 310."},
    {"call": "altitude", "say": "descend [and maintain] {altitude: 2600}"},
    {"call": "gear", "say": "gear down"},
    {"call": "flaps", "say": "flaps up"},
    {"call": "lights", "say": "lights on"},
    {"call": "runway", "say": "runway in sight", "need": "forbidden", "because": "There is none."},
]


def told(title: str = "Five calls", flow: str = "readback", because: str | None = None) -> Scene:
    """Heading wrong, altitude and gear in one breath and right, flaps disputed, lights missed, runway forbidden."""
    calls = [each if because is None else each | {"because": because} for each in CALLS]
    drill = drill_of({"name": flow, "order": "any", "calls": calls}, title=title)
    scene = Scene(drill)
    scene.begin("step 1")
    scene.wait(0.5).say("turn left heading 320")
    scene.wait(0.5).say("descend and maintain 2600 gear down")
    scene.wait(0.5).say("runway in sight")
    scene.wait(1.0)
    scene.send(Disputed(at_seconds=scene.now, step="step 1", call="flaps"))
    scene.end()
    return scene


def hostile() -> tuple[Header, list[AnyFact | AnyDecision], list[Overruling]]:
    """The same where everything that may be any text is hostile, and one utterance is 10,000 characters long."""
    scene = told(HOSTILE, HOSTILE, HOSTILE)
    records = [_spoilt(record) for record in scene.records]
    header = header_of(scene.drill).model_copy(
        update={"student": HOSTILE, "session": HOSTILE, "engine": HOSTILE, "program": HOSTILE}
    )
    ruling = Overruling(
        step="step 1", call="flaps", was="disputed", verdict="late", why=HOSTILE[:400], by=HOSTILE,
        at_utc="2026-01-02T03:04:05+00:00",
    )  # fmt: skip
    return header, records, [ruling]


def _spoilt(record: AnyFact | AnyDecision) -> AnyFact | AnyDecision:
    if isinstance(record, Heard) and "runway" in record.hearing.text:
        return record
    if isinstance(record, Heard) and record.hearing.best is not None:
        best = record.hearing.best
        first = best.spans[0]
        words = (first.words[0].model_copy(update={"text": HOSTILE + VERY_LONG}), *first.words[1:])
        spans = (first.model_copy(update={"words": words}), *best.spans[1:])
        reading = best.model_copy(update={"spans": spans})
        return record.model_copy(
            update={"hearing": record.hearing.model_copy(update={"interpretations": (reading,)})}
        )
    return record.model_copy(update={"text": HOSTILE}) if hasattr(record, "text") else record


def header_of(drill: Drill) -> Header:
    return Header(
        program="voice_trainer 0.1.0",
        session="20260102T030405Z-scene-0001",
        started_utc="2026-01-02T03:04:05+00:00",
        drill=drill.model_dump(mode="json"),
        settings=Scene(drill).settings,
        engine="typed",
        student="Anna",
    )


def journal_with_sound(folder: Path) -> Path:
    """The first session as it lies on disk: its journal, the sound of every utterance, and a review."""
    scene = told()
    path = folder / "journals" / "20260102T030405Z-scene-0001.jsonl"
    with JournalWriter(path, header_of(scene.drill)) as journal:
        for record in scene.records:
            journal.append(record)
    tone = (8000 * np.sin(np.arange(16000) * 2 * np.pi * 440 / 16000)).astype(np.int16)
    for record in scene.records:
        if isinstance(record, Heard):
            sound = utterance_sound(path, record.hearing.start_seconds)
            sound.parent.mkdir(exist_ok=True)
            write_wav(sound, tone)
    add_review(
        path,
        Overruling(
            step="step 1", call="flaps", was="disputed", verdict="late", why="I heard it.", by="Ms Berg",
            at_utc="2026-01-02T04:00:00+00:00",
        ),
    )  # fmt: skip
    return path


SEGMENTS: dict[str, Any] = {
    "navaids": [{"ident": "DOR", "name": "Dorrin", "frequency": "113.1", "east_nm": 4.0, "north_nm": -3.0}],
    "segments": [
        {"segment": "outbound", "begins": "start", "lowest_altitude_feet": 2500},
        {
            "segment": "inbound", "begins": "established 153", "lowest_altitude_feet": 1900,
            "highest_altitude_feet": 2800, "course_degrees": 153, "navaid": "KLD",
        },
        {"segment": "final", "begins": "passage KLD", "lowest_altitude_feet": 820},
    ],
    "area": {"navaid": "KLD", "limit_nm": 10},
}  # fmt: skip


def flown(seconds: int, *, segmented: bool = False) -> Scene:
    """A flight of so many seconds: a wide circle around Kelda, slowly down. Established inbound after 700."""
    steps = [
        {
            "step": "first",
            "when": "start",
            "cue": {"speaker": "aeroplane", "say": "Wings level."},
            "flow": {
                "name": "first",
                "calls": [
                    {"call": "descent", "say": "descend [and maintain] {altitude: 2600}", "does": "altitude"},
                    {"call": "gear", "say": "gear down"},
                ],
            },
        }
    ]
    station = {"ident": "KLD", "name": HOSTILE, "frequency": "114.3"}
    more = SEGMENTS if segmented else {}
    scene = Scene(Drill.model_validate(FLOWN_HEAD | {"station": station, "steps": steps} | more))
    scene.begin("first")
    scene.wait(0.5).say("descend and maintain 2700")
    for second in range(10, seconds):
        if second == 700:
            scene.send(Flown(at_seconds=700.0, name="established 153"))
        scene.send(
            Position(
                at_seconds=float(second),
                east_nm=5.0 * np.sin(second / 300.0),
                north_nm=5.0 * np.cos(second / 300.0),
                altitude_feet=max(3000.0 - second, 2600.0),
                heading_degrees=90.0,
                airspeed_knots=150.0,
            )
        )
    scene.end()
    return scene
