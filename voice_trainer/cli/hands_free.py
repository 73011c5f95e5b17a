"""`voice-trainer handsfree`: from this command on no key is touched.

A caution, what is asked on the first run, then the menu and drills in turn, over one audio set-up.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import UTC, datetime

from rich.console import Console

from voice_trainer.archive.first_run_file import settle_question, settled_questions
from voice_trainer.archive.journal_file import read_journal
from voice_trainer.archive.places import first_run_path, latest_journal, new_journal_path
from voice_trainer.audio.ports import Samples
from voice_trainer.cli.checks import check_run
from voice_trainer.cli.choosing import Chosen
from voice_trainer.cli.due import due_now
from voice_trainer.cli.finding import find_drill, usable_drills
from voice_trainer.cli.live_lines import LiveLines
from voice_trainer.cli.opening import open_studio
from voice_trainer.cli.playing import play
from voice_trainer.cli.practising import (
    USUAL_MINUTES,
    Practising,
    announced,
    mistakes_in,
    plan_of,
    player,
    say_out,
)
from voice_trainer.cli.privacy import kept_by_choice, settle_sound
from voice_trainer.cli.problems import EXPECTED, in_one_line
from voice_trainer.cli.setting_up import set_up
from voice_trainer.cli.student_errors import mistakes_of
from voice_trainer.cli.terminal import console
from voice_trainer.debrief.practice import PractisedItem, practice_said, print_practice
from voice_trainer.debrief.report import Debrief, debrief_of
from voice_trainer.debrief.spoken import spoken_debrief
from voice_trainer.debrief.text import print_debrief
from voice_trainer.drills.model import Drill
from voice_trainer.drills.spoken_names import by_spoken_name, pronounced
from voice_trainer.journal.events import FASTEST_PACE, SLOWEST_PACE, Settings
from voice_trainer.logbook.due import Due
from voice_trainer.logbook.entries import SYNTHETIC_STUDENT
from voice_trainer.logbook.spoken import due_in_brief, due_in_full
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.menu_orders import PRACTISE, menu_phrases
from voice_trainer.phraseology.orders import FROM_THE_FIX, START
from voice_trainer.phraseology.trade import trade_phrases
from voice_trainer.sequencing.from_the_fix import from_the_fix
from voice_trainer.sequencing.sequencer import PACE_STEP
from voice_trainer.session.conversation import Answer, Conversation, ConversationOverError
from voice_trainer.session.exchange import Exchange
from voice_trainer.session.first_run import KEEP_SOUND, QUESTIONS, Question, grammar_of
from voice_trainer.session.foresight import OrderForesight
from voice_trainer.session.menu import Menu, Reply
from voice_trainer.session.performance import Mistake, perform
from voice_trainer.session.scripted_talk import ScriptedTalk
from voice_trainer.session.studio import Studio

CAUTION = "Voice trainer. For a passenger, or a chair at home. Never while you drive or fly, nor by a live transmitter."

TAIL_SECONDS = 60.0
"""Silence after a recording that is listened to."""

GOOD_BYE = "Good bye."


@dataclass
class HandsFree:
    """The conversation as a whole: the menu, drills, debriefs, until 'end'."""

    studio: Studio
    out: Console
    settings: Settings
    drills: dict[str, Drill]
    mistakes: tuple[Mistake, ...]
    student: ScriptedTalk | None
    whose: str = ""
    pace: float = 1.0
    draw: Callable[[str, int], Drill] = find_drill
    """A drill by its own name, its numbers drawn by a seed."""
    new_a_day: int | None = None
    """How many flows practice begins on one day; None for as many as usual."""
    menu: Menu = field(init=False)
    seed: int = field(init=False)
    from_the_fix: Drill | None = field(init=False, default=None)
    """The last drill from before its last fix, where it came to one."""
    practised: list[PractisedItem] = field(init=False, default_factory=list)
    """The last practice session, where no drill came after it."""

    def __post_init__(self) -> None:
        names = {spoken: drill.drill for spoken, drill in self.drills.items()}
        self.settings = self.settings.model_copy(update={"drills": names})
        self.seed = self.settings.seed
        self.menu = Menu(names, self.settings.trainer_name, has_session=latest_journal() is not None)

    def run(self, questions: list[Question]) -> None:
        """From the caution to 'end', or to the end of the input."""
        say = [CAUTION]
        for question in questions:
            talk = self._talk(grammar_of(question, self.settings.trainer_name), {})
            talk.say(*say)
            say = []
            if question.ask(talk, self._understood):
                settle_question(first_run_path(), question.name)
            talk.finish_speaking()
        if self.menu.has_session and (found := self._due()).due:
            say.append(due_in_brief(found))
        say += self.menu.opening().say
        while (order := self._order(say)) != "end":
            say = self._obey(order)

    def _obey(self, order: str) -> list[str]:
        """Do what the menu does not do itself; returns what is to be said next."""
        match order:
            case "due":
                return due_in_full(self._due())
            case order if order.startswith(PRACTISE):
                return self._practise(int(order.removeprefix(PRACTISE) or USUAL_MINUTES))
            case "debrief" | "full debrief":
                return self._latest_debrief(full=order == "full debrief")
            case order if order == FROM_THE_FIX:
                return self._play(self._from_the_fix())
            case "again":
                return self._play(self._once_more())
            case _:
                return self._play(self._drill_called(order.removeprefix(f"{START} ")))

    def _order(self, say: list[str]) -> str:
        """Talk until there is an order that begins something or ends all."""
        menu = self.menu
        names = self.settings.drills
        phrases = menu_phrases(names, self.settings.trainer_name)
        talk = self._talk(Grammar((*phrases, *trade_phrases())), pronounced(self.drills.values()))
        talk.say(*say)
        while True:
            answer = talk.listen(menu.patience_seconds)
            if answer is None:
                reply = menu.silence()
            elif isinstance(answer, Answer):
                reply = menu.take(answer.hearing)
            else:
                reply = menu.obey(answer)
            if reply.understood and answer is not None:
                self._understood()
                talk.sound("heard")
            elif not reply.understood and reply.say:
                talk.sound("say again")
            match reply:
                case Reply(order="slower" | "faster" as order):
                    factor = PACE_STEP if order == "faster" else 1 / PACE_STEP
                    self.pace = round(min(FASTEST_PACE, max(SLOWEST_PACE, self.pace * factor)), 3)
                    talk.pace = self.pace
                    talk.say(f"{order.capitalize()}.")
                case Reply(order=str(order)):
                    if order == "end":
                        talk.say(GOOD_BYE)
                        talk.finish_speaking()
                    return order
                case _:
                    talk.say(*reply.say)

    def _play(self, drill: Drill) -> list[str]:
        """Fly a drill, and what is begun out of it; returns the debrief to be said."""
        self.practised = []
        while True:
            self.menu.last_drill = drill.drill
            self.menu.has_session = True
            path = new_journal_path(drill.drill, datetime.now(UTC))
            settings = self.settings.model_copy(update={"pace": self.pace, "seed": self.seed})
            self.out.print(f"\n{drill.title}. It trains {drill.trains}.", markup=False)
            performance = perform(drill, seed=settings.seed, mistakes=self.mistakes) if self.student else None
            pronounce = pronounced(self.drills.values())
            played = play(
                self.studio,
                drill,
                settings,
                path,
                self.out,
                tell=self._told,
                performance=performance,
                pronounce=pronounce,
                keep=kept_by_choice(),
                whose=self.whose,
            )
            self.pace = played.pace
            self.out.print(f"Journal: {path}\n", style="dim", markup=False)
            self.from_the_fix = from_the_fix(drill, read_journal(path).records)
            self.menu.has_fix = self.from_the_fix is not None
            if played.interrupted:
                raise KeyboardInterrupt
            if played.then == "again":
                drill = self._once_more()
            elif played.then == FROM_THE_FIX:
                drill = self._from_the_fix()
            elif played.then.startswith(f"{START} "):
                drill = self._drill_called(played.then.removeprefix(f"{START} "))
            elif played.then == "end of the input":
                raise ConversationOverError
            else:
                return list(self.menu.opening().say)

    def _due(self) -> Due:
        """What is due for whoever practises; nothing, where the logbook can't tell."""
        whose = self.whose or ("" if self.student is None else SYNTHETIC_STUDENT)
        try:
            return due_now(whose, datetime.now().astimezone(), self.new_a_day)
        except EXPECTED as problem:
            self.out.print(in_one_line(problem) or str(problem), markup=False)
            return Due((), (), (), 0)

    def _practise(self, minutes: int) -> list[str]:
        """Practise what is due, and what is begun out of it; returns the debrief to be said."""
        settings = self.settings.model_copy(update={"pace": self.pace, "seed": self.seed})
        found = self._due()
        plan = plan_of(found, minutes, self.draw, settings, lambda line: self.out.print(line, markup=False))
        if plan.is_over:
            return due_in_full(found)
        say_out(self.studio, announced(plan), self.pace, self.out)
        performs = mistakes_in(self.mistakes) if self.student else None
        pronounce = pronounced(self.drills.values())
        play_one = player(self.studio, self.out, self.whose, kept_by_choice(), performs, pronounce)
        practising = Practising(plan, settings, self.out, play_one)
        then = practising.run()
        self.pace = practising.settings.pace
        self.practised = practising.done
        self.menu.has_session = True
        if practising.interrupted:
            raise KeyboardInterrupt
        if then == "end of the input":
            raise ConversationOverError
        if then.startswith(f"{START} "):
            return self._play(self._drill_called(then.removeprefix(f"{START} ")))
        return [*practice_said(self.practised), *self.menu.opening().say]

    def _drill_called(self, name: str) -> Drill:
        return next(each for each in self.drills.values() if each.drill == name)

    def _once_more(self) -> Drill:
        """The last drill; of one that is about its numbers, with others."""
        drill = self._drill_called(self.menu.last_drill or "")
        if drill.kind == "reckoning":
            self.seed += 1
            return self.draw(drill.drill, self.seed)
        return drill

    def _from_the_fix(self) -> Drill:
        assert self.from_the_fix is not None
        return self.from_the_fix

    def _told(self, debrief: Debrief) -> list[str]:
        self.out.print()
        print_debrief(debrief, self.out)
        return spoken_debrief(debrief)

    def _latest_debrief(self, *, full: bool) -> list[str]:
        if self.practised:
            print_practice(self.practised, self.out)
            return practice_said(self.practised, full=full)
        path = latest_journal()
        if path is None:
            return ["There is no session yet."]
        try:
            journal = read_journal(path)
            debrief = debrief_of(journal.header, journal.records, journal.torn)
        except (*EXPECTED, ValueError) as problem:
            self.out.print(in_one_line(problem) or f"{path}: {problem}", markup=False)
            return ["The last session can't be read. The screen says why."]
        print_debrief(debrief, self.out)
        return spoken_debrief(debrief, full=full)

    def _talk(self, grammar: Grammar, pronounce: dict[str, str]) -> Conversation:
        """A new stretch of talk, in which `grammar` may be said."""
        self.studio.prepare(grammar, pronounce)
        stretch = self.studio.begin(OrderForesight(grammar))
        student = self.student
        if student is not None and stretch.say is not None:
            student.begin(stretch.say)
        return Conversation(
            Exchange(stretch.microphone, stretch.mouth, stretch.ears, headset=self.studio.headset),
            pace=self.pace,
            watch=LiveLines(self.out),
            on_block=student.live_on if student else lambda now: None,
            keys=self.studio.keys,
            on_listening=student.your_turn if student else lambda now: None,
            say_what_happens=lambda line: self.out.print(line, markup=False),
        )

    def _understood(self) -> None:
        if self.student is not None:
            self.student.understood()


