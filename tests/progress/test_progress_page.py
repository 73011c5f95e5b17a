"""The page of progress as text: what is in it, and that nothing in it is taken for markup."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET
from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from tests.html_outline import Outline
from tests.progress.practised import HOSTILE, NOW, VERY_LONG, hostile, report
from voice_trainer.pages.plain_text import plain
from voice_trainer.progress.page import page_of
from voice_trainer.progress.plots import forecast_svg, share_svg, spark_svg, time_svg
from voice_trainer.progress.report import CAUTION

MONDAY = date(2026, 1, 5)


def words_of(page: str) -> str:
    return re.sub(r"\s+", " ", Outline(page).text)


def test_figures_weak_calls_what_was_said_instead_and_what_comes_due_are_on_it() -> None:
    told = report()
    words = words_of(page_of([told], NOW))
    weakest = told.weakest[0]
    assert f"{weakest.step}, {weakest.call}" in words
    assert f"× {weakest.wrong} wrong" in words and f"of {weakest.times} times" in words
    assert f"Say {weakest.expected}" in words
    assert f"Said instead, {weakest.said_instead[0].times} times" in words
    assert "threeoneinstead" in words  # 'set course three three three' over 'one five three', word over word
    assert f"{len(told.due.due)} flows due now." in words
    for kind in ("Checklist", "Procedure", "Radio"):
        assert f"{kind} Practised" in words
    assert re.search(r"Promptness 100 % up \d+ from \d\d %", words)
    assert "68 sessions" in words and CAUTION in words


def test_each_kind_drill_and_flow_has_its_five_figures() -> None:
    page = page_of([report()], NOW)
    outline = Outline(page)
    groups = 3 + 3 + 5
    names = re.findall(r"<dt>(\w+)</dt>", page)
    assert names == ["Said", "Accuracy", "Order", "Timing", "Promptness"] * groups
    # A flow of one call has no order, and so no line of it.
    sparks = [each for tag, each in outline.elements if tag == "svg" and each.get("class") == "spark"]
    assert len(sparks) == 5 * groups - 1
    assert all(each["aria-hidden"] == "true" for each in sparks)


def test_an_instructor_sees_each_student_and_how_many_there_are_besides() -> None:
    page = page_of([report(), report(student="Bo", sessions=4)], NOW, not_shown=3)
    words = words_of(page)
    assert "2 students" in words and "3 others have not" in words
    assert (
        words.index("Side by side Each share")
        < words.index("Anna 68 sessions")
        < words.index("Bo 4 sessions")
    )
    assert 'href="#s2"' in page
    assert page.count('class="spark"') == 5 * (3 + 3)  # lines of kinds, none of drills and flows
    nobody = words_of(page_of([], NOW, not_shown=2))
    assert "Nobody who has sessions here has agreed" in nobody


def test_before_anything_was_practised_it_says_so() -> None:
    words = words_of(page_of([report(sessions=0)], NOW))
    assert "No flow was practised to its end yet." in words
    assert "0 flows due now." in words
    assert "%" not in words


def test_one_week_is_held_against_nothing() -> None:
    words = words_of(page_of([report(sessions=1)], NOW))
    assert "up" not in words.split() and "as before" not in words
    assert "held against all before" not in words


def test_hostile_text_stays_text() -> None:
    harmless = Outline(page_of([report()], NOW))
    told = hostile()
    page = page_of([told], NOW)
    outline = Outline(page)
    assert outline.tags() <= harmless.tags()
    known = {name for _, attributes in harmless.elements for name in attributes}
    assert {name for _, attributes in outline.elements for name in attributes} <= known | {"open"}
    assert plain(HOSTILE) in outline.text
    assert "{{7*7}}" in outline.text and "👩🏽‍✈️" in outline.text
    assert not set("\u202e\u2066\x00\x07") & set(page)
    assert "characters more)" in outline.text and VERY_LONG not in outline.text
    assert any(weak.said_instead and len(weak.said_instead[0].said) > 10_000 for weak in told.weakest)


def test_headings_follow_each_other_identifiers_are_unique_and_links_lead_somewhere() -> None:
    for page in (
        page_of([report()], NOW),
        page_of([report(), report(student="Bo", sessions=4)], NOW, not_shown=0),
    ):
        outline = Outline(page)
        levels = [int(tag[1]) for tag, _ in outline.elements if re.fullmatch(r"h[1-6]", tag)]
        assert levels[0] == 1 and levels.count(1) == 1
        assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
        assert {"header", "nav", "main", "footer"} <= outline.tags()
        identifiers = [attributes["id"] for _, attributes in outline.elements if "id" in attributes]
        assert len(identifiers) == len(set(identifiers))
        for tag, attributes in outline.elements:
            if tag == "section":
                assert attributes["aria-labelledby"] in identifiers
            if tag == "a":
                assert (attributes["href"] or "").removeprefix("#") in identifiers
            if tag == "th":
                assert attributes["scope"] in ("col", "row")


def test_it_is_the_same_each_time() -> None:
    assert page_of([report()], NOW) == page_of([report()], NOW)


def test_a_pause_is_a_gap_in_the_line() -> None:
    weeks = [(MONDAY + timedelta(weeks=number), 0.5) for number in (0, 1, 4, 5, 9)]
    svg = share_svg("a", "Accuracy", weeks, (MONDAY, MONDAY + timedelta(weeks=9)))
    assert svg.count('class="plot-share"') == 2
    assert svg.count('class="plot-week"') == 5


shares = st.dictionaries(st.integers(0, 300), st.none() | st.floats(0.0, 1.0), max_size=60)


@given(weeks=shares, more=st.integers(0, 50))
def test_every_plot_is_well_formed_and_within_its_frame(weeks: dict[int, float | None], more: int) -> None:
    by_week = [(MONDAY + timedelta(weeks=number), share) for number, share in sorted(weeks.items())]
    span = (MONDAY, MONDAY + timedelta(weeks=max(weeks, default=0) + more))
    seconds = {week: 36000.0 * (share or 0.0) for week, share in by_week}
    counts = {MONDAY + timedelta(days=number): round(100 * (share or 0)) for number, share in weeks.items()}
    for svg in (
        share_svg("a", "Accuracy", by_week, span),
        spark_svg(by_week, span),
        time_svg("t", seconds, span),
        forecast_svg("f", counts),
    ):
        drawing = ET.fromstring(svg)
        width, height = float(drawing.attrib["width"]), float(drawing.attrib["height"])
        for each in drawing.iter():
            for name, most in (("cx", width), ("x", width), ("cy", height), ("y", height)):
                assert 0.0 <= float(each.attrib.get(name, 0.0)) <= most
            if each.tag.endswith("rect"):
                assert float(each.attrib["y"]) + float(each.attrib["height"]) <= height
