"""Whether what was said to a prompt is the prompt, as far as a recogniser can tell.

A recogniser errs, so it has no last word: twice the prompt is asked for again, then what was said is kept, and it is
said what was heard. A recording can't be asked again. What is unclear is the reader's own, and no objection.
"""

from __future__ import annotations

from collections import Counter
from concurrent.futures import Future

from rich.console import Console

from voice_trainer.phraseology.pattern import Pattern
from voice_trainer.recognition.endpointing import Utterance
from voice_trainer.recognition.fitting import outcome_of
from voice_trainer.recognition.ports import Recogniser
from voice_trainer.session.prompted import MOST_REPEATS


class ListeningCheck:
    """Objects to what is clearly something else than its prompt; `heard` says of which prompts what was kept."""

    def __init__(self, recogniser: Future[Recogniser], out: Console, *, live: bool) -> None:
        self.heard: dict[int, str] = {}
        self._recogniser = recogniser
        self._out = out
        self._repeats = MOST_REPEATS if live else 0
        self._objections: Counter[int] = Counter()

    def objection(self, index: int, expected: Pattern, utterance: Utterance) -> str | None:
        """Why prompt `index` is to be said again, None where what was said is kept. Raises RecogniserError."""
        heard = heard_instead(self._recogniser.result(), expected, utterance)
        if heard is None:
            return None
        self._objections[index] += 1
        line = f"heard {heard}, which is not the prompt"
        if self._objections[index] <= self._repeats:
            return line
        self.heard[index] = heard
        self._out.print(f"      {line}; kept as it was said", style="dim", markup=False)
        return None

    def told_at_the_end(self) -> None:
        """Say how many were kept that were heard as something else, if any."""
        if count := len(self.heard):
            self._out.print(
                f"{count} prompt{'s were' if count > 1 else ' was'} heard as something else to the last: was it read "
                "as it stands, the recogniser erred.",
                markup=False,
            )


def heard_instead(recogniser: Recogniser, expected: Pattern, utterance: Utterance) -> str | None:
    """What was clearly heard in place of a call, None where it was the call, or can't be told."""
    hearing = recogniser.hear(utterance.samples, utterance.start_seconds)
    if hearing.clarity == "unclear" or outcome_of([hearing], expected) == "right":
        return None
    return f"'{hearing.text}'" if hearing.clarity == "clear" and hearing.text else "no call"
