"""`voice-trainer track`: an audio file of flows, with gaps to answer in and the right calls."""

from __future__ import annotations

import argparse
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
from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.kinds import SEGMENTS, TRACK
from voice_trainer.outputs.writing import write_output
from voice_trainer.phraseology.counting import counted
from voice_trainer.session.booth import Booth
from voice_trainer.tracks.assembling import TooLongError, Track, assemble
from voice_trainer.tracks.encoding import FORMATS, encode
from voice_trainer.tracks.script import CAUTION, FlowScript, flow_names, script_of_excerpt, scripts_of
from voice_trainer.tracks.segments import segments_json

MOST_LISTED = 12
NOTHING_DUE = 1
LONGEST_LINE = 400

_FILES = (".yaml", ".yml")


def track(options: argparse.Namespace) -> int:
    """Write the track; 1 where nothing is due. Raises UsageError, OutputError, DrillError, VoiceError, LogbookError."""
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
    write_output("--out", path, TRACK, encode(made, form, title, CAUTION))
    if options.segments is not None:
        write_output("--segments", options.segments, SEGMENTS, segments_json(made, path.name))
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
    """What can be told before anything is read or spoken. Raises UsageError and OutputError."""
    if options.due == bool(options.items):
        raise UsageError("track: name drills, or DRILL/STEP, or give --due: one of the two")
    for name, value in (
        ("--minutes", options.minutes),
        ("--student", options.student),
        ("--new", options.new),
    ):
        if value is not None and not options.due:
            raise UsageError(f"{name} belongs to --due; leave it out")
    check_output("--out", options.out, TRACK)
    if options.segments is not None:
        check_output("--segments", options.segments, SEGMENTS)
        if options.segments.resolve() == options.out.resolve():
            raise UsageError(f"--segments: {options.segments} is the file of --out too; name another")


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
