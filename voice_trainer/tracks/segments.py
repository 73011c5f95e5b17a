"""What is where in a track, as JSON: for who wants to check it, or to follow it on paper."""

from __future__ import annotations

import json
from dataclasses import asdict

from voice_trainer.tracks.assembling import Track

SCHEMA = "voice-trainer-track/1"


def segments_json(track: Track, file_name: str) -> str:
    """An object: `schema`, `file`, `seconds`, `chapters` and `segments`, each with its times in seconds."""
    data = {
        "schema": SCHEMA,
        "file": file_name,
        "seconds": track.seconds,
        "chapters": [asdict(each) for each in track.chapters],
        "segments": [
            {key: value for key, value in asdict(each).items() if value != ""} for each in track.segments
        ],
    }
    return json.dumps(data, indent=1) + "\n"
