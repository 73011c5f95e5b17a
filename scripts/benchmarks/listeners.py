"""Every way of hearing that is compared, each in a process of its own, and what became of each utterance.

Three kinds of listener: a recogniser of the package, judged by what it calls clear; and free transcripts, judged by the
usual fuzzy rule: all digits equal, all words with an opposite equal, and a similarity of at least 80.
"""

from __future__ import annotations

import json
import multiprocessing
import resource
import signal
import tempfile
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any, Literal, Protocol

import numpy as np
from rapidfuzz import fuzz

from scripts.benchmarks.corpus import word_onsets
from scripts.benchmarks.lines import FOUR_CALLS, grammar_named, heard_meaning, pronunciations
from scripts.benchmarks.spoken_corpus import Utterance
from voice_trainer.archive.places import models_folders
from voice_trainer.journal.hearing import Hearing
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.numerals import DIGITS, TEENS, TENS
from voice_trainer.phraseology.opposites import type_of_word
from voice_trainer.recognition.choosing import choose_recogniser, engines
from voice_trainer.recognition.ports import Samples

Outcome = Literal["accepted", "called wrong", "unclear", "nothing", "no verdict"]
"""accepted: taken for the right call (other speech: for any call); called wrong: heard clearly as something else; no
verdict: it did not come to an end in time, or wanted more memory than it may have."""

LIMIT_SECONDS = 30.0
LIMIT_BYTES = 6 << 30
"""A search that never ends must not take the machine with it. It is counted, not left out. Seconds of computing, by all
threads: a machine that is busy, or a process that was paused, is not the listener's fault."""

SIMILARITY = 80.0

LISTENERS = ("likelihood", "pocketsphinx", "transcript", "vosk", "whisper")
TITLES = {
    "likelihood": "this program",
    "pocketsphinx": "pocketsphinx alone",
    "transcript": "the same model's transcript, matched fuzzily",
    "vosk": "Vosk",
    "whisper": "Whisper base, matched fuzzily",
}


class ListenerError(Exception):
    """A process that heard came to an end: one line; its own error is printed before."""


class Listener(Protocol):
    """Something that hears: made ready for a grammar, then given sounds."""

    def prepare(self, grammar: str, rights: Sequence[str]) -> None:
        """Make ready for a grammar, of which `rights` are the right calls in the corpus."""

    def hear(self, samples: Samples) -> Hearing | str:
        """A hearing, or a free transcript."""


def why_not(listener: str) -> str:
    """Why a listener can't be used here, '' where it can."""
    match listener:
        case "transcript":
            return next(each.reason for each in engines() if each.name == "likelihood")
        case "whisper":
            return "" if find_spec("faster_whisper") else "faster-whisper not installed"
        case _:
            known = {each.name: each.reason for each in engines(models_folders())}
            return known.get(listener, f"no listener of that name; there are {', '.join(LISTENERS)}")


class _Engine:
    def __init__(self, name: str) -> None:
        self._recogniser = choose_recogniser(name, models_folders())

    def prepare(self, grammar: str, rights: Sequence[str]) -> None:
        self._recogniser.prepare(grammar_named(grammar), pronunciations(grammar))

    def hear(self, samples: Samples) -> Hearing:
        return self._recogniser.hear(samples, 0.0)


class _Transcript:
    """The likelihood engine's model, writing down whatever it likes best."""

    def __init__(self) -> None:
        from voice_trainer.recognition.likelihood import model, model_files, tokeniser

        folder = model_files.checked(model_files.model_folder())
        self._model = model.SpeechModel(folder)
        self._tokeniser = tokeniser.Tokeniser(tokeniser.read_pieces(folder / "tokenizer.bin"))

    def prepare(self, grammar: str, rights: Sequence[str]) -> None:
        pass

    def hear(self, samples: Samples) -> str:
        from voice_trainer.recognition.likelihood.search import most_tokens
        from voice_trainer.recognition.likelihood.trimming import trim

        speech = trim(samples.astype(np.float32) / np.float32(32768))
        if speech is None:
            return ""
        start = self._model.listen(speech.samples)
        past, logits, tokens = start.past, start.logits, []
        for _ in range(most_tokens(start.seconds)):
            token = int(logits.argmax())
            if token == 2:
                break
            tokens.append(token)
            past, scores = self._model.step(start.sound, past, np.array([[token]], dtype=np.int64))
            logits = scores[:, -1]
        return self._tokeniser.decode(tuple(tokens))


