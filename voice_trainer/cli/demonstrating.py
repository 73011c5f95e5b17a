"""`voice-trainer listen`: a drill as the perfect student flies it, cues and right calls, one after the other."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import ExitStack

import numpy as np
from rich.text import Text

from voice_trainer.audio.ports import SAMPLE_RATE_HZ
from voice_trainer.audio.wav import WavWriter
from voice_trainer.cli.checks import RECORDING
from voice_trainer.cli.finding import find_drill
from voice_trainer.cli.live_lines import SPEAKERS
from voice_trainer.cli.opening import cast_voices
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.reviewing import opened_player
from voice_trainer.cli.terminal import console
from voice_trainer.drills.model import Drill
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.session.booth import Booth
from voice_trainer.voices.casting import Role

PAUSE_SECONDS = 0.6
"""Between two lines."""

STUDENT = ("You", "bold green")


def listen(options: argparse.Namespace) -> int:
    """Speak a drill, or write it as a WAV file. Raises DrillError, UsageError, VoiceError, AudioError."""
    drill = find_drill(options.drill, options.seed)
    path = options.out
    if path is not None and path.suffix != RECORDING:
        raise UsageError(f"--out: {path} is no .wav file; name one")
    if path is not None and path.exists():
        raise UsageError(f"--out: {path} is there already; name another file, or move it away")
    if path is not None and not path.parent.is_dir():
        raise UsageError(f"--out: there is no folder {path.parent}; make it, or name another")
    out = console()
    with ExitStack() as opened:
        voice, casting = cast_voices(options, out, needed=True)
        play = None
        if path is None:
            options.output = "speaker"
            play = opened_player(options, opened, out)
        booth = Booth(voice, casting)
        opened.callback(booth.close)
        lines = list(lines_of(drill))
        booth.prepare(lines)
        first = booth.clip(*lines[0]).result()  # or an empty file would be left where no voice speaks
        writer = None if path is None else opened.enter_context(WavWriter(path))
        out.print(f"{drill.title}, as the perfect student flies it.", markup=False)
        for number, (speaker, text) in enumerate(lines):
            who, style = SPEAKERS.get(speaker, STUDENT)
            out.print(Text.assemble((f"{who:<11}", style), text))
            clip = first if number == 0 else booth.clip(speaker, text).result()
            pause = np.zeros(round(PAUSE_SECONDS * SAMPLE_RATE_HZ), dtype=np.int16)
            line = np.concatenate([clip, pause])
            if writer is not None:
                writer.append(line)
            if play is not None:
                play(line)
        if writer is not None:
            out.print(f"{path}: {writer.seconds:.0f} seconds.", markup=False)
    return 0


def lines_of(drill: Drill) -> Iterator[tuple[Role, str]]:
    """Who says what, in the order of the steps; what must not be said, or need not, is left out."""
    if drill.preamble is not None:
        yield "instructor", drill.preamble
    for step in drill.steps:
        if step.cue is not None:
            yield step.cue.speaker, drill.spoken(step.cue)
        for call in step.flow.calls if step.flow else ():
            if call.need == "required":
                yield "student", said_aloud(drill.pattern(call).spoken())
