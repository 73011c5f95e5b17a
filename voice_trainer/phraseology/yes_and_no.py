"""Yes and no, in the words that people have for them, in answer to a question that the trainer asks."""

from __future__ import annotations

from typing import Literal

from voice_trainer.phraseology.normaliser import normalise

YesOrNo = Literal["yes", "no"]

_YES = ("yes", "yeah", "yep", "yes you may", "affirmative", "affirm", "sure", "okay")
_NO = ("no", "nope", "negative", "none", "nothing", "not now", "not today", "keep nothing", "rather not")
_YES_POLITELY = ("please", "thanks", "thank you")
_NO_POLITELY = ("thanks", "thank you")

YES = f"({' | '.join(_YES)}) [{' | '.join(_YES_POLITELY)}]"
NO = f"({' | '.join(_NO)}) [{' | '.join(_NO_POLITELY)}]"
SKIP = "skip [this | it]"
"""The patterns of what can be answered; to skip a question is to say no to it."""

ANSWERS = (YES, NO, SKIP)

_SAID: dict[str, YesOrNo] = {
    **{f"{word} {more}".strip(): "yes" for word in _YES for more in ("", *_YES_POLITELY)},
    **{f"{word} {more}".strip(): "no" for word in _NO for more in ("", *_NO_POLITELY)},
    "skip": "no",
    "skip this": "no",
    "skip it": "no",
}


def yes_or_no(text: str) -> YesOrNo | None:
    """What a whole answer comes to, spoken or typed; None where it is neither.

    By its words, not by the pattern that it was heard as: there 'affirmative' is heard where 'negative' is written.
    """
    return _SAID.get(" ".join(normalise(text)))
