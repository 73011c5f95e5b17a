"""`voice-trainer plan`: the card of a procedure, and typing one in."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from voice_trainer.cli.today import HOUSE_FLOWS
from voice_trainer.procedures.house_flow import PUBLISHED

CHART = """my vor
VOR runway 22


Tarnholt
22
300
Tarnholt approach
Tarnholt tower
trn
Tarnholt
112.7
100

3000
220

{side}
2500

1800
{minimums}

5
2600

"""


def test_a_card_says_every_call_with_its_value_and_why(tmp_path: Path) -> None:
    done = voice_trainer("plan", "kelda-vor-15", "--wind", "240/18", home=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "turn right heading 326" in done.stdout
    assert "the wind, 240 at 18, at 150 knots asks for 7 degrees to the left: 326." in done.stdout
    assert "Study aid only" in done.stdout
    assert "all calls right" in done.stdout


def test_one_call_is_explained_by_its_arithmetic(tmp_path: Path) -> None:
    done = voice_trainer("plan", "kelda-vor-15", "--wind", "240/18", "--explain", "timing", home=tmp_path)
    assert done.stdout.splitlines() == [
        "set-up and brief, timing: timing to the missed approach point 2:34",
        "  4.6 miles at 108 knots over the ground: 2:34.",
    ]
    wrong = voice_trainer("plan", "kelda-vor-15", "--explain", "tming", home=tmp_path)
    assert wrong.returncode == 2
    assert wrong.stderr.count("\n") == 1
    assert "timing" in wrong.stderr


def test_an_amended_altitude_is_on_the_card_of_a_day_that_has_one(tmp_path: Path) -> None:
    with_it = voice_trainer("plan", "marlo-vor-15", "--amend", "yes", home=tmp_path)
    assert with_it.returncode == 0, with_it.stderr
    assert "Petrel 52, amend altitude, maintain 2,900 until established" in with_it.stdout
    assert "amended altitude: not below 2,900" in with_it.stdout
    without = voice_trainer("plan", "marlo-vor-15", "--amend", "no", home=tmp_path)
    assert "amend" not in without.stdout


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("kelda-vor-51",), "did you mean 'kelda-vor-15'?"),
        (
            ("kelda-vor-15", "--wind", "24018"),
            "'24018' is no wind; give three digits of a direction and knots, such as 240/18",
        ),
        (("kelda-vor-15", "--wind", "240/120"), "crosswind"),
        (("kelda-vor-15", "--profile", "glider"), "jet trainer"),
        (("hold-kelda-left", "--amend", "yes"), "fly it without (--amend no)"),
        (("kelda-vor-15", "too-many"), "one argument too many"),
        (("./no-such.yaml",), "no-such.yaml"),
    ],
)
def test_what_can_not_be_planned_is_one_line(arguments: tuple[str, ...], says: str, tmp_path: Path) -> None:
    done = voice_trainer("plan", *arguments, home=tmp_path)
    assert done.returncode == 2, done.stdout
    assert done.stderr.count("\n") == 1
    assert says in done.stderr


def test_the_house_flows_of_the_command_line_are_those_that_ship() -> None:
    assert tuple(PUBLISHED) == HOUSE_FLOWS


def test_a_wind_in_which_it_leaves_its_limits_is_refused_with_the_reason(tmp_path: Path) -> None:
    done = voice_trainer("plan", "kelda-vor-15", "--wind", "153/60", home=tmp_path)
    assert done.returncode == 2
    assert "can't be flown today" in done.stderr


def test_the_card_as_a_page_and_as_a_pdf(tmp_path: Path) -> None:
    page, pdf = tmp_path / "card.html", tmp_path / "card.pdf"
    done = voice_trainer("plan", "kelda-vor-15", "--html", page, "--pdf", pdf, home=tmp_path)
    assert done.returncode == 0, done.stderr
    html = page.read_text(encoding="utf-8")
    assert html.count("<svg") == 2
    assert "http://" not in html.replace("http://www.w3.org", "")
    assert pdf.read_bytes().startswith(b"%PDF")
    again = tmp_path / "again.pdf"
    voice_trainer("plan", "kelda-vor-15", "--pdf", again, home=tmp_path)
    assert again.read_bytes() == pdf.read_bytes()
    nowhere = voice_trainer("plan", "kelda-vor-15", "--pdf", tmp_path / "no" / "card.pdf", home=tmp_path)
    assert nowhere.returncode == 2
    assert nowhere.stderr.count("\n") == 1


def test_an_approach_is_typed_in_item_by_item_and_then_planned(tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    chart = CHART.format(side="x\nright", minimums="900")
    started_as = {"VOICE_TRAINER_COMMAND": "scripts/run"}
    done = voice_trainer("plan", "new", file, home=tmp_path, stdin=chart, env=started_as)
    assert done.returncode == 0, done.stderr
    assert "'x': give one of left, right" in done.stdout
    assert f"See its card with: scripts/run plan {file}" in done.stdout
    planned = voice_trainer("plan", file, home=tmp_path)
    assert planned.returncode == 0, planned.stderr
    assert "turn right heading 085" in planned.stdout  # outbound 040, 45 to the right
    again = voice_trainer("plan", "new", file, home=tmp_path, stdin=chart)
    assert again.returncode == 2
    assert "mine.yaml is there already" in again.stderr
    assert "Its title" not in again.stdout  # it is said before anything is asked


def test_whoever_writes_units_or_nothing_or_a_name_that_is_taken_is_helped_on(tmp_path: Path) -> None:
    (tmp_path / "taken.yaml").write_text("my own work", encoding="utf-8")
    chart = CHART.format(side="\nright", minimums="900 ft")
    name, rest = chart.split("\n", 1)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(tmp_path)
        patch.setenv("PYTHONPATH", str(Path(__file__).parents[2]))
        done = voice_trainer("plan", "new", home=tmp_path, stdin=f"taken\n{name}\n{rest}")
    assert done.returncode == 0, done.stderr
    assert "taken.yaml: there is a file of this name; give another one" in done.stdout
    assert "there is no usual answer to this: type one" in done.stdout
    assert "minimums_feet: 900" in (tmp_path / f"{'-'.join(name.lower().split())}.yaml").read_text(
        encoding="utf-8"
    )
    assert (tmp_path / "taken.yaml").read_text(encoding="utf-8") == "my own work"


def test_numbers_that_do_not_belong_together_are_asked_for_again(tmp_path: Path) -> None:
    file = tmp_path / "mine.yaml"
    chart = CHART.format(side="right", minimums="1900") + "900\n"
    done = voice_trainer("plan", "new", file, home=tmp_path, stdin=chart)
    assert done.returncode == 0, done.stderr
    assert "are not below the 1,800 at the fix" in done.stdout
    assert "minimums_feet: 900" in file.read_text(encoding="utf-8")


def test_a_chart_that_breaks_off_leaves_no_file(tmp_path: Path) -> None:
    done = voice_trainer("plan", "new", tmp_path / "mine.yaml", home=tmp_path, stdin="my vor\nVOR\n")
    assert done.returncode == 2
    assert not (tmp_path / "mine.yaml").exists()
