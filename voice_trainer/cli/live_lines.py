"""What a running session looks like in a terminal: a line for everything said, by whom, and when."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from voice_trainer.cli.terminal import say
from voice_trainer.journal.events import (
    Accepted,
    AnyDecision,
    AnyFact,
    AskAgain,
    Commanded,
    CorrectionBegan,
    CueStarted,
    Ended,
    Heard,
    Jumped,
    Paused,
    PutRight,
    Resumed,
    Settled,
    Skipped,
    WentBack,
)

SPEAKERS = {
    "instructor": ("Instructor", "bold"),
    "controller": ("Controller", "bold blue"),
    "aeroplane": ("Aeroplane", "bold magenta"),
}


class LiveLines:
    """A watcher that prints a session as it goes on."""

    def __init__(self, out: Console) -> None:
        self._out = out
        self._settled: set[tuple[str, str, str, str]] = set()
        self._anything_heard = False
        self._over = False

    def __call__(self, record: AnyFact | AnyDecision) -> None:
        """Print what a person wants to see of `record`, if anything."""
        now = record.at_seconds
        match record:
            case CueStarted(speaker=speaker, text=text):
                self._line(now, *SPEAKERS.get(speaker, (speaker.capitalize(), "bold")), text)
            case Heard(hearing=hearing):
                self._anything_heard = True
                said = hearing.text or "(no call)"
                doubt = "" if hearing.clarity == "clear" or not hearing.best else f"   [{hearing.clarity}]"
                self._line(hearing.start_seconds, "You", "bold green", f"{said}{doubt}")
            case Accepted(step=step, call=call, corrects=corrects):
                self._line(
                    now, "", "", f"  heard: {step}, {call}{' (corrected)' if corrects else ''}", dim=True
                )
            case AskAgain(reason=reason, wording=wording):
                shown = "" if wording is None else f", as: {wording}"
                self._line(now, "", "", f"  {reason}: asked to say again{shown}", dim=True)
            case Settled() if self._over and not self._anything_heard:
                pass  # whoever left at once has practised nothing: the debrief says so, and no list of faults does
            case Settled(verdict=verdict, call=call, reason=reason) if verdict != "correct":
                known = (record.step, call, verdict, reason)
                if known in self._settled:  # judged again, since it was put right: nothing new
                    return
                self._settled.add(known)
                self._line(now, "", "", f"  {call}: {verdict}. {reason}", dim=True)
            case CorrectionBegan(step=step, calls=calls):
                self._line(now, "", "", f"  stopped: {step}, {', '.join(calls)}")
            case PutRight(step=step, call=call):
                self._line(now, "", "", f"  put right: {step}, {call}", dim=True)
            case Skipped(step=step):
                self._line(now, "", "", f"  skipped: {step}")
            case Jumped(seconds=seconds):
                self._line(now, "", "", f"  {seconds:.0f} seconds of the flight are left out")
            case WentBack(step=step):
                self._line(now, "", "", f"  back to: {step}")
            case Commanded(by="instructor", verb=verb):
                self._line(now, "", "", f"  the instructor puts it right ({verb})", dim=True)
            case Paused(reason=reason):
                self._line(now, "", "", f"  paused: {reason}")
            case Resumed():
                self._line(now, "", "", "  going on")
            case Ended(reason=reason):
                self._over = reason != "finished"
                self._line(now, "", "", f"  ended: {reason}", dim=True)
            case _:
                pass

    def _line(self, seconds: float, who: str, style: str, text: str, *, dim: bool = False) -> None:
        clock = f"{int(seconds // 60)}:{int(seconds % 60):02d}"
        body = Text(text, style="dim" if dim else "")
        say(self._out, body, first=Text.assemble((f"{clock:>6}  ", "dim"), (f"{who:<11}", style)))
