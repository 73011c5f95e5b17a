"""The trainer's ears: from blocks of samples to facts about speech.

Speech is found block by block; a whole utterance goes to the recogniser, in a thread of its own when the
session is live, so that listening and flying go on meanwhile. Facts come out in the order in which they
belong: an utterance that ends while an earlier one is still being recognised waits for it.

Theory of operation
-------------------
*Hearing ahead.* Hearing begins at the first pause, while it is not known yet whether the utterance is over. When
nothing follows, the hearing is there when the hangover has passed, or soon after. When it is a whole call already that
is due, and right, the hangover is not waited for. And when speech goes on after a pause, what was heard before it as
whole calls is an utterance of its own: after a long flow the student waits for the hearing of its last call only.
Pauses are looked at one after the other, each with all that was said since the last cut, so how fast the recogniser is
changes when something is known and nothing else.

*What may go on is not over.* People pause inside calls and values. An utterance that may still grow into another
meaning ('turn left heading', 'two thousand') is held for the thinking pause, unless all of it is right as it is. What
is said within that pause is heard together with it, and where the two make one call, they are one utterance. If the
first part had been told already, the hearing of both takes its place (`Heard.grown`). See `held`.

*Talk that is no call.* What was said without a pause is glanced at after a while, and where it is no call, the floor is
free again (`SpeechDoubted`): a television doesn't hold up a lesson. Such talk is cut off in pieces, so that hearing it
never costs much, and a voice that is much softer than the student's is learnt to be none of theirs (see `nearness`).
"""

from __future__ import annotations

from collections import OrderedDict, deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import Protocol

from voice_trainer.audio.ports import Block
from voice_trainer.journal.events import (
    Heard,
    SpeechDoubted,
    SpeechDropped,
    SpeechEnded,
    SpeechStarted,
    at,
)
from voice_trainer.journal.hearing import Hearing
from voice_trainer.journal.thinking import THINKING_SECONDS
from voice_trainer.recognition import endpointing
from voice_trainer.recognition.gain import lifted
from voice_trainer.recognition.ports import Recogniser, Samples
from voice_trainer.recognition.reading import said_once
from voice_trainer.session.foresight import Foresight, NoForesight
from voice_trainer.session.held import Held, is_all_clear, is_passed_over, is_short, with_placed_words
from voice_trainer.session.nearness import Nearness

SpeechFact = SpeechStarted | SpeechDropped | SpeechEnded | SpeechDoubted | Heard

ASKED_AT_ONCE = 8
"""Hearings that are remembered: of an utterance, of the same with what came before it, and of parts of both."""

GLANCE_SECONDS = 2.6
"""Speech without a pause is glanced at when it has gone on for so long, and again after as much more (ours): what is no
call holds the floor no longer than three seconds.
"""

KEPT_OF_TALK_SECONDS = 1.0
"""Of talk that is cut off without a pause so much stays, in case that the student has begun to speak in it (ours)."""

LEAST_TALK_SECONDS = 2.5
"""What is no call is cut off at a pause when it is so long; less may be a hesitation before a call (ours)."""

MOST_BEFORE_A_PAUSE_SECONDS = 12.0
"""What is so long is cut at its pause, clear or not (ours): hearing it over and over would take too long."""


MUCH_SECONDS = 12.0
"""So much with an end that may go on is not held as a whole (ours)."""

LATE_SECONDS = 0.1
"""So much longer than it is a pause may be found to be: soft ends and beginnings of words are no speech yet (ours)."""

LONG_PAUSE_SECONDS = 0.4
"""After a pause so long a tail that says nothing more is not waited for: a remark may follow as well (ours)."""

MOST_TOGETHER_SECONDS = 30.0
"""More than that is heard in parts, whatever belongs together (ours)."""


