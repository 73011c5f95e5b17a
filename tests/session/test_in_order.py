"""What is said, without when: a recording's utterances, taken in order."""

from __future__ import annotations

from pathlib import Path

from tests.scenes import FLOWN_HEAD, drill_of
from voice_trainer.archive.journal_file import JournalWriter, read_journal
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import Header, Settings
from voice_trainer.recognition.typed import hear_text
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.from_recording import InOrder

TWO = drill_of(
    {
        "calls": [
            {"call": "turn", "say": "turn right [heading] {heading: 333}"},
            {"call": "gear", "say": "gear down", "window": {"within_seconds": 4}},
        ]
    },
    {"calls": [{"call": "course", "say": "set course {course: 153}", "window": {"within_seconds": 4}}]},
)
FLOWN = Drill.model_validate(
    FLOWN_HEAD
    | {
        "steps": [
            {
                "step": "crossing",
                "when": "passage KLD",
                "flow": {
                    "calls": [{"call": "turn", "say": "turn right heading {heading: 333}", "does": "turn"}]
                },
            },
            {
                "step": "level",
                "when": "wings level",
                "flow": {"calls": [{"call": "course", "say": "set course {course: 153}"}]},
            },
        ]
    }
)


def graded(drill: Drill, said: list[str], folder: Path) -> dict[str, str]:
    """The verdicts on what is said, every utterance ten minutes behind the one before."""
    settings = Settings(mode="fly through")
    grammar = domain_of(drill, settings.trainer_name)
    path = folder / "session.jsonl"
    header = Header(
        program="test", session="s", started_utc="now", drill=drill.model_dump(mode="json"), settings=settings
    )
    hearings = [hear_text(text, grammar, 600.0 * (1 + i), 0.3) for i, text in enumerate(said)]
    with JournalWriter(path, header) as writer:
        InOrder(Sequencer(drill, settings), Diary(writer), hearings).run()
    journal = read_journal(path)
    assert differences(journal.records, replay(drill, settings, journal.records)) == []
    return {v.call: v.verdict for v in debrief_of(journal.header, journal.records).grade.verdicts}


def test_silence_makes_nothing_late(tmp_path: Path) -> None:
    said = ["turn right heading 333", "gear down", "set course 153"]
    assert graded(TWO, said, tmp_path) == {"turn": "correct", "gear": "correct", "course": "correct"}


def test_values_and_omissions_are_found(tmp_path: Path) -> None:
    said = ["turn right heading 323", "set course 153"]
    assert graded(TWO, said, tmp_path) == {"turn": "wrong value", "gear": "missed", "course": "correct"}


def test_self_talk_and_repeats_make_nothing_pass(tmp_path: Path) -> None:
    said = [
        "grandmother",
        "turn right heading 333",
        "turn right heading 333",
        "gear down",
        "roger",
        "set course 153",
    ]
    assert set(graded(TWO, said, tmp_path).values()) == {"correct"}


def test_nothing_said_is_all_missed(tmp_path: Path) -> None:
    assert set(graded(TWO, [], tmp_path).values()) == {"missed"}


def test_a_flown_drill_flies_on_to_where_a_call_is_due(tmp_path: Path) -> None:
    said = ["turn right heading 333", "set course 153"]
    assert graded(FLOWN, said, tmp_path) == {"turn": "correct", "course": "correct"}


def test_in_a_flown_drill_what_is_passed_over_is_missed(tmp_path: Path) -> None:
    assert graded(FLOWN, ["grandmother"], tmp_path)["turn"] == "missed"
