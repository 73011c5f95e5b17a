"""The loop over audio, in virtual time, with the shipped fakes: who is heard when, and what is written down."""

from __future__ import annotations

from collections.abc import Callable
from itertools import count
from pathlib import Path

import numpy as np
import pytest

from tests.scenes import drill_of
from voice_trainer.archive.journal_file import JournalWriter, read_journal
from voice_trainer.audio.errors import DeviceLostError
from voice_trainer.audio.ports import BLOCK_SAMPLES, SAMPLE_RATE_HZ, Block, PlaybackEvent, Samples
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import (
    Accepted,
    AnyDecision,
    AnyFact,
    AskAgain,
    CueEnded,
    CueStarted,
    Ended,
    Header,
    Heard,
    ListeningStarted,
    ListeningStopped,
    Paused,
    Resumed,
    Settings,
    SpeechStarted,
)
from voice_trainer.recognition.scripted import ScriptedRecogniser
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.booth import Booth
from voice_trainer.session.diary import Diary
from voice_trainer.session.ears import Ears
from voice_trainer.session.keys import Keys
from voice_trainer.session.mouth import Mouth
from voice_trainer.session.run import AudioSession
from voice_trainer.session.sleep_watch import ASLEEP_AFTER_SECONDS, SleepWatch
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice
from voice_trainer.voices.scripted import ScriptedVoice

GEAR = {"calls": [{"call": "gear", "say": "gear down", "window": {"within_seconds": 4}}]}
LONG_CUE = "a cue of many words that goes on for a good while so that one can talk into it"


@pytest.fixture(scope="module")
def gear_down() -> Samples:
    return Pyttsx3Voice().render("gear down", VoiceStyle("gmw/en-us"))


def long_cue(*, urgent: bool = False) -> Drill:
    drill = drill_of(GEAR).model_dump()
    drill["steps"][0]["cue"] = {"speaker": "instructor", "say": LONG_CUE, "urgent": urgent}
    return Drill.model_validate(drill)


def pressing(keys: dict[float, str], source: ScheduledSource) -> Callable[[], str]:
    """A keyboard on which each key is pressed at its time."""
    waiting = sorted(keys.items())

    def pressed() -> str:
        found = ""
        while waiting and waiting[0][0] <= source.delivered_seconds:
            found += waiting.pop(0)[1]
        return found

    return pressed


def run(
    drill: Drill,
    said: dict[float, Samples],
    folder: Path,
    *,
    headset: bool = False,
    script: tuple[str, ...] = ("gear down",) * 9,
    pressed: dict[float, str] | None = None,
    sleep_watch: SleepWatch | None = None,
    microphone: Callable[[ScheduledSource], VirtualMicrophone] = VirtualMicrophone,
    speaker: ClockedSpeaker | None = None,
) -> list[AnyFact | AnyDecision]:
    settings = Settings(listening="headset" if headset else "half-duplex")
    voice = ScriptedVoice()
    booth = Booth(voice, Casting.of(voice))
    recogniser = ScriptedRecogniser(list(script))
    recogniser.prepare(domain_of(drill), {})
    source = ScheduledSource(noise_dbfs=-66.0)
    for at_seconds, clip in said.items():
        source.say(at_seconds, clip)
    path = folder / "session.jsonl"
    header = Header(
        program="test", session="s", started_utc="now", drill=drill.model_dump(mode="json"), settings=settings
    )
    ears = Ears(recogniser, in_step=True)
    with JournalWriter(path, header) as journal:
        session = AudioSession(
            Sequencer(drill, settings),
            microphone(source),
            Mouth(speaker or ClockedSpeaker(), booth, in_step=True),
            ears,
            Diary(journal),
            headset=headset,
            keys=Keys(pressing(pressed or {}, source)),
            sleep_watch=sleep_watch,
        )
        session.run()
    booth.close()
    ears.close()
    kept = read_journal(path)
    again = replay(drill, settings, kept.records)
    assert differences(kept.records, again) == []
    return list(kept.records)


def verdict(drill: Drill, records: list[AnyFact | AnyDecision]) -> str:
    header = Header(
        program="test",
        session="s",
        started_utc="now",
        drill=drill.model_dump(mode="json"),
        settings=Settings(),
    )
    (settled,) = debrief_of(header, records).grade.verdicts
    return settled.verdict


