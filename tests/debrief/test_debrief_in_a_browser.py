"""The page in a real browser (`tests/browser.py`)."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser import DESK, PHONE, Opened
from tests.cli.commands import voice_trainer
from tests.debrief.sessions import flown, header_of, hostile, journal_with_sound
from voice_trainer.debrief.page import page_of
from voice_trainer.debrief.report import debrief_of

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def with_sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    home = tmp_path_factory.mktemp("home")
    done = voice_trainer(
        "debrief", journal_with_sound(home), "--html", home / "page.html", "--with-answers", home=home
    )
    assert done.returncode == 0, done.stderr
    return home / "page.html"


@pytest.fixture(scope="module")
def strange(tmp_path_factory: pytest.TempPathFactory) -> Path:
    header, records, overrulings = hostile()
    path = tmp_path_factory.mktemp("strange") / "page.html"
    path.write_text(page_of(debrief_of(header, records, None, overrulings), records), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def in_flight(tmp_path_factory: pytest.TempPathFactory) -> Path:
    scene = flown(seconds=1500)
    path = tmp_path_factory.mktemp("flown") / "page.html"
    path.write_text(
        page_of(debrief_of(header_of(scene.drill), scene.records), scene.records), encoding="utf-8"
    )
    return path


@pytest.mark.parametrize("which", ["with_sound", "strange", "in_flight"])
@pytest.mark.parametrize("size", [PHONE, DESK])
def test_it_fits_and_leaves_nothing(
    which: str, size: dict[str, int], browser: Browser, request: pytest.FixtureRequest
) -> None:
    opened = Opened(browser, request.getfixturevalue(which), size)
    page = opened.page
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    page.evaluate("for (const each of document.querySelectorAll('details')) each.open = true")
    assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
    assert page.title().startswith("Debrief: ")
    assert opened.trouble == []


def test_what_was_said_plays(browser: Browser, with_sound: Path) -> None:
    opened = Opened(browser, with_sound, PHONE)
    for name in ("What you said for heading", "The right call"):
        seconds = opened.page.evaluate(
            """async (name) => {
                const audio = document.querySelector(`audio[aria-label^="${name}"]`);
                audio.muted = true;
                await audio.play();
                return audio.duration;
            }""",
            name,
        )
        assert 0.3 < seconds < 10.0
    assert opened.trouble == []


def test_the_keyboard_reaches_filter_and_sound_and_the_filter_filters(
    browser: Browser, with_sound: Path
) -> None:
    opened = Opened(browser, with_sound, DESK)
    page = opened.page

    def shown() -> list[str]:
        names: list[str] = page.evaluate(
            "[...document.querySelectorAll('.call')].filter(each => each.checkVisibility())"
            ".map(each => each.querySelector('h4 bdi').textContent)"
        )
        return names

    def tab_to(selector: str) -> None:
        for _ in range(60):
            page.keyboard.press("Tab")
            if page.evaluate("selector => document.activeElement.matches(selector)", selector):
                return
        raise AssertionError(f"the keyboard does not reach {selector}")

    assert shown() == ["heading", "altitude", "gear", "flaps", "lights", "runway"]
    tab_to("input[name=which]")
    assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
    page.keyboard.press("ArrowRight")
    assert shown() == ["heading", "flaps", "lights", "runway"]
    assert page.text_content("#shown") == "4 of 6 calls are shown."
    tab_to("select[name=step]")
    tab_to("audio")
    # A link to a call that is filtered away shows it again.
    page.evaluate("location.hash = 'call-2'")
    page.wait_for_function("document.getElementById('call-2').checkVisibility()")
    assert opened.trouble == []


def test_without_script_all_is_shown_and_no_idle_control(browser: Browser, with_sound: Path) -> None:
    page = Opened(browser, with_sound, DESK, script=False).page
    assert page.locator(".call").count() == 6
    assert all(each.is_visible() for each in page.locator(".call").all())
    assert not page.locator("#filter").is_visible()


def test_hostile_text_does_nothing(browser: Browser, strange: Path) -> None:
    opened = Opened(browser, strange, DESK)
    assert opened.page.locator("script").count() == 1
    assert opened.page.locator("img, iframe, object, [onmouseover]").count() == 0
    assert opened.page.title() not in ("taken", "1")
    assert opened.trouble == []


def test_it_prints(browser: Browser, in_flight: Path) -> None:
    opened = Opened(browser, in_flight, DESK)
    assert opened.page.pdf(format="A4").startswith(b"%PDF")
    opened.page.emulate_media(media="print")
    assert not opened.page.locator("nav").is_visible()
    assert opened.page.locator("svg").first.is_visible()
    assert opened.trouble == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("media", ["screen", "print"])
def test_every_colour_of_text_has_contrast_enough(
    scheme: str, media: str, browser: Browser, with_sound: Path
) -> None:
    """WCAG 2.2, 1.4.3: 4.5 to 1, by its formula for relative luminance."""
    opened = Opened(browser, with_sound, DESK)
    opened.page.emulate_media(color_scheme=scheme, media=media)  # type: ignore[arg-type]
    ratios = opened.page.evaluate(
        """() => {
            const probe = document.body.appendChild(document.createElement("i"));
            const luminance = (name) => {
                probe.style.color = `var(--${name})`;
                const parts = getComputedStyle(probe).color.match(/[0-9.]+/g).slice(0, 3).map((part) => part / 255);
                const [r, g, b] = parts.map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
                return 0.2126 * r + 0.7152 * g + 0.0722 * b;
            };
            const found = {};
            for (const under of ["paper", "wash"]) {
                for (const over of ["ink", "soft", "accent", "half", "nothing", "uncounted"]) {
                    const [a, b] = [luminance(under), luminance(over)];
                    found[`${over} on ${under}`] = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
                }
            }
            return found;
        }"""
    )
    assert {name: ratio for name, ratio in ratios.items() if ratio < 4.5} == {}
