"""The navaids of a drill as the flight knows them."""

from __future__ import annotations

from voice_trainer.drills.model import Drill
from voice_trainer.flight.navaids import Navaid


def navaids_of(drill: Drill) -> tuple[Navaid, ...]:
    """The navaids and waypoints of a drill; its station, a VOR at the origin, comes first."""
    station = drill.station
    first = (
        () if station is None else (Navaid(station.ident, name=station.name, frequency=station.frequency),)
    )
    return first + tuple(
        Navaid(
            each.ident,
            each.east_nm,
            each.north_nm,
            kind=each.kind,
            name=each.name,
            frequency=each.frequency,
            front_course_degrees=each.course_degrees if each.kind in ("localizer", "ils") else None,
            threshold_distance_nm=each.threshold_distance_nm,
            glidepath_degrees=each.glidepath_degrees if each.kind == "ils" else None,
            threshold_elevation_feet=each.threshold_elevation_feet,
            full_scale_nm=each.full_scale_nm,
        )
        for each in drill.navaids
    )
