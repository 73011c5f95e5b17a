"""Input gain: a faint microphone is made louder before anything else is done with it."""

from __future__ import annotations

import numpy as np

from voice_trainer.recognition.ports import Samples


def lifted(samples: Samples, gain_db: float) -> Samples:
    """The samples, louder by `gain_db`; what would exceed full scale is clipped."""
    if gain_db == 0.0:
        return samples
    louder = np.rint(samples.astype(np.float64) * 10 ** (gain_db / 20))
    return np.clip(louder, -32768, 32767).astype(np.int16)
