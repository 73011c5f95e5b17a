"""`voice-trainer listen`: a drill as the perfect student flies it, cues and right calls, one after the other."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import ExitStack

import numpy as np
from rich.text import Text

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Samples
from voice_trainer.audio.wav import wav_bytes
from voice_trainer.cli.finding import find_drill
from voice_trainer.cli.live_lines import SPEAKERS
from voice_trainer.cli.opening import cast_voices
from voice_trainer.cli.reviewing import opened_player
from voice_trainer.cli.terminal import console
from voice_trainer.drills.model import Drill
from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.kinds import SOUND
from voice_trainer.outputs.writing import write_output
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.session.booth import Booth
from voice_trainer.voices.casting import Role

PAUSE_SECONDS = 0.6
"""Between two lines."""

STUDENT = ("You", "bold green")


def listen(options: argparse.Namespace) -> int:
    """Speak a drill, or write it as a WAV file. Raises DrillError, OutputError, VoiceError, AudioError."""
    drill = find_drill(options.drill, options.seed)
    path = options.out
    if path is not None:
        check_output("--out", path, SOUND)
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
        first = booth.clip(*lines[0]).result()  # or a title would be printed where no voice speaks
        spoken: list[Samples] = []
        out.print(f"{drill.title}, as the perfect student flies it.", markup=False)
        for number, (speaker, text) in enumerate(lines):
            who, style = SPEAKERS.get(speaker, STUDENT)
            out.print(Text.assemble((f"{who:<11}", style), text))
            clip = first if number == 0 else booth.clip(speaker, text).result()
            pause = np.zeros(round(PAUSE_SECONDS * SAMPLE_RATE_HZ), dtype=np.int16)
            line = np.concatenate([clip, pause])
            spoken.append(line)
            if play is not None:
                play(line)
        if path is not None:
            whole = np.concatenate(spoken)
            write_output("--out", path, SOUND, wav_bytes(whole))
            out.print(f"{path}: {len(whole) / SAMPLE_RATE_HZ:.0f} seconds.", markup=False)
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
