"""The pages of the guide that are made from the models: every key of a file, what it holds, and what it is for.

They come with the program as files (`voice_trainer/guide/drill-format.md`); a test compares them with what is made
here. Make them anew with `python -m voice_trainer.authoring.reference`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any, get_args

from voice_trainer.authoring.schema import (
    approach_schema,
    drill_schema,
    hold_schema,
    house_flow_schema,
    house_schema,
    pack_schema,
)
from voice_trainer.drills.expressions import LARGEST
from voice_trainer.drills.functions import FUNCTIONS
from voice_trainer.flight import conditions
from voice_trainer.library.flown import builtin_procedures
from voice_trainer.phraseology.regions import Region
from voice_trainer.phraseology.speaking import spoken_text

FOLDER = Path(__file__).parents[1] / "guide"

Schema = Mapping[str, Any]

PARTS = {
    "Step": ("A step", "An item of `steps`: a moment of the drill. It needs a cue, a flow, or both."),
    "Cue": ("A cue", "What the trainer says."),
    "Flow": ("A flow", "Calls that belong together."),
    "Call": ("A call", "What the student is expected to say."),
    "Window": ("A window", "When a call is on time, counted while the trainer listens."),
    "Declared": ("A variable", "A range of numbers, or choices; or in its place a text, `=expression`."),
    "AeroplaneStart": (
        "The aeroplane",
        'Where a flown drill begins. Directions are magnetic. Each number may be computed: `"{=outbound}"`.',
    ),
    "Station": ("The station", "A VOR at the origin."),
    "Navaid": ("A navaid", "A navaid or waypoint, on a flat earth whose directions are magnetic."),
    "Segment": (
        "A segment",
        "A stretch of a flown procedure with its limits. What leaves them are events: `below lowest`, `too fast`.",
    ),
    "Area": ("The area", "What leaves it is an event: `outside area`."),
}
"""The parts of a drill file in the order in which they are told, each with its heading and a line about it."""

PARTS_OF_APPROACHES = {
    "Airfield": ("The airfield", "And whom one speaks to."),
    "Navaid": PARTS["Navaid"],
    "Start": ("The start", "Where the aeroplane is when it begins."),
    "UsualWind": ("The wind", "It holds where no other is asked for."),
    "ProcedureTurn": ("A procedure turn", "45 degrees to the charted side, and back by 180."),
    "Teardrop": ("A teardrop", "Out on a course of its own, and a turn of more than 180 degrees."),
    "HoldInLieu": ("A hold in lieu", "Its inbound course is the final course."),
    "Arc": ("An arc", "From where the aeroplane comes, to the final course."),
    "StraightIn": ("Straight in", "A vector or a heading to intercept the final course."),
    "NoProcedureTurn": ("No procedure turn", "From the initial fix straight on inbound."),
    "Final": ("The final", "From the final approach fix to the missed approach point."),
    "StepDown": ("A step-down", "An item of `step_downs`."),
    "MissedApproachPoint": (
        "The missed approach point",
        "Where the approach is given up without the runway.",
    ),
    "MissedApproach": ("The missed approach", "Straight ahead first."),
    "Hold": ("The hold", "After the missed approach."),
}
"""Those of a file of an approach or a hold, likewise."""

EXAMPLES = {
    "heading": "310",
    "course": "153",
    "radial": "087",
    "bearing": "240",
    "altitude": "2600",
    "height": "450",
    "minimums": "820",
    "level": "80",
    "rate": "700",
    "frequency": "118.7",
    "altimeter": "29.84",
    "qnh": "1009",
    "letter": "B",
    "runway": "15L",
    "squawk": "4203",
    "letters": "KLD",
    "duration": "1:15",
    "time": "1845",
    "wind": "240/18",
    "distance": "4.6",
    "speed": "150",
    "mach": "M0.78",
    "count": "2",
    "power": "65%",
    "pitch": "8 up",
    "flap": "approach",
    "airway": "V21",
    "fix": "KELDA",
    "callsign": "Heron 24",
}
"""A value of each type, as an author writes it."""

REMARKS = {
    "power": "or `24 in`, `950 ft-lb`, `2400 rpm`",
    "flap": "or degrees, `{flap: 20}`",
    "fix": "declared in `fixes`",
    "wind": "or with gusts, `240/18G28`",
    "runway": "or without a letter",
    "duration": "in minutes and seconds",
    "callsign": "or a registration, `N123AB`; after first contact its short form will do",
}

VERBS = {
    "turn": "turns to `heading`, the way that is said (`left`, `right`), else the shorter one",
    "direct": "flies to the navaid or waypoint `fix`, and tunes it",
    "track": "flies along `course` of the tuned navaid, held in the wind from the lead point on",
    "arc": "flies along an arc of `distance` around the tuned navaid",
    "altitude": "climbs or descends to `altitude` or `minimums`",
    "rate": "with `rate` feet a minute",
    "glidepath": "follows the glidepath of the tuned ils",
    "missed": "climbs straight ahead to `altitude`, and ends what was flown before",
    "speed": "goes to the airspeed `speed`",
    "course": "sets `course`",
    "tune": "tunes `frequency`",
    "clock": "starts the clock, or starts it anew",
    "gear": "puts the gear `up` or `down`",
    "flaps": "sets the flaps to `flap`",
    "bug": "sets the heading bug to `heading`",
    "minimums alert": "sets the alert to `minimums` or `altitude`",
}
"""What the aeroplane does at each verb, with the values that were said or are `given`."""

CAUTION = (
    "> **Study aid only.** Current charts, local procedures and your instructor come first. Never use it while\n"
    "> operating an aircraft or driving.\n"
)

_HEAD = f"""# The drill format

