"""How well it hears, against other ways of hearing: one table, one run, the same sounds for all.

    scripts/bench recognition [--size N] [--half tuning|test] [--engines likelihood,pocketsphinx,...] [--seed S]
                              [--corpus FOLDER] [--corpus-cache FOLDER] [--json OUT]
    scripts/bench recognition --natural SOURCES [--size N] [--conditions clean,...] [--engines likelihood,...]
                              [--seed S] [--corpus-cache FOLDER] [--json OUT]

The corpus is made (`scripts/bench corpus`) as far as this run needs it, or given: `--corpus` is a folder of recordings
with a manifest, as `spoken_corpus` describes. A sample of it is stratified by kind and condition; the default takes
about ten minutes, `--size 0` is all of a half.

- right accepted: right calls, heard clearly as what they are.
- wrong numbers, wrong words accepted: twins of right calls, heard clearly as the right call. This must not happen.
- other accepted: unrelated sentences and sounds that are no speech, heard clearly as some call.
- right called wrong: right calls, heard clearly as something else.
- unclear: right calls that would be asked for again; what is left is not taken for a call at all.
- no verdict: utterances of any kind on which it came to no end in 30 s of computing or 6 GB, and was stopped.
- ms: from the end of the speech, once noticed, to the verdict; the silence by which it is noticed comes before.
- real time: computing, as a share of the sound.

With `--natural`, a table of its own instead: sentences of the test half by voices that no training heard, Kokoro's and
robots', each sentence under every condition. SOURCES is the folder that scripts/train/README.md describes.

Bounds are 95 % of a bootstrap over voices; where nothing was counted, the upper one is 3 in n (rule of three).
SYNTHETIC AND READ-OUT SPEECH: the figures compare engines and versions, and promise nothing for anybody's voice.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from scripts.benchmarks import bootstrap, natural
from scripts.benchmarks.bootstrap import Counted
from scripts.benchmarks.conditions import CONDITIONS
from scripts.benchmarks.corpus import default_folder, make_corpus, render
from scripts.benchmarks.lines import FOUR_CALLS, NUMBER_EDITS, WORD_EDITS
from scripts.benchmarks.listeners import LISTENERS, TITLES, Heard, ListenerError, listen, why_not
from scripts.benchmarks.phrases import HALVES, Half
from scripts.benchmarks.spoken_corpus import Corpus, CorpusError, load_corpus
from scripts.benchmarks.voices import left_out

DEFAULT_SIZE = 260
"""Utterances; with pocketsphinx among the listeners, about ten minutes on two cores."""

FOURS = 35
Record = dict[str, Any]


def measure(
    corpus: Corpus, half: Half | None, size: int | None, names: Sequence[str], seed: int, *, made: bool
) -> list[Heard]:
    """Every listener over the same sample; a corpus that is `made` here is rendered as far as it takes."""
    said = corpus.select(half, size, seed)
    if not said:
        raise CorpusError(
            f"{corpus.folder}: there is nothing to hear in {half or 'either half'} of this corpus"
        )
    # Only the first listener hears these: as many as tell one condition from another, all of them where all is asked.
    fours = corpus.select(half, None if size is None else min(FOURS, size), seed, (FOUR_CALLS,))
    if made:
        render(corpus.folder, [*said, *fours])
    for each in (*said, *fours):
        if not (corpus.folder / each.file).is_file():
            raise CorpusError(f"{corpus.folder / each.file} is in the manifest but is no file; put it there")
    rights = corpus.rights(half)
    heard = []
    for name in names:
        mine = [*said, *fours] if name == names[0] else said
        print(f"{name}: {len(mine)} utterances", file=sys.stderr)
        heard.append(listen(name, mine, rights))
    return heard


# --- figures ---------------------------------------------------------------------------------------------


def share(records: Sequence[Record], counted: Callable[[Record], bool], seed: int = 0) -> str:
    """'86.6 % [81.0-91.2] 430/497': the share of the records that count, with its bounds."""
    return bootstrap.share(_apart([(each["voice"], counted(each)) for each in records]), seed)


def bounds(counted: Sequence[tuple[str, bool]], seed: int = 0) -> tuple[float, float]:
    """95 % bounds of a share, in per cent, of utterances that were heard once each."""
    return bootstrap.bounds(_apart(counted), seed)


def _apart(counted: Sequence[tuple[str, bool]]) -> list[Counted]:
    return [Counted(voice, str(at), int(hit)) for at, (voice, hit) in enumerate(counted)]


def _is(outcome: str) -> Callable[[Record], bool]:
    return lambda record: bool(record["outcome"] == outcome)


def _cells(records: Sequence[Record]) -> list[str]:
    right = [each for each in records if each["kind"] == "right"]
    numbers = [each for each in records if each["kind"] == "twin" and each["edit"] in NUMBER_EDITS]
    words = [each for each in records if each["kind"] == "twin" and each["edit"] in WORD_EDITS]
    other = [each for each in records if each["kind"] in ("unrelated", "non-speech")]
    return [
        share(right, _is("accepted")),
        share(numbers, _is("accepted")),
        share(words, _is("accepted")),
        share(other, _is("accepted")),
        share(right, _is("called wrong")),
        share(right, _is("unclear")),
        f"{sum(map(_is('no verdict'), records))}/{len(records)}",
    ]


COLUMNS = (
    "right accepted", "wrong numbers accepted", "wrong words accepted", "other accepted", "right called wrong",
    "unclear", "no verdict",
)  # fmt: skip


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"


def report(heard: Sequence[Heard]) -> str:
    """All tables, in Markdown."""
    lines = [
        _row(("", *COLUMNS, "p50 / p95 ms", "real time", "memory MB")),
        _row(["---"] * (len(COLUMNS) + 4)),
    ]
    for each in heard:
        records = [record for record in each.records if record["kind"] != FOUR_CALLS]
        milliseconds = [1000 * record["seconds"] for record in records]
        p50, p95 = np.percentile(milliseconds, (50, 95))
        real_time = sum(record["seconds"] for record in records) / sum(r["sound_seconds"] for r in records)
        cells = [f"{p50:.0f} / {p95:.0f}", f"{real_time:.2f}", f"{each.memory_mb:.0f}"]
        lines.append(_row((TITLES[each.listener], *_cells(records), *cells)))
    ours = heard[0].records
    lines += ["", f"By condition, {TITLES[heard[0].listener]}:", ""]
    lines += [_row(("", *COLUMNS)), _row(["---"] * (len(COLUMNS) + 1))]
    for condition in sorted({each["condition"] for each in ours} - {""}, key=_order):
        here = [each for each in ours if each["condition"] == condition and each["kind"] != FOUR_CALLS]
        lines.append(_row((condition, *_cells(here))))
    return "\n".join([*lines, *_by_voice(ours), *_four_calls(ours), *_word_times(ours)])


def _by_voice(records: Sequence[Record]) -> list[str]:
    """Every voice, however it fares: none is chosen by what was heard of it."""
    right = [each for each in records if each["kind"] == "right"]
    lines = ["", "Right calls accepted, by voice:", ""]
    for voice in sorted({each["voice"] for each in right}):
        here = [each for each in right if each["voice"] == voice]
        hits = sum(each["outcome"] == "accepted" for each in here)
        lines.append(f"- {voice or '(unnamed)'}: {100 * hits / len(here):.0f} % ({hits} of {len(here)})")
    return lines


def _order(condition: str) -> tuple[int, str]:
    return (CONDITIONS.index(condition) if condition in CONDITIONS else len(CONDITIONS), condition)


def _four_calls(records: Sequence[Record]) -> list[str]:
    fours = [each for each in records if each["kind"] == FOUR_CALLS and "calls_right" in each]
    if not fours:
        return []
    lines = [
        "",
        "Four calls in one breath, calls right of those said: in a clear hearing; in the best one, clear or not:",
        "",
    ]
    for condition in sorted({each["condition"] for each in fours}, key=_order):
        here = [each for each in fours if each["condition"] == condition]
        said = 4 * len(here)
        clear, best = (sum(each[name] for each in here) for name in ("calls_right", "calls_right_if_clear"))
        lines.append(f"- {condition}: {100 * clear / said:.0f} %; {100 * best / said:.0f} % (of {said})")
    p50, p95 = np.percentile([1000 * each["seconds"] for each in fours], (50, 95))
    return [*lines, f"- verdict on all four, after the end of the last: {p50:.0f} / {p95:.0f} ms (p50 / p95)"]


def _word_times(records: Sequence[Record]) -> list[str]:
    errors = [abs(error) for each in records for error in each.get("onset_errors_seconds", ())]
    if not errors:
        return ["", "Word times: no joined recordings in this run."]
    p50, p95 = np.percentile(errors, (50, 95)) * 1000
    return [
        "",
        f"Word times, joined recordings of one person that were heard right, {len(errors)} words: "
        f"onset off by {p50:.0f} ms (median), {p95:.0f} ms (p95).",
    ]


def _heading(corpus: Corpus, said: Sequence[Record], half: str) -> str:
    voices = {each["voice"] for each in said if each["kind"] != "non-speech"}
    human = sum(voice.startswith("human:") for voice in voices)
    made = f", {human} of them recorded people" if human else ""
    return (
        f"{len(said)} utterances of {len(corpus.utterances)} ({half}), {len(voices)} voices{made}. "
        "Synthetic and read-out speech: nothing here is shown for anybody's voice.\n"
    )


def _dump(heard: Sequence[Heard], file: Path) -> None:
    file.write_text(
        "".join(json.dumps(record) + "\n" for each in heard for record in each.records), encoding="utf-8"
    )


def _natural(options: argparse.Namespace, names: Sequence[str]) -> None:
    """The run of `--natural`, measured and printed."""
    if options.corpus:
        raise CorpusError("--natural speaks the made corpus, and --corpus is a recorded one: leave one out")
    if options.half not in (None, "test"):
        raise CorpusError("--natural hears the test half only: leave out --half")
    conditions = natural.conditions_of(options.conditions)
    natural.voices_of(options.natural)
    size = natural.SIZE if options.size is None else options.size or None
    run = natural.measured(_corpus(options), options.natural, names, conditions, size, options.seed)
    print(natural.report(run))
    for families in run.heard.values():
        print("\n".join(_by_voice([record for one in families.values() for record in one.records])))
    if options.json:
        _dump(run.all_heard(), options.json)


def _corpus(options: argparse.Namespace) -> Corpus:
    if options.corpus:
        return load_corpus(options.corpus)
    for line in left_out():
        print(line, file=sys.stderr)
    return make_corpus(options.corpus_cache or default_folder(options.seed), options.seed, render_all=False)


def _listeners(asked: str) -> list[str]:
    names = asked.split(",") if asked else list(LISTENERS)
    unknown = [name for name in names if name not in LISTENERS]
    if unknown:
        raise CorpusError(f"there is no engine {unknown[0]!r} to compare; there are {', '.join(LISTENERS)}")
    usable = []
    for name in names:
        if reason := why_not(name):
            print(f"{name} left out: {reason}", file=sys.stderr)
        else:
            usable.append(name)
    if not usable:
        raise CorpusError("none of the engines can be used here: see above")
    return usable


def main() -> int:
    """Measure, and print the tables."""
    arguments = argparse.ArgumentParser(
        prog="scripts/bench recognition",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    arguments.add_argument(
        "--size",
        type=int,
        help=f"utterances (default {DEFAULT_SIZE}); with --natural sentences (default {natural.SIZE}); 0: all",
    )
    arguments.add_argument(
        "--half", choices=HALVES, help="test, unless it is a recorded corpus: then all of it"
    )
    arguments.add_argument(
        "--engines",
        default="",
        help=f"of {', '.join(LISTENERS)}; default: all that are there, with --natural the first",
    )
    arguments.add_argument("--seed", type=int, default=1, help="of the corpus and of the sample")
    arguments.add_argument("--corpus", type=Path, help="a recorded corpus: a folder with manifest.jsonl")
    arguments.add_argument(
        "--corpus-cache", type=Path, help="where the made one is kept (default: your cache folder)"
    )
    arguments.add_argument(
        "--natural",
        type=Path,
        metavar="SOURCES",
        help="families of voices: Kokoro's, by this folder, and robots",
    )
    arguments.add_argument(
        "--conditions", help=f"with --natural, of {', '.join(CONDITIONS)}; default: all of them"
    )
    arguments.add_argument("--json", type=Path, help="also write every hearing, one JSON object a line")
    options = arguments.parse_args()
    half: Half | None = options.half or (None if options.corpus else "test")
    try:
        names = _listeners(options.engines or (LISTENERS[0] if options.natural else ""))
        if options.natural:
            _natural(options, names)
            return 0
        if options.conditions:
            raise CorpusError("--conditions goes with --natural only")
        corpus = _corpus(options)
        size = DEFAULT_SIZE if options.size is None else options.size or None
        heard = measure(corpus, half, size, names, options.seed, made=not options.corpus)
    except (CorpusError, ListenerError) as error:
        print(f"scripts/bench recognition: {error}", file=sys.stderr)
        return 2
    if options.json:
        _dump(heard, options.json)
    print(_heading(corpus, heard[0].records, f"the {half} half" if half else "all"))
    print(report(heard))
    return 0


if __name__ == "__main__":
    sys.exit(main())
