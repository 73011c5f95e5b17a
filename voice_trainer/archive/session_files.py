"""What lies beside a journal, under the same name: its sound while it runs, what is kept of it, reviews, its page."""

from __future__ import annotations

from pathlib import Path

SPOOLS = "*.spool.wav"


def spool_of(journal: Path) -> Path:
    """The sound of a session that runs, or that was cut off."""
    return journal.with_name(f"{journal.stem}.spool.wav")


def journal_of(spool: Path) -> Path:
    """The journal that a spool belongs to."""
    return spool.with_name(f"{spool.name.removesuffix('.spool.wav')}.jsonl")


def sound_folder(journal: Path) -> Path:
    """What was kept of the sound: a file for each utterance, or `whole_sound`."""
    return journal.with_name(f"{journal.stem}.sound")


def whole_sound(journal: Path) -> Path:
    """The whole session; sample n of it is sample n of the session."""
    return sound_folder(journal) / "session.wav"


def utterance_sound(journal: Path, start_seconds: float) -> Path:
    """One utterance, named by the millisecond at which it began."""
    return sound_folder(journal) / f"{round(start_seconds * 1000):09d}.wav"


def reviews_of(journal: Path) -> Path:
    """What instructors made of the session afterwards."""
    return journal.with_name(f"{journal.stem}.reviews.jsonl")


def page_file(journal: Path) -> Path:
    """The debrief as a page, where nobody named another place for it."""
    return journal.with_name(f"{journal.stem}.html")
