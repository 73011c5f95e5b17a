"""The ears over real speech detection: what is heard ahead, where utterances are cut, and when it is known."""

from __future__ import annotations

import time
from collections.abc import Iterator

import numpy as np
import pytest

from voice_trainer.audio.ports import SAMPLE_RATE_HZ, Block, Samples
from voice_trainer.journal.events import Heard, SpeechDropped, SpeechEnded, SpeechStarted
from voice_trainer.journal.hearing import Hearing
from voice_trainer.journal.thinking import THINKING_SECONDS
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.recognition.endpointing import EndpointingSettings, VoiceActivity
from voice_trainer.recognition.scripted import ScriptedRecogniser
from voice_trainer.session.ears import Activity, Ears, SpeechFact
from voice_trainer.session.foresight import DrillForesight
from voice_trainer.voices.ports import VoiceStyle
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

TEXTS = (
    "gear down", "descend and maintain three thousand", "five hundred", "flaps up", "reduce speed", "one two zero",
    "flaps", "up",
)  # fmt: skip
GRAMMAR = Grammar(
    Phrase(compile_pattern(text), "call")
    for text in (
        "gear down",
        "descend and maintain {altitude: 3000}",
        "flaps up",
        "reduce speed {speed: 120}",
    )
)
BLOCK = SAMPLE_RATE_HZ * 32 // 1000
HANGOVER_SECONDS = EndpointingSettings().hangover_seconds


@pytest.fixture(scope="module")
def clips() -> dict[str, Samples]:
    voice = Pyttsx3Voice()
    return {text: voice.render(text, VoiceStyle("gmw/en-us")) for text in TEXTS}


class Foresight(DrillForesight):
    """Says whether a hearing is whole as in a drill; `due` is the text that completes what is due."""

    def __init__(self, due: str = "") -> None:
        self._grammar = GRAMMAR
        self._due = due

    def completes(self, hearing: Hearing) -> bool:
        return self.is_whole(hearing) and hearing.text == self._due

    def agrees(self, hearing: Hearing) -> bool:
        return hearing.text == self._due


class SlowRecogniser(ScriptedRecogniser):
    """Takes its time."""

    seconds = 0.0

    def hear(self, samples: Samples, start_seconds: float) -> Hearing:
        time.sleep(self.seconds)
        return super().hear(samples, start_seconds)


class HardlyFound:
    """Of a stretch of the sound, in blocks, hardly anything is found to be speech: it is said very softly."""

    def __init__(self, stretch: range, found: int) -> None:
        self._activity = VoiceActivity()
        self._stretch = stretch
        self._found = found
        self._block = -1

    def feed(self, samples: Samples) -> Iterator[tuple[Samples, float]]:
        for block, probability in self._activity.feed(samples):
            self._block += 1
            if self._block in self._stretch:
                yield block, 0.9 if self._block < self._stretch.start + self._found else 0.0
            else:
                yield block, probability

    def reset(self) -> None:
        self._activity.reset()


def said(clips: dict[str, Samples], *parts: str | float) -> Samples:
    """Clips by text, and seconds of a quiet room between them: clips are known again sample for sample."""
    noise = np.random.default_rng(1)
    return np.concatenate(
        [
            clips[part]
            if isinstance(part, str)
            else noise.normal(0, 8, round(part * SAMPLE_RATE_HZ)).astype(np.int16)
            for part in parts
        ]
    )


def listen(
    sound: Samples,
    clips: dict[str, Samples],
    *,
    slow_seconds: float | None = None,
    due: str = "",
    activity: Activity | None = None,
) -> list[tuple[float, SpeechFact]]:
    """Every fact, with the time at which it was known."""
    recogniser = SlowRecogniser(clips=clips)
    recogniser.seconds = slow_seconds or 0.0
    recogniser.prepare(GRAMMAR, {})
    ears = Ears(recogniser, in_step=slow_seconds is None, foresight=Foresight(due), activity=activity)
    facts: list[tuple[float, SpeechFact]] = []
    for at in range(0, len(sound) - BLOCK + 1, BLOCK):
        now = (at + BLOCK) / SAMPLE_RATE_HZ
        ears.take(Block(at, sound[at : at + BLOCK]))
        facts += [(now, fact) for fact in ears.facts(now)]
    ears.finish()
    while facts_left := not ears.quiet:
        facts += [(now, fact) for fact in ears.facts(now)]
        time.sleep(0.01 * facts_left)
    ears.close()
    return facts


