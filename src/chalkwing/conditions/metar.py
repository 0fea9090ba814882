"""Conditions from a pasted METAR.

The code form is WMO No. 306, FM 15, with the national practices of the United States. The report is read by
the ``metar`` package, chosen because it refuses groups that it does not know (docs/decisions/0013).
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from chalkwing.conditions.conditions import Conditions, WindLevel
from chalkwing.errors import UnreadableReport
from chalkwing.units import DEGREE, FOOT, HECTOPASCAL, KNOT, STANDARD_SEA_LEVEL_PRESSURE, ZERO_CELSIUS

if TYPE_CHECKING:
    from metar.Metar import Metar

_VANE_HEIGHT = 10.0
"""Reported wind is measured 10 m above the field."""
_CEILING_COVERS = ("BKN", "OVC", "VV")
_NEXT = "Paste one whole METAR, from the station's four letters on; a TAF will not do."


def from_metar(
    text: str,
    *,
    elevation: float,
    magnetic_variation: float = 0.0,
    winds: tuple[WindLevel, ...] = (),
    terrain_elevation: float | None = None,
    surface_wind: bool = True,
) -> Conditions:
    """The conditions that a METAR reports.

    Parameters
    ----------
    text : str
        One report, with or without ``METAR`` or ``SPECI`` before it.
    elevation : float
        Of the station, above mean sea level [m]; the report does not hold it.
    magnetic_variation, terrain_elevation
        See :class:`Conditions`; the report does not hold them either.
    winds : tuple of WindLevel
        Winds aloft [m, rad, m/s], added to the reported surface wind.
    surface_wind : bool
        Whether the reported wind counts; if not, ``winds`` are all there is.

    Returns
    -------
    Conditions
        ``notes`` says what the report lacks and what stands in for it.

    Raises
    ------
    UnreadableReport
        It is no METAR, or a group in it cannot be read.
    OutsideModel
        A reported value is impossible.

    >>> day = from_metar("KXYZ 141453Z 27015KT 10SM BKN045 18/07 A3012", elevation=300.0)
    >>> round(day.altimeter_setting / 100), round(day.ceiling)
    (1020, 1372)
    """
    report = _parsed(text)
    notes: list[str] = []
    if surface_wind:
        reported = WindLevel(elevation + _VANE_HEIGHT, *_wind(report, notes))
        notes += _aloft(reported.wind_speed, winds)
        winds = (reported, *winds)
    return Conditions.with_temperature(
        temperature=_temperature(report, notes, elevation),
        elevation=elevation,
        altimeter_setting=_setting(report, notes),
        winds=winds,
        magnetic_variation=magnetic_variation,
    ).completed(
        terrain_elevation=terrain_elevation,
        ceiling=_ceiling(report, notes),
        visibility=_visibility(report),
        notes=(_headline(report), *notes),
    )


def _parsed(text: str) -> Metar:
    from metar.Metar import Metar, ParserError

    # "=" ends a bulletin, "$" asks for maintenance: neither says anything of the weather.
    report = re.sub(r"[\s=$]+$", "", " ".join(text.split()).upper())
    if re.match(r"TAF\b", report):
        raise UnreadableReport("this is a TAF, a forecast.", where="METAR", next_step=_NEXT)
    try:
        found = Metar(report, strict=True)
    except ParserError as error:
        said = str(error).splitlines()[-1].strip()
        raise UnreadableReport(f"cannot be read: {said}.", where="METAR", next_step=_NEXT) from error
    if re.search(r"\bNIL\b", report):
        raise UnreadableReport("the station reported nothing (NIL).", where="METAR", next_step=_NEXT)
    if not found.station_id:
        raise UnreadableReport(f"names no station: {report!r}.", where="METAR", next_step=_NEXT)
    return found


def _headline(report: Metar) -> str:
    when = f" observed on day {report.time:%d} at {report.time:%H%M} UTC" if report.time else ""
    return f"From the METAR of {report.station_id}{when}."


def _wind(report: Metar, notes: list[str]) -> tuple[float, float]:
    """Direction it comes from, true [rad], and mean speed [m/s]; what a mean wind cannot say is noted."""
    if report.wind_speed is None:
        notes.append("The report gives no wind: calm stands in.")
        return 0.0, 0.0
    speed = float(report.wind_speed.value("KT")) * KNOT
    if report.wind_gust is not None:
        notes.append(f"Gusts to {report.wind_gust.value('KT'):.0f} kt; the mean wind is used.")
    if report.wind_dir is None:
        if speed > 0.0:
            notes.append(f"Wind variable at {report.wind_speed.value('KT'):.0f} kt: taken as calm.")
        return 0.0, 0.0
    return float(report.wind_dir.value()) * DEGREE, speed


def _aloft(surface_speed: float, winds: tuple[WindLevel, ...]) -> tuple[str, ...]:
    if winds or surface_speed == 0.0:
        return ()
    return ("The surface wind stands in for the wind aloft, which is usually stronger and turned.",)


def _temperature(report: Metar, notes: list[str], elevation: float) -> float:
    if report.temp is None:
        notes.append("The report gives no temperature: the standard one stands in.")
        return 288.15 - 0.0065 * elevation
    return float(report.temp.value("C")) + ZERO_CELSIUS


def _setting(report: Metar, notes: list[str]) -> float:
    if report.press is None:
        notes.append("The report gives no altimeter setting: the standard one stands in.")
        return STANDARD_SEA_LEVEL_PRESSURE
    return float(report.press.value("HPA")) * HECTOPASCAL


def _ceiling(report: Metar, notes: list[str]) -> float | None:
    """Height above the field [m] of the lowest broken, overcast or obscured layer."""
    covering = [layer[1] for layer in report.sky if layer[0] in _CEILING_COVERS]
    if any(base is None for base in covering):
        notes.append("A broken or overcast layer is reported without its height.")
    bases = [float(base.value("FT")) for base in covering if base is not None]
    return min(bases) * FOOT if bases else None


def _visibility(report: Metar) -> float | None:
    return None if report.vis is None else float(report.vis.value("M"))
