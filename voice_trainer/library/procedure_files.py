"""Reading an approach or a hold from its file: strictly, with everything that is wrong in it said at once."""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from voice_trainer.drills.model import House
from voice_trainer.library.errors import DrillError, Problem
from voice_trainer.library.house_files import house_beside
from voice_trainer.library.reading import content_of, first_key
from voice_trainer.library.strict_yaml import Document, read_yaml
from voice_trainer.library.wording import problems_of
from voice_trainer.procedures.approach import Approach
from voice_trainer.procedures.hold import HoldProcedure
from voice_trainer.procedures.soundness import Fault, faults_of, faults_of_hold

Procedure = Approach | HoldProcedure

FIRST_KEYS = ("approach", "hold")


def load_procedure(path: Path | str) -> Procedure:
    """The approach or the hold in a file, as the house beside it speaks.

    Raises DrillError with every problem that was found; what is wrong with the house is said alone.
    """
    return read_procedure(content_of(Path(path), str(path)), str(path), house_beside(Path(path)))


def read_procedure(content: bytes, file: str, house: House | None = None) -> Procedure:
    """The approach or the hold in the `content` of a file that messages call `file`. Raises DrillError.

    Where it says no region, that of the house holds.
    """
    document = read_yaml(content, file, "procedure")
    if not isinstance(document.data, dict):
        what = "an approach must be lines of 'key: value'"
        raise DrillError(
            Problem(file, what, "begin with a line 'approach: its-name' or 'hold: its-name'", 1, 1)
        )
    model: type[Approach] | type[HoldProcedure] = HoldProcedure if "hold" in document.data else Approach
    of_house = {"region": house.region} if house is not None and house.region is not None else {}
    try:
        found = model.model_validate(of_house | document.data)
    except ValidationError as error:
        raise DrillError(*sorted(problems_of(error, document, file, model), key=_place)) from None
    faults = faults_of(found) if isinstance(found, Approach) else faults_of_hold(found)
    if faults:
        raise DrillError(*sorted((_problem(each, document, file) for each in faults), key=_place))
    return found


def is_procedure(path: Path) -> bool:
    """Whether a file's first key says that it is an approach or a hold; False for what can't be read."""
    return first_key(path) in FIRST_KEYS


def _problem(fault: Fault, document: Document, file: str) -> Problem:
    mark = document.marks.value(fault.place)
    return Problem(file, fault.what, fault.advice, mark.line, mark.column)


def _place(problem: Problem) -> tuple[int, int]:
    return problem.line or 0, problem.column or 0
