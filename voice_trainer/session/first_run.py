"""What is asked once on a machine, before the first menu: a list of questions, each with a name.

A new question goes into `QUESTIONS`; it is asked where it has not been settled yet, also on machines that have run
before. A question says what it says, and listens, over the conversation that it is given; every one can be skipped.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from voice_trainer.archive.consent_file import consent_of_today, read_consent, write_consent
from voice_trainer.archive.places import consent_path
from voice_trainer.journal.hearing import Hearing, Span
from voice_trainer.journal.keep import KEEPS, Keep
from voice_trainer.phraseology.grammar import Grammar, Phrase
from voice_trainer.phraseology.pattern import compile_pattern
from voice_trainer.phraseology.trade import trade_phrases
from voice_trainer.phraseology.yes_and_no import ANSWERS, YesOrNo, yes_or_no
from voice_trainer.session.conversation import Answer, Conversation
from voice_trainer.session.level_check import Finding, level_of

MOST_TRIES = 3
PATIENCE_SECONDS = 15.0

KEEP_SOUND = "keep sound"
RADIO_CHECK = "radio check [one two three]"

CAUTION = (
    "Before you begin. This is a study aid: current charts, local procedures and your instructor come first. It hears "
    "wrongly at times, and so may a grade be wrong."
)


@dataclass(frozen=True, slots=True)
class Question:
    """`words` are the patterns that may be answered with, '[trainer]' before each being understood.

    Yes, no and 'skip' always may: no and 'skip' settle a question to what is careful.

    `ask` returns whether it is settled, so that it is not asked again. `example` is what a synthetic student answers,
    None where nothing is to be answered.
    """

    name: str
    words: tuple[str, ...]
    ask: Callable[[Conversation, Callable[[], None]], bool]
    example: str | None = None


def grammar_of(question: Question, trainer_name: str) -> Grammar:
    """All that may be said in answer to a question. Raises PatternError."""
    orders = [
        Phrase(compile_pattern(f"[{trainer_name}] {text}"), "control") for text in (*question.words, *ANSWERS)
    ]
    return Grammar(
        (*orders, *(p for p in trade_phrases() if tuple(p.pattern.spoken()) not in _ANSWERS_OF_THE_TRADE))
    )


def answered(answer: Answer) -> YesOrNo | None:
    """Whether an answer is yes or no, None for neither.

    A no counts with other words around it, a yes does not: nobody agrees to anything by half a sentence.
    """
    spans = _clear_spans(answer.hearing)
    if any(_yes_or_no(span) == "no" for span in spans):
        return "no"
    return _yes_or_no(spans[0]) if len(spans) == 1 else None


def say_cautions(conversation: Conversation, understood: Callable[[], None]) -> bool:
    """The caution, said once."""
    conversation.say(CAUTION)
    conversation.finish_speaking()
    return True


def check_level(conversation: Conversation, understood: Callable[[], None]) -> bool:
    """'Radio check, one two three': whether the student comes in well, in three tries at most."""
    conversation.say("Let me hear you. Say: radio check, one two three. Or: skip.")
    for attempt in range(1, MOST_TRIES + 1):
        answer = conversation.listen(PATIENCE_SECONDS)
        last = attempt == MOST_TRIES
        if answer is None:
            conversation.say(
                "I heard nothing. Is the microphone on?" + ("" if last else " Once more, please.")
            )
        elif isinstance(answer, str) or (agreed := answered(answer)) == "no":
            understood()
            conversation.say("Skipped.")
            return True
        elif agreed == "yes":
            understood()
            conversation.say("Say: radio check, one two three. Or: skip.")
        else:
            said = _clear_words(answer.hearing)
            finding = level_of(answer.samples).finding
            if finding == "good" and "radio check" in said:
                understood()
                conversation.say("I hear you well.")
                return True
            conversation.say(_ADVICE[finding] + ("" if last else " Once more, please."))
    conversation.say("I leave it at that. The command doctor tells more.")
    return True


def ask_what_to_keep(conversation: Conversation, understood: Callable[[], None]) -> bool:
    """Whether sound may be kept, and which; without an answer, none. Who has chosen before is not asked.

    A yes says that some may be, but not which: that is asked. So is whether it was heard right, where sound is to be
    kept: 'keep none' and 'keep all' sound alike.

    Raises ArchiveError.
    """
    if read_consent(consent_path()) is not None:
        return True
    conversation.say(
        "May I keep sound of your sessions, on this machine only, for you or an instructor to hear again? "
        "Say: keep none, keep disputed, keep calls, or keep all. Or: skip, and I keep none."
    )
    keep: Keep = "none"
    for attempt in range(1, MOST_TRIES + 1):
        answer = conversation.listen(PATIENCE_SECONDS)
        if answer is None or isinstance(answer, str):
            break
        agreed = answered(answer)
        if agreed == "no":
            understood()
            break
        chosen = _chosen(answer.hearing)
        if chosen is not None or agreed == "yes":
            understood()
        if chosen == "none" or (chosen is not None and _confirmed(conversation, chosen, understood)):
            keep = chosen
            break
        if attempt < MOST_TRIES:
            which = "Which? " if agreed == "yes" else ""
            conversation.say(f"{which}Say: keep none, keep disputed, keep calls, or keep all.")
    write_consent(consent_path(), consent_of_today(keep))
    conversation.say(f"Sound that is kept: {keep}. The command privacy changes it.")
    return True


def _confirmed(conversation: Conversation, keep: Keep, understood: Callable[[], None]) -> bool:
    conversation.say(f"Keep {keep}. Is that right? Say yes or no.")
    answer = conversation.listen(PATIENCE_SECONDS)
    agreed = answered(answer) if isinstance(answer, Answer) else None
    if agreed is not None:
        understood()
    return agreed == "yes"


def _chosen(hearing: Hearing) -> Keep | None:
    """Which sound is to be kept, where that was said and nothing else: 'please do not keep all' chooses nothing."""
    spans = _clear_spans(hearing)
    words = spans[0].text.removesuffix(" please").split() if len(spans) == 1 else []
    return next((each for each in KEEPS if words[-2:] == ["keep", each]), None)


def _yes_or_no(span: Span) -> YesOrNo | None:
    """What is said to the trainer comes to, with or without its name before it."""
    words = span.text.split() if span.kind == "control" else []
    return next((found for at in range(len(words)) if (found := yes_or_no(" ".join(words[at:])))), None)


def _clear_spans(hearing: Hearing) -> tuple[Span, ...]:
    return hearing.best.spans if hearing.best and hearing.clarity == "clear" else ()


def _clear_words(hearing: Hearing) -> str:
    return hearing.text if hearing.clarity == "clear" else ""


_ANSWERS_OF_THE_TRADE = (("radio", "check"), ("affirmative",), ("negative",))
"""What is no common sentence of the trade here, but an answer."""

_ADVICE: dict[Finding, str] = {
    "good": "I hear your voice, but could not make out the words.",
    "too faint": "You are too faint. Come closer to the microphone, or turn it up.",
    "clipped": "You are too loud for the microphone. Sit back, or turn it down.",
    "too noisy": "There is too much noise around you. Find a quieter place, or use a headset.",
    "nothing": "I heard nothing.",
}

QUESTIONS: Sequence[Question] = (
    Question("cautions", (), say_cautions),
    Question(
        KEEP_SOUND, (f"[yes] keep ({' | '.join(KEEPS)}) [please]",), ask_what_to_keep, example="keep none"
    ),
    Question("level check", (RADIO_CHECK,), check_level, example="radio check one two three"),
)
