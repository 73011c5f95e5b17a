"""Cutting an utterance into phrases."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.phraseology.automaton import WordReader
from voice_trainer.phraseology.grammar import Grammar, Phrase, PhraseKind, Piece, Reading
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.orders import control_phrases
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.phraseology.trade import trade_phrases


def grammar(*texts: str, kind: PhraseKind = "call") -> Grammar:
    return Grammar(Phrase(compile_pattern(text), kind) for text in texts)


FLOW = grammar("time not required", "turn right {heading: 333}", "gear down", "descend to {altitude: 2600}")


def said(words: tuple[str, ...], pieces: tuple[Piece, ...]) -> list[tuple[str, str]]:
    return [(piece.kind, " ".join(words[piece.first : piece.last_exclusive])) for piece in pieces]


def test_a_whole_flow_in_one_breath() -> None:
    words = normalise("uh time not required, turn left three thirty three let me see gear up")
    (pieces,) = FLOW.read(words)
    assert said(words, pieces) == [
        ("call", "time not required"),
        ("call", "turn left three thirty three"),
        ("other", "let me see"),
        ("call", "gear up"),
    ]
    assert pieces[1].meanings == (
        Reading(
            "turn {left/right} {heading}",
            {"left/right": "left", "heading": "333"},
            ("grouped digits: say three three three",),
        ),
    )
    assert pieces[2].meanings == ()


def test_words_of_nobody() -> None:
    words = ("good", "morning")
    assert FLOW.read(words) == ((Piece(0, 2, "other"),),)
    assert FLOW.read(()) == ()


def test_a_value_that_is_none_is_not_bent_into_one() -> None:
    words = normalise("turn right three seven zero")
    (pieces,) = FLOW.read(words)
    assert [piece.kind for piece in pieces] == ["other"]


def test_the_longest_phrase_wins() -> None:
    words = normalise("descend and maintain two thousand six hundred")
    both = grammar("descend", "descend and maintain {altitude}", "maintain {altitude}")
    (pieces,) = both.read(words)
    assert said(words, pieces) == [("call", " ".join(words))]


def test_the_same_words_as_two_phrases_have_two_meanings() -> None:
    both = grammar("set {heading: 288}", "set {course: 288}")
    (pieces,) = both.read(normalise("set 288"))
    assert [meaning.phrase for meaning in pieces[0].meanings] == ["set {heading}", "set {course}"]


def test_equally_good_cuts_are_all_returned_the_longest_first_phrase_first() -> None:
    words = ("fix", "gear", "check")
    cuts = grammar("fix gear", "gear check", "fix", "check").read(words)
    assert [said(words, cut) for cut in cuts] == [
        [("call", "fix gear"), ("call", "check")],
        [("call", "fix"), ("call", "gear check")],
    ]


def test_at_most_four_cuts_are_returned() -> None:
    assert len(grammar("a b", "b a").read(("a", "b", "a") * 6)) == 4


def test_a_call_wins_over_trade_and_trade_over_control() -> None:
    gear = compile_pattern("gear down")
    mixed = Grammar([Phrase(gear, "control"), Phrase(gear.opened(), "trade"), Phrase(gear, "call")])
    assert [phrase.kind for phrase in mixed.phrases] == ["call"]
    overlapping = Grammar(
        [Phrase(compile_pattern("gear [is] down"), "trade"), Phrase(compile_pattern("gear down"), "call")]
    )
    (pieces,) = overlapping.read(("gear", "down"))
    assert pieces[0].kind == "call"
    assert [meaning.phrase for meaning in pieces[0].meanings] == ["gear {up/down}"]


def test_phrases_with_other_expectations_are_one_phrase() -> None:
    one = grammar("turn left {heading: 095}", "turn right {heading: 333}")
    assert [phrase.pattern.text for phrase in one.phrases] == ["turn {left/right} {heading}"]
    assert one.by_text["turn {left/right} {heading}"] is one.phrases[0]


def test_the_node_holds_every_word_and_no_slot() -> None:
    node = FLOW.node()
    assert list(slots_of(node)) == []
    assert {"turn", "left", "right", "up", "thirty", "thousand", "not"} <= FLOW.vocabulary()
    assert "niner" not in FLOW.vocabulary()
    reader = WordReader(node)
    assert reader.accepts(normalise("turn left 123"))
    assert reader.accepts(("time", "required"))
    assert not reader.accepts(("time", "not"))


# A slow reader that is obviously right: every way to cut, each piece tried against each pattern.

SMALL = ["a", "a b", "b [c] a", "(a | c) b c", "c {digit}", "[b] {digit} a"]
ALPHABET = ["a", "b", "c", "one", "two"]


def slow_cuts(kinds: dict[str, PhraseKind], words: tuple[str, ...]) -> set[tuple[tuple[int, int, bool], ...]]:
    patterns = {text: compile_pattern(text) for text in kinds}

    def matching(first: int, end: int) -> set[PhraseKind]:
        return {kinds[text] for text, pattern in patterns.items() if pattern.match(words[first:end])}

    def cuts(at: int) -> list[tuple[tuple[int, int, bool], ...]]:
        if at == len(words):
            return [()]
        ways = [((at, at + 1, False), *rest) for rest in cuts(at + 1)]
        for end in range(at + 1, len(words) + 1):
            if matching(at, end):
                ways.extend(((at, end, True), *rest) for rest in cuts(end))
        return ways

    def cost(cut: tuple[tuple[int, int, bool], ...]) -> tuple[int, int, int]:
        lost = sum(1 for _, _, phrase in cut if not phrase)
        foreign = sum(
            end - first for first, end, phrase in cut if phrase and "call" not in matching(first, end)
        )
        return lost, foreign, len(cut) - lost

    costed = [(cost(cut), cut) for cut in cuts(0)]
    least = min(costed)[0]
    return {joined(cut) for cost, cut in costed if cost == least}


def joined(cut: tuple[tuple[int, int, bool], ...]) -> tuple[tuple[int, int, bool], ...]:
    out: list[tuple[int, int, bool]] = []
    for first, end, phrase in cut:
        if out and not phrase and not out[-1][2]:
            out[-1] = (out[-1][0], end, False)
        else:
            out.append((first, end, phrase))
    return tuple(out)


KINDS = st.sampled_from(["call", "call", "trade", "control"])


@given(
    st.dictionaries(st.sampled_from(SMALL), KINDS, min_size=1),
    st.lists(st.sampled_from(ALPHABET), min_size=1, max_size=7).map(tuple),
)
def test_reading_agrees_with_trying_everything(kinds: dict[str, PhraseKind], words: tuple[str, ...]) -> None:
    best = slow_cuts(kinds, words)
    read = Grammar(Phrase(compile_pattern(text), kind) for text, kind in kinds.items()).read(words)
    found = {tuple((p.first, p.last_exclusive, p.kind != "other") for p in pieces) for pieces in read}
    assert found <= best
    assert len(found) == len(read) == min(len(best), 4)
    for piece in (piece for pieces in read for piece in pieces):
        part = words[piece.first : piece.last_exclusive]
        matching = {
            pattern.phrase: match.slots
            for pattern in (compile_pattern(text) for text, kind in kinds.items() if kind == piece.kind)
            if (match := pattern.match(part)) is not None
        }
        assert {meaning.phrase: meaning.slots for meaning in piece.meanings} == matching


def test_a_sentence_of_the_trade_never_swallows_a_call() -> None:
    words = normalise("turn left heading 095")
    mixed = Grammar([*trade_phrases(), *grammar("heading {heading: 095}").phrases])
    (pieces,) = mixed.read(words)
    assert said(words, pieces) == [("trade", "turn left"), ("call", "heading zero nine five")]


@pytest.mark.parametrize("text", ["[a] " * 40 + "a b", "[a [a [a [a [a [a [a [a]]]]]]]] " * 5 + "b"])
def test_nested_optional_parts_do_not_blow_up(text: str) -> None:
    # Each of these has more than a thousand million ways to skip; a walk that tried them would never end.
    one = grammar(text)
    words = ("a",) * 60 + ("b",)
    cuts = one.read(words)
    assert 1 <= len(cuts) <= 4


def test_a_long_utterance_against_everything_in_the_trade() -> None:
    everything = Grammar([*trade_phrases(), *control_phrases(), *FLOW.phrases])
    words = normalise(
        "turn left heading 333 descend and maintain 2,600 contact tower 126.55 squawk 1200 "
        "gear down say altitude trainer freeze"
    )
    (pieces,) = everything.read(words)
    assert [piece.kind for piece in pieces] == [
        "trade",
        "trade",
        "trade",
        "trade",
        "call",
        "trade",
        "control",
    ]
