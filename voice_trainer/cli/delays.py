"""How much later than it says a speaker sounds: measured by `doctor --measure-delay`, used by every live session."""

from __future__ import annotations

from voice_trainer.archive.delays_file import note_delay, read_delays
from voice_trainer.archive.places import delays_path

LEAST_SECONDS = 0.06
"""What a speaker beside a microphone is late by without Bluetooth: sound travels, drivers err. Not worth noting."""

LARGEST_SPREAD_SECONDS = 0.05


def delay_of(speaker: str | None) -> float:
    """The noted delay of the speaker that a session would use, in seconds. Raises AudioError and ArchiveError."""
    from voice_trainer.audio.devices import AudioDevices

    return read_delays(delays_path()).get(AudioDevices.list().find(speaker, "output").name, 0.0)


def delay_known(speaker: str | None) -> str:
    """What is noted of that speaker. Raises AudioError and ArchiveError."""
    seconds = delay_of(speaker)
    if seconds:
        return f"its sound comes {1000 * seconds:.0f} ms later than it says: taken into account"
    return "none is noted; for a Bluetooth headset 'voice-trainer doctor --measure-delay' finds it"


def measured_delay(microphone: str | None, speaker: str | None) -> tuple[bool, str, str]:
    """Measure and note: whether it could be measured, what was found, and what to do.

    Raises AudioError and ArchiveError.
    """
    from voice_trainer.audio.soundcheck import MEASURED_TIMES, measure_delay

    found = measure_delay(microphone, speaker)
    if found.seconds is None or found.spread_seconds is None:
        heard = f"the tone was heard {found.times} of {MEASURED_TIMES} times"
        return False, heard, "hold the headset's earpiece to the microphone, turn it up, and measure again"
    figures = f"{1000 * found.seconds:.0f} ms, {found.times} measurements within {1000 * found.spread_seconds:.0f} ms"
    if found.spread_seconds > LARGEST_SPREAD_SECONDS:
        return (
            False,
            f"{found.speaker}: no steady delay ({figures})",
            "close other programs, and measure again",
        )
    if found.seconds < LEAST_SECONDS:
        note_delay(delays_path(), found.speaker, 0.0)
        return True, f"{found.speaker}: {figures}: too little to be taken into account", ""
    note_delay(delays_path(), found.speaker, found.seconds)
    return True, f"{found.speaker}: {figures}: noted, and taken into account from now on", ""