def heard(facts: list[tuple[float, SpeechFact]]) -> list[str]:
    return [fact.hearing.text for _, fact in facts if isinstance(fact, Heard)]


def test_a_whole_call_before_a_pause_is_heard_while_the_next_one_is_said(clips: dict[str, Samples]) -> None:
    sound = said(clips, 0.5, "gear down", 0.4, "flaps up", 1.0)
    facts = listen(sound, clips)
    assert heard(facts) == ["gear down", "flaps up"]
    first = next(at for at, fact in facts if isinstance(fact, Heard))
    assert first < (len(sound) - len(clips["flaps up"])) / SAMPLE_RATE_HZ - 0.5
    kinds = [type(fact) for _, fact in facts]
    assert kinds == [SpeechStarted, SpeechEnded, SpeechStarted, Heard, SpeechEnded, Heard]
    onsets = [fact.onset_seconds for _, fact in facts if isinstance(fact, SpeechStarted)]
    assert onsets[1] == pytest.approx(0.9 + len(clips["gear down"]) / SAMPLE_RATE_HZ, abs=0.1)


def test_a_call_that_goes_on_after_a_pause_is_not_cut(clips: dict[str, Samples]) -> None:
    sound = said(clips, 0.5, "descend and maintain three thousand", 0.4, "five hundred", 1.0)
    assert heard(listen(sound, clips)) == ["descend and maintain three thousand five hundred"]


def test_what_is_due_is_accepted_without_the_hangover_and_what_may_grow_is_not(
    clips: dict[str, Samples],
) -> None:
    def wait(text: str, due: str) -> float:
        facts = listen(said(clips, 0.5, text, 1.5), clips, due=due)
        (known,) = [at for at, fact in facts if isinstance(fact, Heard)]
        return known - 0.5 - len(clips[text]) / SAMPLE_RATE_HZ

    assert wait("gear down", "gear down") < HANGOVER_SECONDS - 0.2
    assert wait("gear down", "something else") >= HANGOVER_SECONDS - 0.1
    grows = "descend and maintain three thousand"
    assert wait(grows, grows) >= HANGOVER_SECONDS - 0.1


@pytest.mark.parametrize("slow_seconds", [0.0, 0.05, 0.3])
def test_how_fast_the_recogniser_is_changes_nothing_but_when_it_is_known(
    clips: dict[str, Samples], slow_seconds: float
) -> None:
    sound = said(
        clips, 0.5, "gear down", 0.4, "descend and maintain three thousand", 0.3, "five hundred", 0.4, "flaps up",
        1.0, "gear down", 0.35, "gear down", 0.35, "flaps up", 1.0, "reduce speed", 1.0, "one two zero", 1.0,
    )  # fmt: skip

    def without_times(facts: list[tuple[float, SpeechFact]]) -> list[dict[str, object]]:
        told = [(fact.event, fact.model_dump(exclude={"at_seconds"})) for _, fact in facts]
        return [fields for _, fields in sorted(told, key=lambda each: each[0])]

    in_step = listen(sound, clips)
    long_altitude = "descend and maintain three thousand five hundred"  # which might become '... fifty'
    assert heard(in_step) == [
        "gear down", f"{long_altitude} flaps up", "gear down", "gear down", "flaps up",
        "reduce speed one two zero",
    ]  # fmt: skip
    assert without_times(listen(sound, clips, slow_seconds=slow_seconds)) == without_times(in_step)


