"""What is reported without being asked, in which order, and what is read back. Data, with sources.

Wording is ours; items and orders are the publications'.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Radar = Literal["in radar contact", "not in radar contact"]
EstimateRule = Literal["AIM", "AIM, older editions", "North Atlantic"]
ReportOrder = Literal["AIM", "Navy", "ICAO"]
ReadbackRule = Literal["AIM", "ICAO"]


@dataclass(frozen=True, slots=True)
class Report:
    """A report that is due without request. `only_without_radar` is not due in radar contact."""

    name: str
    when: str
    source: str
    only_without_radar: bool = False


UNASKED_REPORTS = (
    Report("leaving altitude", "leaving an assigned altitude for a newly assigned one", "AIM 5-3-3a1(a)"),
    Report("altitude change on top", "an altitude change when VFR-on-top", "AIM 5-3-3a1(b)"),
    Report("slow climb or descent", "unable to climb or descend at 500 feet a minute", "AIM 5-3-3a1(c)"),
    Report("missed approach", "an approach was missed; ask for what comes next", "AIM 5-3-3a1(d)"),
    Report("airspeed change", "the average true airspeed has changed", "AIM 5-3-3a1(e)"),
    Report("reaching holding fix", "time and altitude on reaching a fix cleared to", "AIM 5-3-3a1(f)"),
    Report("leaving holding fix", "leaving an assigned holding fix", "AIM 5-3-3a1(g)"),
    Report("lost equipment", "a loss of navigation or communication capability", "AIM 5-3-3a1(h)"),
    Report("safety", "anything that touches the safety of the flight", "AIM 5-3-3a1(i)"),
    Report(
        "final approach fix",
        "leaving the final approach fix inbound",
        "AIM 5-3-3a2(a)",
        only_without_radar=True,
    ),
    Report(
        "corrected estimate", "an estimate turns out to be wrong", "AIM 5-3-3a2(b)", only_without_radar=True
    ),
)
"""AIM 5-3-3a, of a recent copy; its letters drift between editions. On a precision approach the fix is the
outer marker or what stands for it."""

CORRECTED_ESTIMATE_MINUTES: Mapping[EstimateRule, float] = MappingProxyType(
    {"AIM": 2.0, "AIM, older editions": 3.0, "North Atlantic": 3.0}
)
"""How far an estimate may be off: AIM 5-3-3a2(b), more than 2 minutes, and for the North Atlantic 3 or more;
3 in older editions, as CNATRA P-1204 has it."""

POSITION_REPORT: Mapping[ReportOrder, tuple[str, ...]] = MappingProxyType(
    {
        "AIM": (
            "identification",
            "position",
            "time",
            "altitude",
            "type of flight plan",
            "next position and estimate",
            "ensuing position",
            "remarks",
        ),
        "Navy": (
            "position",
            "time",
            "altitude",
            "next position",
            "time at next position",
            "ensuing position",
        ),
        "ICAO": (
            "identification",
            "position",
            "time",
            "altitude",
            "next position and estimate",
            "ensuing position",
        ),
    }
)
"""AIM 5-3-2d; the mnemonic P-T-A-P-T-P of CNATRA P-1204; ICAO Doc 4444 through a training text."""

NOT_SAID_TO_CENTERS_AND_APPROACH = frozenset({"type of flight plan"})
"""What AIM 5-3-2d leaves out of reports made straight to centers and approach control."""

NEVER_OMITTED = frozenset({"identification", "position", "time"})
"""What is never left out of an ICAO position report: Doc 4444 through a training text."""

READBACK_ITEMS: Mapping[ReadbackRule, tuple[str, ...]] = MappingProxyType(
    {
        "AIM": ("altitude", "vector", "runway assignment"),
        "ICAO": (
            "route clearance",
            "enter runway",
            "land",
            "take off",
            "hold short",
            "cross runway",
            "taxi on runway",
            "backtrack",
            "runway in use",
            "altimeter setting",
            "transponder code",
            "level",
            "heading",
            "speed",
            "transition level",
        ),
    }
)
"""AIM 4-4-7b, where it is advice ('should'); Doc 4444 4.5.7.5.1 as reprinted, where it is a rule."""

READBACK_ADVICE = (
    "the aircraft identification is in every readback",
    "the sequence is the one in which it was given",
    "charted altitudes are not read back unless the controller states them",
    "the first readback of a taxi, departure or landing clearance has the runway, with left, right or center",
)
"""AIM 4-4-7b, in our words."""

HOLDING_CLEARANCE = (
    "direction of holding",
    "fix",
    "radial, course or airway",
    "leg length",
    "left turns",
    "expect further clearance time",
)
"""AIM 5-3-8i. The leg length is said for DME or RNAV, or when asked; turns only where they are left."""


FINAL_APPROACH_FIX_REPORT = (
    "facility",
    "identification",
    "final approach fix",
    "gear down",
    "kind of landing",
)
"""CNATRA P-801 ch. 7, in its order; that gear down is reported by the fix at the latest: OPNAV 3710.7, through
CNATRA P-1204."""

PROCEDURE_TURN_INBOUND_REPORT = ("facility", "identification", "procedure turn inbound")
"""CNATRA P-801, in its order."""

CLEARANCE_LIMIT_REPORT = ("time", "altitude")
"""What is said on reaching a clearance limit; leaving it is reported, too: AIM 5-3-8f."""


def reports_due(radar: Radar) -> tuple[Report, ...]:
    """The reports that are due without request, in the order of AIM 5-3-3a."""
    return tuple(r for r in UNASKED_REPORTS if radar == "not in radar contact" or not r.only_without_radar)


def position_report(order: ReportOrder, to_center_or_approach: bool = False) -> tuple[str, ...]:
    """The items of a position report, in order."""
    items = POSITION_REPORT[order]
    left_out = NOT_SAID_TO_CENTERS_AND_APPROACH if to_center_or_approach else frozenset[str]()
    return tuple(item for item in items if item not in left_out)


def airspeed_change_knots(filed_true_airspeed_knots: float) -> float:
    """From which change of average true airspeed a report is due: 5 per cent or 10 knots, the greater.

    AIM 5-3-3a1(e). Raises ValueError unless the airspeed is positive.
    """
    if not filed_true_airspeed_knots > 0.0:
        raise ValueError(f"an airspeed is filed as more than 0 knots, not {filed_true_airspeed_knots}")
    return max(10.0, 0.05 * filed_true_airspeed_knots)


def is_airspeed_report_due(filed_true_airspeed_knots: float, true_airspeed_knots: float) -> bool:
    """Whether the average true airspeed has changed by so much that it is reported."""
    change = abs(true_airspeed_knots - filed_true_airspeed_knots)
    return change >= airspeed_change_knots(filed_true_airspeed_knots)


def is_corrected_estimate_due(error_minutes: float, rule: EstimateRule = "AIM") -> bool:
    """Whether an estimate is so far off, early or late, that it is corrected.

    More than the minutes of the rule; on the North Atlantic as many already.
    """
    limit = CORRECTED_ESTIMATE_MINUTES[rule]
    return abs(error_minutes) >= limit if rule == "North Atlantic" else abs(error_minutes) > limit


def missed_approach_report(told_by_control: bool = False) -> tuple[str, ...]:
    """The items of the report of a missed approach: the reason only where control did not order it.

    AIM 5-5-5a2.
    """
    return ("missed approach", "request") if told_by_control else ("missed approach", "reason", "request")
