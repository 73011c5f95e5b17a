"""The commands, their options, and what becomes of errors.

Exit codes: 0, done; 1, done, and the answer is no (`regrade` found a difference, `doctor` a problem, `hear`
something else than was expected, `record` not everything, `enrol` no gain); 2, it could not be done: one line on
standard error says what, where and what to do; 130, ended by Ctrl-C; 141, whoever read the output closed it.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from voice_trainer import __version__
from voice_trainer.cli.arguments import OneLineParser, how_many, minutes, name_of_a_person, pace, reason, seed
from voice_trainer.cli.command_name import PROGRAM, as_typed_here, command_name
from voice_trainer.cli.manner import add_manner, add_trainer_name
from voice_trainer.cli.streams import (
    READER_IS_GONE,
    give_up,
    make_streams_tolerant,
    open_what_is_closed,
    say_error,
    show_fault,
)
from voice_trainer.cli.today import add_today
from voice_trainer.journal.keep import KEEPS
from voice_trainer.journal.verdicts import VERDICTS

CAUTION = (
    "Study aid only: current charts, local procedures and your instructor come first. "
    "Never use it while operating an aircraft or driving."
)

KINDS = ("procedure", "radio", "checklist", "memory", "callouts", "brief", "reckoning")
"""Those of `drills/model.py`, which is not loaded for it: the command line has to be quick."""


def parser() -> argparse.ArgumentParser:
    """The whole command line."""
    top = OneLineParser(
        prog=command_name(),
        description="Chair-fly instrument procedures out loud, hands-free and offline.",
        epilog=CAUTION,
    )
    top.add_argument("--version", action="version", version=f"voice-trainer {__version__}")
    commands = top.add_subparsers(dest="command", required=True, metavar="COMMAND")

    commands.add_parser("list", help="the built-in drills, and those of packs")

    guide = commands.add_parser(
        "guide", help="pages to read: a first drill, writing your own, a school, the formats"
    )
    guide.add_argument("page", nargs="?", metavar="PAGE", help="which one (default: the list of them)")
    guide.add_argument(
        "--files", type=Path, metavar="FOLDER", help="write the files that the page shows into that folder"
    )

    _add_run(commands)
    _add_hands_free(commands)
    _add_plan(commands)

    hear = commands.add_parser("hear", help="what is said in a recording, held against a pattern")
    hear.add_argument("files", nargs="*", metavar="FILE", help="WAV files")
    hear.add_argument("--expect", metavar="PATTERN", help="the call that is expected, as in a drill")
    hear.add_argument(
        "--manifest",
        metavar="LIST.jsonl",
        help='what \'record\' writes; a line each: {"file": ..., "expect": ...}',
    )
    hear.add_argument("--drill", metavar="DRILL", help="listen for this drill's calls too")
    hear.add_argument("--region", choices=("faa", "icao"), default="faa")
    hear.add_argument("--engine", default="auto", metavar="NAME")
    hear.add_argument("--no-profile", action="store_true", help="hear as if nobody had enrolled")
    hear.add_argument("--json", action="store_true", help="a JSON object a line")

    _add_recording(commands)

    forgotten = commands.add_parser(
        "forget", help="remove sessions: journals, sound, reviews, and recordings in the data folder"
    )
    forgotten.add_argument(
        "sessions", nargs="*", metavar="SESSION", help="a session, or the beginning of its name"
    )
    forgotten.add_argument(
        "--student", type=name_of_a_person, metavar="NAME", help="every session of this student"
    )
    forgotten.add_argument("--all", action="store_true", help="every session")
    forgotten.add_argument("--yes", action="store_true", help="don't ask first")

    privacy = commands.add_parser("privacy", help="what is kept of your sessions, and what sound may be")
    privacy.add_argument(
        "--keep", choices=KEEPS, help="keep this sound of later sessions: from none, the default, to all"
    )

    _add_debrief(commands)

    regrade = commands.add_parser(
        "regrade", help="grade a journal again, and compare with the decisions made live"
    )
    regrade.add_argument(
        "session",
        nargs="?",
        metavar="SESSION",
        help="a session's name, its beginning, or a journal's file (default: the latest)",
    )

    _add_logbook(commands)
    _add_track(commands)
    _add_grade(commands)
    _add_review(commands)
    _add_models(commands)
    _add_packs(commands)
    _add_authoring(commands)

    doctor = commands.add_parser(
        "doctor", help="what this machine has, what is missing, and what to do about it"
    )
    doctor.add_argument(
        "--drill", metavar="DRILL", help="also check what the recogniser makes of this drill's words"
    )
    doctor.add_argument("--microphone", metavar="NAME", help="the input device to try")
    doctor.add_argument("--speaker", metavar="NAME", help="the output device to try")
    add_trainer_name(doctor)
    doctor.add_argument(
        "--measure-delay",
        action="store_true",
        help="play tones, listen for them, and note how much later than it says the speaker sounds (Bluetooth)",
    )
    doctor.add_argument("--no-audio", action="store_true", help="open no audio device")
    doctor.add_argument("--no-profile", action="store_true", help="leave your profile out of it")
    return top


def _add_run(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    run = commands.add_parser("run", help="run a drill", epilog=CAUTION)
    run.add_argument(
        "drill",
        nargs="?",
        metavar="DRILL",
        help="a built-in drill's name, PACK/DRILL of a pack, or a YAML file",
    )
    run.add_argument(
        "--due", action="store_true", help="instead of a drill: what is due, then what is new, interleaved"
    )
    run.add_argument(
        "--minutes", type=minutes, metavar="NUMBER", help="how long --due is to take (default: 10)"
    )
    run.add_argument("--new", type=how_many, metavar="NUMBER", help="how many new flows a day --due begins")
    run.set_defaults(parser=run)
    run.add_argument(
        "--input",
        metavar="mic|student|typed|FILE.wav",
        help="who is listened to: a microphone, the synthetic student, lines typed, or a recording "
        "(default: mic, or student where there is no usable microphone)",
    )
    _add_session_options(run)
    add_today(run)
    run.add_argument(
        "--record", type=Path, metavar="FILE.wav", help="keep what the microphone hears, in that file"
    )
    run.add_argument("--journal", type=Path, metavar="FILE", help="write the journal there")
    run.add_argument(
        "--report",
        nargs="?",
        type=Path,
        const=Path(),
        metavar="FILE.html",
        help="also write the debrief as a page (default: beside the journal)",
    )


def _add_plan(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    plan = commands.add_parser(
        "plan", help="the card of an approach, worked out for today's wind", epilog=CAUTION
    )
    plan.add_argument(
        "approach",
        metavar="APPROACH",
        help="a built-in approach's name, PACK/APPROACH, or a YAML file; 'new' to type one in",
    )
    plan.add_argument("file", nargs="?", type=Path, metavar="FILE", help="of 'plan new': where to write it")
    add_today(plan)
    plan.add_argument(
        "--seed", type=seed, metavar="NUMBER", default=0, help="draws the wind, and what is seen"
    )
    plan.add_argument(
        "--html", type=Path, metavar="FILE", help="write the card as a page, with plan view and profile"
    )
    plan.add_argument("--pdf", type=Path, metavar="FILE", help="write the card as a PDF, likewise")
    plan.add_argument(
        "--explain", metavar="CALL", help="how the numbers of this call were worked out, nothing else"
    )


def _add_hands_free(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    hands_free = commands.add_parser(
        "handsfree", help="a spoken menu of drills: from here on no key is touched", epilog=CAUTION
    )
    hands_free.add_argument(
        "drills", nargs="*", metavar="DRILL", help="YAML files, offered before the built-in drills"
    )
    hands_free.add_argument(
        "--input",
        metavar="mic|student|FILE.wav",
        help="who is listened to: a microphone, the synthetic student, or a recording (default: as in 'run')",
    )
    _add_session_options(hands_free)
    hands_free.add_argument(
        "--student-says",
        metavar="LINES",
        help="what the synthetic student says between drills, ';' between the lines",
    )
    hands_free.add_argument(
        "--new", type=how_many, metavar="NUMBER", help="how many new flows a day practice begins"
    )
    hands_free.set_defaults(record=None, journal=None, report=None)


def _add_session_options(command: argparse.ArgumentParser) -> None:
    """What `run` and `handsfree` share."""
    command.add_argument(
        "--output",
        metavar="speaker|none|FILE.wav",
        help="where the trainer speaks (default: speaker if there is one)",
    )
    command.add_argument("--microphone", metavar="NAME", help="an input device by name, or part of it")
    command.add_argument("--speaker", metavar="NAME", help="an output device by name, or part of it")
    command.add_argument(
        "--headset", action="store_true", help="listen while speaking too: you wear a headset"
    )
    command.add_argument(
        "--push-to-talk",
        action="store_true",
        help="listen only while the space bar is held, or between two presses of it: for noisy rooms",
    )
    command.add_argument(
        "--engine", default="auto", metavar="NAME", help="force a recogniser (default: auto)"
    )
    command.add_argument(
        "--seed",
        type=seed,
        metavar="NUMBER",
        default=0,
        help="what chance decides: a drill's numbers, the student's mistakes",
    )
    command.add_argument(
        "--student-errors",
        metavar="all|none|LIST",
        default="all",
        help="the synthetic student's mistakes: any of wrong-digit,omission,swap,late (default: all)",
    )
    command.add_argument("--student-voice", metavar="NAME", help="the synthetic student's voice, by name")
    command.add_argument(
        "--student",
        type=name_of_a_person,
        metavar="NAME",
        help="whose session it is, for the journal",
    )
    add_manner(command)
    command.add_argument("--no-profile", action="store_true", help="hear as if nobody had enrolled")


def _add_recording(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    record = commands.add_parser("record", help="record prompts, one after the other, hands-free")
    record.add_argument(
        "prompts",
        metavar="PROMPTS",
        help="a text file with a prompt a line, or a drill, whose calls they are",
    )
    record.add_argument(
        "--out", type=Path, required=True, metavar="FOLDER", help="where WAV files and manifest.jsonl go"
    )
    record.add_argument(
        "--seed", type=seed, metavar="NUMBER", default=0, help="which values a drill's calls get"
    )
    record.add_argument(
        "--check", action="store_true", help="ask again where a recogniser clearly hears something else"
    )
    record.add_argument("--engine", default="auto", metavar="NAME", help="the recogniser of --check")
    add_listening_options(record)

    enrol = commands.add_parser(
        "enrol", help="read twenty prompts: fits the trainer to your voice and microphone"
    )
    enrol.add_argument("--keep", type=Path, metavar="FOLDER", help="keep what you read, as 'record' does")
    enrol.add_argument("--engine", default="auto", metavar="NAME", help="force a recogniser (default: auto)")
    enrol.add_argument("--forget", action="store_true", help="remove your profile, and do nothing else")
    add_listening_options(enrol)


def _add_grade(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    grade = commands.add_parser("grade", help="grade a recording of a drill as if it were live")
    grade.add_argument(
        "drill", metavar="DRILL", help="a built-in drill's name, PACK/DRILL of a pack, or a YAML file"
    )
    grade.add_argument(
        "recording", type=Path, metavar="RECORDING.wav", help="what was said, from its beginning"
    )
    grade.add_argument(
        "--journal",
        metavar="SESSION",
        help="the session that it was recorded in: its cues and its flight are where they were then",
    )
    grade.add_argument("--engine", default="auto", metavar="NAME", help="force a recogniser (default: auto)")
    grade.add_argument(
        "--seed", type=seed, metavar="NUMBER", default=0, help="which numbers a drill had, without a journal"
    )
    grade.add_argument("--student", type=name_of_a_person, metavar="NAME", help="whose recording it is")
    grade.add_argument("--no-profile", action="store_true", help="hear as if nobody had enrolled")


def _add_debrief(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    debrief = commands.add_parser("debrief", help="the debrief of a session: printed, as a page, or as data")
    debrief.add_argument(
        "session",
        nargs="?",
        metavar="SESSION",
        help="a session's name, its beginning, or a journal's file (default: the latest)",
    )
    form = debrief.add_mutually_exclusive_group()
    form.add_argument(
        "--html",
        nargs="?",
        type=Path,
        const=Path(),
        metavar="FILE.html",
        help="one page with plots and with the sound that was kept (default: beside the journal)",
    )
    form.add_argument("--json", action="store_true", help="all of it as JSON")
    form.add_argument("--csv", action="store_true", help="a row for each call")
    debrief.add_argument(
        "--with-answers", action="store_true", help="in the page, the right calls can be heard too"
    )


def _add_review(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    review = commands.add_parser(
        "review", help="for an instructor: hear a session's calls again, and overrule verdicts"
    )
    review.add_argument(
        "session",
        nargs="?",
        metavar="SESSION",
        help="a session's name, its beginning, or a journal's file (default: the latest)",
    )
    review.add_argument("--all", dest="every", action="store_true", help="the correct calls as well")
    review.add_argument("--output", choices=("speaker", "none"), help="where what was kept is heard")
    review.add_argument("--speaker", metavar="NAME", help="an output device by name, or part of it")
    review.add_argument("--call", metavar="STEP/CALL", help="overrule this call, and ask nothing")
    review.add_argument("--verdict", choices=VERDICTS, help="its verdict")
    review.add_argument("--why", type=reason, metavar="TEXT", help="the reason")
    review.add_argument("--by", type=name_of_a_person, metavar="NAME", help="who overrules it")


def _add_logbook(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    due = commands.add_parser("due", help="what to practise now, and why")
    due.add_argument(
        "--student", type=name_of_a_person, metavar="NAME", help="whose (default: who gave no name)"
    )
    due.add_argument("--new", type=how_many, metavar="NUMBER", help="how many new flows a day")
    due.add_argument("--json", action="store_true", help="one JSON object")

    progress = commands.add_parser(
        "progress", help="how it goes: over time, by flow and kind, the weakest calls"
    )
    progress.add_argument(
        "--student", type=name_of_a_person, metavar="NAME", help="whose (default: who gave no name)"
    )
    progress.add_argument(
        "--instructor", action="store_true", help="all students who have agreed to an instructor's view"
    )
    manner = progress.add_mutually_exclusive_group()
    manner.add_argument(
        "--html",
        nargs="?",
        type=Path,
        const=Path(),
        metavar="FILE.html",
        help="one page with plots (default: progress.html in the data folder)",
    )
    manner.add_argument("--json", action="store_true", help="one JSON object")
    manner.add_argument(
        "--csv",
        nargs="?",
        choices=("flows", "calls"),
        const="flows",
        help="a row for each week and flow (the default), or for each weak call and what was said instead",
    )

    logbook = commands.add_parser("logbook", help="make the logbook anew; agree to an instructor's view")
    actions = logbook.add_subparsers(dest="action", required=True, metavar="rebuild|consent")
    actions.add_parser("rebuild", help="make the logbook anew from the journals")
    consent = actions.add_parser("consent", help="whether an instructor may see how a student gets on")
    consent.add_argument("student", type=name_of_a_person, metavar="NAME", help="who agrees, or does not")
    consent.add_argument("answer", choices=("yes", "no"), metavar="yes|no")


def _add_track(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    track = commands.add_parser(
        "track",
        help="an audio file of flows with gaps to answer in, for no screen and no microphone",
        epilog=CAUTION,
    )
    track.add_argument(
        "items",
        nargs="*",
        metavar="DRILL[/STEP]",
        help="all flows of a drill, or one; a name, or a YAML file",
    )
    track.add_argument("--due", action="store_true", help="what is due, instead, and what is new today")
    track.add_argument(
        "--out",
        type=Path,
        required=True,
        metavar="FILE",
        help=".opus, .ogg, .mp3, .m4a or .wav; an older track of that name is replaced",
    )
    track.add_argument(
        "--minutes", type=minutes, metavar="NUMBER", help="of --due: no longer than that (default: 10)"
    )
    track.add_argument("--student", type=name_of_a_person, metavar="NAME", help="of --due: whose")
    track.add_argument("--new", type=how_many, metavar="NUMBER", help="of --due: how many new flows a day")
    track.add_argument(
        "--pace",
        type=pace,
        metavar="NUMBER",
        default="100",
        help="how fast you answer: words a minute, or a factor of the voice's, such as 0.8 (default: 100)",
    )
    track.add_argument("--segments", type=Path, metavar="FILE.json", help="also write what is where in it")
    track.add_argument("--student-voice", metavar="NAME", help="the voice of the answers, by name")
    track.add_argument("--seed", type=seed, metavar="NUMBER", default=0, help="which numbers a drill has")


def _add_packs(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    packs = commands.add_parser(
        "packs", help="packs of drills, of a school or a friend: list, add, remove, new"
    )
    actions = packs.add_subparsers(dest="action", metavar="list|add|remove|new")
    actions.add_parser("list", help="what is installed (default)")
    add = actions.add_parser("add", help="check a pack, and install it if there is no error in it")
    add.add_argument("source", type=Path, metavar="FOLDER|ZIP", help="with a pack.yaml in it")
    remove = actions.add_parser("remove", help="take an installed pack away; sessions stay")
    remove.add_argument("name", metavar="NAME", help="one of those that 'packs' names")
    new = actions.add_parser("new", help="a commented pack to begin with")
    new.add_argument("name", metavar="NAME", help="what the pack is called: small letters, digits, hyphens")
    new.add_argument("--out", type=Path, metavar="FOLDER", help="default: NAME, here")


def _add_models(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    models = commands.add_parser("models", help="the recognisers' models: list, add, fetch, remove")
    actions = models.add_subparsers(dest="action", metavar="list|add|fetch|remove")
    actions.add_parser("list", help="what is installed, and what can be fetched (the default)")
    add = actions.add_parser("add", help="install a model that you have")
    add.add_argument(
        "source", type=Path, metavar="FOLDER|ZIP", help="a Vosk model: its folder, or its archive"
    )
    add.add_argument("--name", metavar="NAME", help="install it under this name (default: its folder's)")
    fetch = actions.add_parser("fetch", help="download a published model, and install it")
    fetch.add_argument("name", metavar="NAME", help="one of those that 'models list' names")
    fetch.add_argument(
        "--from", dest="url", metavar="URL", help="fetch the same archive from there (default: its publisher)"
    )
    for each in (add, fetch):
        each.add_argument(
            "--in-checkout",
            action="store_true",
            help="into models/ of the checkout, not the user's data folder",
        )
    remove = actions.add_parser("remove", help="delete a model that was installed by add or fetch")
    remove.add_argument("name", metavar="NAME")


def _add_authoring(commands: argparse._SubParsersAction[OneLineParser]) -> None:
    check = commands.add_parser("check", help="everything that is wrong or doubtful in drill files")
    check.add_argument(
        "paths", nargs="+", type=Path, metavar="FILE|FOLDER", help="drills, a house.yaml, or folders of them"
    )
    check.add_argument("--strict", action="store_true", help="exit code 1 where there are warnings only")
    check.add_argument("--json", action="store_true", help="a JSON object a line")

    new = commands.add_parser("new", help="write a commented drill to begin with")
    new.add_argument("kind", choices=KINDS, metavar="KIND", help=", ".join(KINDS))
    new.add_argument("name", metavar="NAME", help="the drill's name: small letters, digits, hyphens")
    new.add_argument("--out", type=Path, metavar="FILE", help="write it there (default: NAME.yaml)")

    imported = commands.add_parser(
        "import", help="make a drill of a checklist: CSV, or a Markdown table or list"
    )
    imported.add_argument("what", choices=("checklist",), metavar="checklist")
    imported.add_argument("source", type=Path, metavar="FILE", help="a .csv or .md: challenge, response")
    imported.add_argument("--name", required=True, metavar="NAME", help="the drill's name")
    imported.add_argument("--out", type=Path, metavar="FILE", help="write it there (default: NAME.yaml)")

    heard = commands.add_parser("listen", help="hear a drill as the perfect student flies it")
    heard.add_argument(
        "drill", metavar="DRILL", help="a built-in drill's name, PACK/DRILL of a pack, or a YAML file"
    )
    heard.add_argument("--out", type=Path, metavar="FILE.wav", help="into that file, not to the speaker")
    heard.add_argument("--speaker", metavar="NAME", help="an output device by name, or part of it")
    heard.add_argument("--student-voice", metavar="NAME", help="the student's voice, by name")
    heard.add_argument("--seed", type=seed, metavar="NUMBER", default=0, help="which numbers the drill has")

    schema = commands.add_parser("schema", help="the JSON Schema of drill files, for editors")
    schema.add_argument("--out", type=Path, metavar="FILE", help="write it there (default: print it)")


def add_listening_options(command: argparse.ArgumentParser) -> None:
    """Where prompts are heard, where tones and voices sound, and whose recordings they are."""
    command.add_argument(
        "--input", metavar="mic|FILE.wav", default="mic", help="who is listened to (default: mic)"
    )
    command.add_argument(
        "--output", choices=("speaker", "none"), help="where tones sound (default: speaker if there is one)"
    )
    command.add_argument("--microphone", metavar="NAME", help="an input device by name, or part of it")
    command.add_argument("--loudspeaker", metavar="NAME", help="an output device by name, or part of it")
    command.add_argument("--speak", action="store_true", help="say every prompt aloud before it is yours")
    command.add_argument("--speaker", metavar="WHO", default="anonymous", help="who speaks, for the manifest")
    command.add_argument(
        "--condition", metavar="TEXT", default="as recorded", help="room and microphone, for the manifest"
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    open_what_is_closed()
    make_streams_tolerant()
    sys.excepthook = show_fault
    try:
        code = _answer(sys.argv[1:] if arguments is None else arguments)
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        # Whoever read our output has gone; there is nobody to tell. Keep the interpreter from trying at exit.
        give_up(sys.stdout)
        return READER_IS_GONE
    except KeyboardInterrupt:
        if sys.stderr.isatty():
            say_error("")  # what the shell says next begins a line of its own
        return 130
    except Exception as problem:
        from voice_trainer.cli.problems import in_one_line

        line = in_one_line(problem)
        if line is None:
            raise
        say_error(f"{PROGRAM}: {as_typed_here(line)}")
        try:
            sys.stdout.flush()
        except OSError:
            give_up(sys.stdout)
        return 2


def _answer(given: Sequence[str]) -> int:
    """Do what is asked for; argparse has answered already where it was --help, or nothing that can be done."""
    top = parser()
    if strange := next((each for each in given if not _is_text(each)), None):
        top.error(f"{ascii(strange)[:60]} is not text in this locale's encoding; use another name")
    try:
        options = top.parse_args(given)
    except SystemExit:
        sys.stdout.flush()  # here, where it is known what to do when that can't be written
        raise
    return _command(options)


def _is_text(argument: str) -> bool:
    """Not bytes that are no text, which could be neither shown nor written into a journal."""
    try:
        argument.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _command(options: argparse.Namespace) -> int:
    match options.command:
        case "list":
            from voice_trainer.cli.listing import list_drills

            return list_drills()
        case "guide":
            from voice_trainer.cli.guide import guide

            return guide(options.page, options.files)
        case "run":
            return _run(options)
        case "handsfree":
            return _hands_free(options)
        case "plan":
            from voice_trainer.cli.planning import plan

            return plan(options)
        case "hear":
            from voice_trainer.cli.hearing import hear

            return hear(options)
        case "packs":
            from voice_trainer.cli.packs import packs

            return packs(options)
        case "models":
            from voice_trainer.cli.models import models

            return models(options)

        case "record":
            from voice_trainer.cli.recording import record

            return record(options)
        case "enrol":
            from voice_trainer.cli.enrolling import enrol

            return enrol(options)
        case "forget":
            from voice_trainer.cli.forgetting import forget

            return forget(options.sessions, student=options.student, every=options.all, agreed=options.yes)
        case "privacy":
            from voice_trainer.cli.privacy import privacy

            return privacy(options.keep)
        case "due":
            from voice_trainer.cli.due import due

            return due(options.student or "", as_json=options.json, new_a_day=options.new)
        case "progress":
            from voice_trainer.cli.progress import progress

            return progress(options)
        case "track":
            from voice_trainer.cli.tracking import track

            return track(options)
        case "logbook":
            from voice_trainer.cli.logbook import logbook

            return logbook(options)
        case "grade":
            from voice_trainer.cli.grading import grade_recording

            return grade_recording(options)
        case "review":
            from voice_trainer.cli.reviewing import review

            return review(options)
        case "check":
            from voice_trainer.cli.checking import check

            return check(options.paths, strict=options.strict, as_json=options.json)
        case "new":
            from voice_trainer.cli.making import new

            return new(options.kind, options.name, options.out)
        case "import":
            from voice_trainer.cli.making import import_checklist

            return import_checklist(options.source, options.name, options.out)
        case "listen":
            from voice_trainer.cli.demonstrating import listen

            return listen(options)
        case "schema":
            from voice_trainer.cli.making import schema

            return schema(options.out)
        case "debrief" | "regrade":
            from voice_trainer.cli.debriefing import debrief, regrade

            return debrief(options) if options.command == "debrief" else regrade(options.session)
        case _:
            from voice_trainer.cli.doctor import examine

            return examine(options)


def _run(options: argparse.Namespace) -> int:
    """A drill, or what is due."""
    from voice_trainer.cli.interruption import polite_signals

    if options.due:
        from voice_trainer.cli.running_due import run_due

        with polite_signals():
            return run_due(options)
    if options.drill is None:
        options.parser.error("the following arguments are required: DRILL")
    for option in ("minutes", "new"):
        if getattr(options, option) is not None:
            options.parser.error(f"--{option} is for --due; leave it out, or add --due")
    from voice_trainer.cli.running import run_drill

    with polite_signals():
        return run_drill(options)


def _hands_free(options: argparse.Namespace) -> int:
    from voice_trainer.cli.hands_free import hands_free
    from voice_trainer.cli.interruption import polite_signals

    with polite_signals():
        return hands_free(options)


def entry() -> None:
    """The console script."""
    sys.exit(main())
