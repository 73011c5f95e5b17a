"""How a practised flow is rated, for the schedule.

The rule (ours; no publication rates flows):

- *failed*: a required call was missed, or said with a wrong value, or a forbidden call was made. Whoever can't give the
  right value when it is due doesn't know it, however well the rest went; that the trainer's help put it right
  afterwards changes nothing.
- *hard*: every value was right, but a call was late, early, out of order, or given only when asked for.
- *good*: all was right, in its place and in its time, but some call came after a hesitation, or after the student had
  corrected it.
- *easy*: all was right, and every call was begun promptly: within a quarter of the time that it is allowed, and within
  three seconds, counted while the trainer listens from the end of the cue or of the call before it. The quarter leaves
  a call with a longer window longer to think; the three seconds are the end of a natural pause.

What counts against nobody: calls that are disputed, or that could not be made out; that something was asked for again;
optional calls. A flow of which nothing else is left gives no rating. An instructor's verdict goes before the trainer's.
Nor does a flow that was practised at the level 'read along', where every call is said before: that shows nothing.
A flow that was cut off by the end of the session is rated only where something in it was wrong already: a call whose
time was over was missed, one that still had time was not reached. Where a recording or typed lines came to their end
nobody can tell these apart, and nothing counts as missed.
"""

from __future__ import annotations

from collections.abc import Sequence

from voice_trainer.logbook.entries import CallEntry, Outcome

PROMPT_PART = 0.25
"""Of the time that a call is allowed."""

PROMPT_SECONDS = 3.0

NOT_RATED_LEVEL = "read along"

FAULTS = ("missed", "wrong value")
FLAWS = ("late", "early", "out of order", "incomplete")
NOBODYS = ("disputed", "unclear")


def is_prompt(after_seconds: float, allowed_seconds: float) -> bool:
    """Whether a call that begins so long after it could is prompt, where so long is allowed."""
    return after_seconds <= min(PROMPT_PART * allowed_seconds, PROMPT_SECONDS)


def rate(
    calls: Sequence[CallEntry],
    *,
    level: str,
    forbidden: Sequence[str] = (),
    is_cut_off: bool = False,
    by_end_of_input: bool = False,
) -> tuple[Outcome | None, str]:
    """The rating of a flow, or None, and why, in a phrase.

    `calls` are its required calls, `forbidden` the names of the forbidden calls that were made. `is_cut_off`: by the
    end of the session, `by_end_of_input`: because nothing more was to be heard.
    """
    counted = [call for call in calls if call.verdict not in NOBODYS]
    if is_cut_off and by_end_of_input:
        counted = [call for call in counted if call.verdict != "missed"]
    if level == NOT_RATED_LEVEL:
        return None, "read along"
    if forbidden:
        return "failed", f"said, and forbidden: {', '.join(forbidden)}"
    if failed := [call for call in counted if call.verdict in FAULTS]:
        return "failed", _listed(failed)
    if is_cut_off:
        return None, "cut off by the end of the session"
    if not counted:
        return None, "nothing in it counts"
    if flawed := [call for call in counted if call.verdict in FLAWS]:
        return "hard", _listed(flawed)
    if corrected := [call.call for call in counted if call.is_corrected]:
        return "good", f"corrected: {', '.join(corrected)}"
    if slow := [call.call for call in counted if not call.is_prompt]:
        return "good", f"hesitated: {', '.join(slow)}"
    return "easy", "all right and prompt"


def _listed(calls: Sequence[CallEntry]) -> str:
    """'missed: twist, talk; late: turn'."""
    verdicts = dict.fromkeys(call.verdict for call in calls)
    return "; ".join(
        f"{verdict}: {', '.join(call.call for call in calls if call.verdict == verdict)}"
        for verdict in verdicts
    )
