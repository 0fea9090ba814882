"""Layouts of our own invention, each writing the known flight in another way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from tests.recordings.delimited.flight import (
    Flight,
    celsius,
    degrees,
    feet,
    fpm,
    knots,
    rpm,
    stamps,
    table,
    text,
)

from chalkwing.units import STANDARD_GRAVITY, Floats

POSITION = {"latitude": 2e-8, "longitude": 3e-8}
GROUND = {"ground_speed": 0.06, "track": 0.002}
AIR = {"indicated_airspeed": 0.06, "pressure_altitude": 0.2, "vertical_speed": 0.02}
ATTITUDE = {"bank": 0.002, "pitch": 0.002}


@dataclass(frozen=True)
class Layout:
    """How to write the flight, which channels must come back and how close, and what must be noted."""

    name: str
    build: Callable[[Flight], str | bytes]
    expect: dict[str, float]
    interval: float = 1.0
    utc: bool = True
    """Whether the absolute time can be known from the log."""
    late: float = 1e-3
    """Largest error of a row's time [s]."""
    notes: tuple[str, ...] = ()
    unsure: frozenset[str] = field(default=frozenset())
    where: tuple[float, float] = (47.2, 8.3)


def latlon(f: Flight) -> dict[str, list[str]]:
    return {"lat": text(degrees(f.latitude), 7), "lon": text(degrees(f.longitude), 7)}


def english(f: Flight, *, roll_sign: float = 1.0) -> dict[str, list[str]]:
    return {
        "UTC": stamps(f.time, "%Y-%m-%dT%H:%M:%SZ"),
        "Latitude": text(degrees(f.latitude), 7),
        "Longitude": text(degrees(f.longitude), 7),
        "GPS Altitude (ft)": text(feet(f.geometric_altitude), 1),
        "Pressure Altitude (ft)": text(feet(f.pressure_altitude), 1),
        "Ground Speed (kt)": text(knots(f.ground_speed), 1),
        "Track (deg true)": text(degrees(f.track), 1),
        "IAS (kt)": text(knots(f.indicated_airspeed), 1),
        "VSI (fpm)": text(fpm(f.vertical_speed), 0),
        "Roll (deg)": text(roll_sign * degrees(f.bank), 2),
        "Pitch (deg)": text(degrees(f.pitch), 2),
        "Mag Heading (deg)": text(degrees(f.heading_magnetic), 1),
        "Normal G": text(f.load_factor, 3),
        "OAT (C)": text(celsius(f.outside_air_temperature), 1),
        "RPM": text(rpm(f.engine_speed), 0),
    }


ENGLISH = {
    **POSITION,
    **GROUND,
    **AIR,
    **ATTITUDE,
    "geometric_altitude": 0.05,
    "heading_magnetic": 0.002,
    "load_factor": 0.001,
    "outside_air_temperature": 0.06,
    "engine_speed": 0.06,
}


def plain(f: Flight) -> str:
    return table(english(f))


def preamble_and_units(f: Flight) -> str:
    columns = {
        "Lcl Date": stamps(f.time, "%Y-%m-%d", shift=-5 * 3600),
        " Lcl Time": stamps(f.time, "%H:%M:%S", shift=-5 * 3600),
        " UTCOfst": ["-05:00"] * len(f),
        " Latitude": text(degrees(f.latitude), 7),
        " Longitude": text(degrees(f.longitude), 7),
        " AltB": text(feet(f.pressure_altitude), 1),
        " BaroA": ["29.92"] * len(f),
        " AltMSL": text(feet(f.geometric_altitude), 1),
        " OAT": text(celsius(f.outside_air_temperature), 1),
        " IAS": text(knots(f.indicated_airspeed), 2),
        " GndSpd": text(knots(f.ground_speed), 2),
        " VSpd": text(fpm(f.vertical_speed), 2),
        " Pitch": text(degrees(f.pitch), 2),
        " Roll": text(degrees(f.bank), 2),
        " NormAc": text(f.load_factor - 1.0, 3),
        " HDG": text(degrees(f.heading_magnetic), 1),
        " TRK": text(degrees(f.track), 1),
        " MagVar": ["4.0"] * len(f),
    }
    units = [
        "yyyy-mm-dd",
        "hh:mm:ss",
        "hh:mm",
        "degrees",
        "degrees",
        "ft Baro",
        "inch",
        "ft msl",
        "deg C",
        "kt",
        "kt",
        "fpm",
        "deg",
        "deg",
        "G",
        "deg",
        "deg",
        "deg",
    ]
    preamble = '#airframe="school trainer",unit="42",version=1.0\n'
    return table(columns, units=["#" + units[0], *units[1:]], preamble=preamble)


