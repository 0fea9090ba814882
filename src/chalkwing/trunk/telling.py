"""From what the rooms found to what a debrief says, in pilot units."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from chalkwing.debriefs import (
    ChannelReport,
    ElementReport,
    ExcursionReport,
    GroundReport,
    ManeuverReport,
    PointReport,
    Quantity,
    RecordingReport,
    StallSpeedReport,
    WindReport,
)
from chalkwing.dynamics.wind import wind_told
from chalkwing.find import Occurrence
from chalkwing.judge import (
    DayStallSpeed,
    ElementResult,
    GroundPlace,
    Judgement,
    PointResult,
    Value,
    day_stall_speeds,
)
from chalkwing.maneuvers import Definition
from chalkwing.motion import Motion
from chalkwing.recordings import Recording
from chalkwing.units import DEGREE, FOOT, KNOT, Floats

if TYPE_CHECKING:
    from chalkwing.airplane import AirplaneSheet
    from chalkwing.yardstick import Yardstick

_WIND_BLOCK = 300.0
"""Longest stretch [s] over which one row of wind is the mean."""
_WIND_HEIGHT = 1000.0 * FOOT
"""Largest change of altitude [m] within it."""
_WIND_SHORTEST = 60.0
_NEAR = 1.5
"""A recorded value stands beside a derived one only when it lies within this [s]."""


def recording_report(recording: Recording, shift: float, motions: Sequence[Motion] = ()) -> RecordingReport:
    """A recording as it was read, its channels with the noise fitted in ``motions``, and its notes."""
    sds: dict[str, float] = {}
    for motion in motions:
        sds = {**motion.channel_sds, **sds}
    return RecordingReport(
        source=recording.source,
        reader=recording.reader,
        start_utc=recording.start_utc.isoformat().replace("+00:00", "Z") if recording.start_utc else None,
        start_s=shift,
        duration_s=recording.duration,
        rows=recording.rows,
        sha256=recording.sha256,
        channels={
            name: ChannelReport(channel.origin, channel.rate, sds.get(name))
            for name, channel in recording.channels.items()
        },
        notes=tuple(str(note) for note in recording.notes),
    )


def wind_reports(motion: Motion, shift: float) -> list[WindReport]:
    """The mean wind over stretches of about five minutes, shorter where the airplane climbs or descends."""
    return [_wind_report(motion, shift, first, last) for first, last in _wind_stretches(motion)]


def _wind_stretches(motion: Motion) -> list[tuple[int, int]]:
    """First and last grid point of each stretch, looked at every 10 s."""
    step = max(1, round(10.0 / motion.interval))
    height = motion["geometric_altitude"]
    marks = list(range(0, len(motion.time), step))
    stretches, first = [], 0
    for mark in marks:
        lasted = motion.time[mark] - motion.time[first]
        climbed = abs(height[mark] - height[first])
        if lasted >= _WIND_BLOCK or (climbed > _WIND_HEIGHT and lasted >= _WIND_SHORTEST):
            stretches.append((first, mark))
            first = mark
    if not stretches or motion.end - motion.time[first] >= _WIND_SHORTEST:
        return [*stretches, (first, len(motion.time) - 1)]
    return [*stretches[:-1], (stretches[-1][0], len(motion.time) - 1)]


def _wind_report(motion: Motion, shift: float, first: int, last: int) -> WindReport:
    stretch = slice(first, last + 1)
    # The wind wanders slowly: its error over minutes is one error, so the mean's sd is the typical sd.
    comes_from, from_sd, speed, speed_sd = wind_told(
        float(np.mean(motion["wind_north"][stretch])),
        float(np.mean(motion["wind_east"][stretch])),
        float(np.mean(motion.sds["wind_north"][stretch])),
        float(np.mean(motion.sds["wind_east"][stretch])),
    )
    return WindReport(
        start_s=float(motion.time[first]) + shift,
        end_s=float(motion.time[last]) + shift,
        altitude_ft=float(np.mean(motion["altitude"][stretch])) / FOOT,
        from_deg_true=comes_from / DEGREE,
        from_deg_true_sd=from_sd / DEGREE,
        speed_kt=speed / KNOT,
        speed_kt_sd=speed_sd / KNOT,
    )


def stall_speed_reports(
    judgements: Sequence[Judgement], *, flight: int, sheet: AirplaneSheet | None, mass: float | None
) -> list[StallSpeedReport]:
    """The day's stall speed from the stalls and slow flight of one flight, one row for each configuration."""
    breaks = [each.break_speed for each in judgements if each.break_speed is not None]
    slow = [each.slow_speed for each in judgements if each.slow_speed is not None]
    found = day_stall_speeds(breaks, slow, sheet=sheet, mass=mass)
    return [_stall_speed_report(each, flight) for each in found]


def _stall_speed_report(day: DayStallSpeed, flight: int) -> StallSpeedReport:
    def knots(speed: float | None) -> float | None:
        return None if speed is None else speed / KNOT

    return StallSpeedReport(
        flight=flight,
        configuration=day.configuration,
        stalls=day.count,
        stall_speed_kcas=knots(day.value),
        stall_speed_kcas_sd=knots(day.sd),
        spread_kt=knots(day.spread),
        slowest_flown_kcas=knots(day.flown),
        slowest_flown_kcas_sd=knots(day.flown_sd),
        sheet_stall_speed_kcas=knots(day.sheet),
        difference_kt=knots(day.difference),
        difference_kt_sd=knots(day.difference_sd),
        at_mass_kg=day.mass,
        note=day.note,
    )


