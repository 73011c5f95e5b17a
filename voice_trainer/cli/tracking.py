"""`voice-trainer track`: an audio file of flows, with gaps to answer in and the right calls."""

from __future__ import annotations

import argparse
import errno
import os
from collections.abc import Sequence
from contextlib import ExitStack
from datetime import datetime
from pathlib import Path

from rich.console import Console

from voice_trainer.cli.due import due_now
from voice_trainer.cli.finding import find_drill, installed_packs
from voice_trainer.cli.opening import cast_voices
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.terminal import console, shown
from voice_trainer.drills.model import Drill
from voice_trainer.journal.events import Settings
from voice_trainer.library.errors import quoted
from voice_trainer.library.wording import listed, nearest
from voice_trainer.phraseology.counting import counted
from voice_trainer.session.booth import Booth
from voice_trainer.tracks.assembling import TooLongError, Track, assemble
from voice_trainer.tracks.encoding import FORMATS, encode
from voice_trainer.tracks.script import CAUTION, FlowScript, flow_names, script_of_excerpt, scripts_of
from voice_trainer.tracks.segments import segments_json
from voice_trainer.tracks.whole_file import write_whole

MOST_LISTED = 12
NOTHING_DUE = 1
LONGEST_LINE = 400

_FILES = (".yaml", ".yml")


def track(options: argparse.Namespace) -> int:
    """Write the track; 1 where nothing is due. Raises UsageError, DrillError, VoiceError, LogbookError."""
    _check(options)
    path: Path = options.out
    form = FORMATS[path.suffix.lower()]
    out = console()
    flows, more = _due_flows(options, out) if options.due else (_named_flows(options.items, options.seed), 0)
    if not flows:
        out.print("Nothing is due: no track was made. Name a drill, or a drill and a step.", markup=False)
        return NOTHING_DUE
    made = _assembled(flows, options, out)
    drills = list(dict.fromkeys(flow.drill for flow in flows))
    title = f"Voice trainer: {', '.join(drills[:3])}{' and more' if len(drills) > 3 else ''}"
    _write(path, encode(made, form, title, CAUTION))
    if options.segments is not None:
        _write(options.segments, segments_json(made, path.name).encode())
    minutes, seconds = divmod(round(made.seconds), 60)
    chapters = "with a chapter for each flow" if form.chapters != "none" else "without chapters: WAV has none"
    length = f"{counted(len(made.chapters) - 1, 'flow')}, {minutes} min {seconds} s"
    out.print(f"{shown(str(path), LONGEST_LINE)}: {length}, {form.name} {chapters}.", markup=False)
    if more := more + made.left_out:
        out.print(
            f"{more} more did not fit into {_minutes(options):g} {'minute' if _minutes(options) == 1 else 'minutes'}.",
            markup=False,
        )
    return 0


def _assembled(flows: Sequence[FlowScript], options: argparse.Namespace, out: Console) -> Track:
    with ExitStack() as opened:
        voice, casting = cast_voices(options, out, needed=True)
        booth = Booth(voice, casting)
        opened.callback(booth.close)
        booth.prepare([("instructor", CAUTION), *(line for flow in flows for line in flow.lines)])

        def tell(flow: FlowScript, seconds: float) -> None:
            clock = f"{int(seconds // 60)}:{int(seconds % 60):02d}"
            out.print(f"{clock:>6}  {shown(flow.chapter, 130)}", markup=False)

        out.print(CAUTION, style="dim", markup=False)
        try:
            return assemble(
                flows,
                lambda speaker, text: booth.clip(speaker, text).result(),
                options.pace,
                _minutes(options) * 60 if options.due else None,
                tell,
            )
        except TooLongError as error:
            raise UsageError(str(error)) from error


def _minutes(options: argparse.Namespace) -> float:
    from voice_trainer.cli.practising import USUAL_MINUTES

    return float(USUAL_MINUTES if options.minutes is None else options.minutes)