class _Whisper:
    def __init__(self) -> None:
        from voice_trainer.recognition import onnxruntime_offline  # noqa: F401 - before whoever imports onnxruntime

        from faster_whisper import WhisperModel  # isort: skip

        # Nothing is fetched: the model must be there.
        self._model = WhisperModel(
            "base.en", device="cpu", compute_type="int8", cpu_threads=2, local_files_only=True
        )

    def prepare(self, grammar: str, rights: Sequence[str]) -> None:
        self._prompt = ". ".join(rights[:8])

    def hear(self, samples: Samples) -> str:
        sound = samples.astype(np.float32) / np.float32(32768)
        segments, _ = self._model.transcribe(sound, language="en", beam_size=5, initial_prompt=self._prompt)
        return " ".join(segment.text for segment in segments)


def _listener(name: str) -> Listener:
    match name:
        case "transcript":
            return _Transcript()
        case "whisper":
            return _Whisper()
        case _:
            return _Engine(name)


# --- what became of it -----------------------------------------------------------------------------------


def outcome_of_hearing(said: Utterance, hearing: Hearing) -> Outcome:
    """A hearing, held against what was said; of a twin, against the right call that it is not."""
    if hearing.clarity != "clear":
        return "unclear" if hearing.clarity == "unclear" else "nothing"
    if said.kind in ("right", "twin"):
        return "accepted" if heard_meaning(hearing) == said.right_meaning else "called wrong"
    spans = hearing.best.spans if hearing.best else ()
    return "accepted" if any(span.kind != "other" for span in spans) else "nothing"


def outcome_of_words(said: Utterance, heard: Sequence[str], rights: Iterable[str]) -> Outcome:
    """A transcript in plain words, matched fuzzily; other speech against every right call of its grammar."""
    if said.kind not in ("right", "twin"):
        return "accepted" if any(fits(heard, right.split()) == "accepted" for right in rights) else "nothing"
    return fits(heard, (said.right or said.said).split())


def fits(heard: Sequence[str], expected: Sequence[str]) -> Outcome:
    """The fuzzy rule: similar, and every digit and every word with an opposite the same."""
    if fuzz.ratio(" ".join(heard), " ".join(expected)) < SIMILARITY:
        return "unclear"
    return "accepted" if _exact(tuple(heard)) == _exact(tuple(expected)) else "called wrong"


@cache
def _exact(words: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word for word in words if word in (*DIGITS, *TEENS, *TENS) or type_of_word(word))


@dataclass(frozen=True)
class Heard:
    """What one listener made of the utterances, a record each, and its peak memory in MB."""

    listener: str
    records: list[dict[str, Any]]
    memory_mb: float


