"""Proves that what is held out is in no line: python -m scripts.train.texts.proof FOLDER

Reads the packed files of a folder again and searches them as plain text, with nothing of what made them: for every
sentence of the test half and every read sentence, whole and, where it is long, inside of other lines; for every phrase
of the test half by its pattern; for every word kept aside; and for every sentence of the development set in the
training lines. Prints what it counted; exit code 1 if it found anything.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable, Iterator
from itertools import chain
from pathlib import Path

from scripts.benchmarks.phrases import compiled, phrases, unrelated
from scripts.train.texts.held_out import (
    LONG_WORDS,
    SEEDS,
    read_sentences,
    sentences_of_the_test_half,
    unseen_words,
)
from scripts.train.texts.lines import DEVELOPMENT_FILE, LINES_FILE, Line, read_lines
from scripts.train.texts.wording import plain
from voice_trainer.phraseology.numerals import DIGITS
from voice_trainer.phraseology.slot_reader import first_words


def found_in(
    lines: Iterable[Line], sentences: Iterable[str], words: Iterable[str], texts: Iterable[str]
) -> Iterator[str]:
    """What is found of sentences, words and patterns in lines."""
    written = {line.written for line in lines}
    sentences = frozenset(sentences)
    yield from (f"a line is the sentence {each!r}" for each in sorted(sentences & written))
    everything = "\n".join(f" {each} " for each in sorted(written))
    for sentence in sorted(sentences):
        long = sentence.count(" ") + 1 >= LONG_WORDS and not set(sentence.split()) <= set(DIGITS)
        if long and f" {sentence} " in everything:
            yield f"a line holds the sentence {sentence!r}"
    for word in words:
        for each in (word, f"{word}s", f"{word}es"):
            if f" {each} " in everything:
                yield f"a line holds the word {each!r}"
    by_first_word: dict[str, list[str]] = {}
    for each in sorted(written):
        by_first_word.setdefault(each.split()[0], []).append(each)
    for pattern in map(compiled, texts):
        likely = (
            by_first_word.get(word, ()) for word in sorted(pattern.automaton.first_words(first_words)[0])
        )
        for each in chain.from_iterable(likely):
            if pattern.match(each.split()) is not None:
                yield f"{each!r} is the phrase {pattern.text!r}"


def main(arguments: list[str]) -> int:
    """Search the files of a folder."""
    if len(arguments) != 1:
        print("scripts.train.texts.proof: name the folder of the packed files", file=sys.stderr)
        return 2
    folder = Path(arguments[0])
    try:
        lines, development = (tuple(read_lines(folder / name)) for name in (LINES_FILE, DEVELOPMENT_FILE))
    except OSError as error:
        print(f"scripts.train.texts.proof: {error.filename}: {error.strerror}", file=sys.stderr)
        return 2
    half = {" ".join(each) for each in sentences_of_the_test_half(SEEDS) | read_sentences()}
    half |= {" ".join(plain(each.split())) for each in unrelated("test")}
    sentences = {each for each in half if " " in each}
    kept = unseen_words()
    words = (*kept["names"], *kept["checklist"])
    problems = [*found_in((*lines, *development), sentences, words, phrases("test"))]
    # Bare words are the same everywhere, and the pattern of a phrase is the test half's matter.
    problems += found_in(lines, {each.written for each in development if each.kind != "short"}, (), ())
    for problem in problems[:50]:
        print(problem)
    print(
        f"{len(lines)} lines and {len(development)} of development searched for {len(sentences)} sentences, "
        f"{len(phrases('test'))} phrases with any value, {len(words)} words: {len(problems)} found"
    )
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
