"""Whether what was said is the prompt: asked again twice, then kept; a recording is never asked again."""

from __future__ import annotations

import io
from concurrent.futures import Future

import numpy as np
import pytest
from rich.console import Console

from voice_trainer.cli.listening_check import ListeningCheck
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.recognition.endpointing import Utterance
from voice_trainer.recognition.ports import Recogniser
from voice_trainer.recognition.scripted import ScriptedRecogniser

EXPECTED = compile_pattern("turn left heading {heading: 284}")
WRONG = "turn right heading two eight four"


def asked(*hearings: str, live: bool) -> tuple[list[str | None], ListeningCheck, str]:
    """What is objected to when these are heard one after the other in answer to one prompt."""
    recogniser = ScriptedRecogniser(list(hearings))
    recogniser.prepare(Grammar([Phrase(EXPECTED.opened(), "call")]), {})
    ready: Future[Recogniser] = Future()
    ready.set_result(recogniser)
    printed = io.StringIO()
    check = ListeningCheck(ready, Console(file=printed, width=200), live=live)
    said = Utterance(0.0, 1.0, 0.1, 0.9, np.zeros(16_000, np.int16))
    objections = [check.objection(0, EXPECTED, said) for _ in hearings]
    check.told_at_the_end()
    return objections, check, printed.getvalue()


def test_the_prompt_is_no_reason_to_object() -> None:
    objections, check, printed = asked("turn left heading two eight four", live=True)
    assert (objections, check.heard, printed) == ([None], {}, "")


def test_something_else_is_asked_for_again_twice_and_then_kept() -> None:
    objections, check, printed = asked(WRONG, WRONG, WRONG, live=True)
    reason = f"heard '{WRONG}', which is not the prompt"
    assert objections == [reason, reason, None]
    assert check.heard == {0: f"'{WRONG}'"}
    assert "kept as it was said" in printed
    assert "1 prompt was heard as something else to the last" in printed


def test_who_reads_it_right_the_second_time_has_read_it() -> None:
    objections, check, printed = asked(WRONG, "turn left heading two eight four", live=True)
    assert objections[1] is None
    assert (check.heard, printed) == ({}, "")


@pytest.mark.parametrize("heard", [WRONG, "turn left heading two eight five"])
def test_a_recording_is_not_asked_again(heard: str) -> None:
    objections, check, _ = asked(heard, live=False)
    assert (objections, check.heard) == ([None], {0: f"'{heard}'"})