<!-- Made by `python -m voice_trainer.authoring.reference` from the models. Don't edit it here. -->

Every key of a drill file, for looking up. To begin, read
[write a checklist](write-a-checklist.md) or
[write a radio exchange](write-a-radio-exchange.md); `voice-trainer new radio my-drill`
writes a commented file, and `voice-trainer check my-drill.yaml` says what is
wrong with one. For editors there is a JSON Schema: `voice-trainer schema`.

{CAUTION}
A file is YAML, read strictly: an unknown key, a key twice or a value that
can't be is an error with its line and column. In the tables *must* in the
third column means that the key has to be there, *none* that it may be left out.
"""

_PATTERNS = """## What is said

`say` of a call is a pattern:

| written | means |
| --- | --- |
| `turn left` | these words |
| `[turn] left` | `turn` may be left out |
| `(gear \\| wheels) down` | one or the other |
| `{heading: 310}` | a value, exact by its type |
| `{heading: =reciprocal(outbound)}` | a value that is computed |
| `{=side}` | a text variable |

Words that have an opposite (left and right, climb and descend, on and off, up
and down, inbound and outbound and so on) are exact as values are: no likeness
of sound turns one into the other. Numbers are always written as values, in
cues and `ask` too, so that they are spoken as the trade speaks them.
The entry of a hold is a value too: `{hold entry: teardrop}`.

`answers` is the bare answer that will do where the cue has named the item:
`answers: "on"` of `say: "landing lights on"`, to "Landing lights." It is a
pattern too, with the values of the call; words with an opposite may be
missing, as *down* is in `answers: "three green"` of `say: "gear down three
green"`. It is heard at all times, *off* as easily as *on*, but is that call
only while its step is open and it is the first call still owed there. Without
`answers`, a part of what is due is asked for again, with the wording.
"""

_EVENTS = """## Events of the flight

What `when`, `opens`, `closes` and `begins` may wait for in a drill with an
aeroplane. Without one there are only `start` and `settled`.

"""

_VERBS = """## What the aeroplane does

`does` of a call, with the values that were said (said wrong, the wrong thing
happens), or that are `given`:

"""

_FUNCTIONS = """## Expressions

