"""Fetching one file over HTTP, so that a connection which breaks costs no more than what was on its way.

What has arrived is kept in a `.part` file, and beside it, in a `.part.json`, what the server said of the file.
The rest is then asked for by `Range`, with `If-Range`: a server whose file has changed sends the whole of the
new one (RFC 9110, sections 13.1.5 and 14). Without a validator that can be relied on we start from the front.

Only https is used, http only to this very machine; redirections are followed by hand, so that none leads
elsewhere.
"""

from __future__ import annotations

import hashlib
import re
import shutil
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urljoin, urlsplit

import requests
from pydantic import BaseModel, ValidationError

from voice_trainer import __version__
from voice_trainer.models.errors import ModelError, of_the_disk
from voice_trainer.unpacking.errors import in_units, shown

CONNECT_SECONDS = 10.0
SILENCE_SECONDS = 30.0
"""A server that sends nothing for so long has stopped."""

MOST_ATTEMPTS = 20
PAUSE_SECONDS = 1.0
MOST_REDIRECTIONS = 5
PIECE_BYTES = 1 << 16

Progress = Callable[[int, int | None], None]
"""Told again and again how many bytes are there, and of how many, where the server says so."""

_LOOPBACK = ("localhost", "127.0.0.1", "::1")
_CONTENT_RANGE = re.compile(r"bytes (\d+)-\d+/(\d+|\*)")


class _Served(BaseModel):
    """What the server said of the file that the `.part` is the beginning of."""

    url: str
    validator: str | None = None
    total_bytes: int | None = None


class _CutError(Exception):
    """The connection broke, or there was none."""

    def __init__(self, reason: str, received_bytes: int = 0) -> None:
        super().__init__(reason)
        self.reason = reason
        self.received_bytes = received_bytes


def checked_url(url: str) -> str:
    """`url` itself. Raises ModelError unless it may be fetched from."""
    try:
        parts = urlsplit(url)
        host, named = parts.hostname, parts.username is not None or parts.password is not None
    except ValueError as error:
        raise ModelError(f"{shown(url)} is no address; use https://HOST/PATH") from error
    if named:
        raise ModelError(
            f"{shown(host or '')}: an address with a name or a password is not used; leave them out"
        )
    if not host or not (parts.scheme == "https" or (parts.scheme == "http" and host in _LOOPBACK)):
        raise ModelError(
            f"{shown(url)}: only https is used (http to this machine only); use https://HOST/PATH"
        )
    return url


def fetch(
    url: str,
    part: Path,
    most_bytes: int,
    on_progress: Progress,
    *,
    pause_seconds: float = PAUSE_SECONDS,
) -> None:
    """Fetch `url` into the file `part`, or what is missing of it there. Its content is for the caller to check.

    A connection that breaks after it has brought something is taken up again after a pause, at most
    MOST_ATTEMPTS times.
    Raises ModelError: what had arrived stays, and the next call goes on from there.
    """
    with requests.Session() as http:
        # Anything packed for the way could not be taken up in the middle.
        http.headers.update({"User-Agent": f"voice_trainer/{__version__}", "Accept-Encoding": "identity"})
        for attempt in range(1, MOST_ATTEMPTS + 1):
            try:
                _Download(http, url, part, most_bytes, on_progress).run()
                return
            except _CutError as cut:
                if not cut.received_bytes or attempt == MOST_ATTEMPTS:
                    raise ModelError(_given_up(url, part, cut)) from cut
            time.sleep(pause_seconds)


def discard(part: Path) -> None:
    """Forget what was fetched into `part`."""
    part.unlink(missing_ok=True)
    _beside(part).unlink(missing_ok=True)


def sha256_of(path: Path) -> str:
    """The SHA-256 of a file, 64 hexadecimal digits. Raises OSError."""
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


