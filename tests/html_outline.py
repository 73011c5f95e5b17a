"""A page as a test looks at it: elements and text, without a browser."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"meta", "input", "br", "img", "link", "hr"}


class Outline(HTMLParser):
    """The elements of a page, its text, and whether every element that is opened is closed in its turn."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.text = ""
        self._open: list[str] = []
        self.feed(page)
        self.close()
        assert self._open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self._open and self._open[-1] not in ("style", "script"):
            self.text += data

    def tags(self) -> set[str]:
        return {tag for tag, _ in self.elements}
