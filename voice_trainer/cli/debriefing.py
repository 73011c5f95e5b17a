"""`voice-trainer debrief` and `voice-trainer regrade`."""

from __future__ import annotations

import argparse
from pathlib import Path

from pydantic import ValidationError

from voice_trainer.archive.errors import ArchiveError
from voice_trainer.archive.journal_file import Journal, check_references, read_journal
from voice_trainer.archive.newer import WHAT_TO_DO, newer_version
from voice_trainer.archive.places import latest_journal
from voice_trainer.archive.review_file import read_reviews
from voice_trainer.cli.page_files import check_page
from voice_trainer.cli.pages import write_page
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.sessions import named_journal
from voice_trainer.cli.streams import write_json, write_table
from voice_trainer.cli.terminal import console
from voice_trainer.debrief.document import document_of
from voice_trainer.debrief.report import Debrief, debrief_of, differences
from voice_trainer.debrief.table import csv_of
from voice_trainer.debrief.text import print_debrief
from voice_trainer.drills.model import Drill
from voice_trainer.grading.replay import replay
from voice_trainer.library.errors import one_line
from voice_trainer.outputs.kinds import DEBRIEF_PAGE


def debrief(options: argparse.Namespace) -> int:
    """Print the debrief of a session, or write it as a page or as data.

    Raises UsageError, OutputError, ArchiveError, VoiceError.
    """
    if options.with_answers and options.html is None:
        raise UsageError("debrief: --with-answers is about the page; give --html as well")
    check_page("--html", options.html, DEBRIEF_PAGE)
    path = _chosen(named_journal(options.session) if options.session else None)
    journal = open_journal(path)
    made = debrief_with_reviews(path, journal)
    if options.json:
        write_json(document_of(made).model_dump_json(indent=2) + "\n")
    elif options.csv:
        write_table(csv_of(document_of(made)))
    elif options.html is not None:
        out = console()

        def say(line: str) -> None:
            out.print(line, markup=False)

        page = write_page("--html", options.html, path, journal, made, say, answers=options.with_answers)
        say(f"Page: {page}")
    else:
        print_debrief(made, console())
    return 0


def regrade(session: str | None) -> int:
    """Grade a session again from its journal's facts; 1 when that is not what was decided live."""
    path = _chosen(named_journal(session) if session else None)
    journal = open_journal(path)
    again = replay(Drill.model_validate(journal.header.drill), journal.header.settings, journal.records)
    found = differences(journal.records, again)
    out = console()
    print_debrief(debrief_with_reviews(path, journal), out)
    out.print()
    for line in found:
        out.print(line, markup=False)
    out.print(
        f"Graded again: {len(again)} decisions, {'not the same as live' if found else 'the same as live'}.",
        markup=False,
    )
    return 1 if found else 0


def debrief_with_reviews(path: Path, journal: Journal) -> Debrief:
    """The debrief of a journal, with what instructors overruled. Raises ArchiveError."""
    return debrief_of(journal.header, journal.records, journal.torn, read_reviews(path))


def _chosen(path: Path | None) -> Path:
    chosen = latest_journal() if path is None else path
    if chosen is None:
        raise UsageError(
            "there is no session yet: name a journal, or run a drill first (voice-trainer run DRILL)"
        )
    return chosen


def open_journal(chosen: Path) -> Journal:
    """A journal whose drill this version understands, and whose records fit it. Raises ArchiveError and UsageError."""
    journal = read_journal(chosen)
    try:
        drill = Drill.model_validate(journal.header.drill)
    except ValidationError as error:
        if why := newer_version(error, journal.header.program):
            raise ArchiveError(f"{chosen}: its drill can't be read: {why}; {WHAT_TO_DO}") from error
        first = error.errors(include_url=False, include_context=False, include_input=False)[0]
        where = ".".join(map(str, first["loc"]))
        raise UsageError(
            f"{chosen}: its drill is none that this version understands ({where}: {one_line(first['msg'])}); "
            "read the journal with the version that wrote it"
        ) from error
    check_references(chosen, journal, drill)
    return journal
