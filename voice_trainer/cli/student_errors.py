"""The synthetic student's mistakes, as `--student-errors` names them."""

from __future__ import annotations

from voice_trainer.cli.problems import UsageError
from voice_trainer.session.performance import MISTAKES, Mistake


def mistakes_of(text: str) -> tuple[Mistake, ...]:
    """The kinds of mistakes that `--student-errors` names. Raises UsageError."""
    if text == "all":
        return MISTAKES
    if text == "none":
        return ()
    by_name = {mistake.replace(" ", "-"): mistake for mistake in MISTAKES}
    wanted = [name.strip() for name in text.split(",")]
    if unknown := [name for name in wanted if name not in by_name]:
        raise UsageError(
            f"--student-errors: '{unknown[0]}' is no kind of mistake; use all, none, or any of {','.join(by_name)}"
        )
    return tuple(by_name[name] for name in wanted)
