"""Sound as a data URI, small enough to lie in a page.

MP3, since every browser on every phone plays it (Opus in Ogg would be half the size, but older phones don't) and the
same samples always give the same bytes. Where libsndfile was built without it: WAV.
"""

from __future__ import annotations

import base64
import io
from typing import Final

import soundfile

from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples

SMALLEST_SENSIBLE: Final = 0.95
"""Of libsndfile's compression levels, 0 to 1: about 3 kB a second of speech."""


def data_uri(samples: Samples) -> str:
    """A 'data:audio/...' URI. Raises AudioError where the sound can't be encoded."""
    if "MP3" in soundfile.available_formats():
        return _encoded(samples, "audio/mpeg", "MP3", "MPEG_LAYER_III", SMALLEST_SENSIBLE)
    return _encoded(samples, "audio/wav", "WAV", "PCM_16", None)


def _encoded(samples: Samples, mime: str, container: str, subtype: str, level: float | None) -> str:
    out = io.BytesIO()
    try:
        soundfile.write(
            out, samples, SAMPLE_RATE_HZ, format=container, subtype=subtype, compression_level=level
        )
    except (soundfile.LibsndfileError, RuntimeError) as error:
        raise AudioError(
            f"sound can't be made into {container} ({error}); leave it out of the page"
        ) from error
    return f"data:{mime};base64,{base64.b64encode(out.getvalue()).decode('ascii')}"
