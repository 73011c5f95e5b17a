"""Whatever is typed, the session comes to its end, and its journal grades the same again, byte for byte."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from voice_trainer.archive.journal_file import JournalWriter, read_journal
from voice_trainer.debrief.report import debrief_of, differences
from voice_trainer.debrief.spoken import spoken_debrief
from voice_trainer.debrief.text import debrief_lines
from voice_trainer.drills.domain import domain_of
from voice_trainer.grading.replay import replay
from voice_trainer.journal.events import Header, Settings
from voice_trainer.library.builtin import builtin_drills, find_drill
from voice_trainer.sequencing.sequencer import Sequencer
from voice_trainer.session.diary import Diary
from voice_trainer.session.typed import TypedSession

DRILLS = {name: find_drill(name) for name in builtin_drills()}
GRAMMARS = {name: domain_of(drill) for name, drill in DRILLS.items()}
WORDS = sorted({word for grammar in GRAMMARS.values() for word in grammar.vocabulary()})

LINES = st.one_of(
    st.sampled_from(
        [
            "time not required", "time required", "turn right heading 333", "turn left 288", "correction",
            "descend and maintain 2600", "climb 2900", "set course 333", "set course 153", "start the clock",
            "stop the clock", "Heron 24 kelda outbound", "Heron 42", "Heron 24", "maintain 2600", "altimeter 29 84",
            "turn left heading 310", "cleared for the VOR runway 33 approach", "trainer freeze", "trainer continue",
            "trainer say again", "say again", "correction turn right heading 323", "disregard", "gear down",
            "turn right heading 323 correction turn right heading 333", "let me see", "", "+3", "+20", "+60",
            "trainer slower", "trainer faster", "trainer read along", "trainer cold", "trainer under load",
            "trainer prompted", "trainer skip", "trainer next event", "trainer back", "trainer what did I miss",
            "I said that", "I said turn right heading 333", "I said the clock", "stand by", "say heading",
            "say position", "trainer next event trainer back", "turn right heading 333 trainer skip",
        ]
    ),
    st.lists(st.sampled_from(WORDS), min_size=1, max_size=8).map(" ".join),
    st.text(max_size=20).filter(lambda text: "\n" not in text),
)  # fmt: skip


MANNERS = st.builds(
    Settings,
    seed=st.integers(0, 3),
    mode=st.sampled_from(["stop and correct", "fly through"]),
    level=st.sampled_from(["read along", "prompted", "cold", "under load"]),
)


@settings(max_examples=120)
@given(st.sampled_from(sorted(DRILLS)), st.lists(LINES, max_size=25), MANNERS)
def test_any_session_replays_to_the_byte(name: str, lines: list[str], manner: Settings) -> None:
    drill = DRILLS[name]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "session.jsonl"
        header = Header(
            program="test",
            session="s",
            started_utc="now",
            drill=drill.model_dump(mode="json"),
            settings=manner,
        )
        rest = iter(lines)
        with JournalWriter(path, header) as journal:
            sequencer = Sequencer(drill, manner)
            TypedSession(sequencer, GRAMMARS[name], Diary(journal), lambda: next(rest, None)).run()
        kept = read_journal(path)
        assert differences(kept.records, replay(drill, kept.header.settings, kept.records)) == []
        debrief = debrief_of(kept.header, kept.records)
        assert debrief.ended is not None
        assert debrief_lines(debrief)
        assert spoken_debrief(debrief)