Numbers, variables, `+ - * /`, brackets, and these functions. Directions are
degrees, speeds knots, distances nautical miles, durations seconds; a time is
minutes after midnight. When the file is read, the draws of every value are
tried: all of them up to 5,000, else a sample with the ends of every range. One
that could be no legal value is an error of the file.

"""

_HOUSE = """## A house

A file `house.yaml` beside drills holds what they have in common. A drill's own
keys go before it.

"""


_EXAMPLE = builtin_procedures()["yarrow-ils-09"]

_APPROACH_HEAD = f"""# The approach format

<!-- Made by `python -m voice_trainer.authoring.reference` from the models. Don't edit it here. -->

Every key of a file of an approach or a hold, for looking up, and of a house
flow. To begin, read [type in tomorrow's approach](type-in-an-approach.md); what
`plan new` does not ask for is written by hand.

{CAUTION}
Directions are magnetic, altitudes above sea level. A runway and a frequency
may stand without quotes; a time is in quotes, `"0930"`. In the tables *must* in
the third column means that the key has to be there, *none* that it may be left
out.

## An example

This is `{_EXAMPLE.name}`, which comes with the program. Begin with a copy:
`voice-trainer guide approach-format --files .` writes one.
"""

_APPROACH_CHECK = f"""```console
$ voice-trainer check {_EXAMPLE.name}
1 file, 0 errors, 0 warnings.
$ voice-trainer plan ./{_EXAMPLE.name}
[...]
Flown in rehearsal: [...]
[...]
```
"""

_FLOW_HEAD = """## A house flow

A file for `--house-flow`: the checks at a fix, in the order that a school
teaches, and what else it does its own way.
"""


_PACK = """## A pack

A file `pack.yaml` makes a pack of the folder that it is in; see
[run a school](run-a-school.md).

"""


def drill_format() -> str:
    """The page about drill files, as Markdown."""
    schema = drill_schema()
    parts = [_HEAD, "## A drill\n", _table(schema)]
    for name, (heading, line) in PARTS.items():
        parts += [f"## {heading}\n", f"{line}\n", _table(schema["$defs"][name])]
    parts += [_PATTERNS, _types(), _EVENTS + _events(), _VERBS + _rows(("written", "it"), _verbs())]
    parts += [_FUNCTIONS + "".join(f"- {_written(each.written)}\n" for each in FUNCTIONS.values())]
    parts += [_HOUSE + _table(house_schema()), _PACK + _table(pack_schema())]
    return "\n".join(parts)


def approach_format() -> str:
    """The page about files of approaches, holds and house flows, as Markdown."""
    approach, hold, flow = approach_schema(), hold_schema(), house_flow_schema()
    parts = [
        _APPROACH_HEAD,
        f"```yaml {_EXAMPLE.name}\n{_EXAMPLE.read_text(encoding='utf-8')}```\n",
        _APPROACH_CHECK,
    ]
    parts += ["## An approach\n", _table(approach)]
    for name, (heading, line) in PARTS_OF_APPROACHES.items():
        parts += [f"## {heading}\n", f"{line}\n", _table(approach["$defs"][name])]
    parts += ["## A file of a hold\n", "A hold by itself; its parts are those above.\n", _table(hold)]
    parts += [_FLOW_HEAD, _table(flow)]
    return "\n".join(parts)


def _written(function: str) -> str:
    """'side(from, to), left or right' with the part that is typed as code."""
    typed, bracket, rest = function.partition(")")
    return f"`{typed}{bracket}`{rest}"


def _table(schema: Schema) -> str:
    """The keys of a part: what each holds, what it usually is, what it means."""
    required = schema.get("required", ())
    rows = []
    for key, value in schema["properties"].items():
        usual = "must" if key in required else _usual(value.get("default"))
        rows.append((f"`{key}`", _holds(value), usual, value["description"]))
    return _rows(("key", "holds", "usually", "what it is"), rows)


def _rows(headings: Sequence[str], rows: Iterator[tuple[str, ...]] | Sequence[tuple[str, ...]]) -> str:
    lines = [headings, ["---"] * len(headings), *rows]
    return "".join(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in line)} |\n" for line in lines)


def _usual(default: Any) -> str:
    if default in (None, [], {}, ""):
        return "none"
    if isinstance(default, bool):
        return "true" if default else "false"
    if isinstance(default, dict):
        return "see there"
    if isinstance(default, list):
        return ", ".join(map(str, default))
    return f"{default:g}" if isinstance(default, float) else str(default)


_PATTERN_WORDS = {
    "^[A-Z]{2,5}$": "2 to 5 capitals",
    "^[A-Z]{2,3}$": "2 or 3 capitals",
    "^[a-z0-9][a-z0-9-]{0,60}$": "small letters, digits, hyphens",
    "^[a-z0-9][a-z0-9 -]{0,60}$": "small letters, digits, blanks, hyphens",
    "^[a-z0-9][a-z0-9-]{0,60}(/[a-z0-9][a-z0-9-]{0,60})?$": "small letters, digits, hyphens",
    "^[a-z0-9][a-z0-9-]{0,60}\\.yaml$": "names of files",
}


def _holds(value: Schema) -> str:
    """What a key holds, in a few words."""
    if "$ref" in value:
        return _named(value["$ref"])
    if "allOf" in value:
        return _holds(value["allOf"][0])
    if "anyOf" in value or "oneOf" in value:
        options = [each for each in value.get("anyOf", value.get("oneOf")) if each.get("type") != "null"]
        # That a number may be computed is said once, above the table.
        plain = [each for each in options if "computed" not in each.get("description", "")]
        return " or ".join(dict.fromkeys(map(_holds, plain)))
    if "const" in value:
        return str(value["const"])
    if "enum" in value:
        return ", ".join(map(str, value["enum"]))
    kind = value.get("type")
    if kind == "array":
        return f"a list: {_holds(value['items'])}" if value.get("items") else "a list"
    if kind == "object":
        return f"name: {_holds(value['additionalProperties'])}"
    if kind == "boolean":
        return "true or false"
    if kind in ("number", "integer"):
        return _number(value)
    return _PATTERN_WORDS.get(value.get("pattern", ""), "text" if kind == "string" else "text or number")


def _number(value: Schema) -> str:
    least = max((value[key] for key in ("minimum", "exclusiveMinimum") if key in value), default=-LARGEST)
    most = min((value[key] for key in ("maximum", "exclusiveMaximum") if key in value), default=LARGEST)
    above = "above " if value.get("exclusiveMinimum") == least else ""
    if most == LARGEST:
        return "a number" if least == -LARGEST else f"a number, {above or 'from '}{least:g}"
    return f"{above}{least:g} to {most:g}"


def _named(reference: str) -> str:
    name = reference.rpartition("/")[2]
    heading = (PARTS | PARTS_OF_APPROACHES).get(name, (name,))[0]
    return f"{heading[:1].lower()}{heading[1:]}"


def _types() -> str:
    rows = []
    for name, example in EXAMPLES.items():
        written = f"{{{name}: {example}}}"
        faa, icao = (_spoken(written, region) for region in get_args(Region))
        remark = f"; {REMARKS[name]}" if name in REMARKS else ""
        rows.append((f"`{written}`{remark}", faa, "the same" if icao == faa else icao))
    return _rows(("written", "spoken, region: faa", "region: icao"), rows)


def _spoken(written: str, region: Region) -> str:
    return spoken_text(written, region).strip()


def _events() -> str:
    """The table that the module of the conditions has in its docstring."""
    return "".join(f"{line}\n" for line in (conditions.__doc__ or "").splitlines() if line.startswith("|"))


def _verbs() -> Iterator[tuple[str, ...]]:
    for verb, deed in VERBS.items():
        yield f"`{verb}`", deed


GENERATED = {"drill-format": drill_format, "approach-format": approach_format}
"""The pages that are made here, by name."""


def main() -> None:
    """Write them all."""
    for name, page in GENERATED.items():
        (FOLDER / f"{name}.md").write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