def cue_times(records: list[AnyFact | AnyDecision]) -> tuple[float, float]:
    began = next(r.at_seconds for r in records if isinstance(r, CueStarted))
    return began, next(r.at_seconds for r in records if isinstance(r, CueEnded))


def test_half_duplex_hears_nothing_while_it_speaks_and_holds_nothing_against_anybody(
    gear_down: Samples, tmp_path: Path
) -> None:
    drill = long_cue()
    records = run(drill, {1.0: gear_down, 9.5: gear_down}, tmp_path)
    began, ended = cue_times(records)
    assert ended > 3.0
    onsets = [r.onset_seconds for r in records if isinstance(r, SpeechStarted)]
    assert all(not began <= onset <= ended for onset in onsets)
    assert len(onsets) == 1
    assert sum(isinstance(r, ListeningStopped) for r in records) == sum(
        isinstance(r, ListeningStarted) for r in records
    )
    assert verdict(drill, records) == "correct"


def test_a_headset_listens_always(gear_down: Samples, tmp_path: Path) -> None:
    drill = long_cue()
    records = run(drill, {1.0: gear_down}, tmp_path, headset=True)
    _, ended = cue_times(records)
    accepted = next(r for r in records if isinstance(r, Accepted))
    assert accepted.onset_seconds < ended
    assert not any(isinstance(r, ListeningStopped) for r in records)
    assert verdict(drill, records) == "correct"


def test_a_cue_waits_for_the_student_who_speaks(gear_down: Samples, tmp_path: Path) -> None:
    drill = Drill.model_validate(
        long_cue().model_dump() | {"steps": [long_cue().steps[0].model_dump() | {"after_seconds": 0.5}]}
    )
    records = run(drill, {0.2: gear_down, 9.5: gear_down}, tmp_path)
    began, _ = cue_times(records)
    heard = next(r.at_seconds for r in records if isinstance(r, Heard))
    assert began >= heard


def test_the_onset_is_where_the_first_word_begins(gear_down: Samples, tmp_path: Path) -> None:
    at_seconds = 8.0
    records = run(long_cue(), {at_seconds: gear_down}, tmp_path)
    onset = next(r.onset_seconds for r in records if isinstance(r, SpeechStarted))
    assert onset == pytest.approx(at_seconds, abs=0.15)
    assert len(gear_down) / SAMPLE_RATE_HZ < 1.5


def test_late_by_the_clock_that_stands_still_while_the_trainer_speaks(
    gear_down: Samples, tmp_path: Path
) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {8.0: gear_down}, tmp_path / "first"))
    in_time = run(drill, {ended + 3.6: gear_down}, tmp_path / "second")
    assert verdict(drill, in_time) == "correct"
    late = run(drill, {ended + 4.8: gear_down}, tmp_path / "third")
    assert verdict(drill, late) == "late"
    never = run(drill, {}, tmp_path / "fourth")
    assert verdict(drill, never) == "missed"


def test_orders_over_audio_freeze_slow_down_and_repeat(gear_down: Samples, tmp_path: Path) -> None:
    """The scripted recogniser hears orders in turn; whatever sounds is only there to be heard."""
    script = ("trainer slower", "trainer freeze", "trainer continue", "say again", "gear down")
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    moments = (ended + 1.0, ended + 4.0, ended + 30.0, ended + 32.0, ended + 45.0)
    records = run(drill, dict.fromkeys(moments, gear_down), tmp_path / "second", script=script)
    cues = [r for r in records if isinstance(r, CueStarted)]
    ends = [r.at_seconds for r in records if isinstance(r, CueEnded)]
    lasted = {cue.cue: end - cue.at_seconds for cue, end in zip(cues, ends, strict=True)}
    assert list(lasted) == ["step 1", "answer", "again: step 1"]
    assert lasted["again: step 1"] == pytest.approx(1.2 * lasted["step 1"], rel=0.05)
    assert verdict(drill, records) == "correct"


def spoken(records: list[AnyFact | AnyDecision]) -> list[str]:
    return [r.text for r in records if isinstance(r, CueStarted)]


def test_keys_freeze_repeat_and_go_on(gear_down: Samples, tmp_path: Path) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    pressed = {ended + 1.0: "p", ended + 30.0: "p", ended + 31.0: "r"}
    records = run(drill, {ended + 42.0: gear_down}, tmp_path / "second", pressed=pressed)
    assert [type(r) for r in records if isinstance(r, Paused | Resumed)] == [Paused, Resumed]
    assert spoken(records) == [LONG_CUE, LONG_CUE]
    assert verdict(drill, records) == "correct"


