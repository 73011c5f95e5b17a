"""From a journal to what the logbook has of it: graded anew, from nothing but the journal and its reviews."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from voice_trainer.drills.model import Drill
from voice_trainer.grading.order import inversions
from voice_trainer.grading.overruling import overruled
from voice_trainer.grading.practised import END_OF_THE_INPUT, says_something, was_cut_short
from voice_trainer.grading.replay import replay_to_the_end
from voice_trainer.grading.score import grade
from voice_trainer.grading.state import CallState, FlowState, MatchState
from voice_trainer.grading.windows import on_time_until
from voice_trainer.grading.word_pairs import pairs_of_call
from voice_trainer.journal.events import (
    AnyDecision,
    AnyFact,
    Decision,
    Ended,
    FlowClosed,
    Header,
    Heard,
    LevelChanged,
    Paused,
    Resumed,
    Settled,
    StepBegan,
)
from voice_trainer.journal.reviewing import Overruling
from voice_trainer.logbook.entries import SYNTHETIC_STUDENT, CallEntry, FlowEntry, SessionEntry, WordOver
from voice_trainer.logbook.items import lead_in
from voice_trainer.logbook.rating import is_prompt, rate

_YEARS = range(1900, 9000)
"""A session's: whatever is reckoned from it, in any time zone and a century on, stays within the calendar."""


def entry_of(
    session: str,
    header: Header,
    records: Sequence[AnyFact | AnyDecision],
    overrulings: Sequence[Overruling] = (),
) -> SessionEntry:
    """What the logbook has of the session whose journal is called `session`.

    Flows are in it that were practised to their end, and those that the session's end cut off in which something was
    wrong already. Raises ValueError (PatternError among them) where the drill, or the date, is none that this version
    understands.
    """
    drill = Drill.model_validate(header.drill)
    started = _moment(header.started_utc)
    state, decisions = replay_to_the_end(drill, header.settings, records)
    ended = next((r.reason for r in records if isinstance(r, Ended)), None)
    end_at = next((i for i, r in enumerate(records) if isinstance(r, Ended)), len(records))
    # What was said when it was over is in the decisions.
    facts = [record for record in records[: end_at + 1] if not isinstance(record, Decision)]
    last = max((fact.at_seconds for fact in facts), default=0.0)
    end_seconds = records[end_at].at_seconds if end_at < len(records) else last
    flows: list[FlowEntry] = []
    if any(isinstance(f, Heard) and says_something(f.hearing) for f in facts) or not was_cut_short(ended):
        live = grade(drill, decisions)
        result = grade(drill, [*decisions, *overruled(live.verdicts, overrulings)])
        levels = _levels(header.settings.level, facts)
        closed = {each.step: each for each in decisions if isinstance(each, FlowClosed)}
        for flow in state.flows:
            if flow.step not in closed or not (flow.begun or any(call.said for call in flow.calls)):
                continue  # what never began was not practised
            end = closed[flow.step]
            entry = _flow(
                drill,
                state,
                flow,
                end,
                [v for v in result.verdicts if v.step == flow.step and v.need == "required"],
                [each.call for each in result.critical if each.step == flow.step],
                level=levels.get(flow.step, header.settings.level),
                ended_utc=started + timedelta(seconds=end.at_seconds),
                is_cut_off=was_cut_short(ended) and end.at_seconds >= end_seconds,
                by_end_of_input=ended == END_OF_THE_INPUT,
            )
            if entry is not None:
                flows.append(entry)
    student = header.student or (SYNTHETIC_STUDENT if header.settings.input == "student" else "")
    return SessionEntry(
        session=session,
        student=student,
        started_utc=started,
        seconds=round(max(0.0, last - _paused_seconds(facts, last)), 3),
        drill=drill.drill,
        title=drill.title,
        kind=drill.kind,
        mode=header.settings.mode,
        ended=ended or "",
        flows=tuple(flows),
    )


def _flow(
    drill: Drill,
    state: MatchState,
    flow: FlowState,
    end: FlowClosed,
    verdicts: Sequence[Settled],
    forbidden: Sequence[str],
    *,
    level: str,
    ended_utc: datetime,
    is_cut_off: bool,
    by_end_of_input: bool,
) -> FlowEntry | None:
    states = {call.call.call: call for call in flow.calls}
    calls = tuple(_call(drill, state, states[settled.call], settled) for settled in verdicts)
    outcome, why = rate(
        calls, level=level, forbidden=forbidden, is_cut_off=is_cut_off, by_end_of_input=by_end_of_input
    )
    if is_cut_off and outcome is None:
        return None
    if is_cut_off and by_end_of_input:
        calls = tuple(call for call in calls if call.verdict != "missed")
    if not calls and not forbidden:
        return None
    places = {call: place for place, call in enumerate(states)}
    sequence = [places[call] for call in end.order] if end.strict else []
    pairs = len(sequence) * (len(sequence) - 1) // 2
    return FlowEntry(
        step=flow.step,
        flow=flow.flow.name,
        lead_in=lead_in(drill, drill.step_named(flow.step)),
        level=level,
        ended_utc=ended_utc,
        outcome=outcome,
        why=why,
        in_order=pairs - inversions(sequence),
        pairs=pairs,
        calls=calls,
    )


def _call(drill: Drill, state: MatchState, call: CallState, settled: Settled) -> CallEntry:
    said = call.said
    after = allowed = 0.0
    if said is not None and said.base_listening is not None:
        after = max(0.0, said.onset_listening - said.base_listening)
        allowed = on_time_until(state, call, said.base_listening) - said.base_listening
    pairs = pairs_of_call(drill, settled) if settled.verdict == "wrong value" else ()
    return CallEntry(
        call=settled.call,
        verdict=settled.verdict,
        expected=settled.expected,
        said=settled.said,
        after_seconds=None if said is None else round(after, 3),
        is_prompt=said is not None and is_prompt(after, allowed),
        is_corrected=settled.corrected,
        words=tuple(WordOver(each.expected, each.said, each.difference) for each in pairs),
    )


def _levels(level: str, facts: Sequence[AnyFact]) -> dict[str, str]:
    """The level at which each step began, the last time that it did."""
    found: dict[str, str] = {}
    for fact in facts:
        if isinstance(fact, LevelChanged):
            level = fact.level
        elif isinstance(fact, StepBegan):
            found[fact.step] = level
    return found


def _paused_seconds(facts: Sequence[AnyFact], last: float) -> float:
    total, since = 0.0, None
    for fact in facts:
        match fact:
            case Paused(at_seconds=now):
                since = now if since is None else since
            case Resumed(at_seconds=now) if since is not None:
                total, since = total + now - since, None
            case _:
                pass
    return total if since is None else total + last - since


def _moment(text: str) -> datetime:
    """A journal's date. Without a time zone it is UTC, as its name says. Raises ValueError."""
    moment = datetime.fromisoformat(text)
    if moment.year not in _YEARS:
        raise ValueError(f"{text!r} is no date of a session")
    return moment.replace(tzinfo=UTC) if moment.tzinfo is None else moment.astimezone(UTC)