class Activity(Protocol):
    """How likely each block is speech."""

    def feed(self, samples: Samples) -> Iterator[tuple[Samples, float]]:
        """Take mono PCM at 16 kHz; each whole block of 512 samples with its probability, between 0 and 1."""

    def reset(self) -> None:
        """Forget all that was heard."""


@dataclass(frozen=True, slots=True)
class _Understood:
    """What was heard in a part of an utterance. `joined`: together with what was held from before it."""

    part: endpointing.Utterance
    hearing: Hearing
    joined: bool = False


class Ears:
    """Listens through an endpointer and a recogniser; with `in_step` it waits for every hearing.

    What comes from the microphone is made louder by `input_gain_db` before anything else is done with it. `activity`
    tells speech from other sounds, the Silero network where it is left out; `nearness` the student from other voices.
    """

    def __init__(
        self,
        recogniser: Recogniser,
        settings: endpointing.EndpointingSettings | None = None,
        *,
        in_step: bool,
        foresight: Foresight | None = None,
        input_gain_db: float = 0.0,
        weighs_deafness: bool = False,
        activity: Activity | None = None,
        nearness: Nearness | None = None,
        thinking_seconds: float = THINKING_SECONDS,
    ) -> None:
        self._recogniser = recogniser
        self._foresight = foresight or NoForesight()
        self._input_gain_db = input_gain_db
        self._endpointer = endpointing.Endpointer(settings)
        self._activity: Activity = activity or endpointing.VoiceActivity()
        self._speech_on = (settings or endpointing.EndpointingSettings()).speech_on
        self._while_deaf = endpointing.VoiceActivity() if weighs_deafness else None
        self._unheard_blocks = 0
        self._thinking_seconds = thinking_seconds
        self._nearness = nearness or Nearness()
        self._pool = None if in_step else ThreadPoolExecutor(1, thread_name_prefix="recogniser")
        self._events: deque[endpointing.EndpointingEvent] = deque()
        self._told: list[SpeechFact] = []
        self._now = 0.0
        self._announced = False
        self._closed = False
        self._held: Held | None = None
        self._glance: endpointing.Utterance | None = None
        self._next_glance_seconds = 0.0
        self._split_seconds = 0.0
        self._knows_others = False
        self._asked: OrderedDict[tuple[float, float, int], Future[Hearing]] = OrderedDict()

    @property
    def deaf(self) -> bool:
        """Whether what comes in is ignored."""
        return self._endpointer.deaf

    @property
    def unheard_seconds(self) -> float:
        """How much sounded like speech while it was ignored; 0 where that is not weighed."""
        return self._unheard_blocks * endpointing.BLOCK_SECONDS

    @property
    def quiet(self) -> bool:
        """Nobody speaks, and nothing is being recognised or may still go on."""
        return not self._endpointer.speaking and not self._events and not self._is_holding

    def deafen(self) -> None:
        """Ignore what comes in from now on; what has been said so far is an utterance."""
        if not self.deaf:
            self._events.extend(self._endpointer.deafen())

    def listen(self) -> None:
        """Take in what comes from now on."""
        if self.deaf:
            self._endpointer.listen()
            self._activity.reset()

    def take(self, block: Block) -> None:
        """The next block of the microphone."""
        if self.deaf:
            self._events.extend(self._endpointer.feed(block.samples, 0.0))
            if self._while_deaf is not None:
                likely = self._while_deaf.feed(lifted(block.samples, self._input_gain_db))
                self._unheard_blocks += sum(each >= self._speech_on for _, each in likely)
            return
        for samples, probability in self._activity.feed(lifted(block.samples, self._input_gain_db)):
            near = self._nearness.near(samples, probability >= self._speech_on)
            began = self._endpointer.feed(samples, probability if near else 0.0)
            self._events.extend(began)
            if any(isinstance(event, endpointing.SpeechBegan) for event in began):
                self._begin_glancing()

    def something_else_was_said(self) -> None:
        """The trainer has spoken meanwhile: what comes now is no rest of what was said before that."""
        if self._held is not None and self._held.told:
            self._held = None

    def finish(self) -> None:
        """No more blocks will come: what has been said so far is an utterance."""
        self._closed = True
        self._events.extend(self._endpointer.close())

    def facts(self, now_seconds: float) -> list[SpeechFact]:
        """What is known now, in order. Raises RecogniserError."""
        self._now = at(now_seconds)
        if self._is_any_event_open():
            self._look_at_what_goes_on()
        if not self._events and self._held is not None:
            self._let_go_when_over(self._held)
        told, self._told = self._told, []
        return told

    def close(self) -> None:
        """Let the recogniser's thread end."""
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)

    # What is over.

    @property
    def _is_holding(self) -> bool:
        return self._held is not None and not self._held.told

    def _is_any_event_open(self) -> bool:
        """Work through what the endpointer found; whether all of it is done."""
        while self._events:
            event = self._events[0]
            if isinstance(event, endpointing.Utterance):
                if not self._take_utterance(event):
                    return False
                continue
            self._events.popleft()
            if isinstance(event, endpointing.SpeechBegan):
                if self._held is not None and event.at_seconds > self._held.until_seconds:
                    self._let_go()
                self._told.append(SpeechStarted(at_seconds=self._now, onset_seconds=at(event.at_seconds)))
            else:
                self._told.append(SpeechDropped(at_seconds=self._now))
                self._keep_dropped(event.utterance)
        return True

    def _keep_dropped(self, slip: endpointing.Utterance) -> None:
        """What was too short to be speech may have been a word, softly said: what follows is heard with it, too."""
        held = self._held
        if held is None or (held.told and slip.speech_start_seconds > held.until_seconds):
            until = self._thinks_until(slip)
            self._held = Held(slip, _not_heard(slip, self._recogniser), until, told=True, dropped=True)
        elif slip.speech_start_seconds <= held.until_seconds:
            held.utterance = held.utterance.joined(slip)

    def _take_utterance(self, utterance: endpointing.Utterance) -> bool:
        """Tell what is known of the utterance that is first in the queue; whether it is done with, or a part of it."""
        if not utterance.pauses and not self._announced and not self._is_holding:
            self._told.append(_end_of(utterance, self._now))
            self._announced = True
        understood = self._understood(utterance.before_pause())
        if understood is None:
            return False
        if not utterance.pauses:
            self._events.popleft()
            if self._is_split(understood):
                return True
            self._conclude(understood)
            self._announced = False
        elif self._is_cut(understood, utterance.pauses[0]):
            rest = self._events[0] = utterance.after_pause()
            self._tell_cut(understood, rest.speech_start_seconds)
        else:
            self._events[0] = utterance.passing_over_pause()
        return True

    def _is_split(self, understood: _Understood) -> bool:
        """Of much that was said in one go, with pauses in its calls only, what can't change any more is an utterance of
        its own: or all of it would have to be heard again with every part. Whether that was done.
        """
        held, part = self._held, understood.part
        seconds = part.speech_seconds
        if not understood.joined or held is None or held.told or held.grown or seconds < MUCH_SECONDS:
            return False
        moment = self._foresight.open_since(understood.hearing)
        if moment is None or moment - max(part.start_seconds, self._split_seconds) < LEAST_TALK_SECONDS:
            return False
        self._split_seconds = at(moment)
        head, tail = part.split(self._split_seconds)
        self._held = None
        self._events.extendleft([tail, endpointing.SpeechBegan(tail.speech_start_seconds), head])
        return True

    def _conclude(self, understood: _Understood) -> None:
        """An utterance is over, and has been heard."""
        held, part = self._held, understood.part
        grown = False
        if understood.joined:
            assert held is not None
            if not held.told:
                self._told.append(_end_of(part, self._now))
            grown = held.has_hearing_told
        elif held is not None and not held.told:
            if held.is_only_a_hesitation(part, understood.hearing):
                self._told.append(SpeechDropped(at_seconds=self._now))
                held.utterance = held.utterance.joined(part)
                held.until_seconds = self._thinks_until(part)
                return
            self._let_go()
            self._told.append(_end_of(part, self._now))
        self._hold_or_tell(part, understood.hearing, grown=grown)

    def _hold_or_tell(self, part: endpointing.Utterance, hearing: Hearing, *, grown: bool) -> None:
        goes_on = self._foresight.may_go_on(hearing)
        is_open = goes_on and (self._foresight.may_grow(hearing) or self._foresight.is_beginning(hearing))
        # One word of a call is seldom understood before the next.
        is_open = is_open or (hearing.clarity == "unclear" and is_short(part))
        waits = is_open and not self._foresight.agrees(hearing)
        if not waits:
            self._tell_heard(part, hearing, grown=grown)
        self._hold(part, hearing, told=not waits, grown=grown)

    def _hold(
        self, part: endpointing.Utterance, hearing: Hearing, *, told: bool, grown: bool = False
    ) -> None:
        until = self._thinks_until(part)
        is_call = hearing.clarity != "not a call" or not told or is_short(part)
        self._held = Held(part, hearing, until, told=told, grown=grown) if is_call else None

    def _thinks_until(self, part: endpointing.Utterance) -> float:
        """The end of the thinking pause behind a part."""
        return part.speech_end_seconds + self._thinking_seconds + LATE_SECONDS

    def _let_go_when_over(self, held: Held) -> None:
        """What was held is told when nothing can belong to it any more."""
        goes_on = self._endpointer.speaking and self._endpointer.onset_seconds <= held.until_seconds
        if self._closed or (self._now > held.until_seconds and not goes_on):
            self._let_go()

    def _let_go(self) -> None:
        held, self._held = self._held, None
        if held is not None and not held.told:
            self._tell_heard(held.utterance, held.hearing, grown=held.grown)

    def _tell_heard(self, part: endpointing.Utterance, hearing: Hearing, *, grown: bool) -> None:
        self._nearness.learn(part.samples, hearing)
        open_ended = hearing.clarity == "clear" and self._foresight.may_go_on(hearing)
        self._told.append(Heard(at_seconds=self._now, hearing=hearing, grown=grown, open_ended=open_ended))

    # What goes on.

    def _tell_others_apart(self) -> None:
        """Others were found to talk, and the student has begun to in the same breath: these are two utterances."""
        knew, self._knows_others = self._knows_others, self._nearness.least_dbfs is not None
        so_far = self._endpointer.so_far()
        if knew or not self._knows_others or so_far is None:
            return
        far_seconds = self._nearness.last_far_seconds(so_far.samples)
        if far_seconds < LEAST_TALK_SECONDS:
            return
        ended = so_far.start_seconds + far_seconds
        self._endpointer.cut_at(ended, 0.0)
        talk = replace(so_far, end_seconds=ended, pauses=())
        understood = _Understood(talk, _not_heard(talk, self._recogniser))
        self._tell_cut(understood, self._endpointer.onset_seconds)

    def _look_at_what_goes_on(self) -> None:
        """What is known of the utterance in progress: whether what was said before its pauses is over."""
        self._tell_others_apart()
        while self._endpointer.has_pause or self._endpointer.pausing:
            so_far = self._endpointer.so_far()
            assert so_far is not None
            understood = self._understood(so_far.before_pause())
            if understood is None:
                return
            if not so_far.pauses:
                if self._is_over(understood):
                    self._events.extend(self._endpointer.close())
                    self._is_any_event_open()
                return
            if self._is_cut(understood, so_far.pauses[0]):
                onset_seconds = so_far.after_pause().speech_start_seconds
                self._endpointer.cut_at_pause()
                self._tell_cut(understood, onset_seconds)
            else:
                self._endpointer.pass_over_pause()
        if self._endpointer.speaking:
            self._glance_at_talk()

    def _is_over(self, understood: _Understood) -> bool:
        """Whether a hangover would be waited for in vain: what is due has been said, rightly, and can't go on."""
        hearing, foresight = understood.hearing, self._foresight
        is_right = foresight.completes(hearing) or (foresight.is_whole(hearing) and foresight.agrees(hearing))
        return is_right and not understood.joined

    def _is_cut(self, understood: _Understood, pause: endpointing.Pause) -> bool:
        """Whether what was heard before a pause is an utterance of its own."""
        part, hearing = understood.part, understood.hearing
        is_long = pause.seconds >= LONG_PAUSE_SECONDS
        if self._foresight.is_whole(hearing) or (
            is_long and is_all_clear(hearing) and not self._foresight.may_grow(hearing)
        ):
            return True
        seconds = part.speech_seconds
        is_talk = self._is_talk(understood) and seconds >= LEAST_TALK_SECONDS and not self._is_holding
        return is_talk or (seconds >= MOST_BEFORE_A_PAUSE_SECONDS and not self._foresight.may_grow(hearing))

    def _tell_cut(self, understood: _Understood, onset_seconds: float) -> None:
        """The end of what was heard before a pause, and the beginning of the next, before the hearing is acted upon."""
        part, hearing, held = understood.part, understood.hearing, self._held
        grown = understood.joined and held is not None and held.has_hearing_told
        if not understood.joined:
            self._let_go()
        self._told += [
            _end_of(part, self._now),
            SpeechStarted(at_seconds=self._now, onset_seconds=at(onset_seconds)),
        ]
        self._tell_heard(part, hearing, grown=grown)
        self._hold(part, hearing, told=True)
        self._begin_glancing()
        if hearing.clarity == "not a call":
            self._told.append(SpeechDoubted(at_seconds=self._now))

    def _begin_glancing(self) -> None:
        self._glance = None
        self._next_glance_seconds = self._endpointer.onset_seconds + GLANCE_SECONDS

    def _glance_at_talk(self) -> None:
        """Speech goes on and on without a pause: is there a call in it?"""
        if self._glance is None:
            if self._endpointer.now_seconds < self._next_glance_seconds:
                return
            self._glance = self._endpointer.so_far()
            assert self._glance is not None
        glance = self._glance
        understood = self._understood(glance)
        if understood is None:
            return
        self._glance = None
        self._next_glance_seconds = glance.end_seconds + GLANCE_SECONDS
        if self._is_talk(understood):
            self._endpointer.cut_at(glance.end_seconds, KEPT_OF_TALK_SECONDS)
            self._tell_cut(understood, self._endpointer.onset_seconds)

    def _is_talk(self, understood: _Understood) -> bool:
        """Whether what was heard is no call, nor the beginning of one."""
        hearing = understood.hearing
        return (
            hearing.clarity == "not a call"
            and not understood.joined
            and not self._foresight.may_grow(hearing)
        )

    # Hearing.

    def _understood(self, part: endpointing.Utterance) -> _Understood | None:
        """What is heard in a part of an utterance, together with what was held where both are one call; None while that
        is not known yet.
        """
        hearing = self._hear(part)
        if hearing is None:
            return None
        alone = _Understood(part, hearing)
        held = self._held
        if held is None or part.speech_start_seconds > held.until_seconds:
            return alone
        if held.dropped and is_all_clear(hearing):
            return alone
        if is_all_clear(held.hearing) and self._is_something_else(held.hearing, hearing):
            return alone
        both = held.utterance.joined(part)
        if len(both.samples) > MOST_TOGETHER_SECONDS * endpointing.SAMPLE_RATE:
            return alone
        together = self._hear(both)
        if together is None:
            return None
        if is_passed_over(part, held.hearing, hearing, together):
            return alone
        if not is_short(part) and self._is_spoiled(held.hearing, together):
            return alone
        is_one = self._foresight.reaches_over(together, held.middle_of_the_pause(both))
        if is_one or self._belong_together(held, hearing, together) or self._is_in_doubt(held, part, hearing):
            return _Understood(both, together, joined=True)
        return alone

    def _is_spoiled(self, before: Hearing, together: Hearing) -> bool:
        """Whether what was clear by itself is in doubt with what followed, and has not grown by that, nor was its last
        word said again: it has self-talk behind it, or another call that noise drowns.
        """
        if not is_all_clear(before) or together.clarity == "clear":
            return False
        first, both = ([word.text for word in each.words] for each in (before, together))
        if both[: len(first)] != first:  # in a doubt, what was said twice may still be there twice
            first, both = said_once(first), said_once(both)
        after = both[len(first) :]
        if not after or both[: len(first)] != first:
            return True
        assert before.best is not None
        last_call = [word.text for word in before.best.spans[-1].words]
        return after[0] != first[-1] and not self._foresight.has_grown(last_call, after)

    def _is_in_doubt(self, held: Held, part: endpointing.Utterance, hearing: Hearing) -> bool:
        """Whether what may still grow has something short and unclear behind it, an 'uh' or its next word: it is not to
        be judged without that.
        """
        return (
            not held.told
            and hearing.clarity == "unclear"
            and is_short(part)
            and self._foresight.may_grow(held.hearing)
        )

    def _is_something_else(self, before: Hearing, hearing: Hearing) -> bool:
        """Whether what was heard after a clear call has nothing to do with it."""
        if is_all_clear(hearing):
            return not self._foresight.goes_on(before, hearing)
        is_talk = hearing.clarity == "not a call" and not self._foresight.may_grow(hearing)
        return is_talk and not self._foresight.may_go_on(before)

    def _belong_together(self, held: Held, alone: Hearing, together: Hearing) -> bool:
        """Whether one of two parts is understood only with the other, or what was begun is begun anew or goes on."""
        if held.hearing.clarity == "not a call" and is_all_clear(alone):
            return False
        if together.clarity == "clear" and "unclear" in (alone.clarity, held.hearing.clarity):
            return True
        if is_all_clear(together):
            return not is_all_clear(alone) or not is_all_clear(held.hearing)
        if is_all_clear(alone):
            return False
        if self._foresight.is_beginning(alone):
            return not held.told and self._foresight.may_grow(held.hearing)
        return self._foresight.is_beginning(together)

    def _hear(self, utterance: endpointing.Utterance) -> Hearing | None:
        """What is heard in an utterance, None while that is not known yet. Raises RecogniserError."""
        key = (utterance.start_seconds, utterance.end_seconds, len(utterance.gaps))
        if key not in self._asked:
            while len(self._asked) >= ASKED_AT_ONCE:
                self._asked.popitem(last=False)[1].cancel()
            self._asked[key] = self._recognise(utterance)
        future = self._asked[key]
        return with_placed_words(future.result(), utterance) if future.done() else None

    def _recognise(self, utterance: endpointing.Utterance) -> Future[Hearing]:
        hear = self._recogniser.hear
        if self._pool is not None:
            return self._pool.submit(hear, utterance.samples, utterance.start_seconds)
        hearing: Future[Hearing] = Future()
        hearing.set_result(hear(utterance.samples, utterance.start_seconds))
        return hearing


def _not_heard(utterance: endpointing.Utterance, recogniser: Recogniser) -> Hearing:
    """The hearing of what has not been heard."""
    return Hearing(
        start_seconds=utterance.start_seconds,
        end_seconds=utterance.end_seconds,
        clarity="not a call",
        engine=recogniser.name,
    )


def _end_of(utterance: endpointing.Utterance, now: float) -> SpeechEnded:
    return SpeechEnded(
        at_seconds=now, start_seconds=at(utterance.start_seconds), end_seconds=at(utterance.end_seconds)
    )
