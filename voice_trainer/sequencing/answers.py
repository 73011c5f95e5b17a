"""What the trainer says of its own accord, as text for a voice: answers, corrections, calls to be read along."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from voice_trainer.drills.model import Call, Drill
from voice_trainer.journal.events import Settled
from voice_trainer.phraseology.opposites import TYPES as OPPOSITES
from voice_trainer.phraseology.slots import Region, slot_type
from voice_trainer.phraseology.speaking import read_out, said_aloud, spoken_text

SAY_AGAIN = "Say again."

NOTHING_MISSED = "Nothing so far."
NOTHING_TO_DISPUTE = "Nothing was held against you there."
NO_NEXT_EVENT = "There is no next event to fly to."
NO_WAY_BACK = "There is nothing to go back to."
GOING_ON = "Going on."
OTHERS_TALK = "There is other talk where you are. A headset helps, or push to talk."
DEVICE_IS_BACK = "The audio device is back. Going on."

MOST_TOLD = 4
"""How many faults 'what did I miss' tells: the latest."""

PANEL_QUESTIONS = (
    "say heading",
    "say altitude",
    "say airspeed",
    "say position",
    "say distance",
    "say radial",
    "say wind",
    "say needle",
    "say time",
)
"""What the aeroplane can be asked, in words of the trade."""

NO_SIGNAL = "No signal. Flag off."

FIXED_LINES = (
    SAY_AGAIN,
    NOTHING_MISSED,
    NOTHING_TO_DISPUTE,
    NO_NEXT_EVENT,
    NO_WAY_BACK,
    GOING_ON,
    DEVICE_IS_BACK,
    OTHERS_TALK,
)
"""What the instructor may say in any drill."""


def was_asleep(trainer_name: str) -> str:
    """After the computer slept: the session waits until it is asked to go on."""
    return f"This computer was asleep. {standing_still(trainer_name)}"


def standing_still(trainer_name: str) -> str:
    """To who says a call while the session is frozen: it does not count, and why."""
    return f"We stand still. Say: {trainer_name}, continue."


def say_again_as(wording: str) -> str:
    """The question for a call said in own words; `wording` is how it goes, without its values."""
    words = [word for word in wording.split() if word.isalpha()]
    return f"{SAY_AGAIN} In these words: {said_aloud(words)}."


def values_to_put_right(drill: Drill, call: Call) -> dict[str, str]:
    """What the instructor does in place of a call, as values.

    It turns the shorter way: the student's aeroplane may be anywhere by now.
    """
    return {key: value for key, value in drill.pattern(call).expected.items() if key not in OPPOSITES}


def stepping_in(
    event: str, values: Mapping[str, str], region: Region
) -> tuple[str, str, dict[str, str]] | None:
    """What the instructor says and does where the flight leaves a limit: the words, the verb, and its values."""
    match event:
        case "below lowest":
            altitude = values["altitude"]
            text = f"My aeroplane. Not below {{altitude: {altitude}}} here. Climbing back."
            return spoken_text(text, region), "altitude", {"altitude": altitude}
        case "outside area":
            return (
                "My aeroplane. You have left the area. Turning back to the fix.",
                "direct",
                {"fix": values["fix"]},
            )
        case _:
            return None


def to_read_along(drill: Drill, call: Call) -> str:
    """The words of a call before the student says it."""
    return f"Read along: {said_aloud(drill.pattern(call).spoken())}."


def correction(settled: Iterable[Settled]) -> str:
    """What was wrong with some calls, why, and the right calls."""
    return " ".join(
        ["Stop.", *(f"{_capital(s.call)}: {read_out(s.reason)} Say: {_right(s)}." for s in settled)]
    )


def what_was_missed(verdicts: Iterable[Settled]) -> str:
    """The latest faults, short."""
    faults = [v for v in verdicts if v.verdict in ("missed", "wrong value", "incomplete", "unclear")]
    if not faults:
        return NOTHING_MISSED
    more = f"{_capital(read_out(str(len(faults))))} so far; the last:" if len(faults) > MOST_TOLD else ""
    told = [
        f"{_capital(v.step)}, {v.call}: {'wrong' if v.verdict == 'wrong value' else v.verdict}; {_right(v)}."
        for v in faults[-MOST_TOLD:]
    ]
    return " ".join([more, *told] if more else told)


def panel_answer(question: str, panel: Mapping[str, str], region: Region) -> str:
    """What the instruments say to one of `PANEL_QUESTIONS`."""

    def words(kind: str, value: str) -> str:
        of = slot_type(kind)
        return said_aloud(of.words(of.canonical(value), region))

    match question:
        case "say heading":
            return f"Heading {words('heading', panel['heading'])}."
        case "say altitude":
            return f"Altitude {words('altitude', panel['altitude'])}."
        case "say airspeed":
            return f"Airspeed {words('speed', panel['speed'])}."
        case "say wind":
            wind = panel["wind"]
            return "Wind calm." if wind == "calm" else f"Wind {words('wind', wind)}."
        case "say time":
            clock = panel["clock"]
            return "Clock stopped." if clock == "stopped" else f"Clock {words('duration', clock)}."
        case _ if panel["flag"] == "OFF":
            return NO_SIGNAL
        case "say distance":
            return f"{_capital(read_out(panel['distance']))} miles."
        case "say radial":
            return f"Radial {words('radial', panel['radial'])}."
        case "say needle":
            return f"Needle {_needle(panel['needle'])}. Flag {panel['flag'].lower()}."
        case _:
            where = f"Radial {words('radial', panel['radial'])}, {read_out(panel['distance'])} miles."
            return f"{where} Flag {panel['flag'].lower()}."


def _needle(shown: str) -> str:
    """'3 left' is in degrees; dots and miles say so themselves."""
    number, _, rest = shown.partition(" ")
    if not number[0].isdecimal():
        return shown
    unit = "" if rest.startswith(("dots", "miles")) else "degree " if number == "1" else "degrees "
    return f"{read_out(number)} {unit}{rest}"


def _right(settled: Settled) -> str:
    return said_aloud(settled.expected.split())


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