def _check(options: argparse.Namespace) -> None:
    """What can be told before anything is read or spoken. Raises UsageError."""
    if options.due == bool(options.items):
        raise UsageError("track: name drills, or DRILL/STEP, or give --due: one of the two")
    for name, value in (
        ("--minutes", options.minutes),
        ("--student", options.student),
        ("--new", options.new),
    ):
        if value is not None and not options.due:
            raise UsageError(f"{name} belongs to --due; leave it out")
    if options.out.suffix.lower() not in FORMATS:
        raise UsageError(
            f"--out: {quoted(options.out)} is of no kind that can be written; name a file that ends in "
            f"{listed(FORMATS)}"
        )
    _check_place("--out", options.out)
    if options.segments is not None:
        _check_place("--segments", options.segments)
        if options.segments.resolve() == options.out.resolve():
            raise UsageError(f"--segments: {options.segments} is the file of --out too; name another")


def _check_place(option: str, path: Path) -> None:
    if path.is_dir():
        raise UsageError(f"{option}: {path} is a folder; name a file in it")
    if path.exists() and not path.is_file():
        raise UsageError(f"{option}: {path} is no file; name one")
    folder = path.resolve().parent
    if not folder.is_dir():
        raise UsageError(f"{option}: there is no folder {folder}; make it, or name another")
    if not os.access(folder, os.W_OK | os.X_OK):
        raise UsageError(f"{option}: nothing can be written into {folder}; name a file in another folder")


def _write(path: Path, content: bytes) -> None:
    try:
        write_whole(path, content)
    except OSError as error:
        full = error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
        advice = "make room on the disk" if full else "name a file in a folder that is there and is yours"
        raise UsageError(f"{path}: can't be written ({(error.strerror or '').lower()}); {advice}") from error


def _named_flows(items: Sequence[str], seed: int) -> list[FlowScript]:
    """The flows of the items, in their order. Raises DrillError and UsageError."""
    drills: dict[str, Drill] = {}
    found: list[tuple[Drill, str]] = []
    for item in items:
        name, step = _split(item)
        if name not in drills:
            drills[name] = find_drill(name, seed)
        drill = drills[name]
        known = flow_names(drill)
        if not known:
            raise UsageError(f"{quoted(item)}: nothing is to be said in this drill; name another")
        if step is not None and step not in known:
            raise UsageError(f"{quoted(item)}: {_no_such_step(step, known)}")
        found += [(drill, each) for each in (known if step is None else (step,))]
    return scripts_of(found)


def _split(item: str) -> tuple[str, str | None]:
    """The drill, by name or file, and the step, if one is named; a drill of a pack is called PACK/NAME."""
    if item.endswith(_FILES):
        return item, None
    name, _, step = item.rpartition("/")
    if name.endswith(_FILES):
        return name, step
    first, *rest = item.split("/")
    if first in ("", ".", "..", "~") or not rest or len(rest) > 2:
        return item, None
    if len(rest) == 1:
        packs = installed_packs()
        is_whole = item in packs.drills() or item in packs.procedures()
        return (item, None) if is_whole else (first, rest[0])
    return f"{first}/{rest[0]}", rest[1]


def _no_such_step(step: str, known: Sequence[str]) -> str:
    likely = nearest(step, known)
    if likely:
        advice = f"did you mean '{likely}'?"
    elif len(known) <= MOST_LISTED:
        advice = f"use {listed(known)}"
    else:
        advice = f"use one of its {len(known)}, such as {listed(known[:3])}"
    return f"no step {quoted(step)} of this drill has a flow; {advice}"


def _due_flows(options: argparse.Namespace, out: Console) -> tuple[list[FlowScript], int]:
    """What 'run --due' would practise, in its order, and how many flows more there are. Raises LogbookError."""
    from voice_trainer.cli.practising import plan_of

    found = due_now(options.student or "", datetime.now().astimezone(), options.new)
    unreadable: list[str] = []

    def tell(line: str) -> None:
        unreadable.append(line)
        out.print(shown(line, LONGEST_LINE), markup=False)

    plan = plan_of(found, _minutes(options), find_drill, Settings(seed=options.seed), tell)
    flows: list[FlowScript] = []
    while (chosen := plan.next()) is not None:
        flows.append(script_of_excerpt(chosen[0].excerpt(0)))
        plan.done(chosen[0], 0.0, failed=False)
    return flows, len(found.due) + len(found.new) - len(unreadable) - len(flows)
