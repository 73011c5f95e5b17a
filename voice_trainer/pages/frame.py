"""A page of the program: everything in it, nothing fetched, readable without script.

Theory of operation
-------------------
Each page's template extends `frame.html`, which every page shares with its style and its script; a room that has a page
brings `templates/page.html`, and `page.css` and `page.js` where it needs more. Jinja2 escapes all that is put into a
template; besides, `plain` goes over every text, so that nobody's marks of direction or control characters reach the
page. A content security policy in the page forbids everything but its own style, its own script (by hash) and sounds
that lie in it.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping
from importlib import resources
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from voice_trainer.pages.plain_text import plain


def rendered(room: str, generator: str, content: Mapping[str, Any], filters: Mapping[str, Any]) -> str:
    """The HTML of a room's page: `templates/page.html` of the package `room` with `content` in it.

    `generator` is how the page says that it is one of ours, and of which sort. The same content gives the same text.
    """
    style, script = (
        _text(__package__, f"frame.{kind}") + _text(room, f"page.{kind}") for kind in ("css", "js")
    )
    environment = Environment(
        loader=ChoiceLoader([PackageLoader(room), PackageLoader(__package__)]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_shown,
    )
    environment.filters |= filters
    return environment.get_template("page.html").render(
        generator=generator,
        style=Markup(style),
        script=Markup(script),
        script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode("ascii"),
        **content,
    )


def _shown(value: object) -> object:
    """Every text that a template puts into the page goes through here; sounds and our own markup as they are."""
    if isinstance(value, Markup) or not isinstance(value, str):
        return value
    return plain(value)


def _text(room: str, name: str) -> str:
    file = resources.files(room).joinpath("templates", name)
    return file.read_text(encoding="utf-8") if file.is_file() else ""