def german(f: Flight) -> bytes:
    columns = {
        "Datum": stamps(f.time, "%d.%m.%Y"),
        "Uhrzeit (UTC)": stamps(f.time, "%H:%M:%S"),
        "Breite": text(degrees(f.latitude), 7, comma=True),
        "Länge": text(degrees(f.longitude), 7, comma=True),
        "GPS-Höhe [m]": text(f.geometric_altitude, 1, comma=True),
        "Druckhöhe [m]": text(f.pressure_altitude, 1, comma=True),
        "Grundgeschwindigkeit [km/h]": text(f.ground_speed * 3.6, 1, comma=True),
        "Kurs über Grund [°]": text(degrees(f.track), 1, comma=True),
        "Fahrt [km/h]": text(f.indicated_airspeed * 3.6, 1, comma=True),
        "Steigen [m/s]": text(f.vertical_speed, 2, comma=True),
        "Querneigung [°]": text(degrees(f.bank), 1, comma=True),
        "Längsneigung [°]": text(degrees(f.pitch), 1, comma=True),
        "Steuerkurs mw [°]": text(degrees(f.heading_magnetic), 1, comma=True),
        "Lastvielfaches": text(f.load_factor, 2, comma=True),
        "Außentemperatur [°C]": text(celsius(f.outside_air_temperature), 1, comma=True),
        "Drehzahl [1/min]": text(rpm(f.engine_speed), 0),
    }
    return (
        table(columns, mark=";", preamble="Flugschreiber Muster\r\nPlatz;Musterfeld\r\n\r\n")
        .replace("\n", "\r\n")
        .encode("latin-1")
    )


def french(f: Flight) -> bytes:
    columns = {
        "Heure": stamps(f.time, "%d/%m/%Y %H:%M:%S"),
        "Latitude": text(degrees(f.latitude), 7, comma=True),
        "Longitude": text(degrees(f.longitude), 7, comma=True),
        "Altitude pression (pieds)": text(feet(f.pressure_altitude), 1, comma=True),
        "Vitesse sol (noeuds)": text(knots(f.ground_speed), 1, comma=True),
        "Route": text(degrees(f.track), 1, comma=True),
        "Vitesse indiquée (noeuds)": text(knots(f.indicated_airspeed), 1, comma=True),
        "Vitesse verticale (ft/min)": text(fpm(f.vertical_speed), 0, comma=True),
        "Roulis": text(degrees(f.bank), 2, comma=True),
        "Assiette": text(degrees(f.pitch), 2, comma=True),
        "Cap magnétique": text(degrees(f.heading_magnetic), 1, comma=True),
        "Facteur de charge": text(f.load_factor, 3, comma=True),
    }
    return ("\ufeff" + table(columns, mark="\t")).encode("utf-16-le")


