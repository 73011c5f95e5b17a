"""Pages in a real browser: Debian's chromium, driven by Playwright, without a network."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = "/usr/bin/chromium"
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 360, "height": 740}
DESK = {"width": 1200, "height": 900}


@contextmanager
def chromium() -> Iterator[Browser]:
    """The browser, for as long as it is looked at."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


class Opened:
    """A page, and all that went wrong on it or left it."""

    def __init__(self, browser: Browser, path: Path, size: dict[str, int], *, script: bool = True) -> None:
        context = browser.new_context(viewport=size, java_script_enabled=script)  # type: ignore[arg-type]
        self.page: Page = context.new_page()
        self.trouble: list[str] = []
        self.page.on("console", lambda message: self.trouble.append(message.text))
        self.page.on("pageerror", lambda error: self.trouble.append(str(error)))
        self.page.on("request", lambda request: self._asked(request.url, path))
        self.page.goto(path.as_uri())

    def _asked(self, url: str, path: Path) -> None:
        if url != path.as_uri() and not url.startswith("data:"):
            self.trouble.append(f"asked for {url}")