def test_a_key_ends_the_drill(tmp_path: Path) -> None:
    records = run(long_cue(), {}, tmp_path, pressed={1.0: "q"})
    (ended,) = (r for r in records if isinstance(r, Ended))
    assert ended.reason == "by the student"
    assert ended.at_seconds < 1.2


def asleep_at(block: int, seconds: float) -> SleepWatch:
    """A watch over blocks of 32 ms, and a sleep of so many seconds before one of them."""
    blocks = count()

    def clock() -> float:
        number = next(blocks)
        return number * 0.032 + (seconds if number >= block else 0.0)

    return SleepWatch(clock)


def test_a_computer_that_slept_stands_still_until_it_is_asked_to_go_on(
    gear_down: Samples, tmp_path: Path
) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    block = round((ended + 1.0) / 0.032)
    script = ("trainer continue", "gear down")
    said = {ended + 40.0: gear_down, ended + 42.5: gear_down}
    records = run(drill, said, tmp_path / "second", script=script, sleep_watch=asleep_at(block, 300.0))
    (paused,) = (r for r in records if isinstance(r, Paused))
    assert paused.reason == "asleep"
    assert spoken(records)[1] == "This computer was asleep. We stand still. Say: trainer, continue."
    assert verdict(drill, records) == "correct"


class GoneOnce(VirtualMicrophone):
    """A microphone whose device goes away once, after so many blocks, and is back at once."""

    def __init__(self, source: ScheduledSource, after_blocks: int) -> None:
        super().__init__(source)
        self._goes_at_seconds = after_blocks * BLOCK_SAMPLES / SAMPLE_RATE_HZ

    def read(self) -> Block | None:
        if self.read_seconds >= self._goes_at_seconds:
            self._goes_at_seconds = float("inf")
            raise DeviceLostError("the microphone has gone.")
        return super().read()


@pytest.mark.parametrize("blocks_later", [0, 30])
def test_a_device_that_a_sleep_took_along_does_not_end_the_pause(
    blocks_later: int, gear_down: Samples, tmp_path: Path
) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    asleep = round((ended + 1.0) / 0.032)
    records = run(
        drill,
        {ended + 40.0: gear_down, ended + 42.5: gear_down},
        tmp_path / "second",
        script=("trainer continue", "gear down"),
        sleep_watch=asleep_at(asleep, 300.0),
        microphone=lambda source: GoneOnce(source, asleep + 1 + blocks_later),
    )
    assert [r.reason for r in records if isinstance(r, Paused)] == ["asleep"]
    (resumed,) = (r for r in records if isinstance(r, Resumed))
    assert resumed.at_seconds > ended + 40.0
    assert verdict(drill, records) == "correct"


class SilencedOnce(ClockedSpeaker):
    """A speaker whose device is found gone once, so many seconds into the session, and is back at once."""

    def __init__(self, at_seconds: float) -> None:
        super().__init__()
        self._goes_at_seconds = at_seconds

    def events(self, now_seconds: float) -> list[PlaybackEvent]:
        if now_seconds >= self._goes_at_seconds:
            self._goes_at_seconds = float("inf")
            raise DeviceLostError("the speaker has gone.")
        return super().events(now_seconds)


def test_what_is_said_while_a_speaker_is_lost_keeps_its_time(gear_down: Samples, tmp_path: Path) -> None:
    said = {9.0: gear_down}
    whole = run(long_cue(), said, tmp_path / "first", headset=True)
    lost = run(long_cue(), said, tmp_path / "second", headset=True, speaker=SilencedOnce(8.9))
    assert [r.reason for r in lost if isinstance(r, Paused)] == ["device lost"]
    wanted = [r.onset_seconds for r in whole if isinstance(r, SpeechStarted)]
    assert [r.onset_seconds for r in lost if isinstance(r, SpeechStarted)] == wanted
    assert wanted


