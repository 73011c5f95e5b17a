"""The engine from end to end: espeak-ng speaks, the real model hears."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from spoken_calls import CALLS, grammar_of, speech

from voice_trainer.recognition.errors import RecogniserError
from voice_trainer.recognition.likelihood import engine as engine_module
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


@pytest.mark.parametrize(
    "voice", ["en-us", "en-us+f3", "gmw/en-us+m3", "en-gb", "en-gb-x-rp", "en-gb-scotland"]
)
@pytest.mark.parametrize("digit", ["two", "five", "eight", "nine"])
def test_a_digit_is_never_heard_as_another_whoever_says_it(
    recogniser: LikelihoodRecogniser, digit: str, voice: str
) -> None:
    said = f"turn left heading zero {digit} zero"
    hearing = recogniser.hear(speech(said, voice), 0.0)
    assert (hearing.clarity, hearing.text) == ("clear", said)


@pytest.mark.slow
@pytest.mark.parametrize("shift_milliseconds", [0, 7, 13, 22, 31])
@pytest.mark.parametrize("digit", ["five", "eight", "nine"])
def test_a_shift_never_makes_a_digit_clear_and_wrong(
    other_engine: LikelihoodRecogniser, digit: str, shift_milliseconds: int
) -> None:
    other_engine.prepare(grammar_of("maintain {altitude: 2600} [until established]", "gear down"), {})
    said = f"maintain two thousand {digit} hundred until established"
    sound = speech(said.replace("nine", "niner"), "gmw/en-us")
    hearing = other_engine.hear(np.concatenate([np.zeros(16 * shift_milliseconds, np.int16), sound]), 0.0)
    assert hearing.clarity == "unclear" or hearing.text == said


@pytest.mark.parametrize(
    ("said", "calls"),
    [
        ("gear down. turn left heading two eight four", ["gear down", "turn left heading two eight four"]),
        (
            "gear down. fuel pump on. squawk four six two one",
            ["gear down", "fuel pump on", "squawk four six two one"],
        ),
        ("turn left, uh, heading three one zero", ["turn left heading three one zero"]),
        ("uh, turn left heading three one zero", ["turn left heading three one zero"]),
        ("um, gear down", ["gear down"]),
        ("okay, gear down", ["gear down"]),
        ("turn left, left heading three one zero", ["turn left heading three one zero"]),
    ],
)
def test_calls_in_one_breath_and_what_is_said_beside_them(
    recogniser: LikelihoodRecogniser, said: str, calls: list[str]
) -> None:
    hearing = recogniser.hear(speech(said), 0.0)
    assert hearing.best is not None
    assert hearing.clarity == "clear"
    assert [(span.kind, span.text) for span in hearing.best.spans] == [("call", call) for call in calls]


@pytest.mark.parametrize(
    "said",
    ["turn left heading", "turn left", "descend and maintain", "squawk", "contact tower", "squawk four six"],
)
@pytest.mark.parametrize("voice", ["en-us", "en-gb"])
def test_a_beginning_is_asked_for_again_and_never_made_up(
    recogniser: LikelihoodRecogniser, said: str, voice: str
) -> None:
    hearing = recogniser.hear(speech(said, voice), 0.0)
    assert (hearing.clarity, hearing.text) == ("unclear", said)


@pytest.mark.parametrize(
    "said",
    [
        "what would you like for dinner tonight",
        "the meeting has been moved to thursday afternoon",
        "my brother lives in a small house near the sea",
        "turn the radio down it is too loud",
        "did you feed the cat",
        "let me think about that",
        "what comes next",
        "where was I",
    ],
)
def test_other_speech_is_no_call(recogniser: LikelihoodRecogniser, said: str) -> None:
    hearing = recogniser.hear(speech(said), 0.0)
    assert hearing.clarity == "not a call"
    assert hearing.interpretations == ()


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
    noise = np.random.default_rng(1).normal(0.0, 4800.0, 60_000)
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


def test_a_name_that_nobody_knows_is_heard(other_engine: LikelihoodRecogniser) -> None:
    grammar = grammar_of("direct torvinny", "direct kelda", "direct brannock")
    readiness = other_engine.prepare(grammar, {"torvinny": "T AO R V IH N IY"})
    assert "torvinny" not in dict(readiness.guessed_words)
    assert readiness.missing_words == ()
    for voice in ("en-us", "en-gb"):
        hearing = other_engine.hear(speech("direct torvinny", voice), 0.0)
        assert hearing.text == "direct torvinny"
        assert hearing.clarity in ("clear", "unclear")


def test_a_grammar_prepared_twice_is_heard_the_same_and_another_one_is_heard_instead(
    other_engine: LikelihoodRecogniser,
) -> None:
    sound = speech("gear down")
    other_engine.prepare(grammar_of(*CALLS), {})
    first = other_engine.hear(sound, 0.0)
    other_engine.prepare(grammar_of("turn left heading {heading}"), {})
    assert other_engine.hear(sound, 0.0).text != "gear down"
    other_engine.prepare(grammar_of(*CALLS), {})
    assert other_engine.hear(sound, 0.0) == first
    assert (first.clarity, first.text) == ("clear", "gear down")


def test_threads_that_hear_at_once_hear_what_each_would_hear_alone(recogniser: LikelihoodRecogniser) -> None:
    said = ("gear down", "squawk four six one two", "turn left heading", "did you feed the cat") * 2
    sounds = [speech(text) for text in said]
    alone = [recogniser.hear(sound, 0.0) for sound in sounds]
    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(lambda sound: recogniser.hear(sound, 0.0), sounds)) == alone


def test_hearing_before_preparing_is_an_error() -> None:
    with pytest.raises(RecogniserError, match="before it was prepared"):
        LikelihoodRecogniser(threads=1).hear(np.zeros(16_000, np.int16), 0.0)


def test_a_missing_model_is_named(tmp_path: object) -> None:
    from pathlib import Path

    with pytest.raises(RecogniserError, match=r"model\.json is missing"):
        LikelihoodRecogniser(Path(str(tmp_path)))


def test_what_was_worked_out_is_forgotten_and_changes_nothing(
    recogniser: LikelihoodRecogniser, monkeypatch: pytest.MonkeyPatch
) -> None:
    sound = speech("turn left heading two eight four")
    before = recogniser.hear(sound, 0.0)
    monkeypatch.setattr(engine_module, "MOST_PLACES", 0)
    assert recogniser.hear(sound, 0.0) == before
