"""A real HTTP server on this machine that gives one file, in parts when asked, and misbehaves when told to."""

from __future__ import annotations

import contextlib
import re
import threading
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType
from typing import Self


@dataclass
class Manners:
    """How requests are answered. `cuts` holds, for the next requests, after how many bytes each is cut off."""

    content: bytes
    etag: str | None = '"one"'
    cuts: list[int] = field(default_factory=list)
    status: int = 200
    location: str | None = None
    states_length: bool = True
    stated_length: int | None = None
    gives_wrong_part: bool = False


class FileServer:
    """Serves `manners.content` at `url`; `requests` are the headers of what was asked for so far."""

    def __init__(self, content: bytes) -> None:
        self.manners = Manners(content)
        self.requests: list[dict[str, str]] = []
        self._server = ThreadingHTTPServer(("127.0.0.1", 0), self._handler())
        self._thread = threading.Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.02})

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self._server.server_port}/model.zip"

    def __enter__(self) -> Self:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._server.shutdown()
        self._thread.join()
        self._server.server_close()

    def _handler(self) -> type[BaseHTTPRequestHandler]:
        outer = self

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self) -> None:
                outer.requests.append(dict(self.headers))
                outer._answer(self)

            def log_message(self, format: str, *args: object) -> None:
                pass

        return Handler

    def _answer(self, request: BaseHTTPRequestHandler) -> None:
        manners, whole = self.manners, self.manners.content
        cut = manners.cuts.pop(0) if manners.cuts else None
        if manners.status != 200 or manners.location:
            request.send_response(manners.status)
            if manners.location:
                request.send_header("Location", manners.location)
            request.send_header("Content-Length", "0")
            request.end_headers()
            return
        start = self._start(request)
        if start is not None and start >= len(whole):
            request.send_response(416)
            request.send_header("Content-Range", f"bytes */{len(whole)}")
            request.send_header("Content-Length", "0")
            request.end_headers()
            return
        body = whole[start or 0 :]
        request.send_response(200 if start is None else 206)
        if start is not None:
            shown = start + 1 if manners.gives_wrong_part else start
            request.send_header("Content-Range", f"bytes {shown}-{len(whole) - 1}/{len(whole)}")
        if manners.etag:
            request.send_header("ETag", manners.etag)
        if manners.states_length:
            length = len(body) if manners.stated_length is None else manners.stated_length
            request.send_header("Content-Length", str(length))
        request.end_headers()
        with contextlib.suppress(ConnectionError):  # whoever asked may have heard enough
            request.wfile.write(body[:cut])
        request.close_connection = True

    def _start(self, request: BaseHTTPRequestHandler) -> int | None:
        """Where the part that is asked for begins; None for the whole, also where the file has changed."""
        asked = re.fullmatch(r"bytes=(\d+)-", request.headers.get("Range", ""))
        if asked is None or request.headers.get("If-Range", self.manners.etag) != self.manners.etag:
            return None
        return int(asked[1])
