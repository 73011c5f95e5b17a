"""`voice-trainer plan`: the kneeboard card of an approach, worked out for today's wind."""

from __future__ import annotations

import argparse
from pathlib import Path

from rich.console import Console
from rich.text import Text

from voice_trainer.cli.finding import find_flown
from voice_trainer.cli.new_approach import ask_for_approach
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.terminal import console
from voice_trainer.cli.today import wanted_today
from voice_trainer.kneeboard.page import card_page
from voice_trainer.kneeboard.pdf import card_pdf
from voice_trainer.kneeboard.views import plan_view, profile_view
from voice_trainer.library.errors import quoted
from voice_trainer.outputs.checking import check_output
from voice_trainer.outputs.kinds import CARD_PAGE, CARD_PDF, Kind
from voice_trainer.outputs.writing import write_output
from voice_trainer.procedures.card import Card, CardCall, CardStep, card_of
from voice_trainer.session.proving import prove


def plan(options: argparse.Namespace) -> int:
    """Print the card of an approach, or how one of its calls was worked out; or ask for a new one."""
    if options.approach == "new":
        return ask_for_approach(options.file)
    if options.file is not None:
        raise UsageError(f"{quoted(options.file)} is one argument too many; FILE belongs to 'plan new'")
    for option, path, kind in _files(options):
        check_output(option, path, kind)
    drill = find_flown(options.approach, options.seed, wanted_today(options))
    card = card_of(drill)
    if options.explain is not None:
        return _explain(card, options.explain)
    proof = prove(drill)
    out = console()
    views = (plan_view(drill, proof.records), profile_view(drill, proof.records))
    if options.html is not None:
        write_output("--html", options.html, CARD_PAGE, card_page(card, views, proof.said))
    if options.pdf is not None:
        write_output("--pdf", options.pdf, CARD_PDF, card_pdf(card, views, proof.said))
    if options.html is None and options.pdf is None:
        _print(card, out)
        out.print()
        out.print(Text(f"Flown in rehearsal: {proof.said}", style="dim"))
    for _, path, _ in _files(options):
        out.print(f"Written: {path}", markup=False)
    for line in card.cautions:
        out.print(Text(line, style="dim"))
    return 0


def _files(options: argparse.Namespace) -> list[tuple[str, Path, Kind]]:
    """The files that were asked for: by which option, where, and of which kind."""
    asked = (("--html", options.html, CARD_PAGE), ("--pdf", options.pdf, CARD_PDF))
    return [(option, path, kind) for option, path, kind in asked if path is not None]


def _explain(card: Card, name: str) -> int:
    found = card.explained(name)
    if not found:
        known = ", ".join(dict.fromkeys(call.name for step in card.steps for call in step.calls))
        raise UsageError(f"no call is called {quoted(name)}; the calls are {known}")
    out = console()
    for step, call in found:
        out.print(Text.assemble((f"{step.name}, {call.name}", "bold"), f": {call.said}"))
        out.print(Text(f"  {call.because or 'As the house says it.'}"))
    return 0


def _print(card: Card, out: Console) -> None:
    out.print(Text(card.title, style="bold"))
    out.print(Text("; ".join(f"{what}: {much}" for what, much in card.facts)))
    for step in card.steps:
        out.print()
        event = f" ({step.event})" if step.event else ""
        out.print(Text.assemble((f"{step.name}{event}", "bold"), f"  {step.cue}"))
        width = max((len(call.said) for call in step.calls), default=0)
        for call in step.calls:
            out.print(_line(step, call, width))


def _line(step: CardStep, call: CardCall, width: int) -> Text:
    return Text.assemble(f"  {call.said:<{width}}", ("   " + call.because if call.because else "", "dim"))