Samples = Mapping[str, tuple[Floats, Floats]]
"""Recorded times [s] and values [SI] by what a point calls the quantity."""


def recorded_samples(motion: Motion) -> Samples:
    """What the file itself holds of the quantities that points show."""
    found = {}
    for name, channels in _RAW_CHANNELS.items():
        kept = [channel for channel in channels if channel in motion.recording]
        if kept and motion.origins.get(name) == "measured":
            found[name] = motion.recording.samples(kept[0])
    return found


_RAW_CHANNELS: Mapping[str, tuple[str, ...]] = {
    "bank": ("bank",),
    "pitch": ("pitch",),
    "airspeed": ("indicated_airspeed", "calibrated_airspeed"),
    "altitude": ("pressure_altitude", "altimeter_altitude", "geometric_altitude"),
}
"""The first of them that was recorded is the one shown."""


def maneuver_report(
    occurrence: Occurrence,
    judgement: Judgement,
    definition: Definition,
    *,
    raw: Samples,
    shift: float,
    flight: int,
    stick: Yardstick | None = None,
) -> ManeuverReport:
    """One occurrence and its judgement, beside its plan, in the words and units of the contract."""
    return ManeuverReport(
        kind=occurrence.kind,
        title=definition.title,
        flight=flight,
        direction=occurrence.direction,
        start_s=occurrence.start + shift,
        end_s=occurrence.end + shift,
        start_s_sd=occurrence.start_sd,
        end_s_sd=occurrence.end_sd,
        probability=occurrence.probability,
        status=occurrence.status,
        flown_by=occurrence.flown_by,
        corrected=occurrence.corrected,
        points=tuple(
            replace(_point_report(point, occurrence, raw, shift), reference=_planned(point, judgement, stick))
            for point in judgement.points
        ),
        elements=tuple(_element_report(each) for each in (*judgement.elements, *judgement.facts)),
        reference=None if stick is None else stick.told(),
        reference_ground=tuple(_ground_report(each) for each in judgement.places),
        leading_facts=definition.leading_facts,
    )


def _ground_report(place: GroundPlace) -> GroundReport:
    def scaled(value: float | None, unit: float) -> float | None:
        return None if value is None else value / unit

    return GroundReport(
        what=place.what,
        halves=place.parts,
        latitude_deg=place.latitude / DEGREE,
        longitude_deg=place.longitude / DEGREE,
        place_ft_sd=place.sd / FOOT,
        origin="given" if place.given else "derived",
        direction_deg_true=scaled(place.azimuth, DEGREE),
        direction_deg_true_sd=scaled(place.azimuth_sd, DEGREE),
        length_ft=scaled(place.length, FOOT),
        elevation_ft=scaled(place.elevation, FOOT),
        elevation_ft_sd=scaled(place.elevation_sd, FOOT),
    )


def _planned(
    point: PointResult, judgement: Judgement, stick: Yardstick | None
) -> Mapping[str, float | str] | None:
    """The plan at this point; its altitudes count from the entry as flown."""
    if stick is None or not judgement.points:
        return None
    return stick.at(point.half, point.name, entry_altitude=judgement.points[0].altitude.value)


def _point_report(point: PointResult, occurrence: Occurrence, raw: Samples, shift: float) -> PointReport:
    time = point.time.value
    turn = -1.0 if occurrence.parts[point.half - 1].direction == "left" else 1.0

    def told(value: Value, unit: float, name: str, sign: float = 1.0) -> Quantity:
        recorded = _nearest(*raw[name], time) if name in raw else None
        shown = None if recorded is None else sign * recorded / unit
        return Quantity(value.value / unit, value.sd / unit, value.origin, value.kind, shown)

    return PointReport(
        half=point.half,
        name=point.name,
        title=point.title,
        heading_change_deg=point.heading_change.value / DEGREE,
        t_s=time + shift,
        t_s_sd=point.time.sd,
        bank_into_turn_deg=told(point.bank_into_turn, DEGREE, "bank", turn),
        pitch_deg=told(point.pitch, DEGREE, "pitch"),
        airspeed_kt=told(point.airspeed, KNOT, "airspeed"),
        altitude_ft=told(point.altitude, FOOT, "altitude"),
    )


def _nearest(times: Floats, values: Floats, time: float) -> float | None:
    """The recorded value nearest in time, if it is near."""
    if not len(times):
        return None
    k = int(np.argmin(np.abs(times - time)))
    return float(values[k]) if abs(times[k] - time) <= _NEAR else None


def _element_report(result: ElementResult) -> ElementReport:
    left = result.excursions
    return ElementReport(
        id=result.id,
        title=result.title,
        half=result.half,
        unit=result.unit,
        value=result.value,
        sd=result.sd,
        origin=result.origin,
        limit=result.limit,
        between=result.between,
        excursions=ExcursionReport(left.worst, left.count, left.outside, left.longest) if left else None,
        probability_met=result.probability_met,
        verdict=result.verdict,
        reason=result.reason,
        document=result.document,
        edition=result.edition,
        task=result.task,
        note=result.note,
    )
