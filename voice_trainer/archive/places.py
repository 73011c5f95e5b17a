"""Where the program keeps its files: journals, rendered voices, models.

Everything is below the user's data and cache folders (the XDG Base Directory Specification 0.8, by way of
platformdirs), or below one folder of the user's choice: the environment variable VOICE_TRAINER_HOME.
"""

from __future__ import annotations

import os
import re
import secrets
from datetime import UTC, datetime
from pathlib import Path

import platformdirs

from voice_trainer.archive.errors import ArchiveError

HOME_VARIABLE = "VOICE_TRAINER_HOME"
_PROGRAM = "voice_trainer"
_SESSION = re.compile(r"([0-9]+T[0-9]+Z-[^.]+)\.")
"""What the name of a journal, and of all that lies beside it, begins with."""


def data_folder() -> Path:
    """Where what must last is kept."""
    return _chosen_home() or platformdirs.user_data_path(_PROGRAM, appauthor=False)


def journals_folder() -> Path:
    """Where the journals are, one file a session; made by the first journal."""
    return data_folder() / "journals"


def profile_path() -> Path:
    """Where the personal profile is, if there is one (`voice-trainer enrol`)."""
    return data_folder() / "profile.json"


def consent_path() -> Path:
    """Where it is noted what sound may be kept."""
    return data_folder() / "consent.json"


def first_run_path() -> Path:
    """Where it is noted which questions of the first run were settled."""
    return data_folder() / "first-run.json"


def delays_path() -> Path:
    """Where it is noted how much later than it says each speaker sounds."""
    return data_folder() / "speaker-delays.json"


def logbook_path() -> Path:
    """Where the logbook is: made from the journals, and may be deleted at any time."""
    return data_folder() / "logbook.sqlite"


def progress_pages() -> tuple[Path, Path]:
    """Where progress is kept as a page, where nobody named another place: a student's, and an instructor's view."""
    return data_folder() / "progress.html", data_folder() / "progress-instructor.html"


def instructor_consent_path() -> Path:
    """Where it is noted which students have agreed to an instructor's view."""
    return data_folder() / "instructor-consent.json"


def voice_cache_folder() -> Path:
    """Where rendered cues are kept; may be deleted at any time."""
    home = _chosen_home()
    cache = home / "cache" if home else platformdirs.user_cache_path(_PROGRAM, appauthor=False)
    return cache / "voices"


def packs_folder() -> Path:
    """Where installed packs of drills are, a folder each; made by the first."""
    return data_folder() / "packs"


def models_folders() -> tuple[Path, ...]:
    """Where a recogniser's model may be, the first place first; none of them need exist.

    The second is `models/` of the checkout that the program runs from, where it runs from one.
    """
    checkout = Path(__file__).resolve().parents[2]
    in_checkout = (checkout / "models",) if (checkout / "pyproject.toml").is_file() else ()
    return (data_folder() / "models", *in_checkout)


def new_journal_path(drill_name: str, now_utc: datetime) -> Path:
    """A name for a new journal, such as '20261125T101500Z-brannock-clearance-ab12.jsonl'.

    `now_utc` must know its time zone (ValueError otherwise). Names sort by time; the end keeps two sessions
    of one second apart.
    """
    if now_utc.tzinfo is None:
        raise ValueError("the time of a journal needs a time zone")
    stamp = now_utc.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    drill = re.sub(r"[^a-z0-9]+", "-", drill_name.lower())[:60].strip("-") or "drill"
    while True:
        path = journals_folder() / f"{stamp}-{drill}-{secrets.token_hex(2)}.jsonl"
        if not path.exists():
            return path


def latest_journal() -> Path | None:
    """The journal of the newest session, None where there is none yet.

    Of sessions that began in the same second it is the one that was written last: what follows in a name is chance.
    """
    journals = [path for path in _in_folder() if _session_of(path) == path.stem and path.suffix == ".jsonl"]
    return max(journals, default=None, key=_began)


def _began(journal: Path) -> tuple[str, int, str]:
    """When a session began, by its name; of those of one second, the one that was written last is the later one."""
    try:
        written = journal.stat().st_mtime_ns
    except OSError:
        written = 0
    return journal.name.partition("-")[0], written, journal.name


def kept_sessions() -> dict[str, tuple[Path, ...]]:
    """Every session by its name, oldest first: all files and folders of that name, its journal last."""
    found: dict[str, list[Path]] = {}
    for path in _in_folder():
        if name := _session_of(path):
            found.setdefault(name, []).append(path)
    return {
        name: tuple(sorted(paths, key=lambda path: (path.name == f"{name}.jsonl", path.name)))
        for name, paths in sorted(found.items())
    }


def _in_folder() -> list[Path]:
    folder = journals_folder()
    return list(folder.iterdir()) if folder.is_dir() else []


def _session_of(path: Path) -> str | None:
    """The session whose journal this is, or what lies beside its journal."""
    found = _SESSION.match(path.name)
    return found[1] if found else None


def _chosen_home() -> Path | None:
    chosen = os.environ.get(HOME_VARIABLE, "")
    if not chosen:
        return None
    try:
        folder = Path(chosen).expanduser().absolute()
    except RuntimeError as error:
        raise ArchiveError(f"{HOME_VARIABLE}: {chosen!r} names nobody's home; name another folder") from error
    if folder.exists() and not folder.is_dir():
        raise ArchiveError(f"{HOME_VARIABLE}: {chosen!r} is no folder; name one, there already or not")
    return folder
