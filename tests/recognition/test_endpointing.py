"""Endpointing: the state machine on invented probabilities, the real detector on synthetic speech."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.recognition.sounds import RATE, silence, spoken
from voice_trainer.recognition.endpointing import (
    BLOCK_SAMPLES,
    BLOCK_SECONDS,
    Endpointer,
    EndpointingEvent,
    EndpointingSettings,
    SpeechBegan,
    SpeechDropped,
    Utterance,
    VoiceActivity,
)

SETTINGS = EndpointingSettings(
    hangover_seconds=5 * BLOCK_SECONDS,
    minimum_speech_seconds=3 * BLOCK_SECONDS,
    maximum_utterance_seconds=40 * BLOCK_SECONDS,
    pre_roll_seconds=4 * BLOCK_SECONDS,
    post_roll_seconds=2 * BLOCK_SECONDS,
)


def block(number: int) -> np.ndarray:
    """A block that can be told from every other."""
    return np.full(BLOCK_SAMPLES, number, np.int16)


def at(blocks: int) -> float:
    """The time after so many blocks, to the microsecond."""
    return round(blocks * BLOCK_SECONDS, 6)


def run(probabilities: list[float], settings: EndpointingSettings = SETTINGS) -> list[EndpointingEvent]:
    endpointer = Endpointer(settings)
    events = [event for i, p in enumerate(probabilities) for event in endpointer.feed(block(i), p)]
    return events + endpointer.close()


def numbers(utterance: Utterance) -> list[int]:
    return [int(n) for n in utterance.samples[::BLOCK_SAMPLES]]


probability_lists = st.lists(
    st.one_of(st.sampled_from([0.0, 0.34, 0.35, 0.49, 0.5, 1.0]), st.floats(0, 1)), max_size=150
)


def test_speech_begins_at_the_first_block_and_ends_after_the_hangover():
    events = run([0.0] * 10 + [0.9] * 6 + [0.1] * 20)
    began, utterance = events
    assert began == SpeechBegan(at(10))
    assert isinstance(utterance, Utterance)
    # Four blocks from before, six of speech, two of the quiet behind it.
    assert numbers(utterance) == list(range(6, 18))
    assert (utterance.start_seconds, utterance.end_seconds) == (at(6), at(18))
    assert utterance.speech_start_seconds == at(10)
    assert utterance.speech_end_seconds == at(16)


def test_a_dip_between_the_thresholds_or_shorter_than_the_hangover_ends_nothing():
    events = run([0.9] * 4 + [0.4] * 20 + [0.1] * 4 + [0.5] + [0.1] + [0.36] + [0.1] * 5)
    assert [type(event) for event in events] == [SpeechBegan, Utterance]
    assert events[1].speech_end_seconds == at(31)


def test_after_a_pause_only_what_could_begin_speech_goes_on_with_it():
    events = run([0.9] * 4 + [0.1] * 2 + [0.49] * 3)
    assert [type(event) for event in events] == [SpeechBegan, Utterance]
    assert events[1].speech_end_seconds == at(4)


def parts(utterance: Utterance) -> list[Utterance]:
    """An utterance cut at every pause."""
    if not utterance.pauses:
        return [utterance]
    return [utterance.before_pause(), *parts(utterance.after_pause())]


def facts(utterance: Utterance) -> tuple[object, ...]:
    return (
        *(round(seconds / BLOCK_SECONDS) for seconds in (utterance.start_seconds, utterance.end_seconds)),
        *(
            round(seconds / BLOCK_SECONDS)
            for seconds in (utterance.speech_start_seconds, utterance.speech_end_seconds)
        ),
        tuple(numbers(utterance)),
        utterance.speech_blocks,
        utterance.pauses,
    )


@given(probability_lists)
def test_it_is_the_same_whether_an_utterance_is_cut_at_its_pauses_in_progress_or_at_its_end(probabilities):
    afterwards = [
        part for event in run(probabilities) if isinstance(event, Utterance) for part in parts(event)
    ]
    endpointer = Endpointer(SETTINGS)
    meanwhile: list[Utterance] = []
    for i, p in enumerate([*probabilities, None]):
        events = endpointer.close() if p is None else endpointer.feed(block(i), p)
        meanwhile += [event for event in events if isinstance(event, Utterance)]
        so_far = endpointer.so_far()
        while so_far is not None and so_far.pauses:
            meanwhile.append(so_far.before_pause())
            endpointer.cut_at_pause()
            so_far = endpointer.so_far()
    # What is too short after a pause is dropped when it ends alone; the oracle knows nothing of that. Nor does it
    # of the maximum length, which a shorter utterance reaches later.
    needed = [each for each in afterwards if each.speech_blocks >= 3]
    longest = max(
        (len(numbers(event)) for event in run(probabilities) if isinstance(event, Utterance)), default=0
    )
    if longest < 39:
        assert [facts(each) for each in meanwhile] == [facts(each) for each in needed]


@given(probability_lists)
def test_what_is_known_at_a_pause_does_not_change_while_it_is_quiet(probabilities):
    endpointer = Endpointer(SETTINGS)
    known: Utterance | None = None
    for i, p in enumerate(probabilities):
        events = endpointer.feed(block(i), p)
        if known is not None:
            now = endpointer.so_far()
            if events:
                assert facts(events[0]) == facts(known)
            elif endpointer.pausing:
                assert now is not None and facts(now) == facts(known)
            else:
                assert now is not None and len(now.pauses) == len(known.pauses) + 1
                if not known.pauses:
                    assert facts(now.before_pause()) == facts(known)
        known = endpointer.so_far() if endpointer.pausing else None


def test_too_little_speech_is_dropped_and_says_when_it_had_begun():
    began, dropped = run([0.0] * 3 + [0.9] * 2 + [0.0] * 10)
    assert began == SpeechBegan(at(3))
    assert isinstance(dropped, SpeechDropped)
    assert (dropped.began_seconds, dropped.at_seconds) == (at(3), at(10))
    there_is = dropped.utterance
    assert (there_is.speech_start_seconds, there_is.speech_end_seconds) == (at(3), at(5))
    assert there_is.start_seconds <= at(3)
    assert at(5) <= there_is.end_seconds <= at(10)


def test_speech_without_end_is_cut_at_the_maximum_and_loses_nothing():
    utterances = [event for event in run([0.9] * 100) if isinstance(event, Utterance)]
    assert [len(numbers(each)) for each in utterances] == [40, 40, 20]
    assert [n for each in utterances for n in numbers(each)] == list(range(100))


@given(probability_lists)
def test_utterances_are_ordered_disjoint_pieces_of_the_stream(probabilities):
    last = 0.0
    for event in run(probabilities):
        if isinstance(event, Utterance):
            assert last <= event.start_seconds <= event.speech_start_seconds
            assert event.speech_start_seconds < event.speech_end_seconds <= event.end_seconds
            first = round(event.start_seconds / BLOCK_SECONDS)
            assert numbers(event) == list(range(first, round(event.end_seconds / BLOCK_SECONDS)))
            assert len(numbers(event)) * BLOCK_SECONDS <= SETTINGS.maximum_utterance_seconds + 1e-9
            last = event.end_seconds


@given(probability_lists)
def test_every_beginning_has_its_end_and_no_speech_is_lost(probabilities):
    events = run(probabilities)
    assert all(isinstance(event, SpeechBegan) == (i % 2 == 0) for i, event in enumerate(events))
    assert len(events) % 2 == 0
    covered: set[int] = set()
    for began, ended in zip(events[::2], events[1::2], strict=True):
        if isinstance(ended, Utterance):
            assert ended.speech_start_seconds == began.at_seconds
            covered |= set(numbers(ended))
        else:
            assert ended.began_seconds == began.at_seconds
            first = round(began.at_seconds / BLOCK_SECONDS)
            covered |= set(range(first, round(ended.at_seconds / BLOCK_SECONDS)))
    loud = {i for i, p in enumerate(probabilities) if p >= SETTINGS.speech_on}
    assert loud <= covered


@given(probability_lists, st.integers(0, 150), st.integers(0, 60))
def test_what_is_said_while_deaf_is_in_no_utterance(probabilities, deaf_from, deaf_blocks):
    endpointer = Endpointer(SETTINGS)
    events: list[EndpointingEvent] = []
    deaf: set[int] = set()
    for i, p in enumerate(probabilities):
        if i == deaf_from:
            closed = endpointer.deafen()
            assert not any(isinstance(event, SpeechBegan) for event in closed)
            assert endpointer.deafen() == []
            events += closed
        if i == deaf_from + deaf_blocks:
            endpointer.listen()
        if endpointer.deaf:
            deaf.add(i)
            assert endpointer.feed(block(i), p) == []
        else:
            events += endpointer.feed(block(i), p)
        assert endpointer.now_seconds == at(i + 1)
    events += endpointer.close()
    for event in events:
        if isinstance(event, Utterance):
            assert not deaf & set(numbers(event))
    assert sum(isinstance(event, SpeechBegan) for event in events) * 2 == len(events)


def test_deafening_closes_the_utterance_with_what_has_been_said():
    endpointer = Endpointer(SETTINGS, start_seconds=100.0)
    for i in range(8):
        endpointer.feed(block(i), 0.9)
    assert endpointer.speaking
    so_far = endpointer.so_far()
    (utterance,) = endpointer.deafen()
    assert isinstance(utterance, Utterance) and so_far is not None
    assert numbers(utterance) == numbers(so_far) == list(range(8))
    assert utterance.start_seconds == 100.0
    assert endpointer.deaf and not endpointer.speaking and endpointer.so_far() is None


def test_reset_forgets_everything():
    endpointer = Endpointer(SETTINGS)
    endpointer.feed(block(0), 0.9)
    endpointer.deafen()
    endpointer.reset(5.0)
    assert (endpointer.deaf, endpointer.speaking, endpointer.now_seconds) == (False, False, 5.0)
    assert endpointer.feed(block(1), 0.9) == [SpeechBegan(5.0)]


@pytest.mark.parametrize(
    "wrong",
    [
        {"speech_on": 0.3, "speech_off": 0.4},
        {"speech_on": 1.2},
        {"hangover_seconds": -1.0},
        {"maximum_utterance_seconds": 0.2},
    ],
)
def test_settings_that_make_no_sense_are_refused(wrong):
    with pytest.raises(ValueError, match="endpointing"):
        EndpointingSettings(**wrong)


def test_a_block_of_another_length_is_refused():
    with pytest.raises(ValueError, match="512"):
        Endpointer().feed(np.zeros(100, np.int16), 0.0)


def heard(sound: np.ndarray, chunk: int) -> list[tuple[bytes, float]]:
    activity = VoiceActivity()
    return [
        (piece.tobytes(), probability)
        for at in range(0, len(sound), chunk)
        for piece, probability in activity.feed(sound[at : at + chunk])
    ]


def test_the_detector_does_not_care_how_the_sound_was_chunked():
    sound = np.concatenate([silence(0.5), spoken("gear down")])
    whole = heard(sound, len(sound))
    assert len(whole) == len(sound) // BLOCK_SAMPLES
    for chunk in (100, 512, 700, 4096):
        assert heard(sound, chunk) == whole


@pytest.mark.parametrize("voice", ["slt", "en-us", "en-gb"])
def test_real_speech_between_silences_is_found_where_it_is(voice):
    first, second = spoken("landing gear down", voice), spoken("turn left heading two eight four", voice)
    sound = np.concatenate([silence(1.0), first, silence(1.5), second, silence(1.5)])
    activity, endpointer = VoiceActivity(), Endpointer()
    events = [event for piece, p in activity.feed(sound) for event in endpointer.feed(piece, p)]
    utterances = [event for event in events if isinstance(event, Utterance)]
    assert len(utterances) == 2
    begins = (1.3, 1.0 + len(first) / RATE + 1.5 + 0.3)
    ends = (1.0 + len(first) / RATE - 0.3, 1.0 + (len(first) + len(second)) / RATE + 1.5 - 0.3)
    for utterance, begin, end in zip(utterances, begins, ends, strict=True):
        assert utterance.speech_start_seconds == pytest.approx(begin, abs=0.25)
        assert utterance.speech_end_seconds == pytest.approx(end, abs=0.25)
        at = round(utterance.start_seconds * RATE)
        assert np.array_equal(utterance.samples, sound[at : at + len(utterance.samples)])


def test_silence_is_no_speech():
    activity, endpointer = VoiceActivity(), Endpointer()
    assert [e for piece, p in activity.feed(silence(4.0)) for e in endpointer.feed(piece, p)] == []