def hands_free(options: argparse.Namespace) -> int:
    """Run the whole conversation. Raises UsageError, AudioError, RecogniserError, VoiceError, DrillError."""
    check_run(options, ("mic", "student"))
    mistakes = mistakes_of(options.student_errors)
    out = console()
    given_drills = {name: find_drill(name, options.seed) for name in options.drills}
    begun = set_up(options, out)
    settings, chosen = begun.settings, begun.chosen
    assert begun.recogniser is not None  # nothing is typed here
    found = given_drills | usable_drills(lambda line: out.print(line, markup=False), options.seed)
    drills = by_spoken_name(found.values())
    own_names = {drill.drill: name for name, drill in reversed(found.items())}
    out.print(f"{CAUTION} Study aid only.", style="dim", markup=False)
    settle_sound(out, chosen.input, ask=False)
    settled = settled_questions(first_run_path())
    if chosen.input != "mic":
        settled |= {KEEP_SOUND}  # only a person can agree
    questions = [question for question in QUESTIONS if question.name not in settled]
    with ExitStack() as opened:
        studio = open_studio(
            options,
            chosen,
            begun.recogniser,
            begun.profile,
            opened,
            out,
            tail_seconds=TAIL_SECONDS,
            first_lines=[("instructor", CAUTION)],
        )
        student = (
            scripted_student(options, chosen, studio, questions, drills)
            if chosen.input == "student"
            else None
        )
        try:
            HandsFree(
                studio,
                out,
                settings,
                drills,
                mistakes,
                student,
                options.student or "",
                draw=lambda name, seed: find_drill(own_names.get(name, name), seed),
                new_a_day=options.new,
            ).run(questions)
        except ConversationOverError:
            out.print("The input is over.", markup=False)
        except KeyboardInterrupt:
            out.print("Ended.", markup=False)
    return 0


def scripted_student(
    options: argparse.Namespace,
    chosen: Chosen,
    studio: Studio,
    questions: list[Question],
    drills: dict[str, Drill],
) -> ScriptedTalk:
    """The synthetic student between drills: what --student-says tells, behind its answers to the first questions."""
    answers = [question.example for question in questions if question.example]
    if options.student_says:
        lines = [line.strip() for line in options.student_says.split(";") if line.strip()]
    else:
        lines = ["what is there", f"fly {next(iter(drills))}", "end"]

    def voice(text: str) -> Samples:
        return studio.booth.clip("student", text).result()

    return ScriptedTalk([*answers, *lines], voice)
