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


@given(
    st.lists(st.tuples(st.integers(0, 400), st.integers(1, 300)), max_size=8),
    st.integers(0, 2000),
    st.integers(0, 2000),
    st.integers(0, 6000),
)
def test_it_does_not_run_where_sound_was_lost(
    losses: list[tuple[int, int]], deaf_at: int, deaf_for: int, asked: int
) -> None:
    """Each loss is known when it is over; the trainer may have been deaf meanwhile."""
    told: list[tuple[int, int, str]] = [(deaf_at, 0, "deaf"), (deaf_at + deaf_for, 0, "listening")]
    now, silent = 0, set(range(deaf_at, deaf_at + deaf_for))
    for after, lost in losses:
        silent |= set(range(now + after, now + after + lost))
        now += after + lost
        told.append((now, lost, "lost"))
    clock = ListeningClock()
    for at, lost, what in sorted(told, key=lambda each: each[0]):
        if what == "lost":
            clock = clock.stood_still(float(at - lost), float(at))
        else:
            clock = clock.stop("deaf", float(at)) if what == "deaf" else clock.start("deaf", float(at))
    # What began to be deaf inside a loss is known before the loss is: a sliver of it may count once too often.
    inside = [at - lost for at, lost, what in told if what == "lost" and at - lost < deaf_at < at]
    if not inside:
        assert clock.reading(float(asked)) == sum(ms not in silent for ms in range(asked))


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
