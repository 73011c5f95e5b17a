"""What an instructor made of a verdict afterwards. The journal itself is never changed."""

from __future__ import annotations

from typing import Annotated, Final, Literal

from pydantic import Field

from voice_trainer.journal.hearing import Frozen
from voice_trainer.journal.verdicts import Verdict

REVIEW_FORMAT: Final = 1
LONGEST_REASON = 500


class Overruling(Frozen):
    """A verdict in place of another, with its reason, and whose it is. A later one on the same call goes before it."""

    review_format: Literal[1] = REVIEW_FORMAT
    step: str
    call: str
    was: Verdict
    verdict: Verdict
    why: Annotated[str, Field(min_length=1, max_length=LONGEST_REASON)]
    by: Annotated[str, Field(min_length=1)]
    at_utc: str
