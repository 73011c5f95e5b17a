"""Hands-free as a whole: the menu, drills out of it and out of each other, debriefs, all over audio in virtual time.

The first tests hear by script; the last one is the program itself, its recogniser and its synthetic voices.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from rich.console import Console

from tests.cli.commands import one_line_of_trouble, voice_trainer
from tests.scenes import drill_of
from tests.typed_student import practised_before
from voice_trainer.archive.consent_file import read_consent
from voice_trainer.archive.first_run_file import settled_questions
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.audio.ports import Samples
from voice_trainer.audio.virtual import ClockedSpeaker, ScheduledSource, VirtualMicrophone, WavSource
from voice_trainer.cli.hands_free import HandsFree
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.model import Drill
from voice_trainer.drills.spoken_names import by_spoken_name
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import Settings
from voice_trainer.journal.hearing import HeardWord
from voice_trainer.library.builtin import find_drill
from voice_trainer.logbook.entries import SYNTHETIC_STUDENT
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.recognition.ports import Readiness
from voice_trainer.recognition.reading import evenly_spaced
from voice_trainer.recognition.scripted import ScriptedRecogniser
from voice_trainer.session.booth import Booth
from voice_trainer.session.conversation import ConversationOverError
from voice_trainer.session.first_run import QUESTIONS, Question
from voice_trainer.session.menu import STILL_HERE
from voice_trainer.session.scripted_talk import ScriptedTalk
from voice_trainer.session.studio import Studio
from voice_trainer.voices.cache import CachedVoice
from voice_trainer.voices.casting import Casting
from voice_trainer.voices.pyttsx3_voice import Pyttsx3Voice

GEAR = {"calls": [{"call": "gear", "say": "gear down", "window": {"within_seconds": 4}}]}
FLAPS = {"calls": [{"call": "flaps", "say": "flaps up", "window": {"within_seconds": 4}}]}
DRILLS = by_spoken_name(
    [drill_of(GEAR, drill="gear-drill"), drill_of(FLAPS, drill="b2", spoken_name="bravo")]
)


SAYS_NO = (
    "no", "no thanks", "no thank you", "nope", "negative", "none", "nothing", "nothing thanks", "not now", "skip it",
)  # fmt: skip
SAYS_YES = ("yes", "yes please", "affirmative", "yeah", "sure", "okay")
ALL_MAY_SAY = (
    "fly gear drill", "trainer start bravo", "what is there", "debrief", "again", "slower", "end", "mumble",
    "five minutes",
    "radio check one two three", "skip", "keep none", "keep calls", "gear down", "flaps up",
    *SAYS_NO, *SAYS_YES, "keep all please",
)  # fmt: skip
VOICE = Pyttsx3Voice()
CASTING = Casting.of(VOICE)


@pytest.fixture(scope="module")
def clips() -> dict[str, Samples]:
    return {text: VOICE.render(text, CASTING.style("student")) for text in ALL_MAY_SAY}


class Hears(ScriptedRecogniser):
    """Hears what is said, but in some stretches (by number, from 1) takes it for something else."""

    def __init__(self, clips: dict[str, Samples], mishearings: Mapping[int, Mapping[str, str]]) -> None:
        super().__init__(clips=clips)
        self._mishearings = mishearings
        self._stretch = 0

    def prepare(self, grammar: Grammar, pronounce: dict[str, str]) -> Readiness:
        self._stretch += 1
        return super().prepare(grammar, pronounce)

    def _words(self, samples: Samples, start_seconds: float, end_seconds: float) -> list[HeardWord]:
        words = super()._words(samples, start_seconds, end_seconds)
        text = " ".join(word.text for word in words)
        taken_for = self._mishearings.get(self._stretch, {}).get(text, text)
        return evenly_spaced(taken_for.split(), start_seconds, end_seconds)


class Talk:
    """What was printed, and where the journals are."""

    def __init__(self, printed: str, home: Path) -> None:
        self.printed = printed
        kept = [read_journal(path) for path in (home / "journals").glob("*.jsonl")]
        self.journals = [journal for journal in kept if journal.header.session in printed]
        self.journals.sort(key=lambda journal: printed.index(journal.header.session))
        self.drills = [journal.header.drill["drill"] for journal in self.journals]
        self.ended = [debrief_of(j.header, j.records).ended for j in self.journals]

    @property
    def spoken(self) -> list[str]:
        lines = (
            line.split("Instructor ", 1) for line in self.printed.splitlines() if "  Instructor " in line
        )
        return [line[1] for line in lines]


@pytest.fixture
def talk(clips: dict[str, Samples], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Talk]:
    """A whole conversation: `lines` are said between drills, the synthetic student speaks in them;
    with `silence_seconds` there is nobody, for so long.
    """

    def run(
        *lines: str,
        mishearings: Mapping[int, Mapping[str, str]] = MappingProxyType({}),
        questions: Sequence[Question] = (),
        silence_seconds: float | None = None,
        drills: Mapping[str, Drill] = MappingProxyType(DRILLS),
    ) -> Talk:
        monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
        source = ScheduledSource()
        booth = Booth(CachedVoice(VOICE, tmp_path / "cache"), CASTING)
        recogniser = Hears(clips, mishearings)
        nobody = None if silence_seconds is None else WavSource(np.zeros(0, np.int16), silence_seconds)
        microphone = VirtualMicrophone(nobody or source)
        studio = Studio(microphone, ClockedSpeaker(), booth, recogniser, source=None if nobody else source)
        printed = io.StringIO()
        student = None if nobody else ScriptedTalk(lines, clips.__getitem__)
        out = Console(file=printed, width=1000)
        hands_free = HandsFree(studio, out, Settings(input="student"), dict(drills), (), student, new_a_day=0)
        try:
            hands_free.run(list(questions))
        except ConversationOverError:
            printed.write("(over)")
        finally:
            studio.close()
            booth.close()
        return Talk(printed.getvalue(), tmp_path)

    return run


def test_from_the_menu_into_a_drill_and_back_to_the_end(talk: Callable[..., Talk]) -> None:
    done = talk("what is there", "fly gear drill", "debrief", "end")
    assert (done.drills, done.ended) == (["gear-drill"], ["finished"])
    spoken = done.spoken
    assert "Never while you drive or fly" in spoken[0]
    assert spoken[1].startswith("Say: fly")
    assert spoken[2] == "These drills: gear drill; bravo."
    assert spoken.count("Debrief. One of one calls correct.") == 2  # after the drill, and when asked for
    assert spoken[-1] == "Good bye."
    (journal,) = done.journals
    drill = Drill.model_validate(journal.header.drill)
    again = replay(drill, journal.header.settings, journal.records)
    assert differences(journal.records, again) == []
    assert next(r.at_seconds for r in journal.records) == 0.0


def test_again_and_another_drill_from_within_a_drill(talk: Callable[..., Talk]) -> None:
    # Stretches: 1 the menu, 2 and 3 the gear drill, 4 bravo, 5 the menu.
    heard_in = {2: {"gear down": "trainer again"}, 3: {"gear down": "trainer fly bravo"}}
    done = talk("fly gear drill", "end", mishearings=heard_in)
    assert done.drills == ["gear-drill", "gear-drill", "b2"]
    assert done.ended == ["again", "start b2", "finished"]
    assert [line for line in done.spoken if line.startswith("Debrief.")] == [
        "Debrief. One of one calls correct."
    ]


def test_again_at_the_menu_is_the_last_drill(talk: Callable[..., Talk]) -> None:
    assert talk("trainer start bravo", "again", "end").drills == ["b2", "b2"]


@pytest.mark.slow
def test_again_of_a_drill_about_numbers_draws_others(
    talk: Callable[..., Talk], clips: dict[str, Samples]
) -> None:
    done = talk("fly gear drill", "again", "end", drills={"gear drill": find_drill("reckon-descent", 0)})
    first, second = done.journals
    assert (first.header.settings.seed, second.header.settings.seed) == (0, 1)
    assert first.header.drill["variables"] != second.header.drill["variables"]


def test_what_is_skipped_comes_back_in_the_practice_by_voice(
    talk: Callable[..., Talk], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("VOICE_TRAINER_HOME", str(tmp_path))
    practised_before(DRILLS["gear drill"], days=30, student=SYNTHETIC_STUDENT)
    # Stretches: 1 and 2 the menu, 3 and 4 the flow, 5 and 6 the menu.
    heard_in = {
        1: {"mumble": "what is due"},
        3: {"gear down": "trainer skip"},
        5: {"mumble": "full debrief"},
    }
    done = talk("mumble", "five minutes", "mumble", "end", mishearings=heard_in)
    assert done.drills[-2:] == ["gear-drill", "gear-drill"]
    spoken = done.spoken
    assert spoken[1] == "One thing is due: one radio exchange."
    assert "Five minutes. One thing." in spoken
    assert "Skipped. It is: gear down. It comes back." in spoken
    debrief = "Debrief. One thing practised, zero known at once."
    assert spoken.count(debrief) == 2  # when it is over, and when it is asked for
    assert "One came back, one right then." in spoken
    assert spoken[-1] == "Good bye."


def test_the_pace_lasts_from_the_menu_into_the_drill(talk: Callable[..., Talk]) -> None:
    (journal,) = talk("slower", "fly gear drill", "end").journals
    assert journal.header.settings.pace == pytest.approx(1 / 1.2, abs=0.01)


def test_in_silence_it_says_once_that_it_is_there(talk: Callable[..., Talk]) -> None:
    assert talk(silence_seconds=120).spoken.count(STILL_HERE) == 1
    assert talk(silence_seconds=40).spoken.count(STILL_HERE) == 0


def test_strangers_are_not_answered(talk: Callable[..., Talk]) -> None:
    done = talk("mumble", mishearings={1: {"mumble": "the next station is on the left"}})
    assert len(done.spoken) == 2
    assert done.printed.count("the next station is on the left") >= 2


def test_the_first_run_asks_its_questions_once(talk: Callable[..., Talk], tmp_path: Path) -> None:
    first = talk("keep calls", "yes", "radio check one two three", "end", questions=QUESTIONS)
    assert any("study aid" in line for line in first.spoken)
    assert "I hear you well." in first.spoken
    assert settled_questions(tmp_path / "first-run.json") == {question.name for question in QUESTIONS}
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "calls"


def test_the_level_check_can_be_skipped(talk: Callable[..., Talk]) -> None:
    done = talk("skip", "skip", "end", questions=QUESTIONS)
    assert "Skipped." in done.spoken
    assert "Sound that is kept: none. The command privacy changes it." in done.spoken
    assert done.spoken[-1] == "Good bye."


@pytest.mark.parametrize("no", SAYS_NO)
def test_a_no_settles_every_question_to_what_is_careful(
    no: str, talk: Callable[..., Talk], tmp_path: Path
) -> None:
    done = talk(no, no, "end", questions=QUESTIONS)
    # Each is understood at once, so that it is asked once.
    assert sum("keep none, keep disputed" in line for line in done.spoken) == 1
    assert sum(line.startswith("Let me hear you") for line in done.spoken) == 1
    assert "Skipped." in done.spoken
    assert done.spoken[-1] == "Good bye."
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "none"
    assert settled_questions(tmp_path / "first-run.json") == {question.name for question in QUESTIONS}


@pytest.mark.parametrize("yes", SAYS_YES)
def test_a_yes_is_asked_which_and_for_what(yes: str, talk: Callable[..., Talk], tmp_path: Path) -> None:
    done = talk(yes, "keep all please", yes, yes, "radio check one two three", "end", questions=QUESTIONS)
    assert sum(line.startswith("Which? Say: keep none") for line in done.spoken) == 1
    assert "Keep all. Is that right? Say yes or no." in done.spoken
    assert "Say: radio check, one two three. Or: skip." in done.spoken
    assert "I hear you well." in done.spoken
    assert done.spoken[-1] == "Good bye."
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "all"


def test_sound_is_kept_only_where_that_was_heard_right(talk: Callable[..., Talk], tmp_path: Path) -> None:
    # Stretch 1 has the caution, 2 asks what to keep: 'keep none' is taken for its opposite.
    heard_in = {2: {"keep none": "keep all"}}
    done = talk("keep none", "no", "nothing", "no", "end", questions=QUESTIONS, mishearings=heard_in)
    assert done.spoken.count("Keep all. Is that right? Say yes or no.") == 1
    assert done.spoken[-1] == "Good bye."
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "none"


def test_who_says_yes_and_never_which_keeps_nothing(talk: Callable[..., Talk], tmp_path: Path) -> None:
    done = talk("yes", "yes please", "okay", "no", "end", questions=QUESTIONS)
    assert "Sound that is kept: none. The command privacy changes it." in done.spoken
    assert done.spoken[-1] == "Good bye."
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "none"


@pytest.mark.parametrize(
    "said",
    ["no please do not keep all", "please do not keep all", "yes but who hears it", "negative keep calls"],
)
def test_half_a_sentence_agrees_to_nothing(said: str, talk: Callable[..., Talk], tmp_path: Path) -> None:
    # Stretch 1 has the caution, 2 asks what to keep.
    talk("mumble", "no", "no", "end", questions=QUESTIONS, mishearings={2: {"mumble": said}})
    consent = read_consent(tmp_path / "consent.json")
    assert consent is not None
    assert consent.keep == "none"


def test_the_level_check_gives_up_after_three_tries(talk: Callable[..., Talk]) -> None:
    done = talk("keep none", "gear down", questions=QUESTIONS)
    assert sum(line.startswith("Let me hear you") for line in done.spoken) == 1
    assert sum("Once more, please." in line for line in done.spoken) == 2
    assert "I leave it at that. The command doctor tells more." in done.spoken


@pytest.mark.parametrize(
    ("options", "says"),
    [
        (["--input=typed"], "--input"),
        (["nonesuch"], "there is no drill of this name"),
        (["--student-errors=lateness"], "no kind of mistake"),
    ],
)
def test_what_can_not_be_is_said_in_one_line(options: list[str], says: str, tmp_path: Path) -> None:
    assert says in one_line_of_trouble(voice_trainer("handsfree", *options, home=tmp_path))


@pytest.mark.slow
def test_hands_free_by_voice_alone(tmp_path: Path) -> None:
    lines = "what is there; trainer, fly brannock clearance; debrief; end"
    for run in (1, 2):
        done = voice_trainer(
            "handsfree", "--input=student", "--output=none", "--student-errors=none", "--student-says", lines,
            home=tmp_path, timeout=90,
        )  # fmt: skip
        assert (done.returncode, done.stderr) == (0, "")
        talk = Talk(done.stdout, tmp_path)
        assert talk.drills == ["brannock-clearance"]
        assert set(talk.ended) == {"finished"}
        assert ("Let me hear you." in done.stdout) == (run == 1)
        assert any(line.startswith("These drills:") and "kelda outbound" in line for line in talk.spoken)
        assert sum(line.startswith("Debrief.") for line in talk.spoken) >= 2
        assert talk.spoken[-1] == "Good bye."
