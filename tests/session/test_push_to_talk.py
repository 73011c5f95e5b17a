"""Push to talk: held, or pressed before and after; and the keys beside it."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.audio.virtual import VirtualMicrophone, WavSource
from voice_trainer.session.keys import FREEZE_OR_CONTINUE, Keys
from voice_trainer.session.push_to_talk import (
    FIRST_REPEAT_SECONDS,
    LET_GO_SECONDS,
    LONGEST_SECONDS,
    GatedMicrophone,
    PushToTalk,
)

BLOCK_SECONDS = 0.032


def open_at(presses: list[float], until: float) -> list[float]:
    """The block times at which it listens."""
    gate, times, waiting = PushToTalk(), [], sorted(presses)
    for number in range(round(until / BLOCK_SECONDS)):
        now = number * BLOCK_SECONDS
        while waiting and waiting[0] <= now:
            waiting.pop(0)
            gate.press(now)
        gate.tick(now)
        if gate.open:
            times.append(now)
    return times


def test_two_presses_are_a_beginning_and_an_end() -> None:
    times = open_at([1.0, 4.0], 6.0)
    assert 1.0 <= times[0] < 1.1
    assert 3.9 < times[-1] < 4.0


def test_a_held_key_listens_until_it_is_let_go() -> None:
    for first_repeat, interval in ((0.25, 0.03), (0.5, 0.033), (0.66, 0.1)):
        repeats = [1.0, *np.arange(1.0 + first_repeat, 4.0, interval)]
        times = open_at(repeats, 8.0)
        assert 1.0 <= times[0] < 1.1
        assert 4.0 < times[-1] < 4.0 + LET_GO_SECONDS + 0.1
        assert len(times) == round((times[-1] - times[0]) / BLOCK_SECONDS) + 1  # without a gap


def test_a_key_that_is_forgotten_closes_by_itself() -> None:
    times = open_at([1.0], 70.0)
    assert LONGEST_SECONDS < times[-1] < LONGEST_SECONDS + 1.1


@given(st.lists(st.floats(0, 100), max_size=30))
def test_it_never_listens_before_a_press_nor_for_long_after_the_last(presses: list[float]) -> None:
    times = open_at(presses, 60.0)
    if not times:
        return
    assert times[0] >= min(presses)
    assert all(any(press <= now <= press + LONGEST_SECONDS + 1 for press in presses) for now in times)


@given(st.lists(st.floats(FIRST_REPEAT_SECONDS + 0.1, 20.0), min_size=1, max_size=6))
def test_slow_presses_open_and_close_in_turn(gaps: list[float]) -> None:
    gate, now = PushToTalk(), 0.0
    for number, gap in enumerate(gaps):
        now += gap
        gate.press(now)
        assert gate.open == (number % 2 == 0)


def test_nothing_is_heard_through_a_closed_gate() -> None:
    gate = PushToTalk()
    microphone = GatedMicrophone(VirtualMicrophone(WavSource(np.full(4096, 900, np.int16))), gate)
    loud = []
    for number in range(8):
        if number in (2, 5):
            gate.press(float(number))
        block = microphone.read()
        assert block is not None
        assert block.first_sample == number * 512
        loud.append(bool(block.samples.any()))
    assert loud == [False, False, True, True, True, False, False, False]
    assert microphone.read() is None


def test_keys_are_orders_and_space_is_none() -> None:
    typed = iter(["", "p", "rx", " q", "P"])
    gate = PushToTalk()
    keys = Keys(lambda: next(typed), gate)
    found = [keys(float(number)) for number in range(5)]
    assert found == [[], [FREEZE_OR_CONTINUE], ["say again"], ["end"], [FREEZE_OR_CONTINUE]]
    assert gate.open


def test_pushing_to_talk_goes_on_when_another_drill_begins_its_clock_anew() -> None:
    typed = iter([" ", "", ""])
    gate = PushToTalk()
    keys = Keys(lambda: next(typed), gate)
    for now in (500.0, 0.0, 1.0):
        keys(now)
        assert gate.open
