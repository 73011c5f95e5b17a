"""One text to one WAV file, in a process of its own: `python -m voice_trainer.voices.pyttsx3_child`.

pyttsx3 with espeak-ng speaks exactly one text a process; it drops what is queued after it. `runAndWait` won't
do: it begins by cancelling what is in espeak-ng's queue, and the voice and the rate that were just set may still
be there (about one text in a hundred was spoken with the default ones). `startLoop` cancels nothing. An error in
espeak-ng's own thread leaves that loop running for ever, so it gets a thread that the process may end without.

The request is JSON on standard input, the answer JSON on standard output:

    {"text": "...", "voice": "gmw/en-us+f3", "words_per_minute": 165, "path": "..."}  ->  {}
    {"list": true}  ->  {"version": "...", "voices": ["gmw/en-us", ...], "variants": ["f3", ...]}
    no espeak-ng here  ->  {"missing": "..."};  anything else that fails  ->  {"error": "..."}

espeak-ng takes a voice that it does not have for another one and says nothing, so the name is checked here.
"""

from __future__ import annotations

import ctypes
import json
import sys
import threading
from pathlib import Path
from typing import Any, TextIO


def main(request_file: TextIO, answer_file: TextIO) -> int:
    """Do what the request says; the exit status is 0 also when the answer is an error."""
    try:
        answer = _answer(json.load(request_file))
    except Exception as error:
        # The parent turns it into a VoiceError: nothing is lost, and no traceback reaches a student.
        answer = {"error": f"{type(error).__name__}: {error}"}
    json.dump(answer, answer_file)
    answer_file.flush()
    return 0


def _answer(request: dict[str, Any]) -> dict[str, Any]:
    import pyttsx3

    try:
        engine = pyttsx3.init("espeak")
    except (ImportError, OSError, RuntimeError) as error:
        return {"missing": str(error)}
    known = sorted(voice.id for voice in engine.getProperty("voices"))
    version, variants = _espeak_version_and_variants()
    if request.get("list"):
        return {"version": version, "voices": known, "variants": variants}
    base, _, variant = request["voice"].partition("+")
    if base not in known:
        return {"error": f"espeak-ng has no voice {base!r}"}
    if variant and variant not in variants:
        return {"error": f"espeak-ng has no variant {variant!r} of a voice"}
    finished = threading.Event()
    failures: list[BaseException] = []

    def fail(name: str, exception: BaseException) -> None:
        failures.append(exception)
        finished.set()

    engine.connect("finished-utterance", lambda name, completed: finished.set())
    engine.connect("error", fail)
    # What goes wrong in espeak-ng's own thread (a full disk) comes out here only.
    sys.unraisablehook = lambda unraisable: fail("", unraisable.exc_value or RuntimeError(str(unraisable)))
    engine.setProperty("voice", request["voice"])
    engine.setProperty("rate", request["words_per_minute"])
    engine.save_to_file(request["text"], request["path"])
    threading.Thread(target=engine.startLoop, daemon=True).start()
    finished.wait()
    return {"error": str(failures[0])} if failures else {}


def _espeak_version_and_variants() -> tuple[str, list[str]]:
    from pyttsx3.drivers import _espeak

    info = _espeak.dll.espeak_Info
    info.restype = ctypes.c_char_p
    folder = ctypes.c_char_p()
    version = info(ctypes.byref(folder)).decode()
    if folder.value is None:
        return version, []
    variants = Path(folder.value.decode()) / "voices" / "!v"
    return version, sorted(path.name for path in variants.glob("*"))


if __name__ == "__main__":
    answers, sys.stdout = sys.stdout, sys.stderr  # pyttsx3 prints where it saved the file
    sys.exit(main(sys.stdin, answers))
