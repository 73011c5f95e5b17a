"""For all tests: property tests compile languages and models on first use, so no example has a deadline.

The browser is started once for all tests of a page.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser

os.environ["VOICE_TRAINER_FAULTS"] = "raise"  # what can't happen fails a test, in programs that it starts too

settings.register_profile("project", deadline=None)
settings.load_profile("project")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    from tests.browser import chromium

    with chromium() as started:
        yield started
