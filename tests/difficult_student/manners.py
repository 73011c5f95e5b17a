"""How a difficult student says a drill: from a seed, what is said (right, or with one mistake), and the manner of it.

A `Line` is a call (or an order, 'trainer, freeze') twice: as this student says it, with pauses, restarts, remarks and
corrections, and as it would be said cleanly, in one go. Both mean the same; `oracle` holds one against the other. What
a manner must not change:

- A pause of up to `THINKING_SECONDS` inside a call, wherever it is: between any two words, in the middle of a value,
  before 'correction' and behind it.
- 'uh', a word said twice, a call begun anew in its middle (numbers are begun anew by 'correction' only).
- A correction is its outcome: the clean call is the wrong call, 'correction' and the right value in one breath.
- Remarks and other people's talk are no part of the meaning. Where quiet lies between them and a call (0.8 s and more,
  longer than the hangover) they change nothing. In one breath with a call they may cost a question, no more.

A longer pause inside a call is the end of what was said: the clean telling says the same parts as utterances of their
own. `LEAST_LONG_PAUSE` keeps clear of the limit, so that it is decided which of the two a pause is.

Times are gaps: a line is begun so long after the cue, or after the last word of the line before. So the clean telling,
in which calls are shorter, has the same windows. Gaps keep away from a window's edge by more than all that a manner
puts before the call's first word. Nothing here depends on the order of a hash.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache

from tests.mutations import KINDS, Mutation, Said, drill_named, mutated, near_values
from voice_trainer.drills.domain import domain_of
from voice_trainer.drills.model import Call, Drill, Flow
from voice_trainer.journal.events import Settings
from voice_trainer.journal.hearing import HeardWord
from voice_trainer.library.builtin import builtin_drills
from voice_trainer.phraseology.grammar import Grammar
from voice_trainer.phraseology.nodes import slots_of
from voice_trainer.phraseology.normaliser import normalise
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.slots import slot_type
from voice_trainer.phraseology.speaking import said_aloud
from voice_trainer.recognition.reading import SAID_TWICE, meaning_of, read_words

THINKING_SECONDS = 2.2
"""A pause of up to this inside a call changes nothing."""

LONGEST_PAUSE = 2.1
LEAST_LONG_PAUSE, LONGEST_LONG_PAUSE = 2.6, 3.0

PAUSES = (0.2, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0)
"""Of `plan_with_pauses`."""

APART_SECONDS = (0.8, 1.5)
"""Between a remark and a call: longer than the hangover."""

REMARKS = (
    "let me see",
    "so",
    "where were we",
    "right then",
    "okay so",
    "now what was it",
    "give me a moment",
)
OTHERS = (
    "the kettle is boiling",
    "did you feed the cat",
    "my sister has bought a house near the river",
    "lunch is at noon today",
)

Sounds = tuple[str | float, ...]
"""What is said in one go, and the seconds of quiet between."""

FLOWN = ("kelda-outbound", "brannock-callouts")
"""The flown drills that are played, whole; of all others at most three steps with calls."""

MOST_FLOWS = 3

SAFE_IN_FLIGHT = ("early", "swap")
"""The mistakes that do not change where the aeroplane is, and with it whether and when the next step begins."""


@dataclass(frozen=True)
class Line:
    """One call or order. `what` is its step and name, or ('', order).

    `before` is said `after_seconds` after the line before, and is no part of the meaning; then come `how`, as the
    student says it, or `clean`. `text` is said in one go when it is asked for again. `waits`: for what the trainer
    says to it.
    """

    what: tuple[str, str]
    after_seconds: float
    how: Sounds
    clean: Sounds
    text: str
    before: Sounds = ()
    waits: bool = False

    def shown(self, *, clean: bool = False) -> str:
        sounds = (self.after_seconds, *self.before, *(self.clean if clean else self.how))
        return " ".join(f"|{each:.1f}|" if isinstance(each, float) else f"'{each}'" for each in sounds)


@dataclass(frozen=True)
class Plan:
    """A whole session of one student; `verdicts` are what its calls must come to, None where that is the oracle's alone
    to say. `devices` are the kinds of difficulty in it, `may_be_asked` whether something may have to be said again.
    """

    seed: int
    drill: Drill
    grammar: Grammar
    settings: Settings
    speed: float
    lines: dict[str, tuple[Line, ...]]
    rights: dict[tuple[str, str], Line]
    verdicts: dict[tuple[str, str], tuple[str, bool]] | None
    devices: tuple[str, ...]
    early: tuple[str, str] | None = None

    @property
    def may_be_asked(self) -> bool:
        return "mixed" in self.devices

    def shown(self) -> str:
        """One readable line."""
        said = "; ".join(
            f"[{step}] {', '.join(line.shown() for line in lines)}"
            for step, lines in self.lines.items()
            if lines
        )
        manner = f"{self.settings.listening}, {self.settings.mode}, speed {self.speed}"
        return f"seed {self.seed}: {self.drill.drill}, {manner} ({', '.join(self.devices)}): {said}"


def plan(seed: int, *, drills: Sequence[str] | None = None, devices: Sequence[str] | None = None) -> Plan:
    """The student of a seed; `drills` to choose from, and the `devices` that it may use: all unless told."""
    rng = random.Random(f"difficult student {seed}")
    while True:
        made = _planned(seed, rng, drills, devices)
        if made is not None:
            return made


def plan_with_pauses(name: str, number: int) -> Plan:
    """A whole drill said right, each call with one pause: over all numbers below `numbers_of_pauses`, every pause of
    `PAUSES` at every word of every call.
    """
    drill, grammar = drill_named(name), _grammar_of_drill(name)
    lines: dict[str, tuple[Line, ...]] = {}
    rights: dict[tuple[str, str], Line] = {}
    for step, flow in _flows(drill):
        said = []
        for call in flow.calls:
            text = said_aloud(drill.pattern(call).spoken())
            what, words = (step.step, call.call), units(text)
            how: Sounds = (text,)
            if len(words) > 1:
                boundary, pause = number % (len(words) - 1), number // (len(words) - 1) % len(PAUSES)
                how = (" ".join(words[: boundary + 1]), PAUSES[pause], " ".join(words[boundary + 1 :]))
            rights[what] = Line(what, 0.7, (text,), (text,), text)
            if call.need == "required":
                said.append(Line(what, 0.9, how, (text,), text))
        lines[step.step] = tuple(said)
    settings = Settings(listening="headset", mode="fly through", input="student")
    return Plan(number, drill, grammar, settings, 1.0, lines, rights, None, ("pauses",))


def numbers_of_pauses(name: str) -> int:
    """How many plans hold every pause at every word."""
    drill = drill_named(name)
    most = max(
        len(units(said_aloud(drill.pattern(call).spoken()))) - 1
        for _, flow in _flows(drill)
        for call in flow.calls
        if call.need == "required"
    )
    return most * len(PAUSES)


@cache
def _grammar_of_drill(name: str) -> Grammar:
    return domain_of(drill_named(name))


# The drill and its lines.


@cache
def excerpt(name: str, first: int, last: int) -> Drill:
    """The steps from `first` to before `last` of a drill that is not flown, as a drill of its own."""
    whole = drill_named(name)
    if whole.aeroplane is not None:
        return whole
    steps = [step.model_dump(mode="json") for step in whole.steps[first:last]]
    steps[0]["when"] = "start"
    return Drill.model_validate(whole.model_dump(mode="json") | {"steps": steps})


@cache
def grammar_of(drill_key: tuple[str, int, int]) -> Grammar:
    return domain_of(excerpt(*drill_key))


_READ: dict[tuple[int, tuple[str, ...]], tuple[object, ...]] = {}


def meaning(grammar: Grammar, texts: Sequence[str]) -> tuple[object, ...]:
    """What words mean when they are said in one go."""
    words = tuple(word for text in texts for word in text.split())
    key = (id(grammar), words)
    if key not in _READ:
        heard = [HeardWord(text=word, start_seconds=i, end_seconds=i + 1) for i, word in enumerate(words)]
        readings = read_words(heard, grammar)
        _READ[key] = meaning_of(readings[0]) if readings else ()
    return _READ[key]


def _place(rng: random.Random, name: str) -> tuple[str, int, int]:
    whole = drill_named(name)
    if whole.aeroplane is not None:
        return name, 0, len(whole.steps)
    with_calls = [i for i, step in enumerate(whole.steps) if step.flow is not None]
    first = rng.randrange(0, len(with_calls), MOST_FLOWS)
    last = min(len(with_calls), first + MOST_FLOWS) - 1
    return name, with_calls[first], with_calls[last] + 1


DEVICES = (
    "pauses", "filler", "repeat", "restart", "bare correction", "whole correction", "remark", "others", "mixed",
    "breath", "long pause", "freeze", "say again", "end", "mistake",
)  # fmt: skip
EVERYWHERE = ("pauses", "filler", "repeat", "restart", "remark", "others", "breath")
CHANCES = {
    "pauses": 0.75,
    "breath": 0.5,
    "mistake": 0.35,
    "remark": 0.3,
    "mixed": 0.08,
    "long pause": 0.08,
    "end": 0.06,
}


def _planned(
    seed: int, rng: random.Random, drills: Sequence[str] | None, devices: Sequence[str] | None
) -> Plan | None:
    names = drills or [name for name in builtin_drills() if name != "kelda-vor-approach"]
    key = _place(rng, rng.choice(names))
    drill, grammar = excerpt(*key), grammar_of(key)
    allowed = DEVICES if devices is None else devices
    chosen = [each for each in DEVICES if rng.random() < CHANCES.get(each, 0.2) and each in allowed]
    if drill.aeroplane is not None and "long pause" in chosen:
        chosen.remove("long pause")  # what is asked again for it moves the calls after it against the flight
    settings = Settings(
        listening=rng.choice(("half-duplex", "headset")),
        mode=rng.choice(("fly through", "fly through", "stop and correct")),
        input="student",
    )
    mutation = mutated(rng.choice(KINDS), drill, rng) if "mistake" in chosen else None
    if mutation is not None and drill.aeroplane is not None and mutation.kind not in SAFE_IN_FLIGHT:
        return None
    if mutation is None:
        chosen = [each for each in chosen if each != "mistake"]
        calls = [
            Said(step.step, call.call, _aloud(drill, call, rng), 0.0)
            for step, flow in _flows(drill)
            for call in flow.calls
            if call.need == "required"
        ]
        mutation = Mutation("right", drill.drill, tuple(calls), -1, (), "")
    writer = _Writer(drill, grammar, settings, mutation, rng, chosen)
    if not writer.write():
        return None
    verdicts = writer.verdicts()
    return Plan(
        seed, drill, grammar, settings, round(rng.uniform(0.6, 1.6), 2), writer.lines, writer.rights(), verdicts,
        tuple(each for each in DEVICES if each in writer.used),
        next(((s.step, s.call) for s in mutation.lines if s.before_step), None),
    )  # fmt: skip


def _flows(drill: Drill) -> Iterable[tuple[object, Flow]]:
    return [(step, step.flow) for step in drill.steps if step.flow is not None]


def _aloud(drill: Drill, call: Call, rng: random.Random) -> str:
    pattern = drill.pattern(call)
    return said_aloud(rng.choice((pattern.spoken(), pattern.brief())))


def units(text: str) -> list[str]:
    """The words of a text; letters that are spelled one after the other are one."""
    found: list[str] = []
    for word in text.split():
        spelled = len(word) == 1 and word.isupper()
        if spelled and found and all(len(each) == 1 and each.isupper() for each in found[-1].split()):
            found[-1] += f" {word}"
        else:
            found.append(word)
    return found


def is_value(unit: str) -> bool:
    return all(word in SAID_TWICE or word in ("point", "decimal", "plus") for word in normalise(unit))


class _Writer:
    """Writes the lines of one plan."""

    def __init__(
        self,
        drill: Drill,
        grammar: Grammar,
        settings: Settings,
        mutation: Mutation,
        rng: random.Random,
        chosen: list[str],
    ) -> None:
        self._drill, self._grammar, self._settings = drill, grammar, settings
        self._mutation, self._rng, self._chosen = mutation, rng, chosen
        self.lines: dict[str, tuple[Line, ...]] = {}
        self.used: set[str] = {"mistake"} if mutation.kind != "right" else set()
        self._corrected: set[tuple[str, str]] = set()

    def write(self) -> bool:
        """False where this can't be told so that it is decided."""
        rng = self._rng
        flows = _flows(self._drill)
        ends_in = rng.randrange(len(flows)) if "end" in self._chosen else -1
        for number, (step, flow) in enumerate(flows):
            own = [s for s in self._mutation.lines if s.step == step.step and not s.before_step]
            spoken = [line for said in own if (line := self._call(said, flow, first=said is own[0]))]
            if len(spoken) < len(own) or not self._apart(spoken, flow):
                return False
            spoken = self._with_orders(spoken, flow)
            self.lines[step.step] = tuple(spoken)
            if number == ends_in:
                # Before one of its calls: behind the last one the next step's cue might begin first, or not.
                at = rng.randrange(len(spoken))
                end = self._order("trainer end", rng.uniform(0.6, 1.2))
                self.lines[step.step] = (*spoken[:at], end)
                self.used.add("end")
                break
        for said in self._mutation.lines:
            if said.before_step and not self._early(said):
                return False
        return bool(self.lines)

    @property
    def _may_pause_long(self) -> bool:
        return (
            "long pause" in self._chosen and "long pause" not in self.used
        )  # one a session: what is asked is decided

    def verdicts(self) -> dict[tuple[str, str], tuple[str, bool]] | None:
        """What each call must come to, and whether corrected."""
        if "long pause" in self.used or "end" in self.used or "say again" in self.used:
            return None
        found = {
            (step.step, call.call): ("correct", (step.step, call.call) in self._corrected)
            for step, flow in _flows(self._drill)
            for call in flow.calls
            if call.need == "required"
        }
        for key, verdict in self._mutation.verdicts:
            found[key] = (verdict, False)
        return found

    def rights(self) -> dict[tuple[str, str], Line]:
        """What is said when the trainer has stopped and said it."""
        found = {}
        for step, flow in _flows(self._drill):
            for call in flow.calls:
                text = said_aloud(self._drill.pattern(call).spoken())
                how = self._paused(units(text), LONGEST_PAUSE) if "pauses" in self._chosen else (text,)
                found[step.step, call.call] = Line((step.step, call.call), 0.7, how, (text,), text)
        return found

    # One call.

    def _call(self, said: Said, flow: Flow, *, first: bool) -> Line | None:
        rng = self._rng
        call = next(each for each in flow.calls if each.call == said.call)
        is_mistake = any(key == (said.step, said.call) for key, _ in self._mutation.verdicts)
        is_late = is_mistake and self._mutation.kind == "late"
        window = call.window.within_seconds
        after = round(rng.uniform(0.4, 1.2), 1)
        if is_late:
            most = flow.give_up_seconds - 1.5
            if most < 2.7:
                return None
            after = round(window + rng.uniform(2.7, most), 1)
        slack = 9.0 if is_late else window - after - 0.7
        words = units(said.text)
        clean: Sounds = (said.text,)
        text = said.text
        before: Sounds = ()
        asks = flow.asks or flow.closing_question is not None
        correction = None
        if not is_mistake:
            correction = self._correction(call, said.text, flow)
        if correction is not None:
            how, text_said_cleanly, text = correction
            clean = (text_said_cleanly,)
            self._corrected.add((said.step, said.call))
        elif self._may_pause_long and not asks and not is_mistake and len(words) > 1 and rng.random() < 0.4:
            at = rng.randrange(1, len(words))
            pause = round(rng.uniform(LEAST_LONG_PAUSE, LONGEST_LONG_PAUSE), 1)
            how = clean = (" ".join(words[:at]), pause, " ".join(words[at:]))
            self.used.add("long pause")
        else:
            how = self._manner(words, slack)
        if (
            "remark" in self._chosen
            and slack > 4.0
            and (first or not asks)
            and not is_late
            and rng.random() < 0.4
        ):
            before = (self._no_call(rng.choice(REMARKS)), round(rng.uniform(*APART_SECONDS), 1))
            self.used.add("remark")
        elif (
            "others" in self._chosen
            and slack > 5.5
            and (first or not asks)
            and not is_late
            and rng.random() < 0.4
        ):
            before = (rng.choice(OTHERS), round(rng.uniform(*APART_SECONDS), 1))
            self.used.add("others")
        elif (
            "mixed" in self._chosen
            and "long pause" not in self.used
            and slack > 4.5
            and first
            and not is_late
        ):
            before = (rng.choice((*REMARKS, OTHERS[0])), round(rng.choice((0.0, 0.15, 0.4)), 2))
            self.used.add("mixed")
        return Line((said.step, said.call), after, how, clean, text, before)

    def _no_call(self, remark: str) -> str:
        """A remark; another one where it holds a call of the drill ('right then', where 'right' is an answer)."""
        pieces = [piece for reading in self._grammar.read(remark.split()) for piece in reading]
        return remark if all(piece.kind == "other" for piece in pieces) else REMARKS[0]

    def _correction(self, call: Call, right: str, flow: Flow) -> tuple[Sounds, str, str] | None:
        rng = self._rng
        kinds = [each for each in ("bare correction", "whole correction") if each in self._chosen]
        if not kinds or rng.random() < 0.5 or call.within:
            return None
        pattern = self._drill.pattern(call)
        slots = [
            slot
            for slot in slots_of(pattern.node)
            if slot.value is not None and slot.type not in OPPOSITES and near_values(slot)
        ]
        if not slots:
            return None
        slot = rng.choice(slots)
        wrong = said_aloud(pattern.with_values({slot.key: rng.choice(near_values(slot))}).spoken())
        kind = rng.choice(kinds)
        whole = said_aloud(pattern.spoken())
        value = said_aloud(slot_type(slot.type).words(slot.value or "", pattern.region))
        again = value if kind == "bare correction" else whole
        stops = self._settings.mode == "stop and correct"
        asks = flow.asks or flow.closing_question is not None
        pause = rng.choice(
            (0.0, round(rng.uniform(0.2, 0.5 if stops else 1.4 if asks else LONGEST_PAUSE), 1))
        )
        behind = rng.choice((0.0, round(rng.uniform(0.2, LONGEST_PAUSE), 1)))
        how = _joined((*self._inside(units(wrong)), pause, "correction", behind, *self._inside(units(again))))
        clean = f"{wrong} correction {again}"
        if len(meaning(self._grammar, (whole,))) != 1:
            return None
        self.used.add(kind)
        return how, clean, whole

    def _inside(self, words: list[str]) -> Sounds:
        """With a pause in it, perhaps."""
        return self._paused(words, LONGEST_PAUSE, most=1) if "pauses" in self._chosen else (" ".join(words),)

    def _manner(self, words: list[str], slack: float) -> Sounds:
        rng = self._rng
        said = list(words)
        if "restart" in self._chosen and rng.random() < 0.5:
            said = self._restarted(said, slack)
        elif "repeat" in self._chosen and rng.random() < 0.5:
            places = [i for i, word in enumerate(said) if not is_value(word) and " " not in word]
            if places:
                i = rng.choice(places)
                said.insert(i, said[i])
                self.used.add("repeat")
        if "filler" in self._chosen and rng.random() < 0.5:
            said.insert(rng.randrange(0 if 4 < slack < 9 else 1, len(said) + 1) if len(said) > 1 else 0, "uh")
            self.used.add("filler")
        if "pauses" not in self._chosen:
            return (" ".join(said),)
        # What comes before the graded onset must not use the window up.
        longest = min(LONGEST_PAUSE, max(0.2, slack / 4)) if said != words else LONGEST_PAUSE
        return self._paused(said, longest)

    def _restarted(self, words: list[str], slack: float) -> list[str]:
        """'turn right heading, uh, heading three three three'."""
        values = [i for i, word in enumerate(words) if is_value(word)]
        before_value = min(values, default=len(words))
        stops = [k for k in range(1, min(before_value, len(words) - 1) + 1) if k < len(words)]
        if not stops:
            return words
        k = self._rng.choice(stops)
        j = self._rng.randrange(max(0, k - 5), k)
        if j == 0 and slack < 5:
            return words
        self.used.add("restart")
        return [*words[:k], *(["uh"] if self._rng.random() < 0.6 else []), *words[j:]]

    def _paused(self, words: list[str], longest: float, *, most: int = 3) -> Sounds:
        """A few pauses between words."""
        places = range(1, len(words))
        chosen = sorted(self._rng.sample(places, min(len(places), self._rng.randint(0, most))))
        sounds: list[str | float] = []
        begin = 0
        for at in chosen:
            sounds += [" ".join(words[begin:at]), round(self._rng.uniform(0.2, longest), 1)]
            begin = at
            self.used.add("pauses")
        return (*sounds, " ".join(words[begin:]))

    # Lines one after the other.

    def _apart(self, lines: list[Line], flow: Flow) -> bool:
        """Set the gaps between calls so that two calls can't be taken for another one."""
        asks = flow.asks or flow.closing_question is not None
        for i in range(1, len(lines)):
            before, line = lines[i - 1], lines[i]
            told_apart = self._tells_apart(before.how, line.how) and self._tells_apart(
                before.clean, line.clean
            )
            long = "long pause" in self.used and (len(before.clean) > 1 or len(line.clean) > 1)
            mixed = bool(before.before) and before.before[-1] < APART_SECONDS[0]
            if long or mixed or not told_apart:
                if asks or line.before:
                    return False
                if line.after_seconds < LEAST_LONG_PAUSE:
                    window = next(c for c in flow.calls if c.call == line.what[1]).window.within_seconds
                    if window < 5:
                        return False
                    lines[i] = replace(line, after_seconds=LEAST_LONG_PAUSE)
            elif (
                "breath" in self._chosen
                and not line.before
                and line.after_seconds < 2
                and self._rng.random() < 0.6
            ):
                lines[i] = replace(line, after_seconds=self._rng.choice((0.0, 0.1, 0.25)))
                self.used.add("breath")
        return True

    def _tells_apart(self, one: Sounds, other: Sounds) -> bool:
        first = [each for each in one if isinstance(each, str)]
        then = [each for each in other if isinstance(each, str)]
        apart = (*meaning(self._grammar, first), *meaning(self._grammar, then))
        return meaning(self._grammar, (*first, *then)) == apart

    def _order(self, text: str, after: float, *, waits: bool = False) -> Line:
        how: Sounds = (text,)
        if "pauses" in self._chosen and self._rng.random() < 0.5:
            how = self._paused(text.split(), 1.5, most=1)
        return Line(("", text), round(after, 1), how, (text,), text, waits=waits)

    def _with_orders(self, lines: list[Line], flow: Flow) -> list[Line]:
        rng = self._rng
        if flow.asks or flow.closing_question is not None or len(lines) < 2:
            return lines
        at = rng.randrange(1, len(lines))
        if lines[at].after_seconds > 2.5 or (lines[at - 1].before and lines[at - 1].before[-1] < 0.8):
            return lines
        due = next(call for call in flow.calls if call.call == lines[at].what[1])
        if due.window.within_seconds < 8:
            return lines
        if "freeze" in self._chosen and rng.random() < 0.7:
            freeze = self._order("trainer freeze", LEAST_LONG_PAUSE)
            go_on = self._order("trainer continue", rng.uniform(3.0, 6.0))
            self.used.add("freeze")
            ready = replace(lines[at], after_seconds=1.0)
            return [*lines[:at], freeze, go_on, ready, *lines[at + 1 :]]
        if "say again" in self._chosen and rng.random() < 0.7:
            again = self._order("trainer say again", LEAST_LONG_PAUSE, waits=True)
            self.used.add("say again")
            ready = replace(lines[at], after_seconds=1.0)
            return [*lines[:at], again, ready, *lines[at + 1 :]]
        return lines

    def _early(self, said: Said) -> bool:
        """Said behind all of the step before."""
        steps = [step.step for step in self._drill.steps]
        earlier = [step for step in self.lines if steps.index(step) < steps.index(said.step)]
        if not earlier or "end" in self.used or not self.lines[earlier[-1]]:
            return False
        line = Line(
            (said.step, said.call), LEAST_LONG_PAUSE, self._inside(units(said.text)), (said.text,), said.text
        )
        self.lines[earlier[-1]] = (*self.lines[earlier[-1]], line)
        return True


def _joined(sounds: Sounds) -> Sounds:
    """Without pauses of no length."""
    found: list[str | float] = []
    for each in sounds:
        if isinstance(each, float) and each == 0.0:
            continue
        if isinstance(each, str) and found and isinstance(found[-1], str):
            found[-1] = f"{found[-1]} {each}"
        else:
            found.append(each)
    return tuple(found)
