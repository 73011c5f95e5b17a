"""`voice-trainer enrol`: twenty prompts, and what they say about this voice on this microphone."""

from __future__ import annotations

import argparse
from concurrent.futures import Future
from contextlib import ExitStack
from datetime import UTC, datetime

from rich.console import Console

from voice_trainer.archive.corpus_folder import CorpusFolder
from voice_trainer.archive.places import models_folders, profile_path
from voice_trainer.archive.profile_file import forget_profile, write_profile
from voice_trainer.cli.listening import Ends, check_listening, open_ends, prompted
from voice_trainer.cli.listening_check import ListeningCheck
from voice_trainer.cli.problems import UsageError
from voice_trainer.cli.profiles import as_counted, in_brief
from voice_trainer.cli.recognisers import recogniser_called
from voice_trainer.cli.recording import keep
from voice_trainer.cli.terminal import console
from voice_trainer.journal.personal import Profile
from voice_trainer.library.prompts import EnrolmentPrompt, Prompt, enrolment_prompts
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.trade import trade_phrases
from voice_trainer.recognition.choosing import check_engine
from voice_trainer.recognition.fitting import Reading, fit, gains, levels_of, weigh
from voice_trainer.recognition.ports import Recogniser
from voice_trainer.session.background import in_background

FEWEST_TO_FIT = 8
FEWEST_TO_MEASURE = 6


def enrol(options: argparse.Namespace) -> int:
    """Read, fit, measure; 1 where nothing was gained and the usual values stay."""
    out = console()
    path = profile_path()
    if options.forget:
        gone = forget_profile(path)
        out.print(f"The profile {path} is forgotten." if gone else "There is no profile.", markup=False)
        return 0
    check_engine(options.engine, models_folders())
    check_listening(options)
    prompts = enrolment_prompts()
    # Loading a model takes longest: it goes on while the first prompt is read.
    loading = in_background(lambda: ready_for(prompts, options.engine))
    fit_readings, measured, microphone = read_aloud(prompts, loading, options, out)
    out.print("Thank you. Fitting.", markup=False)
    recogniser = loading.result()
    levels = levels_of([*fit_readings, *measured])
    personal = fit(recogniser, fit_readings)
    before, after = weigh(recogniser, measured, personal)
    profile = Profile(
        made_utc=datetime.now(UTC).isoformat(timespec="seconds"),
        engine=recogniser.name,
        model_hash=recogniser.model_hash,
        microphone=microphone,
        noise_floor_dbfs=levels.noise_floor_dbfs,
        speech_dbfs=levels.speech_dbfs,
        values=personal,
        before=before,
        after=after,
    )
    out.print(
        f"Speech {levels.speech_dbfs:.0f} dBFS, noise {levels.noise_floor_dbfs:.0f} dBFS.", markup=False
    )
    out.print(f"Fitted to {len(fit_readings)} prompts: {in_brief(profile)}.", markup=False)
    out.print(f"Measured on {len(measured)} others:", markup=False)
    out.print(f"  before  {as_counted(before)}", markup=False)
    out.print(f"  after   {as_counted(after)}", markup=False)
    if not gains(before, after):
        was_there = forget_profile(path)
        out.print(
            "No gain: the usual values are kept"
            + (", and the older profile is forgotten." if was_there else ", and no profile is written."),
            markup=False,
        )
        return 1
    write_profile(path, profile)
    out.print(f"Profile: {path}. So few prompts say little: one more or less is chance.", markup=False)
    return 0


def ready_for(prompts: tuple[EnrolmentPrompt, ...], engine: str) -> Recogniser:
    """The recogniser, listening for all prompts with every value open, and for the sentences of the trade."""
    recogniser = recogniser_called(engine)
    calls = [Phrase(prompt.pattern.opened(), "call") for prompt in prompts]
    recogniser.prepare(Grammar((*calls, *trade_phrases())), {})
    return recogniser


def read_aloud(
    prompts: tuple[EnrolmentPrompt, ...],
    loading: Future[Recogniser],
    options: argparse.Namespace,
    out: Console,
) -> tuple[list[Reading], list[Reading], str]:
    """Have all prompts read: those to fit, those to measure, and the microphone's name."""
    corpus = CorpusFolder(options.keep) if options.keep else None
    kept = f"kept in {options.keep}" if corpus else "thrown away after it (--keep FOLDER keeps it)"
    out.print(
        f"Read {len(prompts)} prompts, as you would in a drill. Your sound is {kept}; a few numbers stay, in "
        f"{profile_path()}, for you alone to read. Nothing leaves this machine.",
        markup=False,
    )
    fit_readings: list[Reading] = []
    measured: list[Reading] = []
    with ExitStack() as opened:
        ends: Ends = open_ends(options, opened, out)
        check = ListeningCheck(loading, out, live=ends.live)
        numbers = range(1, len(prompts) + 1)
        for index, utterance in prompted(
            [prompt.said for prompt in prompts],
            numbers,
            len(prompts),
            ends,
            speak=options.speak,
            out=out,
            objection=lambda at, said: check.objection(at, prompts[at].pattern, said),
        ):
            prompt = prompts[index]
            if corpus is not None:
                read = Prompt(prompt.said, pattern=prompt.pattern)
                keep(corpus, read, utterance, options, heard=check.heard.get(index))
            (fit_readings if prompt.fits else measured).append(Reading(prompt.pattern, utterance.samples))
        name = ends.microphone.name
    check.told_at_the_end()
    if len(fit_readings) < FEWEST_TO_FIT or len(measured) < FEWEST_TO_MEASURE:
        raise UsageError(
            f"only {len(fit_readings) + len(measured)} of {len(prompts)} prompts could be recorded, too few to fit "
            "anything to; look at the microphone with 'voice-trainer doctor', then enrol again"
        )
    return fit_readings, measured, name
