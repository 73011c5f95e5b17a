"""`packs`: a school's drills are added, found by their names wherever drills are, and taken away."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.model_archives import with_entry
from tests.pack_sources import EXAMPLE, HOUSE, NAME, drill, pack, pack_folder, pack_zip
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.authoring.checking import check_files, files_of
from voice_trainer.drills.model import Drill
from voice_trainer.library.builtin import find_drill, find_flown
from voice_trainer.library.drill_files import read_drill
from voice_trainer.library.errors import DrillError
from voice_trainer.library.flown import Wanted
from voice_trainer.library.packs import Packs
from voice_trainer.packs.installing import add_pack, remove_pack

ITEMS = "+3\nlocked and checked\n+1\nset\n+1\non both\n+1\nsteady and bright\n+1\nbefore start checklist complete\n"
"""The example's checklist, two answers of it in the words of its house."""


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the example is installed; tests leave it as it is."""
    home = tmp_path_factory.mktemp("home")
    done = voice_trainer("packs", "add", EXAMPLE, home=home)
    assert (done.returncode, done.stderr) == (0, "")
    assert "1 drill, 1 approach or hold, 1 house flow, its own phraseology" in done.stdout
    assert "Begin with: voice-trainer run tarlen-school/finch-before-start" in done.stdout
    return home


def test_the_list_says_who_made_a_pack_and_what_it_holds(home: Path) -> None:
    said = voice_trainer("packs", home=home).stdout
    for text in (
        "tarlen-school  The Tarlen Flying School",
        "version 1.0",
        "made by The voice_trainer authors, licence Apache-2.0",
        "tarlen-school/school-vor-04",
        "--house-flow tarlen-school/school-order, the usual one of its approaches",
    ):
        assert text in said


def test_the_drills_of_a_pack_are_listed_and_due(home: Path) -> None:
    listed = voice_trainer("list", home=home).stdout
    assert re.search(r"^tarlen-school/finch-before-start +Before start of the Finch", listed, re.MULTILINE)
    assert re.search(r"^tarlen-school/school-vor-04 ", listed, re.MULTILINE)
    found = json.loads(voice_trainer("due", "--json", "--new", "500", home=home).stdout)
    steps = [each["step"] for each in found["new"] if each["drill"] == "tarlen-school/finch-before-start"]
    assert steps == ["seats", "brakes", "fuel", "beacon", "complete"]


def test_a_drill_of_a_pack_is_run_and_answered_in_the_words_of_its_house(home: Path, tmp_path: Path) -> None:
    name, journal = "tarlen-school/finch-before-start", tmp_path / "journal.jsonl"
    done = voice_trainer("run", name, "--input", "typed", "--journal", journal, home=home, stdin=ITEMS)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Score 100 %: 5 of 5 points." in done.stdout
    # Its own name alone will do, since nothing else is called so; without the house it is not so lenient.
    found = find_drill("finch-before-start", packs=Packs(home / "packs"))
    assert Drill.model_validate(read_journal(journal).header.drill) == found
    assert found.drill == name
    alone = read_drill((EXAMPLE / "finch-before-start.yaml").read_bytes(), "alone")
    assert "adjusted and locked" in found.synonyms
    assert alone.synonyms == {}


def test_an_approach_of_a_pack_is_flown_in_the_order_of_its_school(home: Path) -> None:
    packs = Packs(home / "packs")

    def order(name: str, flow: str | None = None) -> list[str]:
        """The checks at the fix where the hold begins."""
        drill = find_flown(name, wanted=Wanted(flow=flow), packs=packs)
        found = drill.step_named("hold over the fix").flow
        assert found is not None
        return [call.call for call in found.calls][:2]

    assert order("tarlen-school/school-vor-04") == ["turn", "time"]
    assert order("tarlen-school/school-vor-04", "six ts") == ["time", "turn"]
    assert order("dunmar-vor-04") == ["time", "turn"]
    assert order("dunmar-vor-04", "tarlen-school/school-order") == ["turn", "time"]
    card = voice_trainer("plan", "tarlen-school/school-vor-04", "--explain", "turn", home=home)
    assert (card.returncode, card.stderr) == (0, "")
    assert card.stdout.startswith("hold over the fix, turn: turn left heading 218")


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("tarlen-school/finch-before-star", "did you mean 'tarlen-school/finch-before-start'?"),
        ("tarlen-scool/finch-before-start", "did you mean 'tarlen-school/finch-before-start'?"),
        ("finch-before-star", "did you mean 'finch-before-start'?"),
    ],
)
def test_a_slip_in_a_name_gets_a_suggestion(name: str, says: str, home: Path) -> None:
    with pytest.raises(DrillError, match=re.escape(says)):
        find_drill(name, packs=Packs(home / "packs"))


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("plan", "tarlen-school/finch-before-start"), "there is no approach or hold of this name"),
        (("packs", "add", EXAMPLE), "version 1.0; run 'voice-trainer packs remove tarlen-school' first"),
    ],
)
def test_what_can_not_be_done_is_one_line(arguments: tuple[str, ...], says: str, home: Path) -> None:
    assert says in one_line_of_trouble(voice_trainer(*arguments, home=home))


def test_a_built_in_drill_stays_what_its_name_means(tmp_path: Path) -> None:
    home = tmp_path / "home"
    own = drill("stall-recovery", "Stalls of gulls")
    source = pack_folder(tmp_path / NAME, pack({"stall-recovery.yaml": own, "gear.yaml": drill()}))
    added = voice_trainer("packs", "add", source, home=home)
    assert (
        "'stall-recovery' alone is still the built-in one; this one is 'gull-school/stall-recovery'."
        in added.stdout
    )
    add_pack(pack_zip(tmp_path / "a.zip", pack({"gear.yaml": drill()}, "tern-school")), home / "packs")
    packs = Packs(home / "packs")
    assert find_drill("stall-recovery", packs=packs) == find_drill("stall-recovery")
    assert find_drill("gull-school/stall-recovery", packs=packs).title == "Stalls of gulls"
    with pytest.raises(
        DrillError, match=r"more than one pack has .* 'gull-school/gear' or 'tern-school/gear'"
    ):
        find_drill("gear", packs=packs)


def test_a_faulty_pack_is_refused_with_every_finding(tmp_path: Path) -> None:
    home = tmp_path / "home"
    files = pack({"gear.yaml": drill("flaps"), "house.yaml": HOUSE.encode()}) | {
        "more.yaml": b"drill: more\n"
    }
    done = voice_trainer("packs", "add", pack_zip(tmp_path / "a.zip", files), home=home)
    assert "nothing was installed, since" in one_line_of_trouble(done)
    lines = done.stdout.replace("\n", " ")
    assert "a.zip/gear.yaml:1:8: error: this file holds 'flaps', but is called otherwise;" in lines
    assert "a.zip/more.yaml: error: pack.yaml does not hold it; add it to 'holds', or take it out" in lines
    assert "a.zip/more.yaml:1:1: error: the key 'title' is missing here" in lines
    assert list((home / "packs").iterdir()) == [home / "packs" / ".lock"]


def test_a_new_pack_is_sound_and_is_written_over_nothing(tmp_path: Path) -> None:
    home, folder = tmp_path / "home", tmp_path / "mine"
    done = voice_trainer("packs", "new", "my-school", "--out", folder, home=home)
    assert (done.returncode, done.stderr) == (0, "")
    assert check_files(files_of(folder)) == []
    added = add_pack(folder, home / "packs")
    assert (added.pack.name, list(added.pack.drills)) == ("my-school", ["first-checklist"])
    again = voice_trainer("packs", "new", "my-school", "--out", folder, home=home)
    assert "is there already" in one_line_of_trouble(again)


def test_a_pack_is_taken_away(tmp_path: Path) -> None:
    home = tmp_path / "home"
    add_pack(pack_folder(tmp_path / NAME), home / "packs")
    done = voice_trainer("packs", "remove", NAME, home=home)
    assert (done.returncode, done.stderr) == (0, "")
    assert not (home / "packs" / NAME).exists()


def test_a_hostile_pack_is_one_line(tmp_path: Path) -> None:
    archive = with_entry(tmp_path / "a.zip", "../../evil\x1b[31m.yaml", make=pack_zip)
    line = one_line_of_trouble(voice_trainer("packs", "add", archive, home=tmp_path / "home"))
    assert line.isprintable()
    assert {path.name for path in tmp_path.iterdir()} == {"a.zip"}


@pytest.mark.slow
def test_a_pack_that_this_version_can_not_read_any_more_is_in_nobodys_way(tmp_path: Path) -> None:
    home = tmp_path / "home"
    add_pack(pack_folder(tmp_path / NAME, pack({"gear.yaml": drill()})), home / "packs")
    (home / "packs" / NAME / "gear.yaml").write_text("drill: gear\n")
    listed = voice_trainer("list", home=home)
    assert listed.returncode == 0
    assert "can't be used: " in listed.stdout
    assert "stall-recovery" in listed.stdout
    (home / "packs" / NAME / "pack.yaml").write_text("nonsense")
    assert "can't be used: " in voice_trainer("packs", home=home).stdout
    remove_pack(NAME, home / "packs")
    assert not (home / "packs" / NAME).exists()


@pytest.mark.slow
def test_an_installation_that_is_killed_leaves_no_pack_and_the_next_one_clears_up(tmp_path: Path) -> None:
    home = tmp_path / "home"
    files = {f"gear-{number}.yaml": drill(f"gear-{number}") for number in range(60)}
    source = pack_folder(tmp_path / NAME, pack(files))
    running = subprocess.Popen(
        [sys.executable, "-m", "voice_trainer", "packs", "add", source],
        env=os.environ | {"VOICE_TRAINER_HOME": str(home)},
        stdout=subprocess.DEVNULL,
    )
    until = time.monotonic() + 60
    while not list(home.glob("packs/.unfinished-*/gear-1.yaml")) and time.monotonic() < until:
        time.sleep(0.002)
    running.send_signal(signal.SIGKILL)
    assert running.wait(timeout=60) == -signal.SIGKILL
    assert [path for path in (home / "packs").iterdir() if not path.name.startswith(".")] == []
    assert Packs(home / "packs").all == ()
    add_pack(source, home / "packs")
    assert sorted(path.name for path in (home / "packs").iterdir()) == [".lock", NAME]


@pytest.mark.slow
def test_the_synthetic_student_flies_a_drill_of_the_pack(home: Path) -> None:
    done = voice_trainer(
        "run",
        "tarlen-school/finch-before-start",
        "--input=student",
        "--output=none",
        "--student-errors=none",
        home=home,
        timeout=180,
    )
    assert (done.returncode, done.stderr) == (0, "")
    assert "5 of 5 calls were said" in done.stdout
