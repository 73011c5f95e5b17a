"""The page as text: what is in it, that nothing in it is taken for markup, and that it is the same each time."""

from __future__ import annotations

import itertools
import re
import stat
from dataclasses import replace
from pathlib import Path

import pytest

from tests.cli.commands import voice_trainer
from tests.debrief.sessions import HOSTILE, VERY_LONG, flown, header_of, hostile, journal_with_sound, told
from tests.html_outline import Outline
from tests.scenes import Scene
from voice_trainer.archive.session_files import page_file
from voice_trainer.debrief.page import page_of
from voice_trainer.debrief.report import CAUTION, debrief_of
from voice_trainer.grading.flight import Deviation
from voice_trainer.pages.drawing import ticks
from voice_trainer.pages.plain_text import plain


def page_of_scene(**hostility: str) -> str:
    scene = told(**hostility)
    return page_of(debrief_of(header_of(scene.drill), scene.records), scene.records)


def page_of_flight(scene: Scene) -> str:
    return page_of(debrief_of(header_of(scene.drill), scene.records), scene.records)


def test_score_corrections_calls_and_caution_are_on_it() -> None:
    text = re.sub(r"\s+", " ", Outline(page_of_scene()).text)
    assert "50 %" in text and "2 of 4 points" in text
    assert "Accuracy: 2 of 3 of those have every value right." in text
    assert "Critical: said “runway in sight”." in text
    assert "340 less 30 is 310." in text
    assert "costs 1 point" in text and "wrong value" in text and "instead" in text
    assert "You disputed the verdict" in text
    assert CAUTION in text


def test_hostile_text_stays_text() -> None:
    header, records, overrulings = hostile()
    harmless = Outline(page_of_scene())
    page = page_of(debrief_of(header, records, None, overrulings), records)
    outline = Outline(page)
    assert outline.tags() <= harmless.tags() | {"strong"}
    known = {name for _, attributes in harmless.elements for name in attributes}
    assert {name for _, attributes in outline.elements for name in attributes} <= known
    assert plain(HOSTILE) in outline.text
    assert "{{7*7}}" in outline.text
    assert not set("\u202e\u2066\x00\x07") & set(page)
    assert "👩🏽‍✈️" in outline.text
    assert "characters more)" in outline.text and VERY_LONG not in outline.text


def test_a_long_flight_is_a_small_page_the_same_each_time() -> None:
    scene = flown(seconds=7200)
    debrief = debrief_of(header_of(scene.drill), scene.records)
    page = page_of(debrief, scene.records)
    assert page == page_of(debrief, scene.records)
    assert len(page.encode()) < 3_000_000
    outline = Outline(page)
    assert [attributes["role"] for tag, attributes in outline.elements if tag == "svg"] == ["img", "img"]
    identifiers = [attributes["id"] for _, attributes in outline.elements if "id" in attributes]
    assert len(identifiers) == len(set(identifiers))
    assert "The lowest point is 2,600 feet" in outline.text
    assert "<script>document" not in page


def test_segments_are_limits_and_navaids_are_on_the_map() -> None:
    outline = Outline(page_of_flight(flown(seconds=1500, segmented=True)))
    assert "Limits in feet: lowest 2,500, then lowest 1,900, then highest 2,800." in outline.text
    assert "≥ 1,900" in outline.text and "≤ 2,800" in outline.text
    assert "DOR 113.1" in outline.text and "10 miles from KLD" in outline.text
    assert "Inside its limits." in outline.text
    assert "Limits in feet: called for 2,600." in Outline(page_of_flight(flown(1500))).text


def test_where_the_flight_left_its_limits_is_listed() -> None:
    scene = flown(seconds=900, segmented=True)
    low = Deviation("too low", "inbound", 730.0, 4.0, 1900.0, 150.0)
    bust = Deviation("too low", "final", 800.0, 2.0, 820.0, 20.0, critical=True)
    debrief = replace(debrief_of(header_of(scene.drill), scene.records), deviations=(low, bust))
    text = re.sub(r"\s+", " ", Outline(page_of(debrief, scene.records)).text)
    assert f"Outside the limits 12:10 too low: {low.said} 13:20 Critical: too low: {bust.said}" in text
    assert "Inside its limits." not in text


def test_every_heading_has_its_level_and_every_control_its_name() -> None:
    outline = Outline(page_of_scene())
    levels = [int(tag[1]) for tag, _ in outline.elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    assert {"header", "nav", "main", "footer"} <= outline.tags()
    identifiers = {attributes["id"] for _, attributes in outline.elements if "id" in attributes}
    for tag, attributes in outline.elements:
        if tag == "section":
            assert attributes["aria-labelledby"] in identifiers
        if tag == "a":
            assert (attributes["href"] or "").removeprefix("#") in identifiers
        if tag == "th":
            assert attributes["scope"] in ("col", "row")


def test_a_session_in_which_nothing_was_said_has_a_page_without_a_score() -> None:
    scene = told()
    records = scene.records[:1]
    page = page_of(debrief_of(header_of(scene.drill), records), records)
    assert "Nothing was practised" in page and "%</p>" not in page


def test_kept_sound_is_in_it_once_and_only_its_owner_may_read_it(tmp_path: Path) -> None:
    path = journal_with_sound(tmp_path)
    done = voice_trainer("debrief", path, "--html", "--with-answers", home=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    page = page_file(path)
    assert stat.S_IMODE(page.stat().st_mode) == 0o600
    outline = Outline(page.read_text(encoding="utf-8"))
    sounds = [attributes for tag, attributes in outline.elements if tag == "audio"]
    said = [each for each in sounds if (each["aria-label"] or "").startswith("What")]
    # Three utterances; altitude and gear were said in one breath.
    assert len(said) == 3
    assert "In the same breath" in outline.text
    assert len([each for each in sounds if (each["aria-label"] or "").startswith("The right call")]) >= 3
    assert all(
        re.match(r"data:audio/(mpeg|wav);base64,[A-Za-z0-9+/=]+$", each["src"] or "") for each in sounds
    )
    assert "Overruled disputed → late by Ms Berg" in re.sub(r"\s+", " ", outline.text)
    again = voice_trainer("debrief", path, "--html", page, home=tmp_path)
    assert again.returncode == 0
    assert voice_trainer("forget", path.stem, "--yes", home=tmp_path).returncode == 0
    assert not page.exists()


def test_run_writes_it_too(tmp_path: Path) -> None:
    done = voice_trainer(
        "run", "brannock-clearance", "--input=typed", "--report", tmp_path / "page.html", home=tmp_path,
        stdin="+9\nHeron 24\n",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "What to work on" in (tmp_path / "page.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        (0.0, 10.0, [0, 2, 4, 6, 8, 10]),
        (-0.3, 0.3, [-0.2, 0, 0.2]),
        (820.0, 3000.0, [1000, 1500, 2000, 2500, 3000]),
        (1.0, 1.0, []),
    ],
)
def test_ticks_are_round_numbers(low: float, high: float, expected: list[float]) -> None:
    assert ticks(low, high) == expected
