"""One thing done in the background while something else gets ready."""

from __future__ import annotations

import threading
from collections.abc import Callable
from concurrent.futures import Future
from typing import TypeVar

Result = TypeVar("Result")


def in_background(work: Callable[[], Result]) -> Future[Result]:
    """Begin `work` in a thread; the future's `result` gives what it returned, or raises what it raised.

    The program does not end before the work has: a model that is half loaded can't be torn down.
    """
    future: Future[Result] = Future()

    def run() -> None:
        try:
            future.set_result(work())
        except BaseException as problem:  # handed on to whoever asks for the result
            future.set_exception(problem)

    threading.Thread(target=run, name="getting ready").start()
    return future
