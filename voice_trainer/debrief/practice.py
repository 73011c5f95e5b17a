"""The debrief of a whole practice session: what was practised, and the weakest of it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from rich.console import Console
from rich.text import Text

from voice_trainer.debrief.report import CAUTION, Debrief
from voice_trainer.debrief.spoken import correction_said, number_said
from voice_trainer.debrief.text import MARKS
from voice_trainer.drills.spoken_names import spoken_name
from voice_trainer.journal.events import Settled
from voice_trainer.phraseology.counting import counted

BRIEF_WORDS = 75
"""About thirty seconds at the rate of the trainer's voices."""

BRIEF_CORRECTIONS = 2


@dataclass(frozen=True, slots=True)
class PractisedItem:
    """A flow, practised once: its journal's debrief, whether it failed, and why it is rated so, in a phrase.

    What is `cut_short`, by who ended the session in the middle of it, is not rated.
    """

    debrief: Debrief
    failed: bool
    skipped: bool = False
    why: str = ""
    cut_short: bool = False

    @property
    def step(self) -> str:
        """The step that was practised."""
        return self.debrief.drill.steps[-1].step

    def corrections(self) -> list[Settled]:
        """What was wrong, the worst first; of what was cut short, no call for which there was no time."""
        return [
            each for each in self.debrief.corrections() if not (self.cut_short and each.verdict == "missed")
        ]

    @property
    def key(self) -> tuple[str, str]:
        """Drill and step."""
        return (self.debrief.drill.drill, self.step)


def practice_said(items: Sequence[PractisedItem], *, full: bool = False) -> list[str]:
    """Sentences for a voice: how much was practised, what came back, and the weakest calls; `full`: all of them."""
    by_key = _by_key(items)
    if not by_key:
        return ["Nothing was practised."]
    right = sum(not (those[0].failed or those[0].cut_short) for those in by_key.values())
    count = len(by_key)
    things = "thing" if count == 1 else "things"
    lines = [
        f"Debrief. {number_said(count).capitalize()} {things} practised, {number_said(right)} known at once."
    ]
    came_back = [those for those in by_key.values() if len(those) > 1]
    if came_back:
        put_right = sum(not those[-1].failed for those in came_back)
        lines.append(
            f"{number_said(len(came_back)).capitalize()} came back, {number_said(put_right)} right then."
        )
    open_still = [those[-1] for those in by_key.values() if those[-1].failed]
    if open_still:
        names = "; ".join(dict.fromkeys(spoken_name(each.debrief.drill) for each in open_still))
        lines.append(f"Not right yet: {names}.")
    words = sum(len(line.split()) for line in lines)
    weakest = _weakest(by_key.values())
    for number, told in enumerate(weakest):
        words += len(told.split())
        if not full and (number >= BRIEF_CORRECTIONS or (number and words > BRIEF_WORDS)):
            break
        lines.append(told)
    if not weakest and not open_still:
        lines.append("Nothing to correct. Well done.")
    return lines


def print_practice(items: Sequence[PractisedItem], console: Console) -> None:
    """Print the whole session: an item a line, in the order of practice; then the weakest calls."""
    for line in practice_lines(items):
        console.print(line, soft_wrap=True, highlight=False, markup=False)


def practice_lines(items: Sequence[PractisedItem]) -> list[Text]:
    """The printed debrief, a line each."""
    items = [each for each in items if each.debrief.practised]
    if not items:
        return [Text("Nothing was practised.", style="bold"), Text(), Text(CAUTION, style="dim")]
    seconds = sum(each.debrief.seconds for each in items)
    lines = [
        Text(
            f"Practice: {counted(len(_by_key(items)), 'flow')} in {int(seconds) // 60}:{int(seconds) % 60:02d}",
            style="bold",
        )
    ]
    seen: set[tuple[str, str]] = set()
    for each in items:
        sign, style = (".", "") if each.cut_short else MARKS[0.0 if each.failed else 1.0]
        again = ", again" if each.key in seen else ""
        seen.add(each.key)
        why = f": {each.why}" if each.why else ""
        lines.append(Text(f"  {sign} {each.debrief.drill.title}, {each.step}{again}{why}", style=style))
    corrections = [
        f"  {settled.step}, {settled.call}: {settled.verdict}. {settled.reason}"
        for each in items
        for settled in each.corrections()
    ]
    if corrections:
        lines += [Text(), Text("What to work on", style="bold"), *map(Text, dict.fromkeys(corrections))]
    return [*lines, Text(), Text(CAUTION, style="dim")]


def _by_key(items: Iterable[PractisedItem]) -> dict[tuple[str, str], list[PractisedItem]]:
    """Every flow with its tries in their order; what was ended before anything was said is none."""
    found: dict[tuple[str, str], list[PractisedItem]] = {}
    for each in items:
        if each.debrief.practised:
            found.setdefault(each.key, []).append(each)
    return found


def _weakest(practised: Iterable[Sequence[PractisedItem]]) -> list[str]:
    """The corrections of what failed most often first, each said once; skipped flows have nothing to correct."""
    often = sorted(practised, key=lambda those: sum(each.failed for each in those), reverse=True)
    told = [
        correction_said(settled)
        for those in often
        for each in those
        if not each.skipped
        for settled in each.corrections()
    ]
    return list(dict.fromkeys(told))
