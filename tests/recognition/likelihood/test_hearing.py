"""The engine from end to end: espeak-ng speaks, the real model hears."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from spoken_calls import CALLS, grammar_of, speech

from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.likelihood import candidates
from voice_trainer.recognition.likelihood.engine import LikelihoodRecogniser


@pytest.mark.parametrize(
    ("said", "voice", "phrase", "slots"),
    [
        ("turn left heading two eight four", "en-us", "turn {left/right} heading {heading}",
         {"left/right": "left", "heading": "284"}),
        # A wrong value and a swapped word are heard as they were said, whatever CALLS expects.
        ("turn right heading two four eight", "en-us", "turn {left/right} heading {heading}",
         {"left/right": "right", "heading": "248"}),
        ("descend and maintain three thousand", "en-us+m3", "{climb/descend} and maintain {altitude}",
         {"climb/descend": "descend", "altitude": "3000"}),
        ("climb and maintain two thousand six hundred", "en-us", "{climb/descend} and maintain {altitude}",
         {"climb/descend": "climb", "altitude": "2600"}),
        ("heron two four, kelda inbound, three thousand six hundred", "en-us",
         "{callsign heron} kelda {inbound/outbound} {altitude}",
         {"callsign heron": "Heron 24", "inbound/outbound": "inbound", "altitude": "3600"}),
        ("direct brannock", "en-us", "direct brannock", {}),
        ("contact tower one one eight point seven", "en-us", "contact {facility} {frequency}",
         {"facility": "tower", "frequency": "118.7"}),
        ("squawk four six one two", "en-gb", "squawk {squawk}", {"squawk": "4612"}),
        ("fuel pump off", "en-us", "fuel {pump/selector} {on/off}", {"pump/selector": "pump", "on/off": "off"}),
        ("gear down", "en-us", "gear {up/down}", {"up/down": "down"}),
        ("heron two four missed approach", "en-us", "{callsign heron} missed approach",
         {"callsign heron": "Heron 24"}),
        ("start the clock", "en-gb", "{start/stop} the clock", {"start/stop": "start"}),
        ("hold outbound the zero four five radial right turns", "en-us",
         "hold {inbound/outbound} the {radial} radial {left/right} turns",
         {"inbound/outbound": "outbound", "radial": "045", "left/right": "right"}),
    ],
)  # fmt: skip
def test_a_call_is_heard_with_the_values_that_were_said(
    recogniser: LikelihoodRecogniser, said: str, voice: str, phrase: str, slots: dict[str, str]
) -> None:
    hearing = recogniser.hear(speech(said, voice), 100.0)
    assert hearing.clarity == "clear"
    assert hearing.best is not None
    (span,) = hearing.best.spans
    assert span.kind == "call"
    assert span.meanings[0].phrase == phrase
    assert sorted(span.meanings[0].slots.values()) == sorted(slots.values())
    assert hearing.margin is not None
    assert hearing.margin > 0


@pytest.mark.parametrize("said", ["turn left heading two eight four", "one fifteen", "did you feed the cat"])
def test_a_thorough_hearing_is_the_same_after_a_glance(recogniser: LikelihoodRecogniser, said: str) -> None:
    """It goes on from there; what was glanced at in between is forgotten."""
    sound, other = speech(said), speech("gear down")
    thorough = recogniser.hear(sound, 1.0)
    glanced = recogniser.glance(sound, 1.0)
    assert recogniser.hear(sound, 1.0) == thorough
    recogniser.glance(sound, 1.0)
    recogniser.glance(other, 1.0)
    assert recogniser.hear(sound, 1.0) == thorough
    assert recogniser.glance(sound, 1.0) == glanced


def test_two_calls_in_one_breath_are_two_spans(recogniser: LikelihoodRecogniser) -> None:
    hearing = recogniser.hear(speech("gear down. turn left heading two eight four"), 0.0)
    assert [span.text for span in hearing.best.spans] == ["gear down", "turn left heading two eight four"]  # type: ignore[union-attr]


@pytest.mark.parametrize(
    "said",
    [
        "what would you like for dinner tonight",
        "the meeting has been moved to thursday afternoon",
        "my brother lives in a small house near the sea",
        "turn the radio down it is too loud",
    ],
)
def test_other_speech_is_no_call(recogniser: LikelihoodRecogniser, said: str) -> None:
    hearing = recogniser.hear(speech(said), 0.0)
    assert hearing.clarity != "clear"


def test_silence_is_no_call(recogniser: LikelihoodRecogniser) -> None:
    for samples in (np.zeros(32_000, np.int16), np.zeros(0, np.int16), np.ones(100, np.int16)):
        hearing = recogniser.hear(samples, 3.0)
        assert hearing.clarity == "not a call"
        assert hearing.interpretations == ()
        assert hearing.end_seconds == 3.0 + len(samples) / 16_000


@pytest.mark.parametrize("loudness", [0.002, 0.02, 0.2])
def test_noise_is_no_call(recogniser: LikelihoodRecogniser, loudness: float) -> None:
    noise = np.random.default_rng(7).standard_normal(32_000) * loudness
    hearing = recogniser.hear((np.clip(noise, -1, 1) * 32767).astype(np.int16), 0.0)
    assert hearing.clarity == "not a call"
    assert hearing.interpretations == ()


def test_the_same_audio_gives_the_same_bytes(recogniser: LikelihoodRecogniser) -> None:
    samples = speech("altimeter two niner niner two")
    first = recogniser.hear(samples, 12.5).model_dump_json()
    recogniser.hear(speech("gear down"), 0.0)
    assert recogniser.hear(samples, 12.5).model_dump_json() == first


def test_an_unclear_hearing_does_not_depend_on_what_was_heard_before(
    other_engine: LikelihoodRecogniser,
) -> None:
    other_engine.prepare(grammar_of(*CALLS), {})
    noise = np.random.default_rng(1).normal(0.0, 1200.0, 60_000)
    sounds = []
    for said in ("squawk four six one two", "descend and maintain two thousand niner hundred"):
        sound = speech(said)
        sounds.append(np.clip(sound + noise[: len(sound)], -32768, 32767).astype(np.int16))
    forwards = [other_engine.hear(sound, 0.0) for sound in sounds]
    backwards = [other_engine.hear(sound, 0.0) for sound in reversed(sounds)]
    assert forwards == backwards[::-1]
    assert any(hearing.clarity == "unclear" and hearing.interpretations for hearing in forwards)


def test_what_is_heard_does_not_depend_on_the_value_that_is_expected(
    other_engine: LikelihoodRecogniser,
) -> None:
    samples = speech("turn left heading two eight four")
    hearings = []
    for expected in ("284", "248", "095"):
        other_engine.prepare(grammar_of(f"turn left heading {{heading: {expected}}}", "gear down"), {})
        hearings.append(other_engine.hear(samples, 0.0).model_dump_json())
    other_engine.prepare(grammar_of("gear up", "turn right heading {heading}"), {})
    hearings.append(other_engine.hear(samples, 0.0).model_dump_json())
    assert len(set(hearings)) == 1


def test_words_lie_where_they_were_said(recogniser: LikelihoodRecogniser) -> None:
    hearing = recogniser.hear(speech("turn left heading two eight four"), 50.0)
    words = hearing.best.spans[0].words  # type: ignore[union-attr]
    assert [word.text for word in words] == ["turn", "left", "heading", "two", "eight", "four"]
    for word, following in pairwise(words):
        assert word.start_seconds < word.end_seconds <= following.start_seconds + 0.011
    assert words[0].start_seconds == pytest.approx(50.2, abs=0.15)
    assert words[-1].end_seconds < hearing.end_seconds


def test_every_interpretation_is_of_the_grammar(recogniser: LikelihoodRecogniser) -> None:
    grammar = grammar_of(*CALLS)
    for said in ("turn left heading two eight four", "squawk four six two one"):
        hearing = recogniser.hear(speech(said), 0.0)
        for interpretation in hearing.interpretations:
            cut = grammar.read(interpretation.text.split())[0]
            assert [piece.kind for piece in cut] == [span.kind for span in interpretation.spans]
            assert all(span.kind == "call" for span in interpretation.spans)


def test_words_without_a_pronunciation_are_reported(other_engine: LikelihoodRecogniser) -> None:
    grammar = grammar_of("direct torvinny", "direct kelda")
    guessed = dict(other_engine.prepare(grammar, {}).guessed_words)
    assert "torvinny" in guessed
    assert "direct" not in guessed


def test_hearing_before_preparing_is_an_error() -> None:
    with pytest.raises(RecogniserError, match="before it was prepared"):
        LikelihoodRecogniser(threads=1).hear(np.zeros(16_000, np.int16), 0.0)


def test_a_missing_model_is_named(tmp_path: object) -> None:
    from pathlib import Path

    with pytest.raises(RecogniserError, match=r"encoder_model\.ort is missing"):
        LikelihoodRecogniser(Path(str(tmp_path)))


def test_what_was_worked_out_is_forgotten_and_changes_nothing(
    recogniser: LikelihoodRecogniser, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound = speech("turn left heading two eight four")
    before = recogniser.hear(sound, 0.0)
    monkeypatch.setattr(candidates, "MOST_PLACES", 0)
    assert recogniser.hear(sound, 0.0) == before
