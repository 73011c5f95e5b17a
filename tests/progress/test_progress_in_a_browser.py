"""The page of progress in a real browser (`tests/browser.py`)."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser import DESK, PHONE, Opened
from tests.progress.practised import NOW, hostile, report
from voice_trainer.progress.page import page_of

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("pages")
    made = {
        "one": page_of([report()], NOW),
        "students": page_of([report(), report(student="Bo", sessions=4)], NOW, not_shown=1),
        "strange": page_of([hostile()], NOW, not_shown=0),
        "nothing": page_of([report(sessions=0)], NOW),
    }
    for name, page in made.items():
        (folder / f"{name}.html").write_text(page, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in made}


@pytest.mark.parametrize("which", ["one", "students", "strange", "nothing"])
def test_it_loads_fits_a_phone_and_leaves_nothing(
    which: str, browser: Browser, pages: dict[str, Path]
) -> None:
    opened = Opened(browser, pages[which], PHONE)
    page = opened.page
    for _ in range(2):
        assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
        page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
    assert page.title().startswith("Progress")
    assert page.locator("script").count() == 1
    assert opened.trouble == []


def test_the_keyboard_reaches_the_parts_and_opens_what_is_closed(
    browser: Browser, pages: dict[str, Path]
) -> None:
    opened = Opened(browser, pages["one"], DESK)
    page = opened.page
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to how it goes"
    page.keyboard.press("Enter")
    page.wait_for_function("document.activeElement.id === 's1-now'")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.tagName") == "SUMMARY"
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
    table = page.locator("table")
    assert not table.is_visible()
    page.keyboard.press("Enter")
    assert table.is_visible()
    assert opened.trouble == []


def test_a_screen_reader_is_told_what_each_plot_shows(browser: Browser, pages: dict[str, Path]) -> None:
    page = Opened(browser, pages["one"], DESK).page
    images = page.get_by_role("img")
    assert (
        images.count() == 7
    )  # five measures, the time, what comes due; the small lines repeat what is written
    accuracy = page.get_by_role("img", name="Accuracy by week")
    assert "in the week of 5 January 2026" in (accuracy.text_content() or "")


def test_it_prints_with_all_that_was_closed(browser: Browser, pages: dict[str, Path]) -> None:
    opened = Opened(browser, pages["one"], DESK)
    page = opened.page
    page.emulate_media(media="print")
    assert page.pdf(format="A4").startswith(b"%PDF")
    assert not page.locator("nav").is_visible()
    assert page.locator("details:not([open])").count() == 0
    assert page.locator("svg.plot").first.is_visible()
    assert opened.trouble == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_lines_and_columns_are_seen_on_the_paper(
    scheme: str, browser: Browser, pages: dict[str, Path]
) -> None:
    """WCAG 2.2, 1.4.11: 3 to 1 for what is needed to understand a graphic. Black on white, and all that is painted
    with `currentColor`, is the browser's own; these are painted by the style sheet."""
    page = Opened(browser, pages["one"], DESK).page
    page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
    ratios = page.evaluate(
        """() => {
            const luminance = (colour) => {
                const parts = colour.match(/[0-9.]+/g).slice(0, 3).map((part) => part / 255);
                const [r, g, b] = parts.map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
                return 0.2126 * r + 0.7152 * g + 0.0722 * b;
            };
            const paper = luminance(getComputedStyle(document.body).backgroundColor);
            const painted = [[".plot-share", "stroke"], [".plot-column", "fill"], [".plot-week", "fill"]];
            return painted.map(([which, how]) => {
                const found = luminance(getComputedStyle(document.querySelector(which))[how]);
                return (Math.max(found, paper) + 0.05) / (Math.min(found, paper) + 0.05);
            });
        }"""
    )
    assert min(ratios) >= 3.0