def test_the_beginning_of_a_call_and_its_rest_are_one_utterance(clips: dict[str, Samples]) -> None:
    sound = said(clips, 0.5, "reduce speed", 1.2, "one two zero", 1.0, "gear down", 1.5)
    facts = listen(sound, clips)
    assert heard(facts) == ["reduce speed one two zero", "gear down"]
    kinds = [type(fact) for _, fact in facts]
    together = [SpeechStarted, SpeechEnded, SpeechStarted, SpeechEnded, Heard]
    assert kinds == [*together, SpeechStarted, SpeechEnded, Heard]


def test_the_beginning_of_a_call_is_told_when_nothing_follows(clips: dict[str, Samples]) -> None:
    sound = said(clips, 0.5, "reduce speed", 2.5, "one two zero", 1.0)
    facts = listen(sound, clips)
    assert heard(facts) == ["reduce speed", "one two zero"]
    first = next(at for at, fact in facts if isinstance(fact, Heard))
    ended = 0.5 + len(clips["reduce speed"]) / SAMPLE_RATE_HZ
    assert first == pytest.approx(ended + THINKING_SECONDS, abs=0.25)


def test_what_follows_an_unfinished_call_and_is_not_its_rest_is_an_utterance_of_its_own(
    clips: dict[str, Samples],
) -> None:
    sound = said(clips, 0.5, "reduce speed", 1.2, "gear down", 1.5)
    assert heard(listen(sound, clips)) == ["reduce speed", "gear down"]
    assert heard(listen(said(clips, 0.5, "reduce speed", 0.5), clips)) == ["reduce speed"]


def test_without_foresight_a_pause_ends_nothing(clips: dict[str, Samples]) -> None:
    recogniser = ScriptedRecogniser(clips=clips)
    recogniser.prepare(GRAMMAR, {})
    ears = Ears(recogniser, in_step=True)
    sound = said(clips, 0.5, "gear down", 0.4, "flaps up", 1.0)
    facts = []
    for at in range(0, len(sound) - BLOCK + 1, BLOCK):
        ears.take(Block(at, sound[at : at + BLOCK]))
        facts += ears.facts(at / SAMPLE_RATE_HZ)
    assert [fact.hearing.text for fact in facts if isinstance(fact, Heard)] == ["gear down flaps up"]


def hardly_found(clip: Samples) -> HardlyFound:
    """Two blocks of a clip that begins after half a second are found: too little to be speech."""
    began = round(0.5 * SAMPLE_RATE_HZ) // BLOCK
    return HardlyFound(range(began, began + len(clip) // BLOCK + 4), 2)


def test_a_word_too_soft_to_be_found_belongs_to_the_call_that_it_begins(clips: dict[str, Samples]) -> None:
    sound = said(clips, 0.5, "flaps", 1.0, "up", 3.0)
    facts = [fact for _, fact in listen(sound, clips, activity=hardly_found(clips["flaps"]))]
    assert [type(fact) for fact in facts] == [SpeechStarted, SpeechDropped, SpeechStarted, SpeechEnded, Heard]
    last = facts[-1]
    assert isinstance(last, Heard)
    assert (last.hearing.text, last.hearing.clarity, last.grown) == ("flaps up", "clear", False)
    assert last.hearing.words[0].start_seconds < 0.5 + len(clips["flaps"]) / SAMPLE_RATE_HZ
    alone = listen(said(clips, 0.5, "up", 3.0), clips)
    assert heard(alone) != ["flaps up"]


@pytest.mark.parametrize(("before", "pause"), [("flaps", 0.8), ("flaps", 2.6), ("gear down", 0.8)])
def test_what_was_hardly_found_changes_no_clear_call(
    clips: dict[str, Samples], before: str, pause: float
) -> None:
    sound = said(clips, 0.5, before, pause, "flaps up", 3.0)
    assert heard(listen(sound, clips, activity=hardly_found(clips[before]))) == ["flaps up"]


def test_what_was_hardly_found_too_long_ago_begins_no_call(clips: dict[str, Samples]) -> None:
    sound = said(clips, 0.5, "flaps", THINKING_SECONDS + 0.5, "up", 3.0)
    assert heard(listen(sound, clips, activity=hardly_found(clips["flaps"]))) != ["flaps up"]