@dataclass(slots=True)
class _Download:
    """One attempt."""

    http: requests.Session
    url: str
    part: Path
    most_bytes: int
    on_progress: Progress

    def run(self) -> None:
        """Raises _CutError where it may go on later, ModelError where it may not."""
        served, have = self._what_is_there()
        if have and have == served.total_bytes:
            self.on_progress(have, have)
            return
        response = self._ask(have, served.validator)
        if have and not self._goes_on(response, have, served):
            if response.status_code in (206, 416):
                # Not the part that was asked for, or none: only the whole helps.
                response.close()
                response = self._ask(0, None)
            have = 0
        with response:
            self._check_answer(response, have)
            length = response.headers.get("Content-Length", "")
            total = have + int(length) if length.isascii() and length.isdigit() else None
            self._check_size(total or have, total and total - have)
            if not have:
                served = _Served(url=self.url, validator=_validator(response), total_bytes=total)
            self._receive(response, have, total, served)

    def _what_is_there(self) -> tuple[_Served, int]:
        try:
            served = _Served.model_validate_json(_beside(self.part).read_bytes())
            have = self.part.stat().st_size
        except (OSError, ValidationError):
            return _Served(url=self.url), 0
        usable = served.url == self.url and (served.total_bytes is None or have <= served.total_bytes)
        complete = have == served.total_bytes
        return (served, have) if usable and (served.validator or complete) else (_Served(url=self.url), 0)

    def _ask(self, have: int, validator: str | None) -> requests.Response:
        headers = {"Range": f"bytes={have}-", "If-Range": validator} if have and validator else {}
        url = self.url
        for _ in range(MOST_REDIRECTIONS + 1):
            try:
                response = self.http.get(
                    checked_url(url),
                    headers=headers,
                    stream=True,
                    allow_redirects=False,
                    timeout=(CONNECT_SECONDS, SILENCE_SECONDS),
                )
            except requests.RequestException as error:
                raise _CutError(_in_words(error)) from error
            if not response.is_redirect:
                return response
            response.close()
            url = urljoin(url, response.headers["Location"])
        raise ModelError(f"{_host(self.url)} redirects without end; try again later")

    def _goes_on(self, response: requests.Response, have: int, served: _Served) -> bool:
        """Whether this is the rest of what is there already."""
        said = _CONTENT_RANGE.fullmatch(response.headers.get("Content-Range", ""))
        if response.status_code != 206 or said is None or int(said[1]) != have:
            return False
        same_total = said[2] == "*" or served.total_bytes in (None, int(said[2]))
        return same_total and _validator(response) in (None, served.validator)

    def _check_answer(self, response: requests.Response, have: int) -> None:
        if response.status_code != (206 if have else 200):
            reason = shown(f"{response.status_code} {response.reason or ''}".strip())[1:-1]
            raise ModelError(
                f"{_host(self.url)} does not give the file: {reason}; try again later, or get it by hand from "
                f"{shown(self.url)[1:-1]} and use 'models add'"
            )
        if response.headers.get("Content-Encoding", "identity") != "identity":
            raise ModelError(
                f"{_host(self.url)} sends the file in another form than asked for; try again later"
            )

    def _check_size(self, size_bytes: int, missing_bytes: int | None = None) -> None:
        if size_bytes > self.most_bytes:
            discard(self.part)
            raise ModelError(
                f"{_host(self.url)} sends more than {in_units(self.most_bytes)}, which the model is not; nothing "
                "was kept"
            )
        if missing_bytes is not None:
            free = shutil.disk_usage(self.part.parent).free
            if missing_bytes > free:
                raise ModelError(
                    f"{self.part.parent}: the disk has no room: {in_units(missing_bytes)} are to come and "
                    f"{in_units(free)} are free; make room, then run the same again"
                )

    def _receive(self, response: requests.Response, have: int, total: int | None, served: _Served) -> None:
        received = 0
        try:
            if not have:
                self.part.unlink(missing_ok=True)
                _beside(self.part).write_text(served.model_dump_json(), encoding="utf-8")
            with self.part.open("ab", buffering=0) as file:
                self.on_progress(have, total)
                for piece in response.iter_content(PIECE_BYTES):
                    self._check_size(have + received + len(piece))
                    _write_whole(file.write, piece)
                    received += len(piece)
                    self.on_progress(have + received, total)
        except requests.RequestException as error:
            # It is an OSError too, so it comes first.
            raise _CutError("the connection was cut", received) from error
        except OSError as error:
            raise of_the_disk(self.part, error) from error
        if total is not None and have + received < total:
            raise _CutError("the connection was cut", received)
        if total is None:
            # From now on it is known to be complete.
            done = served.model_copy(update={"total_bytes": have + received})
            _beside(self.part).write_text(done.model_dump_json(), encoding="utf-8")


def _write_whole(write: Callable[[memoryview], int | None], piece: bytes) -> None:
    left = memoryview(piece)
    while left:
        left = left[write(left) or 0 :]


def _validator(response: requests.Response) -> str | None:
    """What says in If-Range that the file is still the same: a strong ETag, or else its date."""
    tag = response.headers.get("ETag")
    if tag is not None and tag.startswith('"'):
        return tag
    return response.headers.get("Last-Modified")


def _beside(part: Path) -> Path:
    return part.with_name(part.name + ".json")


def _host(url: str) -> str:
    return shown(urlsplit(url).hostname or url)[1:-1]


def _in_words(error: requests.RequestException) -> str:
    match error:
        case requests.exceptions.SSLError():
            return "its certificate can't be checked"
        case requests.exceptions.ProxyError():
            return "the proxy does not let us through"
        case requests.exceptions.ConnectTimeout() | requests.exceptions.ReadTimeout():
            return "it does not answer"
        case requests.exceptions.ConnectionError():
            return "it can't be reached"
        case _:
            return f"there is no talking to it ({type(error).__name__})"


def _given_up(url: str, part: Path, cut: _CutError) -> str:
    have = part.stat().st_size if part.exists() else 0
    if have:
        return (
            f"{_host(url)}: {cut.reason}; {in_units(have)} have arrived and are kept: run the same again to go on "
            "from there"
        )
    return f"{_host(url)}: {cut.reason}; look after the network, then run the same again"