def spanish(f: Flight) -> str:
    columns = {
        "Fecha": stamps(f.time, "%d-%m-%Y"),
        "Hora UTC": stamps(f.time, "%H:%M:%S"),
        "Latitud": text(degrees(f.latitude), 7),
        "Longitud": text(degrees(f.longitude), 7),
        "Altitud GPS (m)": text(f.geometric_altitude, 2),
        "Velocidad suelo (kt)": text(knots(f.ground_speed), 1),
        "Derrota (º)": text(degrees(f.track), 1),
        "Velocidad indicada (kt)": text(knots(f.indicated_airspeed), 1),
        "Velocidad vertical (m/s)": text(f.vertical_speed, 2),
        "Alabeo (º)": text(degrees(f.bank), 2),
        "Cabeceo (º)": text(degrees(f.pitch), 2),
        "Rumbo magnético (º)": text(degrees(f.heading_magnetic), 1),
    }
    return "\ufeff" + table(columns, mark="|")


def blanks(f: Flight) -> str:
    head = "% recorder of the house\n% date time lat lon alt_m gs_mps trk_deg\n"
    rows = zip(
        stamps(f.time, "%Y-%m-%d   %H:%M:%S"),
        text(degrees(f.latitude), 7),
        text(degrees(f.longitude), 7),
        text(f.geometric_altitude, 1),
        text(f.ground_speed, 2),
        text(degrees(f.track), 1),
        strict=True,
    )
    return head + "\n".join("   ".join(row) for row in rows) + "\n"


def radians_and_si(f: Flight) -> str:
    return table(
        {
            "t": text(f.time, 2),
            "lat_rad": text(f.latitude, 10),
            "lon_rad": text(f.longitude, 10),
            "alt_m": text(f.geometric_altitude, 2),
            "vn": text(f.velocity_north, 3),
            "ve": text(f.velocity_east, 3),
            "vd": text(-f.vertical_speed, 3),
            "phi": text(f.bank, 5),
            "theta": text(f.pitch, 5),
            "psi": text(f.heading_true, 5),
            "nz": text(-f.load_factor * STANDARD_GRAVITY, 3),
            "tas": text(f.true_airspeed, 3),
        }
    )


def left_roll(f: Flight) -> str:
    return table(english(f, roll_sign=-1.0))


def roll_to_360(f: Flight) -> str:
    columns = english(f)
    columns["Roll (deg)"] = text(np.mod(degrees(f.bank), 360.0), 2)
    return table(columns)


def hemispheres(f: Flight) -> str:
    def dm(values: Floats, letters: str) -> list[str]:
        size = np.abs(degrees(values))
        return [
            f"{letters[0] if v >= 0 else letters[1]}{int(s):02d} {60 * (s - int(s)):.5f}"
            for v, s in zip(values, size, strict=True)
        ]

    return table(
        {
            "Time": stamps(f.time, "%m/%d/%Y %I:%M:%S %p"),
            "Latitude": dm(f.latitude, "NS"),
            "Longitude": dm(f.longitude, "EW"),
            "Speed (mph)": text(f.ground_speed * 3600 / 1609.344, 1),
            "Course": text(degrees(f.track), 1),
            "Altitude (ft)": text(feet(f.geometric_altitude), 0),
        }
    )


def receiver(f: Flight) -> str:
    """The fields of satellite sentences, put into columns."""

    def ddmm(values: Floats) -> list[str]:
        size = np.abs(degrees(values))
        return [f"{int(s) * 100 + 60 * (s - int(s)):.5f}" for s in size]

    return table(
        {
            "date": stamps(f.time, "%d%m%y"),
            "utc": stamps(f.time, "%H%M%S.00"),
            "lat": ddmm(f.latitude),
            "ns": ["N" if v >= 0 else "S" for v in f.latitude],
            "lon": ddmm(f.longitude),
            "ew": ["E" if v >= 0 else "W" for v in f.longitude],
            "sog": text(knots(f.ground_speed), 2),
            "cog": text(degrees(f.track), 2),
            "alt msl": text(f.geometric_altitude, 1),
        },
        units=["", "", "", "", "", "", "kn", "deg", "m"],
    )