def listen(name: str, said: Sequence[Utterance], rights: dict[str, list[str]]) -> Heard:
    """Every utterance heard by one listener, in a process of its own. Raises ListenerError where that fails."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "heard.jsonl"
        process = multiprocessing.get_context("spawn").Process(
            target=_listen, args=(name, list(said), rights, file), name=name
        )
        process.start()
        process.join()
        if process.exitcode:
            raise ListenerError(f"the listener {name} failed (exit code {process.exitcode}); see above")
        *records, last = map(json.loads, file.read_text(encoding="utf-8").splitlines())
    return Heard(name, records, last["memory_mb"])


def _listen(name: str, said: Sequence[Utterance], rights: dict[str, list[str]], file: Path) -> None:
    resource.setrlimit(resource.RLIMIT_AS, (LIMIT_BYTES, LIMIT_BYTES))
    signal.signal(signal.SIGPROF, _too_long)
    listener = _listener(name)
    grammar = ""
    with file.open("w", encoding="utf-8") as out:
        for each in sorted(said, key=lambda each: each.drill):
            if each.drill != grammar:
                grammar = each.drill
                listener.prepare(grammar, rights.get(grammar, []))
            samples = each.samples()
            began = time.perf_counter()
            try:
                signal.setitimer(signal.ITIMER_PROF, LIMIT_SECONDS)
                heard = listener.hear(samples)
            except (_TooLongError, MemoryError):
                heard = None
            finally:
                signal.setitimer(signal.ITIMER_PROF, 0)
            seconds = time.perf_counter() - began
            record = _record(each, heard, rights.get(grammar, []))
            record |= {"listener": name, "seconds": round(seconds, 4), "sound_seconds": len(samples) / 16_000}
            out.write(json.dumps(record) + "\n")
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        out.write(json.dumps({"memory_mb": round(peak, 1)}) + "\n")


class _TooLongError(Exception):
    """The time for a verdict is over."""


def _too_long(*_: object) -> None:
    raise _TooLongError


def _record(said: Utterance, heard: Hearing | str | None, rights: Sequence[str]) -> dict[str, Any]:
    record: dict[str, Any] = {
        name: getattr(said, name)
        for name in ("file", "half", "kind", "voice", "condition", "drill", "phrase", "edit", "said", "right")
    }
    record["meaning"] = repr(said.meaning)
    if heard is None:
        return (
            record
            | {"heard": "", "outcome": "no verdict"}
            | ({"calls_right": 0, "calls_right_if_clear": 0} if said.kind == FOUR_CALLS else {})
        )
    if isinstance(heard, str):
        words = normalise(heard)
        return record | {"heard": " ".join(words), "outcome": outcome_of_words(said, words, rights)}
    record |= {"outcome": outcome_of_hearing(said, heard), **_as_it_is(said, heard)}
    return record | heard.model_dump(exclude={"start_seconds", "end_seconds"})


def _as_it_is(said: Utterance, hearing: Hearing) -> dict[str, Any]:
    more: dict[str, Any] = {
        "heard": hearing.text,
        "heard_meaning": repr(heard_meaning(hearing)),
        "as_said": hearing.clarity == "clear" and heard_meaning(hearing) == said.meaning,
    }
    if said.kind == FOUR_CALLS:
        more["calls_right_if_clear"] = calls_right(said, hearing)
        more["calls_right"] = more["calls_right_if_clear"] if hearing.clarity == "clear" else 0
    onsets = word_onsets(said)
    words = [word for span in (hearing.best.spans if hearing.best else ()) for word in span.words]
    if onsets and [word.text for word in words] == said.said.split():
        errors = [word.start_seconds - onset for word, onset in zip(words, onsets, strict=True)]
        more["onset_errors_seconds"] = [round(error, 4) for error in errors]
    return more


def calls_right(said: Utterance, hearing: Hearing) -> int:
    """How many of the calls of an utterance are in the best hearing, in their order, clear or not."""
    expected = [
        _meanings(piece.meanings) for piece in grammar_named(said.drill).read(tuple(said.said.split()))[0]
    ]
    spans = hearing.best.spans if hearing.best else ()
    return _common(expected, [_meanings(span.meanings) for span in spans])


def _meanings(meanings: Iterable[Any]) -> frozenset[Any]:
    return frozenset((each.phrase, tuple(sorted(each.slots.items()))) for each in meanings)


def _common(
    one: Sequence[Any], other: Sequence[Any], same: Callable[[Any, Any], bool] = lambda a, b: a == b
) -> int:
    """The length of the longest common subsequence."""
    row = [0] * (len(other) + 1)
    for a in one:
        before = row[:]
        for at, b in enumerate(other):
            row[at + 1] = before[at] + 1 if same(a, b) else max(before[at + 1], row[at])
    return row[-1]
