"""argparse, with errors of one line: what is wrong, and what to do, or what the slip was meant to be."""

from __future__ import annotations

import argparse
import re
import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, NoReturn

from voice_trainer.cli.command_name import PROGRAM, command_name
from voice_trainer.cli.streams import say_error, write_text
from voice_trainer.library.errors import quoted

if TYPE_CHECKING:
    from voice_trainer.tracks.pacing import Pace

LARGEST_SEED = 2**32 - 1
LONGEST_NAME = 60
LONGEST_REASON = 500

_COMMANDS = "COMMAND"


class OneLineParser(argparse.ArgumentParser):
    """A parser, or that of a command: `error` writes one line to standard error and exits with 2."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        # An abbreviation would come to mean something else with the next version's options.
        super().__init__(*args, **({"allow_abbrev": False} | kwargs))

    def error(self, message: str) -> NoReturn:
        """Say what argparse complains of, in its place, and leave."""
        of_command = self.prog.removeprefix(command_name()).strip()
        where = f"{of_command}: " if of_command else ""
        what, advice = _in_our_words(message)
        advice = advice or f"see '{' '.join((command_name(), *of_command.split(), '--help'))}'"
        self.exit(2, f"{PROGRAM}: {where}{what}; {advice}\n")

    def _print_message(self, message: str, file: Any = None) -> None:
        # Not argparse's own, which keeps it to itself when nobody reads what it writes.
        if file is sys.stdout:
            write_text(message)
        else:
            say_error(message.removesuffix("\n"))

    def parse_args(self, args: Any = None, namespace: Any = None) -> Any:
        """See argparse; what no parser knows is an error of the command that it was given to."""
        options, unknown = self.parse_known_args(args, namespace)
        if unknown:
            command = self._command_of(options)
            first = unknown[0]
            if first.startswith("-"):
                name = first.partition("=")[0]
                command.error(f"there is no option {quoted(name)}; {_likely(name, command._options())}")
            command.error(f"{quoted(first)} is one argument too many; ")
        return options

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is None or value in action.choices:
            return
        known = list(action.choices)
        if not isinstance(action, argparse._SubParsersAction):
            raise argparse.ArgumentError(action, f"{quoted(value)} is no choice; use {_listed(known)}")
        likely = _likely(str(value), known)
        if self._is_top and (drill := _drill_called(str(value))):
            likely = f"did you mean 'run {drill}'?"
        raise argparse.ArgumentError(
            action, f"there is no command {quoted(value)}; {likely or f'use {_listed(known)}'}"
        )

    @property
    def _is_top(self) -> bool:
        return self.prog == command_name()

    def _options(self) -> Iterator[str]:
        for action in self._actions:
            yield from action.option_strings

    def _command_of(self, options: argparse.Namespace) -> OneLineParser:
        """The parser of the command that was given, down to its last word."""
        for action in self._actions:
            if isinstance(action, argparse._SubParsersAction):
                inner = action.choices.get(getattr(options, action.dest, None) or "")
                if isinstance(inner, OneLineParser):
                    return inner._command_of(options)
        return self


def seed(text: str) -> int:
    """A whole number that any generator of random numbers takes."""
    if re.fullmatch(r"[0-9]{1,10}", text, re.ASCII) and int(text) <= LARGEST_SEED:
        return int(text)
    raise argparse.ArgumentTypeError(
        f"{quoted(text)} is no whole number from 0 to {LARGEST_SEED}; give one, such as 7"
    )


def how_many(text: str) -> int:
    """A number of things, from none to a thousand."""
    if re.fullmatch(r"[0-9]{1,4}", text, re.ASCII) and int(text) <= 1000:
        return int(text)
    raise argparse.ArgumentTypeError(f"{quoted(text)} is no whole number from 0 to 1000; give one, such as 5")


def minutes(text: str) -> int:
    """How long a session is to take: from a minute to two hours."""
    if re.fullmatch(r"[0-9]{1,3}", text, re.ASCII) and 1 <= int(text) <= 120:
        return int(text)
    raise argparse.ArgumentTypeError(f"{quoted(text)} is no whole number from 1 to 120; give one, such as 10")


def pace(text: str) -> Pace:
    """How fast somebody answers: words a minute, or a factor."""
    from voice_trainer.tracks.pacing import pace_of

    try:
        if re.fullmatch(r"[0-9]{0,3}\.?[0-9]{0,3}", text, re.ASCII):
            return pace_of(text)
    except ValueError:
        pass
    raise argparse.ArgumentTypeError(
        f"{quoted(text)} is no pace; give words a minute from 40 to 300, or a factor from 0.25 to 3"
    )


def name_of_a_person(text: str) -> str:
    """A name to tell one student from another by."""
    name = " ".join(text.split())
    if name and len(name) <= LONGEST_NAME and name.isprintable():
        return name
    raise argparse.ArgumentTypeError(
        f"{quoted(text)} is no name of 1 to {LONGEST_NAME} characters; give one, such as Anna"
    )


def reason(text: str) -> str:
    """A reason in a line."""
    line = " ".join(text.split())
    if line and len(line) <= LONGEST_REASON and line.isprintable():
        return line
    raise argparse.ArgumentTypeError(
        f"{quoted(text)} is no reason of 1 to {LONGEST_REASON} characters; say why in a sentence"
    )


def _in_our_words(message: str) -> tuple[str, str]:
    """What is wrong and what to do (or '') for one of argparse's complaints, or for one of ours."""
    if absent := re.fullmatch(r"the following arguments are required: (.*)", message):
        names = absent[1].split(", ")
        if names == [_COMMANDS]:
            return "no command was given", ""
        return f"{' and '.join(names)} {'is' if len(names) == 1 else 'are'} missing", ""
    message = re.sub(rf"^argument ({_COMMANDS}|[a-z]+(?:\|[a-z]+)+): ", "", message)
    message = re.sub(r"^argument ([^:]+): ", lambda found: f"{found[1]}: ", message)
    if found := re.fullmatch(r"(.+): expected (?:one|at least one) argument", message):
        return f"{found[1]} needs a value after it", ""
    if found := re.fullmatch(r"(.+): not allowed with argument (.+)", message):
        return f"{found[1]} does not go together with {found[2]}", "leave one of them out"
    if found := re.fullmatch(r"(.+): ignored explicit argument .*", message, re.DOTALL):
        return f"{found[1]} takes no value", f"write {found[1]} alone"
    what, _, advice = message.partition("; ")
    return what, advice


def _likely(name: str, known: Sequence[str] | Iterator[str]) -> str:
    from voice_trainer.library.wording import nearest

    likely = nearest(name, known)
    return f"did you mean '{likely}'?" if likely else ""


def _listed(known: Sequence[str]) -> str:
    from voice_trainer.library.wording import listed

    return listed(known)


def _drill_called(name: str) -> str | None:
    """The built-in drill of that name: somebody left out 'run'."""
    from voice_trainer.library.builtin import builtin_drills

    return name if name in builtin_drills() else None
