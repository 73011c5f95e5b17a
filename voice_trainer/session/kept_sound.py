"""The sound of a session: spooled while it runs, pruned to what its user chose when it is over, found again later.

Theory of operation
-------------------
The spool is a WAV file beside the journal that is whole after every block, so a crash loses nothing. It is pruned when
the session is over; one that a crash left behind is pruned at the next start, by the lesser of what was chosen then
and now. A session that still runs is known by the lock on its journal. Where nothing is to be kept, nothing is spooled.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.journal_file import is_being_written, read_header, read_journal
from voice_trainer.archive.private_folder import private_folder
from voice_trainer.archive.session_files import (
    SPOOLS,
    journal_of,
    sound_folder,
    spool_of,
    utterance_sound,
    whole_sound,
)
from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import Samples
from voice_trainer.audio.wav import WavWriter, read_stretch
from voice_trainer.journal.keep import Keep, lesser
from voice_trainer.journal.utterances import Utterance, to_keep
from voice_trainer.phraseology.counting import counted


class Spool:
    """A sink beside `journal`; where the disk is full it gives up, and the session goes on without."""

    def __init__(self, journal: Path, say: Callable[[str], None]) -> None:
        self._journal = journal
        self._say = say
        self._file: WavWriter | None = None
        self._over = False

    def append(self, samples: Samples) -> None:
        """See SampleSink. The file is made with the first samples: by then the journal is there."""
        if self._over:
            return
        try:
            if self._file is None:
                self._file = WavWriter(spool_of(self._journal), private=True)
            self._file.append(samples)
        except AudioError as error:
            self._say(f"{error}; from here on no sound is kept.")
            self.close()

    def close(self) -> None:
        """Take nothing more."""
        self._over = True
        if self._file is not None:
            self._file.close()


def prune(journal: Path, keep: Keep) -> int:
    """Leave of a session's spool what is to be kept; the number of utterances of which there is sound.

    Raises ArchiveError and AudioError, the spool being gone: what can't be pruned must not stay.
    """
    spool = spool_of(journal)
    try:
        if not spool.exists() or keep == "none":
            return 0
        wanted = to_keep(read_journal(journal).records, keep)
        if not wanted:
            return 0
        private_folder(sound_folder(journal))
        if keep == "all":
            spool.replace(whole_sound(journal))
            return len(wanted)
        for each in wanted:
            with WavWriter(utterance_sound(journal, each.start_seconds), private=True) as file:
                file.append(read_stretch(spool, each.start_seconds, each.end_seconds))
        return len(wanted)
    except OSError as error:
        raise ArchiveError(f"{error.filename}: no sound could be kept ({error.strerror})") from error
    finally:
        spool.unlink(missing_ok=True)


def prune_leftovers(folder: Path, chosen: Keep) -> list[str]:
    """Prune what sessions that were cut off left in `folder`; a line about each."""
    lines: list[str] = []
    for spool in sorted(folder.glob(SPOOLS)):
        journal = journal_of(spool)
        if journal.exists() and is_being_written(journal):
            continue
        try:
            kept = prune(journal, lesser(chosen, _chosen_then(journal)))
            lines.append(f"{journal.stem} was cut off; kept of its sound: {counted(kept, 'utterance')}.")
        except (ArchiveError, AudioError) as problem:
            spool.unlink(missing_ok=True)
            lines.append(f"{journal.stem} was cut off, and its sound is removed: {problem}")
    return lines


def _chosen_then(journal: Path) -> Keep:
    return read_header(journal).keeps_sound if journal.exists() else "none"


def sound_of(journal: Path, utterance: Utterance) -> Samples | None:
    """What was kept of the sound of an utterance, mono PCM at 16 kHz. Raises AudioError for a damaged file."""
    start, end = utterance.start_seconds, utterance.end_seconds
    if (alone := utterance_sound(journal, start)).exists():
        return read_stretch(alone, 0.0, end - start)
    if (whole := whole_sound(journal)).exists():
        return read_stretch(whole, start, end)
    return None
