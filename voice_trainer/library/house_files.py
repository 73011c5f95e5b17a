"""House files: `house.yaml` in a folder of drills says how that house speaks.

Its region, its wording and its rule about callsigns hold for every drill in the folder that does not say
otherwise; its synonyms hold beside those of the drill. A drill is filled in before it is validated, so the
resolved drill, and the journal that keeps it, need no house.
"""

from __future__ import annotations

from pathlib import Path

from pydantic import ValidationError

from voice_trainer.drills.model import Drill, House
from voice_trainer.library.errors import DrillError, Problem
from voice_trainer.library.reading import content_of
from voice_trainer.library.strict_yaml import Plain, read_yaml
from voice_trainer.library.synonyms import synonyms_in, united, unreadable_synonyms
from voice_trainer.library.wording import problems_of

HOUSE_FILE = "house.yaml"

SETTINGS = ("region", "wording", "without_callsign")
"""What a drill takes from its house where it does not say otherwise."""


def read_house(content: bytes, file: str) -> House:
    """The house in the `content` of a file that messages call `file`. Raises DrillError with all that is wrong."""
    document = read_yaml(content, file, "house")
    if not isinstance(document.data, dict):
        what = "a house must be lines of 'key: value'"
        raise DrillError(Problem(file, what, "begin with a line 'house: its-name'", 1, 1))
    problems: list[Problem] = []
    house: House | None = None
    try:
        house = House.model_validate(document.data)
    except ValidationError as error:
        problems += problems_of(error, document, file, House)
    problems += unreadable_synonyms(synonyms_in(document.data.get("synonyms")), document, file)
    if problems or house is None:
        raise DrillError(*sorted(problems, key=lambda problem: (problem.line or 0, problem.column or 0)))
    return house


def house_beside(path: Path) -> House | None:
    """The house of the folder that a drill file is in, None where there is none. Raises DrillError."""
    file = path.parent / HOUSE_FILE
    return (
        read_house(content_of(file, str(file), "make a file of it, or remove it"), str(file))
        if file.exists()
        else None
    )


def furnished(data: dict[str, Plain], house: House | None) -> dict[str, Plain]:
    """The keys of a drill with those of its house filled in."""
    if house is None:
        return data
    filled: dict[str, Plain] = dict(data)
    for name in SETTINGS:
        value: str | None = getattr(house, name)
        if value is not None and name not in data:
            filled[name] = value
    own = data.get("synonyms", {})
    if house.synonyms and isinstance(own, dict) and all(isinstance(others, list) for others in own.values()):
        whole = united(house.synonyms, synonyms_in(own))
        # What is no text in a drill's own list stays in it, to be complained about in its own place.
        filled["synonyms"] = {
            word: own[word] if _is_bad(own.get(word)) else list(whole[word]) for word in whole
        }
    return filled


def spoken_in(house: House | None, drill: Drill) -> Drill:
    """A drill that no file holds, such as an approach flown today, as its house speaks."""
    if house is None:
        return drill
    filled: dict[str, object] = {"synonyms": united(house.synonyms, drill.synonyms)}
    if house.without_callsign is not None and drill.without_callsign is None:
        filled["without_callsign"] = house.without_callsign
    return drill.model_copy(update=filled)


def _is_bad(others: Plain) -> bool:
    return isinstance(others, list) and not all(isinstance(other, str) for other in others)