def test_an_answer_that_a_lost_device_cut_off_is_asked_for_again(gear_down: Samples, tmp_path: Path) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    cut_at = round((ended + 1.25) / 0.032)
    records = run(
        drill,
        {ended + 1.0: gear_down},
        tmp_path / "second",
        script=("gear up", "gear down"),  # half a call may be taken for anything
        microphone=lambda source: GoneOnce(source, cut_at),
    )
    assert spoken(records)[:3] == [LONG_CUE, "The audio device is back. Going on.", LONG_CUE]
    (first, *_) = (r for r in records if isinstance(r, Heard))
    (resumed,) = (r for r in records if isinstance(r, Resumed))
    assert first.hearing.clarity == "unclear"
    assert first.at_seconds <= resumed.at_seconds
    again = [r.at_seconds for r in records if isinstance(r, CueEnded)][2]
    records = run(
        drill,
        {ended + 1.0: gear_down, again + 1.5: gear_down},
        tmp_path / "third",
        script=("gear up", "gear down"),
        microphone=lambda source: GoneOnce(source, cut_at),
    )
    assert verdict(drill, records) == "correct"


class Silenced(ClockedSpeaker):
    """Its device goes once, in the middle of what it says: what sounded has ended, incomplete."""

    def __init__(self, at_seconds: float) -> None:
        super().__init__()
        self._goes_at_seconds = at_seconds

    def events(self, now_seconds: float) -> list[PlaybackEvent]:
        happened = super().events(now_seconds)
        if now_seconds >= self._goes_at_seconds:
            self._goes_at_seconds = float("inf")
            self.stop()
            raise DeviceLostError("the speaker has gone.")
        return happened


def test_a_cue_that_a_lost_device_cut_off_is_said_again_once(gear_down: Samples, tmp_path: Path) -> None:
    drill = long_cue()
    records = run(drill, {}, tmp_path, speaker=Silenced(2.0))
    cues = [(r.cue, r.complete) for r in records if isinstance(r, CueEnded)]
    assert cues[:3] == [("step 1", False), ("answer", True), ("again: step 1", True)]
    assert [cue for cue, _ in cues].count("again: step 1") == 1


class Losing(VirtualMicrophone):
    """A microphone on a machine that is too busy from one moment to another: what it hears then is lost."""

    def __init__(self, source: ScheduledSource, from_seconds: float, until_seconds: float) -> None:
        super().__init__(source)
        self._from, self._until = from_seconds, until_seconds

    def read(self) -> Block | None:
        block = super().read()
        if block is None or not self._from <= block.end_seconds < self._until:
            return block
        return Block(block.first_sample, np.zeros_like(block.samples), BLOCK_SAMPLES)


@pytest.mark.parametrize("lost_seconds", [0.3, 0.8])
def test_an_answer_in_which_sound_was_lost_is_asked_for_again(
    lost_seconds: float, gear_down: Samples, tmp_path: Path
) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    records = run(
        drill,
        {ended + 1.0: gear_down, ended + 7.0: gear_down},
        tmp_path / "second",
        script=("gear up", *("gear down",) * 8),
        microphone=lambda source: Losing(source, ended + 1.3, ended + 1.3 + lost_seconds),
    )
    assert next(r for r in records if isinstance(r, Heard)).hearing.clarity == "unclear"
    assert any(isinstance(r, AskAgain) for r in records)
    assert verdict(drill, records) == "correct"


def test_a_call_that_was_lost_as_a_whole_is_not_missed(gear_down: Samples, tmp_path: Path) -> None:
    drill = long_cue()
    _, ended = cue_times(run(drill, {}, tmp_path / "first"))
    records = run(
        drill,
        {ended + 1.0: gear_down},
        tmp_path / "second",
        microphone=lambda source: Losing(source, ended + 0.8, ended + 3.0),
    )
    assert not any(isinstance(r, Heard) for r in records)
    assert verdict(drill, records) == "unclear"


def test_who_waits_for_a_block_is_awake() -> None:
    now = 100.0
    watch = SleepWatch(lambda: now)
    watch.slept_seconds()
    for _ in range(100):
        now += 0.3
        watch.awake()
    assert watch.slept_seconds() == 0
    now += 60
    watch.awake()  # the lid was closed while a block was waited for
    now += 0.1
    assert watch.slept_seconds() == pytest.approx(60)
    assert watch.slept_seconds() == 0


def test_a_busy_machine_did_not_sleep(tmp_path: Path) -> None:
    drill = long_cue()
    records = run(drill, {}, tmp_path, sleep_watch=asleep_at(100, ASLEEP_AFTER_SECONDS - 0.1))
    assert not any(isinstance(r, Paused) for r in records)
