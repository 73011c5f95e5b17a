"""The listening clock against a slow oracle that counts every millisecond."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from voice_trainer.grading.listening_clock import ListeningClock

moves = st.lists(
    st.tuples(st.integers(1, 400), st.sampled_from(("cue", "deaf", "paused")), st.booleans()), max_size=12
)


@given(moves, st.integers(0, 6000))
def test_it_counts_the_milliseconds_in_which_nothing_stops_it(
    moves: list[tuple[int, str, bool]], asked: int
) -> None:
    clock = ListeningClock()
    reasons: set[str] = set()
    stopped: list[bool] = []
    now = 0
    for wait, reason, stops in moves:
        stopped += [bool(reasons)] * wait
        now += wait
        clock = clock.stop(reason, float(now)) if stops else clock.start(reason, float(now))
        reasons = reasons | {reason} if stops else reasons - {reason}
    stopped += [bool(reasons)] * 6001
    running = sum(not s for s in stopped[:asked])
    assert clock.reading(float(asked)) == running


@given(moves, st.integers(0, 3000))
def test_the_moment_of_a_reading_is_the_first_with_that_reading(
    moves: list[tuple[int, str, bool]], reading: int
) -> None:
    clock = ListeningClock()
    now = 0.0
    for wait, reason, stops in moves:
        now += wait
        clock = clock.stop(reason, now) if stops else clock.start(reason, now)
    if clock.reasons and reading > clock.reading(now):
        return
    moment = clock.moment(float(reading))
    assert clock.reading(moment) == reading
    assert moment == 0 or clock.reading(moment - 0.5) < reading
    last = clock.last_moment(float(reading))
    assert clock.reading(last) == reading
    assert clock.reasons or clock.reading(last + 0.5) > reading
