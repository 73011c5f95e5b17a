"""`voice-trainer record`: a corpus of calls as people say them."""

from __future__ import annotations

import argparse
import hashlib
from contextlib import ExitStack
from pathlib import Path

from rich.console import Console

from voice_trainer.archive.corpus_folder import CorpusFolder, Recording
from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.places import models_folders
from voice_trainer.audio.wav import WavWriter
from voice_trainer.cli.finding import find_drill, installed_packs
from voice_trainer.cli.listening import Ends, check_listening, open_ends, prompted
from voice_trainer.cli.listening_check import ListeningCheck
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.recognisers import recogniser_called
from voice_trainer.cli.terminal import console
from voice_trainer.library.prompts import Prompt, prompts_from
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.trade import trade_phrases
from voice_trainer.recognition.choosing import check_engine
from voice_trainer.recognition.endpointing import Utterance
from voice_trainer.recognition.ports import Recogniser
from voice_trainer.session.background import in_background
from voice_trainer.session.prompted import implausible


def record(options: argparse.Namespace) -> int:
    """Record every prompt that the folder does not have yet; 1 where some could not be."""
    prompts = prompts_from(options.prompts, options.seed, installed_packs())
    check_engine(options.engine, models_folders())
    corpus = CorpusFolder(options.out)
    missing = corpus.lacking([(prompt.said, options.speaker, options.condition) for prompt in prompts])
    out = console()
    if not missing:
        out.print(f"All {len(prompts)} are there already, in {corpus.folder}.", markup=False)
        return 0
    check_listening(options)
    with ExitStack() as opened:
        source = None if options.input == "mic" else _fingerprint(Path(options.input))
        start = corpus.end_in(source, options.speaker, options.condition) if source else 0.0
        ends = open_ends(options, opened, out, start)
        out.print(
            f"Kept: the sound of every prompt that you read, its words, '{options.speaker}' and "
            f"'{options.condition}', in {corpus.folder}, for you alone to read. Nothing leaves this machine. "
            "Ctrl-C ends it.",
            markup=False,
        )
        if done := len(prompts) - len(missing):
            out.print(f"{done} of {len(prompts)} are there already.", markup=False)
            if source:
                where = (
                    f"from second {start:.1f} on, where the last one ended" if start else "from its beginning"
                )
                out.print(f"{options.input} is listened to {where}.", markup=False)
        return _record_all(prompts, missing, corpus, ends, source, options, out)


def _record_all(
    prompts: list[Prompt],
    missing: list[int],
    corpus: CorpusFolder,
    ends: Ends,
    source: str | None,
    options: argparse.Namespace,
    out: Console,
) -> int:
    wanted = [prompts[index] for index in missing]
    check = None
    if options.check:
        loading = in_background(lambda: _listener(prompts, options))
        check = ListeningCheck(loading, out, live=ends.live)

    def objection(at: int, utterance: Utterance) -> str | None:
        prompt = wanted[at]
        reason = implausible(len(prompt.said.split()), utterance)
        if reason and not ends.live:
            second = ends.start_seconds + utterance.speech_start_seconds
            raise UsageError(
                f"{options.input}: at second {second:.1f}, for '{prompt.said}': {reason}; leave two seconds of quiet "
                "after each prompt and none inside, and record into a new folder"
            )
        if reason is None and check is not None and prompt.pattern is not None:
            reason = check.objection(at, prompt.pattern, utterance)
        return reason

    before = len(corpus.recordings)
    try:
        for at, utterance in prompted(
            [prompt.said for prompt in wanted],
            [index + 1 for index in missing],
            len(prompts),
            ends,
            speak=options.speak,
            out=out,
            objection=objection,
        ):
            heard = check.heard.get(at) if check else None
            cut = (source, ends.start_seconds + utterance.end_seconds) if source else None
            keep(corpus, wanted[at], utterance, options, heard=heard, cut=cut)
    finally:
        got = len(corpus.recordings) - before
        left = len(missing) - got
        rest = f"; {left} to go: give the same command again" if left and ends.live else ""
        rest = rest or (f"; {left} to go" if left else "")
        out.print(f"{got} recorded{rest}.", markup=False)
        if check is not None:
            check.told_at_the_end()
    return 1 if left else 0


def keep(
    corpus: CorpusFolder,
    prompt: Prompt,
    utterance: Utterance,
    options: argparse.Namespace,
    *,
    heard: str | None = None,
    cut: tuple[str, float] | None = None,
) -> Path:
    """Write the sound, then its line; `cut` is the recording that it was cut from, and up to which second.

    Raises AudioError and ArchiveError.
    """
    path = corpus.new_file(options.speaker)
    with WavWriter(path, private=True, new=True) as file:
        file.append(utterance.samples)
    pattern = prompt.pattern
    try:
        corpus.add(
            Recording(
                file=path.name,
                said=prompt.said,
                speaker=options.speaker,
                condition=options.condition,
                drill=prompt.drill,
                expect=pattern.text if pattern else None,
                region=pattern.region if pattern and pattern.region != "faa" else None,
                heard=heard,
                source=cut[0] if cut else None,
                source_end_seconds=round(cut[1], 3) if cut else None,
            )
        )
    except ArchiveError:
        path.unlink(missing_ok=True)  # sound that no line names would be there for ever
        raise
    return path


def _listener(prompts: list[Prompt], options: argparse.Namespace) -> Recogniser:
    """The recogniser, listening for all prompts with every value open, and for the sentences of the trade."""
    patterns = [prompt.pattern for prompt in prompts if prompt.pattern is not None]
    region = patterns[0].region if patterns else "faa"
    pronounce = find_drill(options.prompts).pronounce if prompts[0].drill else {}
    recogniser = recogniser_called(options.engine)
    calls = [Phrase(pattern.opened(), "call") for pattern in patterns]
    recogniser.prepare(Grammar((*calls, *trade_phrases(region))), pronounce)
    return recogniser


def _fingerprint(path: Path) -> str:
    """The SHA-256 of a file. Raises OSError."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()
