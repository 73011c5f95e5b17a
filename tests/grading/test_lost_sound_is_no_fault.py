"""A busy machine and a device that goes are nobody's fault: what was due then is never 'missed' for it."""

from __future__ import annotations

from tests.scenes import Scene, drill_of
from voice_trainer.journal.events import DEVICE_LOST, Paused, Resumed, SamplesLost, Settings, at

GEAR = {
    "calls": [{"call": "gear", "say": "gear down", "window": {"within_seconds": 4}}],
    "give_up_seconds": 2,
}
BLOCK = 512
BLOCK_SECONDS = BLOCK / 16_000
ITS_TIME_SECONDS = 6.0  # within_seconds, and give_up_seconds


def scene() -> Scene:
    return Scene(drill_of(GEAR)).begin("step 1")


def lose(scene: Scene, seconds: float) -> None:
    """Block by block, as a microphone tells it."""
    for _ in range(round(seconds / BLOCK_SECONDS)):
        scene.wait(BLOCK_SECONDS)
        scene.send(SamplesLost(at_seconds=scene.now, samples=BLOCK))


def reason_of(scene: Scene) -> str:
    return scene.grade().verdicts[0].reason


def test_the_window_does_not_run_while_sound_is_lost() -> None:
    played = scene().wait(2.0)
    lose(played, 3.2)
    played.say("gear down", after=1.9)
    assert played.verdicts() == {"gear": "correct"}
    assert "after 3.9 seconds" in reason_of(played)  # of 7.1


def test_what_was_due_while_sound_was_lost_is_not_missed() -> None:
    played = scene().wait(1.0)
    lose(played, 0.8)
    played.wait(ITS_TIME_SECONDS + 3).tick()
    assert played.verdicts() == {"gear": "unclear"}
    assert "Sound was lost" in reason_of(played)


def test_a_crackle_takes_no_call_away() -> None:
    played = scene().wait(1.0)
    lose(played, 5 * BLOCK_SECONDS)
    played.wait(ITS_TIME_SECONDS + 3).tick()
    assert played.verdicts() == {"gear": "missed"}


def test_sound_that_was_lost_before_a_call_was_due_excuses_nothing() -> None:
    played = Scene(drill_of(GEAR))
    lose(played, 2.0)
    played.begin("step 1")
    played.wait(ITS_TIME_SECONDS + 3).tick()
    assert played.verdicts() == {"gear": "missed"}


def test_what_is_asked_for_again_after_a_loss_can_be_missed() -> None:
    played = scene().wait(1.0)
    lose(played, 0.8)
    played.cue("again: step 1")
    played.wait(ITS_TIME_SECONDS + 3).tick()
    assert played.verdicts() == {"gear": "missed"}


def test_a_loss_changes_nothing_of_what_was_said_wrong() -> None:
    turn = {"calls": [{"call": "turn", "say": "turn right [heading] {heading: 333}"}]}
    played = Scene(drill_of(turn)).begin("step 1").wait(0.5)
    lose(played, 1.0)
    played.say("turn right heading 323")
    played.end()
    assert played.verdicts() == {"turn": "wrong value"}


def test_after_a_device_was_lost_the_whole_window_is_there_again() -> None:
    played = scene().wait(3.5)
    played.send(Paused(at_seconds=played.now, reason=DEVICE_LOST))
    played.wait(40.0)
    played.send(Resumed(at_seconds=played.now))
    played.say("gear down", after=3.5)
    assert played.verdicts() == {"gear": "correct"}


def test_after_any_other_pause_the_window_goes_on() -> None:
    played = scene().wait(3.5)
    played.send(Paused(at_seconds=played.now, reason="asked by the student"))
    played.wait(40.0)
    played.send(Resumed(at_seconds=played.now))
    played.say("gear down", after=1.5)
    assert played.verdicts() == {"gear": "late"}


def test_a_replay_that_sees_no_ticks_comes_to_the_same() -> None:
    for ticking in (None, 0.032, 0.5):
        played = Scene(drill_of(GEAR), Settings(), ticking=ticking).begin("step 1").wait(at(1.0))
        lose(played, 1.6)
        played.end()
        assert played.verdicts() == {"gear": "unclear"}
