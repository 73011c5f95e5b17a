"""Houses: what a folder of drills has in common."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from voice_trainer.drills.model import Call, Drill
from voice_trainer.library.builtin import builtin_drills
from voice_trainer.library.drill_files import load_drill, read_drill
from voice_trainer.library.errors import DrillError
from voice_trainer.library.house_files import read_house
from voice_trainer.phraseology.normaliser import normalise

DRILL = """\
drill: kelda-report
title: A report
kind: radio
trains: a report
callsign: N123AB
fixes: [KELDA, BRANO]
synonyms: {outbound turn: [turn outbound]}
steps:
  - step: one
    flow:
      calls:
        - call: report
          say: "{callsign: N123AB} {fix: KELDA} outbound turn"
  - step: two
    flow:
      calls:
        - call: report
          say: "{callsign: N123AB} gear down"
        - call: runway
          say: "runway {runway: 9}"
"""

HOUSE = """\
house: brannock flying club
region: icao
without_callsign: incomplete
synonyms:
  gear down: [wheels down]
  outbound turn: [turning outbound]
"""


def call(drill: Drill, step: str, name: str) -> Call:
    flow = drill.step_named(step).flow
    assert flow is not None
    return next(each for each in flow.calls if each.call == name)


def wrong(drill: Drill, step: str, name: str, said: str) -> list[str | None] | None:
    pattern = drill.pattern(call(drill, step, name))
    match = pattern.match(normalise(said))
    return None if match is None else [each.heard for each in pattern.differences(match.slots)]


def in_house(house: str = HOUSE, drill: str = DRILL) -> Drill:
    return read_drill(drill.encode(), "kelda.yaml", read_house(house.encode(), "house.yaml"))


def complaints(house: str) -> list[str]:
    with pytest.raises(DrillError) as caught:
        read_house(house.encode(), "house.yaml")
    return str(caught.value).split("\n")


def test_a_drill_speaks_as_its_house_does() -> None:
    drill = in_house()
    assert drill.region == "icao"
    assert drill.pattern(call(drill, "two", "runway")).spoken() == ("runway", "zero", "niner")
    assert wrong(drill, "two", "report", "november alfa bravo wheels down") == []
    assert wrong(drill, "two", "report", "wheels down") == [None]


def test_the_synonyms_of_both_hold() -> None:
    for said in ("outbound turn", "turn outbound", "turning outbound"):
        full = f"november one two three alfa bravo kelda {said}"
        assert wrong(in_house(), "one", "report", full) == []
    assert wrong(in_house(), "one", "report", "november one two three alfa bravo kelda inbound turn") == [
        "inbound"
    ]


def test_what_a_drill_says_itself_goes_before_its_house() -> None:
    drill = in_house(drill=f"region: faa\nwithout_callsign: remark\n{DRILL}")
    assert drill.region == "faa"
    assert wrong(drill, "two", "report", "gear down") == []
    pattern = drill.pattern(call(drill, "two", "report"))
    assert pattern.remarks({}) == ("no callsign: say november one two three alfa bravo",)


def test_a_short_callsign_is_right_after_first_contact_only() -> None:
    assert wrong(in_house(), "one", "report", "november alfa bravo kelda outbound turn") == ["November AB"]
    assert wrong(in_house(), "two", "report", "november alfa bravo gear down") == []
    declared = in_house(drill=f"callsign_abbreviated: November 3AB\n{DRILL}")
    assert wrong(declared, "two", "report", "november three alfa bravo gear down") == []
    assert wrong(declared, "two", "report", "november alfa bravo gear down") == ["November AB"]


def test_a_resolved_drill_needs_its_house_no_more() -> None:
    drill = in_house()
    assert Drill.model_validate(drill.model_dump(mode="json")) == drill


MEMORY = """\
drill: fire
title: Fire
kind: memory
trains: fire
synonyms: {shut off: [closed]}
steps: [{step: one, flow: {calls: [{call: power, say: power retarding and descend}, {call: fuel, say: fuel shut off}]}}]
"""


def test_in_a_verbatim_house_the_wording_of_memory_items_counts() -> None:
    meaning = in_house("house: a club\n", MEMORY)
    verbatim = in_house("house: a club\nwording: verbatim\n", MEMORY)
    for drill in (meaning, verbatim):
        assert wrong(drill, "one", "fuel", "fuel shut off") == []
        assert wrong(drill, "one", "power", "power retarding and climb") == ["climb"]
    assert wrong(meaning, "one", "power", "power retarding and descending") == []
    assert wrong(verbatim, "one", "power", "power retarding and descending") == ["descending"]
    assert wrong(meaning, "one", "fuel", "fuel closed") == []
    assert wrong(verbatim, "one", "fuel", "fuel closed") is None
    checklist = in_house("house: a club\nwording: verbatim\n", MEMORY.replace("memory", "checklist"))
    assert wrong(checklist, "one", "fuel", "fuel closed") == []


BAD_HOUSES = [
    ("icao", "mars", "2:9: 'region' can't be 'mars'; use 'faa' or 'icao'"),
    ("region", "regoin", "2:1: unknown key 'regoin'; did you mean 'region'?"),
    ("incomplete", "maybe", "3:19: 'without_callsign' can't be 'maybe'; use 'remark' or 'incomplete'"),
    ("region: icao", "wording: free", "2:10: 'wording' can't be 'free'; use 'meaning' or 'verbatim'"),
    (
        "[wheels down]",
        "[gear up]",
        "5:3: 'gear up' can't be a synonym of 'gear down'; down and up are opposites",
    ),
    (
        "[wheels down]",
        "wheels down",
        "5:14: 'gear down' must be a list, not 'wheels down'; begin each item with '- ' on a line of its own",
    ),
    ("house: brannock flying club\n", "", "1:1: the key 'house' is missing here; add a line 'house: …'"),
    ("house: brannock", "hous: brannock", "1:1: unknown key 'hous'; did you mean 'house'?"),
    (HOUSE, "", "1:1: the file is empty; write a house into it"),
    (HOUSE, "# only a comment\n", "1:1: the file is empty; write a house into it"),
    (
        HOUSE,
        "a: &b 1\n",
        "1:4: '&b' (an anchor) is not allowed in a house; delete it, or put the text into quotes",
    ),
    (HOUSE, "- a\n", "1:1: a house must be lines of 'key: value'; begin with a line 'house: its-name'"),
]


@pytest.mark.parametrize(("old", "new", "line"), BAD_HOUSES)
def test_what_is_wrong_in_a_house_is_said_with_its_place(old: str, new: str, line: str) -> None:
    assert HOUSE.count(old) == 1
    assert complaints(HOUSE.replace(old, new)) == [f"house.yaml:{line}"]


BAD_DRILLS = [
    ("[KELDA, BRANO]", "[K1]", "6:8: 'K1' is no fix: write its name in letters, as in KELDA; correct it"),
    (
        "{fix: KELDA}",
        "{fix: TOVIK RIDGE}",
        "13:42: 'TOVIK RIDGE' is none of the declared fixes; there are BRANO, KELDA",
    ),
    ("fixes: [KELDA, BRANO]\n", "", "12:37: {fix} needs declared values; declare 'fixes: [KELDA]'"),
    (
        "[KELDA, BRANO]",
        "[KELDA, TREE, THREE]",
        "6:8: the fixes 'THREE' and 'TREE' sound alike: rename one of them; correct it",
    ),
    (
        "callsign: N123AB\n",
        "callsign: Heron\n",
        "5:11: 'Heron' is no callsign: write its telephony name and number, as in Heron 24; correct it",
    ),
    (
        "[turn outbound]",
        "[turn inbound]",
        "7:12: 'turn inbound' can't be a synonym of 'outbound turn'; outbound and inbound are opposites",
    ),
    (
        "[turn outbound]",
        "[7]",
        "7:28: item 1 of 'outbound turn' must be text, not 7; put it into quotes: '7'",
    ),
]


@pytest.mark.parametrize(("old", "new", "line"), BAD_DRILLS)
def test_what_is_wrong_in_a_drill_is_said_with_its_place(old: str, new: str, line: str) -> None:
    assert DRILL.count(old) == 1
    with pytest.raises(DrillError) as caught:
        in_house(drill=DRILL.replace(old, new))
    found = str(caught.value).split("\n")
    assert all(re.fullmatch(r"kelda\.yaml:\d+:\d+: [^\n]+; [^\n]+", each) for each in found)
    assert f"kelda.yaml:{line}" in found


def test_a_fix_may_be_open_among_the_declared_ones() -> None:
    drill = in_house(drill=DRILL.replace("{fix: KELDA}", "{fix}"))
    assert wrong(drill, "one", "report", "november one two three alfa bravo brano outbound turn") == []


def test_a_house_file_beside_a_drill_is_read(tmp_path: Path) -> None:
    path = tmp_path / "kelda.yaml"
    path.write_text(DRILL)
    assert load_drill(path).region == "faa"
    (tmp_path / "house.yaml").write_text(HOUSE)
    assert load_drill(path).region == "icao"
    (tmp_path / "house.yaml").write_text("house: [\n")
    with pytest.raises(DrillError, match=r"house\.yaml:2:1: this is not YAML"):
        load_drill(path)


def test_a_house_is_no_drill(tmp_path: Path) -> None:
    path = tmp_path / "house.yaml"
    path.write_text(HOUSE)
    with pytest.raises(DrillError, match="this is a house, not a drill; name one of the drills beside it"):
        load_drill(path)
    assert "house" not in builtin_drills()