def integers(f: Flight) -> str:
    return table(
        {
            "time_us": [str(round(81_000_000 + 1e6 * t)) for t in f.time],
            "lat": [str(round(v * 1e7)) for v in degrees(f.latitude)],
            "lon": [str(round(v * 1e7)) for v in degrees(f.longitude)],
            "gps_alt_mm": [str(round(v * 1e3)) for v in f.geometric_altitude],
            "vel_n_cm/s": [str(round(v * 1e2)) for v in f.velocity_north],
            "vel_e_cm/s": [str(round(v * 1e2)) for v in f.velocity_east],
        }
    )


def epoch_ms(f: Flight) -> str:
    start = 1757773200.0
    return table(
        {
            "timestamp": [str(round(1e3 * (start + t))) for t in f.time],
            **latlon(f),
            "altitude": text(f.geometric_altitude, 1),
            "speed": text(f.ground_speed, 2),
            "bearing": text(degrees(f.track), 1),
        }
    )


def satellite_held(f: Flight) -> str:
    """Eight rows a second, satellite channels once a second."""
    columns = english(f)
    for name in ("Latitude", "Longitude", "GPS Altitude (ft)", "Ground Speed (kt)", "Track (deg true)"):
        columns[name] = [columns[name][8 * (k // 8)] for k in range(len(f))]
    return table(columns)


def time_of_day_over_midnight(f: Flight) -> str:
    return table(
        {
            "Time": stamps(f.time, "%H:%M:%S", shift=9 * 3600 + 35 * 60),
            **latlon(f),
            "GS kt": text(knots(f.ground_speed), 1),
        }
    )


def seconds_of_day(f: Flight) -> str:
    start = 23 * 3600 + 55 * 60
    return table(
        {
            "utc_s_of_day": text(np.mod(start + f.time, 86400), 1),
            **latlon(f),
            "gs_kt": text(knots(f.ground_speed), 1),
            "roll_deg": text(degrees(f.bank), 2),
        }
    )


def meters_called_feet(f: Flight) -> str:
    columns = english(f)
    columns["Pressure Altitude (ft)"] = text(f.pressure_altitude, 1)
    del columns["GPS Altitude (ft)"]
    return table(columns)


def no_units(f: Flight) -> str:
    """Metric values under names that say nothing of units."""
    return table(
        {
            "time": stamps(f.time, "%Y-%m-%dT%H:%M:%SZ"),
            **latlon(f),
            "gs": text(f.ground_speed * 3.6, 1),
            "track": text(degrees(f.track), 1),
            "ias": text(f.indicated_airspeed * 3.6, 1),
            "press_alt": text(f.pressure_altitude, 1),
            "vario": text(f.vertical_speed, 2),
            "bank": text(f.bank, 4),
            "pitch": text(f.pitch, 4),
        }
    )


def magnetic_track(f: Flight) -> str:
    columns = english(f)
    columns["Track (deg mag)"] = text(np.mod(degrees(f.track) - 4.0, 360.0), 1)
    del columns["Track (deg true)"]
    columns["Mag Var (deg)"] = ["4.0"] * len(f)
    return table(columns)


def west_positive(f: Flight) -> str:
    columns = english(f)
    columns["Longitude"] = text(-degrees(f.longitude), 7)
    return table(columns)


def kelvin_and_fahrenheit(f: Flight) -> str:
    columns = english(f)
    del columns["OAT (C)"]
    columns["OAT"] = text(f.outside_air_temperature * 1.8 - 459.67, 1)
    columns["Static pressure"] = text(1013.25 * (1 - 2.25577e-5 * f.pressure_altitude) ** 5.25588, 2)
    columns["QNH"] = ["30.05"] * len(f)
    return table(columns)


def quoted(f: Flight) -> str:
    columns = {f'"{name}"': [f'"{cell}"' for cell in cells] for name, cells in english(f).items()}
    return table(columns)


def quoted_decimal_commas(f: Flight) -> str:
    columns = {name: [f'"{cell.replace(".", ",")}"' for cell in cells] for name, cells in english(f).items()}
    return table(columns)


def messy(f: Flight) -> str:
    """Trailing separators, comments, blank lines, a repeated header, short and long rows, a footer."""
    lines = plain(f).split("\n")
    body = [line + ",," for line in lines[1:-1]]
    body.insert(100, "")
    body.insert(200, "# marker: student has control")
    body.insert(300, lines[0])
    body[400] = ",".join(body[400].split(",")[:9])
    body[450] += ",77,88"
    return (
        "\n".join(["Log of an invented school", "", lines[0] + ",,", *body, "", "End of log, 600 rows"])
        + "\n"
    )


def sentinels(f: Flight) -> str:
    columns = english(f)
    for k in range(40, 60):
        columns["IAS (kt)"][k] = "-9999"
        columns["Roll (deg)"][k] = "NaN"
        columns["Pitch (deg)"][k] = "---"
        columns["OAT (C)"][k] = "n/a"
        columns["VSI (fpm)"][k] = "1e9"
    return table(columns)


def no_fix_at_first(f: Flight) -> str:
    columns = english(f)
    for name in ("Latitude", "Longitude", "Ground Speed (kt)", "Track (deg true)", "GPS Altitude (ft)"):
        columns[name][:30] = ["0"] * 30
    return table(columns)


def pieces(f: Flight) -> str:
    """Each sensor writes its own row, several to one instant."""
    lines = ["time_s,lat,lon,gs_kt,roll_deg,pitch_deg,ias_kt"]
    for k in range(len(f)):
        g = f.at(slice(k, k + 1))
        time = text(g.time, 1)[0]
        place = f"{text(degrees(g.latitude), 7)[0]},{text(degrees(g.longitude), 7)[0]}"
        lines.append(f"{time},{place},{text(knots(g.ground_speed), 1)[0]},,,")
        lines.append(f"{time},,,,{text(degrees(g.bank), 2)[0]},{text(degrees(g.pitch), 2)[0]},")
        lines.append(f"{time},,,,,,{text(knots(g.indicated_airspeed), 1)[0]}")
    return "\n".join(lines) + "\n"


def clock_in_parts(f: Flight) -> str:
    return table(
        {
            "Year": stamps(f.time, "%Y"),
            "Month": stamps(f.time, "%m"),
            "Day": stamps(f.time, "%d"),
            "Hour": stamps(f.time, "%H"),
            "Minute": stamps(f.time, "%M"),
            "Second": stamps(f.time, "%S"),
            **latlon(f),
            "alt (ft)": text(feet(f.geometric_altitude), 0),
        }
    )


def units_above(f: Flight) -> str:
    columns = english(f)
    names = [name.split(" (")[0] for name in columns]
    units = [name.split("(")[1].rstrip(")") if "(" in name else "" for name in columns]
    rows = [",".join(row) for row in zip(*columns.values(), strict=True)]
    return "\n".join([",".join(f"[{u}]" if u else "" for u in units), ",".join(names), *rows]) + "\n"


def counter_beside_broken_clock(f: Flight) -> str:
    """A millisecond counter, and a clock of the receiver cut to minutes and seconds that stumbles."""
    clock = [f"{(20 + int(t) // 60) % 60:02d}:{int(t) % 60:02d}.0" for t in f.time]
    for k in range(0, len(clock), 50):
        clock[k] = clock[max(k - 1, 0)]
    return table(
        {
            "timeStamp": [str(round(2_860_003 + 1e3 * t)) for t in f.time],
            "Roll": text(degrees(f.bank), 2),
            "Pitch": text(degrees(f.pitch), 2),
            "IAS": text(knots(f.indicated_airspeed), 2),
            "gnssLat": text(degrees(f.latitude), 7),
            "gnssLon": text(degrees(f.longitude), 7),
            "VelNorth": text(f.velocity_north, 2),
            "VelEast": text(f.velocity_east, 2),
            "timeUTC": clock,
        }
    )


def zone_in_stamp(f: Flight) -> str:
    columns = english(f)
    del columns["UTC"]
    return table(
        {
            "Time": [s + "+02:00" for s in stamps(f.time, "%Y-%m-%d %H:%M:%S", shift=7200)],
            **columns,
        }
    )


def spreadsheet_days(f: Flight) -> str:
    days = 45913.0 + (14 * 3600 + 20 * 60 + f.time) / 86400.0
    return table(
        {"Time": [f"{d:.9f}" for d in days], **latlon(f), "GPS speed (kt)": text(knots(f.ground_speed), 1)}
    )


def incremental_load_down(f: Flight) -> str:
    columns = english(f)
    columns["Normal G"] = text(-(f.load_factor - 1.0), 3)
    return table(columns)


LAYOUTS = (
    Layout("plain English with units in brackets", plain, ENGLISH),
    Layout(
        "preamble, commented units row, local date and time with offset, incremental load",
        preamble_and_units,
        {
            **POSITION,
            **GROUND,
            **ATTITUDE,
            "altimeter_altitude": 0.05,
            "geometric_altitude": 0.05,
            "indicated_airspeed": 0.01,
            "vertical_speed": 0.01,
            "heading_magnetic": 0.002,
            "load_factor": 0.001,
            "outside_air_temperature": 0.06,
        },
        notes=("1 was added",),
    ),
    Layout(
        "German, semicolons, decimal commas, Latin-1, CRLF",
        german,
        {
            **POSITION,
            **GROUND,
            **AIR,
            **ATTITUDE,
            "geometric_altitude": 0.06,
            "load_factor": 0.006,
            "engine_speed": 0.06,
            "outside_air_temperature": 0.06,
        },
    ),
    Layout(
        "French, tabs, UTF-16, day first",
        french,
        {**POSITION, **GROUND, **AIR, **ATTITUDE, "load_factor": 0.001, "heading_magnetic": 0.002},
    ),
    Layout(
        "Spanish, bars, byte-order mark",
        spanish,
        {
            **POSITION,
            **GROUND,
            **ATTITUDE,
            "indicated_airspeed": 0.06,
            "geometric_altitude": 0.01,
            "heading_magnetic": 0.002,
        },
    ),
    Layout(
        "runs of blanks, header in a comment",
        blanks,
        {**POSITION, "ground_speed": 0.01, "track": 0.001, "geometric_altitude": 0.06},
    ),
    Layout(
        "SI and radians, velocity down, load in m/s2 positive down",
        radians_and_si,
        {
            **POSITION,
            "velocity_north": 0.001,
            "velocity_east": 0.001,
            "vertical_speed": 0.001,
            "bank": 1e-5,
            "pitch": 1e-5,
            "load_factor": 1e-3,
            "true_airspeed": 0.01,
            "geometric_altitude": 0.01,
        },
        utc=False,
        notes=("downward", "m/s2", "negative in level flight"),
    ),
    Layout("roll positive to the left", left_roll, ENGLISH, notes=("positive to the left",)),
    Layout("roll from 0 to 360", roll_to_360, ENGLISH, notes=("0 to 360",)),
    Layout(
        "hemisphere letters, degrees and minutes, 12-hour clock, mph, month first",
        hemispheres,
        {**POSITION, "ground_speed": 0.06, "track": 0.001, "geometric_altitude": 0.16},
        where=(-33.4, -70.6),
    ),
    Layout(
        "satellite fields: ddmm.mmmm, letters beside, hhmmss and ddmmyy",
        receiver,
        {**POSITION, "ground_speed": 0.01, "track": 0.001, "geometric_altitude": 0.06},
        where=(31.2, -86.7),
    ),
    Layout(
        "scaled integers, microseconds",
        integers,
        {**POSITION, "velocity_north": 0.006, "velocity_east": 0.006, "geometric_altitude": 0.001},
        utc=False,
    ),
    Layout(
        "phone: Unix milliseconds, m/s, bare names",
        epoch_ms,
        {**POSITION, "ground_speed": 0.01, "track": 0.001, "geometric_altitude": 0.06},
        interval=1.0,
    ),
    Layout(
        "whole-second stamps at 8 rows a second",
        plain,
        ENGLISH,
        interval=0.125,
        late=0.13,
        notes=("share each time stamp",),
    ),
    Layout(
        "satellite channels held at 8 rows a second",
        satellite_held,
        ENGLISH,
        interval=0.125,
        late=0.13,
        notes=("repeats between were left out",),
    ),
    Layout(
        "time of day over midnight",
        time_of_day_over_midnight,
        {**POSITION, "ground_speed": 0.06},
        utc=False,
        notes=("midnight", "no date"),
    ),
    Layout(
        "seconds of the day over midnight",
        seconds_of_day,
        {**POSITION, "ground_speed": 0.06, "bank": 0.002},
        utc=False,
        notes=("midnight",),
    ),
    Layout(
        "altitude in meters labeled feet",
        meters_called_feet,
        {k: v for k, v in ENGLISH.items() if k != "geometric_altitude"},
        notes=("labeled feet but",),
        unsure=frozenset(("pressure_altitude",)),
    ),
    Layout(
        "metric values and radians without any unit",
        no_units,
        {**POSITION, **GROUND, **AIR, "bank": 1e-4, "pitch": 1e-4},
        notes=("km/h", "radians"),
    ),
    Layout(
        "magnetic track with a variation column",
        magnetic_track,
        ENGLISH,
        notes=("turned to true by the recorded variation",),
    ),
    Layout("longitude counted west positive", west_positive, ENGLISH, notes=("counts west positive",)),
    Layout(
        "longitude counted west positive, in the west",
        west_positive,
        ENGLISH,
        notes=("counts west positive",),
        where=(31.2, -86.7),
    ),
    Layout(
        "Fahrenheit, inches of mercury and hectopascals without units",
        kelvin_and_fahrenheit,
        ENGLISH,
        notes=("taken as °F",),
    ),
    Layout("quoted cells", quoted, ENGLISH),
    Layout("quoted decimal commas between commas", quoted_decimal_commas, ENGLISH),
    Layout(
        "trailing separators, comments, repeated header, ragged rows, footer",
        messy,
        ENGLISH,
        notes=("restarted", "fewer fields", "too few fields", "comment line"),
    ),
    Layout("sentinels and words for no value", sentinels, ENGLISH),
    Layout("zeros before the satellite fix", no_fix_at_first, ENGLISH, notes=("no position fix",)),
    Layout(
        "a row for each sensor",
        pieces,
        {**POSITION, "ground_speed": 0.06, "bank": 0.002, "pitch": 0.002, "indicated_airspeed": 0.06},
        utc=False,
        notes=("joined into one row",),
    ),
    Layout("clock in parts", clock_in_parts, {**POSITION, "geometric_altitude": 0.16}),
    Layout("units row above the header", units_above, ENGLISH),
    Layout(
        "millisecond counter beside a broken clock, 20 rows a second",
        counter_beside_broken_clock,
        {**POSITION, **ATTITUDE, "indicated_airspeed": 0.01, "velocity_north": 0.01, "velocity_east": 0.01},
        interval=0.05,
        utc=False,
        notes=("milliseconds",),
    ),
    Layout("offset in the stamp", zone_in_stamp, ENGLISH),
    Layout("spreadsheet day numbers", spreadsheet_days, {**POSITION, "ground_speed": 0.06}),
    Layout("southern and western hemisphere", plain, ENGLISH, where=(-33.4, -70.6)),
    Layout(
        "load as excess, positive down",
        incremental_load_down,
        ENGLISH,
        notes=("1 was added and its sign turned",),
    ),
)
