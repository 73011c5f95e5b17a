"""The debrief as a page on disk: which file, and what can be listened to in it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from voice_trainer.archive.journal_file import Journal
from voice_trainer.archive.session_files import page_file
from voice_trainer.audio.errors import AudioError
from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.cli.page_files import BESIDE_THE_JOURNAL
from voice_trainer.debrief.report import Debrief
from voice_trainer.journal.utterances import Utterance, said_for, utterances
from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.kinds import DEBRIEF_PAGE
from voice_trainer.outputs.writing import write_output

if TYPE_CHECKING:
    from voice_trainer.debrief.page import Clip


def write_page(
    option: str,
    wanted: Path,
    journal_path: Path,
    journal: Journal,
    debrief: Debrief,
    say: Callable[[str], None],
    *,
    answers: bool = False,
) -> Path:
    """Write the page, for its owner's eyes only, and return where it is. Raises OutputError, ArchiveError, VoiceError.

    With `answers` the right calls can be heard as well. Sound that is damaged is left out, and said to be.
    """
    from voice_trainer.debrief.page import Sounds, page_of

    path = page_file(journal_path) if wanted == BESIDE_THE_JOURNAL else wanted
    check_output(option, path, DEBRIEF_PAGE)
    said, others = _kept(journal_path, journal, debrief, say)
    sounds = Sounds(said, _answers(debrief) if answers else {}, others)
    write_output(option, path, DEBRIEF_PAGE, page_of(debrief, journal.records, sounds))
    return path


def _kept(
    path: Path, journal: Journal, debrief: Debrief, say: Callable[[str], None]
) -> tuple[dict[tuple[str, str], list[Clip]], list[Clip]]:
    """What was kept of each call's utterances, and of utterances that were no call."""
    said: dict[tuple[str, str], list[Clip]] = {}
    embedded: set[float] = set()
    spoken = utterances(journal.records)
    in_doubt = {(v.step, v.call) for v in debrief.grade.verdicts if v.verdict in ("disputed", "unclear")}
    calls = [(v.step, v.call) for v in debrief.grade.verdicts]
    calls += [(c.step, c.call) for c in debrief.grade.critical]
    for call in dict.fromkeys(calls):
        known = [each for each in spoken if call in each.calls]
        for each in said_for(journal.records, *call) if call in in_doubt else known:
            repeated = each.start_seconds in embedded
            if (clip := _clip_of(path, each, say, repeated=repeated)) is not None:
                said.setdefault(call, []).append(clip)
                embedded.add(each.start_seconds)
    rest = (each for each in spoken if each.start_seconds not in embedded)
    return said, [clip for each in rest if (clip := _clip_of(path, each, say)) is not None]


def _clip_of(
    path: Path, utterance: Utterance, say: Callable[[str], None], *, repeated: bool = False
) -> Clip | None:
    from voice_trainer.session.kept_sound import sound_of

    try:
        samples = sound_of(path, utterance)
        if samples is None or not len(samples):
            return None
        return _clip(utterance.start_seconds, samples, repeated=repeated)
    except AudioError as problem:
        say(f"left out of the page: {problem}")
        return None


def _clip(start_seconds: float, samples: Samples, *, repeated: bool = False) -> Clip:
    from voice_trainer.audio.small_sound import data_uri
    from voice_trainer.debrief.page import Clip

    uri = "" if repeated else data_uri(samples)
    return Clip(start_seconds, len(samples) / SAMPLE_RATE_HZ, uri, repeated)


def _answers(debrief: Debrief) -> dict[tuple[str, str], Clip]:
    """The right calls of all that was not right, spoken. Raises VoiceError."""
    from voice_trainer.archive.places import voice_cache_folder
    from voice_trainer.phraseology.speaking import said_aloud
    from voice_trainer.voices.cache import CachedVoice
    from voice_trainer.voices.casting import Casting
    from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

    engine = Pyttsx3Voice()
    style = Casting.of(engine).style("student")
    voice = CachedVoice(engine, voice_cache_folder())
    return {
        (each.step, each.call): _clip(0.0, voice.render(said_aloud(each.expected.split()), style))
        for each in debrief.grade.verdicts
        if each.verdict != "correct"
    }
