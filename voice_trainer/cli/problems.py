"""Which exceptions are the user's to mend, and how each is said in one line."""

from __future__ import annotations

import errno

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.audio.errors import AudioError
from voice_trainer.library.errors import DrillError
from voice_trainer.logbook.errors import LogbookError
from voice_trainer.models.errors import ModelError
from voice_trainer.outputs.errors import OutputError
from voice_trainer.outputs.refusals import advice_for, why
from voice_trainer.phraseology.pattern_text import PatternError
from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.unpacking.errors import UnpackingError
from voice_trainer.voices.errors import VoiceError


class UsageError(Exception):
    """Options that don't go together, or an input that is not what it should be: one line."""


EXPECTED = (
    ArchiveError,
    AudioError,
    DrillError,
    LogbookError,
    ModelError,
    OutputError,
    PatternError,
    RecogniserError,
    UnpackingError,
    UsageError,
    VoiceError,
)


OF_THE_DISK = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EROFS)
"""What a disk refuses to whoever writes; other errors may be a reader's."""


def in_one_line(problem: Exception) -> str | None:
    """The line for the user; None for what is a fault of the program and deserves its traceback."""
    if isinstance(problem, EXPECTED):
        return str(problem)
    if not isinstance(problem, OSError):
        return None
    place = "" if problem.filename is None else f"{problem.filename}: "
    if problem.errno in OF_THE_DISK:
        return f"{place}{why(problem)}; {advice_for(problem)}"
    return f"{place}{problem.strerror}; check its name, its folder and its permissions" if place else None
