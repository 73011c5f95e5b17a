"""The personal profile on disk: one small JSON file, readable by its owner only."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError
from pydantic_core import from_json

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.small_file import write_small_file
from voice_trainer.journal.personal import PROFILE_FORMAT, Profile

WHAT_TO_DO = "enrol again, remove it with 'voice-trainer enrol --forget', or pass --no-profile"


def read_profile(path: Path) -> Profile | None:
    """The profile in a file, None where there is no file.

    Raises ArchiveError for what can't be read, is no profile, is of another format, or is beyond the limits that
    hold for any profile.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise ArchiveError(f"{path}: the profile can't be read ({error.strerror}); {WHAT_TO_DO}") from error
    try:
        fields = from_json(content)
    except ValueError as error:
        raise ArchiveError(f"{path}: the profile is damaged (not JSON); {WHAT_TO_DO}") from error
    version = fields.get("profile_format") if isinstance(fields, dict) else None
    if version != PROFILE_FORMAT:
        raise ArchiveError(
            f"{path}: the profile's format is {version!r}, this program reads {PROFILE_FORMAT}; {WHAT_TO_DO}"
        )
    try:
        return Profile.model_validate(fields)
    except ValidationError as error:
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        raise ArchiveError(
            f"{path}: the profile is damaged ({where}: {first['msg']}); {WHAT_TO_DO}"
        ) from error


def write_profile(path: Path, profile: Profile) -> None:
    """Put a profile in place, whole or not at all, in place of an older one. Raises ArchiveError."""
    write_small_file(path, profile.model_dump_json(indent=2) + "\n")


def forget_profile(path: Path) -> bool:
    """Remove the profile, damaged or not; whether there was one. Raises ArchiveError."""
    try:
        path.unlink()
    except FileNotFoundError:
        return False
    except OSError as error:
        raise ArchiveError(
            f"{path}: the profile can't be removed ({error.strerror}); make its folder writable"
        ) from error
    return True
