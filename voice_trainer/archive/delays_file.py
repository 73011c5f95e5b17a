"""How much later than it says each speaker sounds, by device name: one small JSON file."""

from __future__ import annotations

import json
import math
from pathlib import Path

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.small_file import write_small_file

DELAYS_FORMAT = 1
MOST_SECONDS = 2.0
"""No headset is as slow; whoever writes more into the file made a slip."""

WHAT_TO_DO = "delete it, and measure again with 'voice-trainer doctor --measure-delay'"


def read_delays(path: Path) -> dict[str, float]:
    """Seconds by device name; none where there is no file. Raises ArchiveError for what is no such file."""
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return {}
    except OSError as error:
        raise ArchiveError(f"{path}: it can't be read ({error.strerror}); {WHAT_TO_DO}") from error
    try:
        fields = json.loads(content)
        delays = {str(name): float(seconds) for name, seconds in fields["seconds"].items()}
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise ArchiveError(f"{path}: it is damaged; {WHAT_TO_DO}") from error
    if not all(math.isfinite(each) and 0 <= each <= MOST_SECONDS for each in delays.values()):
        raise ArchiveError(f"{path}: a delay is not within 0 to {MOST_SECONDS:g} seconds; {WHAT_TO_DO}")
    return delays


def note_delay(path: Path, device: str, seconds: float) -> None:
    """Note a device's delay, whole or not at all; 0 forgets it. Raises ArchiveError, ValueError beyond the limits."""
    if not 0 <= seconds <= MOST_SECONDS:
        raise ValueError(f"a delay is from 0 to {MOST_SECONDS:g} seconds, not {seconds}")
    delays = {name: known for name, known in read_delays(path).items() if name != device}
    if seconds:
        delays[device] = round(seconds, 4)
    write_small_file(path, json.dumps({"delays_format": DELAYS_FORMAT, "seconds": delays}, indent=2) + "\n")
