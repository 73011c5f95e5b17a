"""The printed debrief: plain lines, no meaning in colour alone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.text import Text

from voice_trainer.debrief.report import CAUTION, CORRECTIONS_SHOWN, Debrief
from voice_trainer.grading.interventions import STOPPED_REMARKS
from voice_trainer.grading.score import POINTS, Ratio, in_words
from voice_trainer.grading.word_pairs import WordPair, pairs_of_call
from voice_trainer.journal.events import Settled
from voice_trainer.journal.reviewing import Overruling

MARKS = {1.0: ("+", "green"), 0.5: ("~", "yellow"), 0.0: ("x", "red"), None: ("?", "cyan")}
"""What a call earned, as a sign: whole, half, nothing, not counted."""


NARROWEST_CALL = 14
"""Characters of the column of calls' names; longer names make it wider."""


def print_debrief(debrief: Debrief, console: Console) -> None:
    """Print the whole debrief."""
    for line in debrief_lines(debrief):
        console.print(line, soft_wrap=True, highlight=False, markup=False)


def debrief_lines(debrief: Debrief) -> list[Text]:
    """The debrief, a line each."""
    header, grade = debrief.header, debrief.grade
    lines = [
        Text(f"Debrief: {debrief.drill.title}", style="bold"),
        Text(
            f"{debrief.drill.drill}, {header.started_utc}, {_clock(debrief.seconds)}, heard by {header.engine}"
        ),
        Text(),
    ]
    if not debrief.practised:
        nothing = Text(
            "Nothing was practised: nothing was said before the session ended. It has no score.", style="bold"
        )
        return [*lines, nothing, *_notes(debrief), Text(), Text(CAUTION, style="dim")]
    lines += [
        *score_lines(debrief),
        Text(
            f"  completeness {_percent(grade.completeness)}   accuracy {_percent(grade.accuracy)}"
            f"   timing {_percent(grade.timing)}   order {_percent(grade.order)}"
        ),
    ]
    lines += [Text(f"  {line}", style="dim") for line in in_words(grade)]
    lines += [Text(f"  CRITICAL: said '{c.said}'. {c.reason}", style="bold red") for c in grade.critical]
    lines += _calls(debrief)
    lines += _flight(debrief)
    lines += _what_to_work_on(debrief)
    lines += _notes(debrief)
    lines += [Text(), Text(CAUTION, style="dim")]
    return lines


def score_lines(debrief: Debrief) -> list[Text]:
    """The score as the trainer has it, and as it is with what instructors overruled."""
    total = debrief.grade.total
    lines = [Text(f"Score {_percent(total)}: {total.got:g} of {total.of:g} points.", style="bold")]
    if debrief.reviewed is not None:
        total = debrief.reviewed.total
        who = ", ".join(sorted({each.by for each in debrief.overrulings}))
        lines.append(
            Text(
                f"After review {_percent(total)}: {total.got:g} of {total.of:g} points (reviewed by {who}).",
                style="bold",
            )
        )
    return lines


def review_lines(overrulings: Iterable[Overruling], settled: Settled) -> list[Text]:
    """What was overruled of a call, the earliest first; the last one holds."""
    return [
        Text(f"      review    {each.was} -> {each.verdict}, {each.by}, {each.at_utc[:10]}: {each.why}")
        for each in overrulings
        if (each.step, each.call) == (settled.step, settled.call)
    ]


def _calls(debrief: Debrief) -> list[Text]:
    lines: list[Text] = []
    by_call = {(v.step, v.call): v for v in debrief.grade.verdicts}
    calls = [call.call for step in debrief.drill.steps if step.flow for call in step.flow.calls]
    width = max([NARROWEST_CALL, *(len(call) for call in calls)])
    for step in debrief.drill.steps:
        if step.flow is None:
            continue
        lines += [Text(), Text(f"{step.step}: {step.flow.name}", style="bold")]
        for call in step.flow.calls:
            verdict = by_call.get((step.step, call.call))
            if verdict is not None:
                pairs = pairs_of_call(debrief.drill, verdict)
                lines += [*_call(verdict, width, pairs), *review_lines(debrief.overrulings, verdict)]
            elif call.need == "required":
                lines.append(Text(f"  . {call.call:<{width}} not reached"))
    return lines


def _call(settled: Settled, width: int, pairs: Sequence[WordPair]) -> list[Text]:
    sign, style = MARKS[POINTS[settled.verdict]]
    lines = [
        Text.assemble(
            "  ",
            (sign, style),
            f" {settled.call:<{width}} ",
            (f"{settled.verdict:<13}", style),
            settled.reason,
        )
    ]
    if settled.verdict == "missed" or any(pair.difference != "same" for pair in pairs):
        lines += expected_over_said(settled, pairs)
    for remark in settled.remarks:
        label = "note" if remark in STOPPED_REMARKS else "style"
        lines.append(Text(f"      {label}: {remark}", style="dim"))
    return lines


def expected_over_said(settled: Settled, pairs: Sequence[WordPair]) -> list[Text]:
    """The two wordings, one over the other, with marks under the words that differ; the one where nothing was said."""
    if not pairs:
        return [Text(f"      expected  {settled.expected}")]
    expected, said, marks = "      expected  ", "      said      ", "                "
    for pair in pairs:
        over, under = pair.expected or "", pair.said or ""
        width = max(len(over), len(under))
        expected += f"{over:<{width}} "
        said += f"{under:<{width}} "
        marks += f"{'' if pair.difference == 'same' else '^' * width:<{width}} "
    return [Text(line.rstrip()) for line in (expected, said, marks) if line.strip()]


def _flight(debrief: Debrief) -> list[Text]:
    if not debrief.drill.segments:
        return []
    lines = [Text(), Text("The flight", style="bold")]
    for each in debrief.deviations:
        label = "CRITICAL: " if each.critical else ""
        style = "bold red" if each.critical else ""
        lines.append(Text(f"  {_clock(each.at_seconds)}  {label}{each.kind}: {each.said}", style=style))
    return lines if debrief.deviations else [*lines, Text("  inside its limits.")]


def _what_to_work_on(debrief: Debrief) -> list[Text]:
    corrections = debrief.corrections()
    if not corrections:
        return [Text(), Text("Nothing to correct.")] if debrief.grade.verdicts else []
    lines = [Text(), Text("Work on", style="bold")]
    for number, settled in enumerate(corrections[:CORRECTIONS_SHOWN], start=1):
        lines.append(Text(f"  {number}. {settled.step}, {settled.call}: {settled.reason}"))
        lines.append(Text(f"     say: {settled.expected}"))
    return lines


def _notes(debrief: Debrief) -> list[Text]:
    lines = [Text(f"Note: {note}") for note in debrief.notes()]
    return [Text(), *lines] if lines else []


def _percent(ratio: Ratio) -> str:
    return "-" if ratio.percent is None else f"{ratio.percent:.0f} %"


def _clock(seconds: float) -> str:
    return f"{int(seconds // 60)}:{int(seconds % 60):02d} min"
