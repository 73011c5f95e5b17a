"""`voice-trainer hear`: what is said in recordings, held against the call that is expected.

The expected value plays no part in the hearing: every pattern is opened before the recogniser sees it.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from voice_trainer.archive.places import models_folders
from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ, Samples
from voice_trainer.audio.wav import check_recording, read_wav
from voice_trainer.cli.finding import everything, find_drill
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.profiles import profile_in_force, wanted_profile
from voice_trainer.cli.recognisers import recogniser_called
from voice_trainer.cli.streams import write_json
from voice_trainer.cli.terminal import console
from voice_trainer.drills.domain import domain_of
from voice_trainer.journal.hearing import Hearing
from voice_trainer.library.drill_files import LONGEST_TEXT
from voice_trainer.library.errors import quoted
from voice_trainer.library.reading import content_of
from voice_trainer.library.wording import listed
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import Pattern, PatternError, compile_pattern
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.trade import trade_phrases
from voice_trainer.recognition.choosing import check_engine
from voice_trainer.recognition.endpointing import Endpointer, EndpointingSettings, Utterance, VoiceActivity
from voice_trainer.recognition.ports import Recogniser

MOST_MANIFEST_BYTES = 64 << 20


@dataclass(frozen=True, slots=True)
class Question:
    """A recording, as it was named and where it is, the call that is expected in it, and the drill of that call."""

    file: str
    path: Path
    expected: Pattern
    drill: str | None = None


def hear(options: argparse.Namespace) -> int:
    """Print a result for every recording, in order; 0 only when every one is what was expected."""
    check_engine(options.engine, models_folders())
    questions = list(_questions(options))
    if not questions:
        raise UsageError(f"{options.manifest}: no line in it; record something, or list files and patterns")
    for question in questions:
        check_recording(question.path)
    profile = wanted_profile(options)
    expected = [Phrase(question.expected.opened(), "call") for question in questions]
    if options.drill is None:
        grammar = Grammar((*expected, *trade_phrases(questions[0].expected.region)))
        pronounce = _names_of({question.drill for question in questions})
    else:
        drill = find_drill(options.drill)
        grammar, pronounce = Grammar((*expected, *domain_of(drill).phrases)), drill.pronounce
    recogniser = recogniser_called(options.engine)
    recogniser.prepare(grammar, pronounce)
    out = console()
    # What is printed to a file or a pipe stays what it was: a line a recording.
    profile_in_force(recogniser, profile, console(to_stderr=True))
    right = True
    for question in questions:
        result = _result(question, recogniser)
        right &= result["verdict"] == "correct"
        if options.json:
            write_json(json.dumps(result) + "\n")
        else:
            out.print(
                f"{result['file']}: {result['verdict']}: {result['heard'] or '(nothing)'}", markup=False
            )
    return 0 if right else 1


def _names_of(drills: set[str | None]) -> dict[str, str]:
    """How the names in these drills sound, as far as they are built in, or of a pack."""
    known = everything()
    return {
        word: phones
        for name in sorted(drills & known.keys(), key=str)
        for word, phones in find_drill(str(name)).pronounce.items()
    }


def verdict_on(hearing: Hearing, expected: Pattern) -> str:
    """correct, wrong value, extra (some other call), unclear or not a call."""
    if hearing.clarity != "clear" or hearing.best is None:
        return hearing.clarity if hearing.clarity != "clear" else "not a call"
    slots = [m.slots for s in hearing.best.spans for m in s.meanings if m.phrase == expected.phrase]
    if not slots:
        return "extra"
    return "correct" if any(not expected.differences(each) for each in slots) else "wrong value"


def utterance_in(recording: Samples) -> Utterance | None:
    """The speech in a recording, from its first word to its last; None where nobody speaks."""
    whole = max(len(recording) / SAMPLE_RATE_HZ, 1.0)
    endpointer = Endpointer(
        EndpointingSettings(hangover_seconds=whole, maximum_utterance_seconds=whole + 60.0)
    )
    activity = VoiceActivity()
    padding = -len(recording) % BLOCK_SAMPLES
    padded = _with_silence(recording, padding)
    events = [e for block, p in activity.feed(padded) for e in endpointer.feed(block, p)] + endpointer.close()
    return next((event for event in events if isinstance(event, Utterance)), None)


def _with_silence(recording: Samples, count: int) -> Samples:
    import numpy as np

    return np.concatenate([recording, np.zeros(count, np.int16)])


def _result(question: Question, recogniser: Recogniser) -> dict[str, Any]:
    utterance = utterance_in(read_wav(question.path))
    began = time.perf_counter()
    if utterance is None:
        nothing: dict[str, Any] = {
            "heard": "",
            "verdict": "not a call",
            "slots": {},
            "words": [],
            "margin": None,
            "gap": None,
        }
        return {"file": question.file, **nothing, "seconds": 0.0}
    hearing = recogniser.hear(utterance.samples, utterance.start_seconds)
    spans = hearing.best.spans if hearing.best else ()
    return {
        "file": question.file,
        "heard": hearing.text,
        "verdict": verdict_on(hearing, question.expected),
        "slots": _merged(m.slots for span in spans for m in span.meanings[:1]),
        "words": [word.model_dump() for span in spans for word in span.words],
        "margin": hearing.margin,
        "gap": hearing.gap,
        "seconds": round(time.perf_counter() - began, 3),
    }


def _merged(slots: Iterator[dict[str, str]]) -> dict[str, str]:
    """The slots of all spans; a key that comes again gets a number."""
    merged: dict[str, str] = {}
    for each in slots:
        for key, value in each.items():
            number, free = 2, key
            while free in merged:
                free, number = f"{key} {number}", number + 1
            merged[free] = value
    return merged


def _questions(options: argparse.Namespace) -> Iterator[Question]:
    if options.manifest is not None:
        if options.files or options.expect is not None:
            raise UsageError("--manifest names the files and what to expect: give it alone")
        yield from _listed(Path(options.manifest), options.region)
        return
    if not options.files or options.expect is None:
        raise UsageError("hear needs FILE... with --expect PATTERN, or --manifest LIST.jsonl")
    expected = _compiled(options.expect, options.region, "--expect")
    for file in options.files:
        yield Question(file, Path(file), expected)


def _listed(path: Path, region: Region) -> Iterator[Question]:
    """The lines of a manifest, as `record` writes it; files are named as seen from its folder."""
    advice = "name a file of JSON lines, such as the manifest.jsonl of 'voice-trainer record'"
    content = content_of(path, str(path), advice, MOST_MANIFEST_BYTES)
    if len(content) > MOST_MANIFEST_BYTES:
        raise UsageError(
            f"{path}: larger than {MOST_MANIFEST_BYTES >> 20} MiB; split it into several manifests"
        )
    try:
        lines = content.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError as error:
        raise UsageError(f"{path}: the manifest is not text; name a file of JSON lines, in UTF-8") from error
    for number, line in enumerate(lines, start=1):
        if line.strip():
            yield _question(line, f"{path}:{number}", path.parent, region)


def _question(line: str, where: str, folder: Path, usual_region: Region) -> Question:
    try:
        entry = json.loads(line)
    except (ValueError, RecursionError) as problem:
        raise UsageError(f"{where}: not a JSON object ({problem}); write one a line") from problem
    if not (isinstance(entry, dict) and isinstance(entry.get("file"), str)):
        raise UsageError(f'{where}: a line needs {{"file": "...", "expect": "..."}}; mend it')
    if not isinstance(entry.get("expect"), str):
        raise UsageError(
            f'{where}: it does not say what to expect; add "expect": "..." with a pattern, or leave the line out'
        )
    region = entry.get("region", usual_region)
    if region not in get_args(Region):
        raise UsageError(f"{where}: there is no region {quoted(region)}; use {listed(get_args(Region))}")
    drill = entry.get("drill")
    return Question(
        entry["file"],
        folder / entry["file"],
        _compiled(entry["expect"], region, where),
        drill if isinstance(drill, str) else None,
    )


def _compiled(text: str, region: Region, where: str) -> Pattern:
    if len(text) > LONGEST_TEXT:
        raise UsageError(f"{where}: the pattern is longer than {LONGEST_TEXT} characters; shorten it")
    try:
        return compile_pattern(text, region=region)
    except PatternError as problem:
        raise UsageError(f"{where}: {problem}") from problem
