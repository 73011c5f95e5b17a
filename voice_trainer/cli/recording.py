"""`voice-trainer record`: a corpus of calls as people say them."""

from __future__ import annotations

import argparse
from contextlib import ExitStack
from pathlib import Path

from rich.console import Console

from voice_trainer.archive.corpus_folder import CorpusFolder, Recording
from voice_trainer.audio.wav import WavWriter
from voice_trainer.cli.listening import Ends, open_ends, prompted
from voice_trainer.cli.terminal import console
from voice_trainer.library.prompts import Prompt, prompts_from
from voice_trainer.recognition.endpointing import Utterance


def record(options: argparse.Namespace) -> int:
    """Record every prompt that the folder does not have yet; 1 where some could not be."""
    prompts = prompts_from(options.prompts, options.seed)
    out = console()
    corpus = CorpusFolder(options.out)
    keys = [(prompt.said, options.speaker, options.condition) for prompt in prompts]
    missing = corpus.lacking(keys)
    out.print(
        f"Kept: the sound of every prompt that you read, its words, '{options.speaker}' and '{options.condition}', "
        f"in {corpus.folder}, for you alone to read. Nothing leaves this machine. Ctrl-C ends it.",
        markup=False,
    )
    if done := len(prompts) - len(missing):
        out.print(f"{done} of {len(prompts)} are there already.", markup=False)
    before = len(corpus.recordings)
    try:
        if missing:
            with ExitStack() as opened:
                _record_all(prompts, missing, corpus, open_ends(options, opened, out), options, out)
    finally:
        got = len(corpus.recordings) - before
        left = len(missing) - got
        rest = f"; {left} to go: give the same command again" if left else ""
        out.print(f"{got} recorded{rest}.", markup=False)
    return 1 if left else 0


def _record_all(
    prompts: list[Prompt],
    missing: list[int],
    corpus: CorpusFolder,
    ends: Ends,
    options: argparse.Namespace,
    out: Console,
) -> None:
    wanted = [prompts[index] for index in missing]
    numbers = [index + 1 for index in missing]
    for at, utterance in prompted(
        [prompt.said for prompt in wanted], numbers, len(prompts), ends, speak=options.speak, out=out
    ):
        keep(corpus, wanted[at], utterance, options)


def keep(corpus: CorpusFolder, prompt: Prompt, utterance: Utterance, options: argparse.Namespace) -> Path:
    """Write the sound, then its line. Raises AudioError and ArchiveError."""
    path = corpus.new_file(options.speaker)
    with WavWriter(path, private=True) as file:
        file.append(utterance.samples)
    corpus.add(
        Recording(
            file=path.name,
            said=prompt.said,
            speaker=options.speaker,
            condition=options.condition,
            drill=prompt.drill,
        )
    )
    return path
