"""Units as people write them: ``ft``, ``[kts]``, ``°C``, ``m/s²``, ``US gal/hr``, in several languages.

A unit is a scale, an offset and a dimension; products, quotients and powers of known units are read as well.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from chalkwing.units import (
    DEGREE,
    FAHRENHEIT_OFFSET,
    FAHRENHEIT_SCALE,
    FOOT,
    FOOT_PER_MINUTE,
    HECTOPASCAL,
    HORSEPOWER,
    IMPERIAL_GALLON,
    INCH_OF_MERCURY,
    KNOT,
    LITER,
    MILE,
    MILLIMETER_OF_MERCURY,
    NAUTICAL_MILE,
    POUND,
    POUND_PER_SQUARE_INCH,
    REVOLUTION,
    STANDARD_GRAVITY,
    US_GALLON,
    ZERO_CELSIUS,
)

Dimension = tuple[int, int, int, int, int]
"""What a unit measures: the exponents of (length, mass, time, angle, temperature)."""

_RATIO: Dimension = (0, 0, 0, 0, 0)
_LENGTH: Dimension = (1, 0, 0, 0, 0)
_MASS: Dimension = (0, 1, 0, 0, 0)
_TIME: Dimension = (0, 0, 1, 0, 0)
_ANGLE: Dimension = (0, 0, 0, 1, 0)
_TEMPERATURE: Dimension = (0, 0, 0, 0, 1)
_SPEED: Dimension = (1, 0, -1, 0, 0)
_ACCELERATION: Dimension = (1, 0, -2, 0, 0)
_VOLUME: Dimension = (3, 0, 0, 0, 0)
_PRESSURE: Dimension = (-1, 1, -2, 0, 0)
_POWER: Dimension = (2, 1, -3, 0, 0)

_KIND_NAMES: dict[Dimension, str] = {
    _RATIO: "ratio",
    _LENGTH: "length",
    _MASS: "mass",
    _TIME: "time",
    _ANGLE: "angle",
    _TEMPERATURE: "temperature",
    _SPEED: "speed",
    _ACCELERATION: "load",
    _VOLUME: "volume",
    _PRESSURE: "pressure",
    _POWER: "power",
    (2, 0, 0, 0, 0): "area",
    (0, 0, -1, 1, 0): "angular_rate",
    (0, 0, -2, 1, 0): "angular_acceleration",
    (3, 0, -1, 0, 0): "volume_flow",
    (0, 1, -1, 0, 0): "mass_flow",
}


@dataclass(frozen=True)
class Unit:
    """A unit read from text: ``si = scale * value + offset``.

    ``kind`` is what it measures (``"length"``, ``"speed"``, ``"angle"``, ``"load"``, ...). Accelerations are
    loads: their SI value here is the dimensionless multiple of standard gravity that channels hold.
    ``qualifier`` keeps a reference written beside the unit: ``"msl"``, ``"agl"``, ``"true"``.
    """

    scale: float
    offset: float
    kind: str
    qualifier: str | None = None


_NAMES: tuple[tuple[str, float, Dimension], ...] = (
    ("m meter meters metre metres meter mtr mts metro metros metri", 1.0, _LENGTH),
    ("km kilometer kilometers kilometre kilometres", 1000.0, _LENGTH),
    ("cm", 0.01, _LENGTH),
    ("mm", 0.001, _LENGTH),
    ("ft foot feet fuss pied pieds pie pies piedi voet", FOOT, _LENGTH),
    ("in inch inches", FOOT / 12.0, _LENGTH),
    ("nm nmi nautmi nauticalmile nauticalmiles seemeile seemeilen", NAUTICAL_MILE, _LENGTH),
    ("mi sm mile miles statutemile statutemiles", MILE, _LENGTH),
    ("kg kgs kilogram kilograms kilogramm", 1.0, _MASS),
    ("lb lbs pound pounds lbm", POUND, _MASS),
    ("s sec secs second seconds sekunde sekunden seconde secondes segundo segundos", 1.0, _TIME),
    ("ms msec millisecond milliseconds millis", 1e-3, _TIME),
    ("us usec microsecond microseconds", 1e-6, _TIME),
    ("min mins mn minute minutes minuten minuto minutos", 60.0, _TIME),
    ("h hr hrs hour hours stunde stunden std heure heures hora horas", 3600.0, _TIME),
    ("deg degs degree degrees ° grad grado grados degre degres gradi dg", DEGREE, _ANGLE),
    ("rad rads radian radians radiant radianes radians", 1.0, _ANGLE),
    ("mrad", 1e-3, _ANGLE),
    ("rev revs revolution revolutions umdr u tr tour tours vuelta vueltas", REVOLUTION, _ANGLE),
    ("rpm rpms 1/min min-1 upm", REVOLUTION / 60.0, (0, 0, -1, 1, 0)),
    ("dps", DEGREE, (0, 0, -1, 1, 0)),
    ("kt kts kn knot knots knoten noeud noeuds nœud nœuds nudo nudos nodo nodi", KNOT, _SPEED),
    ("mph", MILE / 3600.0, _SPEED),
    ("kmh kph kmph", 1.0 / 3.6, _SPEED),
    ("mps", 1.0, _SPEED),
    ("fpm", FOOT_PER_MINUTE, _SPEED),
    ("fps", FOOT, _SPEED),
    ("g gs g's gee gees", STANDARD_GRAVITY, _ACCELERATION),
    ("k kelvin kelvins degk °k", 1.0, _TEMPERATURE),
    ("pa pascal pascals", 1.0, _PRESSURE),
    ("hpa hectopascal hectopascals mb mbar mbars millibar millibars", HECTOPASCAL, _PRESSURE),
    ("kpa", 1000.0, _PRESSURE),
    ("bar bars", 1e5, _PRESSURE),
    ("inhg inhga inchhg incheshg inchesofmercury inchesmercury", INCH_OF_MERCURY, _PRESSURE),
    ("mmhg torr", MILLIMETER_OF_MERCURY, _PRESSURE),
    ("psi psig psia lbf/in2", POUND_PER_SQUARE_INCH, _PRESSURE),
    ("l lt ltr liter liters litre litres litro litros litri", LITER, _VOLUME),
    ("gal gals gallon gallons usgal usgals usg usgallon usgallons gallonen", US_GALLON, _VOLUME),
    ("impgal imperialgallon imperialgallons ukgal", IMPERIAL_GALLON, _VOLUME),
    ("gph", US_GALLON / 3600.0, (3, 0, -1, 0, 0)),
    ("lph", LITER / 3600.0, (3, 0, -1, 0, 0)),
    ("pph", POUND / 3600.0, (0, 1, -1, 0, 0)),
    ("w watt watts", 1.0, _POWER),
    ("kw kilowatt kilowatts", 1000.0, _POWER),
    ("hp bhp shp horsepower", HORSEPOWER, _POWER),
    ("% pct percent prozent pourcent", 0.01, _RATIO),
    ("1 ratio fraction", 1.0, _RATIO),
)
_SIMPLE: dict[str, tuple[float, Dimension]] = {
    name: (scale, dimension) for names, scale, dimension in _NAMES for name in names.split()
}

_SPECIAL: dict[str, tuple[float, float, str]] = {
    name: (scale, offset, kind)
    for names, scale, offset, kind in (
        (
            "c °c degc degreec degreesc celsius degcelsius degreescelsius gradc gradcelsius",
            1.0,
            ZERO_CELSIUS,
            "temperature",
        ),
        (
            "f °f degf degreef degreesf fahrenheit degfahrenheit degreesfahrenheit",
            FAHRENHEIT_SCALE,
            FAHRENHEIT_OFFSET,
            "temperature",
        ),
        # No channel is electric, but a units row is recognized by how many of its cells are units.
        ("v volt volts", 1.0, 0.0, "voltage"),
        ("a amp amps ampere amperes", 1.0, 0.0, "current"),
        ("hz hertz", 1.0, 0.0, "frequency"),
        ("mhz megahertz", 1e6, 0.0, "frequency"),
    )
    for name in names.split()
}

_QUALIFIERS: dict[str, str] = {
    word: meaning
    for words, meaning in (
        ("msl amsl asl", "msl"),
        ("agl aal gnd ground", "agl"),
        ("wgs wgs84 hae ellipsoid ellipsoidal", "ellipsoid"),
        ("baro barometric pressure std", "pressure"),
        ("gps gnss", "satellite"),
        ("true t", "true"),
        ("mag magnetic", "magnetic"),
        ("ias indicated", "indicated"),
        ("cas calibrated", "calibrated"),
        ("tas", "true_airspeed"),
        ("gs", "ground"),
        ("us", "us"),
    )
    for word in words.split()
}
_QUALIFIED: dict[str, tuple[str, str]] = {
    "kias": ("kt", "indicated"),
    "kcas": ("kt", "calibrated"),
    "ktas": ("kt", "true_airspeed"),
    "kgs": ("kt", "ground"),
    "degt": ("deg", "true"),
    "°t": ("deg", "true"),
    "degm": ("deg", "magnetic"),
    "°m": ("deg", "magnetic"),
    "degmag": ("deg", "magnetic"),
    "degtrue": ("deg", "true"),
}
_FACTOR = re.compile(r"(?P<name>[^\d^*+-]+)\^?(?P<power>[+-]?\d)?")


def to_si(unit_text: str) -> tuple[float, float] | None:
    """The scale and offset that bring a value in the written unit to SI: ``si = scale * value + offset``.

    Parameters
    ----------
    unit_text : str
        A unit as people write it, in any case, in brackets or not: ``ft``, ``Feet``, ``[kts]``, ``°C``,
        ``m/s²``, ``ft per min``, ``US gal/hr``, ``inHg``, ``%``. Some German, French, Spanish and Italian
        names are known.

    Returns
    -------
    (scale, offset) or None
        None when the text is no unit that is known here. Angles go to radians, angular rates to rad/s (also
        rpm), accelerations to multiples of standard gravity, percent to a fraction, volumes to m³.

    Notes
    -----
    A gallon is the US gallon unless ``imp`` is written. ``M`` is meters, ``F`` Fahrenheit, ``C`` Celsius.

    >>> to_si("ft")
    (0.3048, 0.0)
    >>> to_si("degC")
    (1.0, 273.15)
    >>> to_si("Baro") is None
    True
    """
    unit = read_unit(unit_text)
    return None if unit is None else (unit.scale, unit.offset)


@lru_cache(maxsize=1024)
def read_unit(unit_text: str) -> Unit | None:
    """The unit that ``unit_text`` writes, with its kind and the reference beside it, or None; see ``to_si``.

    >>> read_unit("ft msl")
    Unit(scale=0.3048, offset=0.0, kind='length', qualifier='msl')
    >>> read_unit("m/s^2").kind
    'load'
    """
    text, qualifier = _without_qualifier(_plain(unit_text))
    joined = text.replace(" ", "")
    if joined in _SPECIAL:
        return Unit(*_SPECIAL[joined], qualifier)
    found = _compound(text)
    if found is None:
        return None
    scale, dimension = found
    kind = _KIND_NAMES.get(dimension)
    if kind is None:
        return None
    return Unit(scale / STANDARD_GRAVITY if kind == "load" else scale, 0.0, kind, qualifier)


def _plain(text: str) -> str:
    """Lower case without accents, brackets and dots; ``²`` as 2; ``per`` as a slash; single spaces."""
    # NFKC would turn the ordinal mark, often typed for a degree sign, into a letter o.
    text = unicodedata.normalize("NFKC", text.replace("º", "°").replace("˚", "°").replace("ø", "°"))
    text = "".join(c for c in unicodedata.normalize("NFD", text) if not unicodedata.combining(c))
    text = re.sub(r"[\[\](){}<>\"]", " ", text.casefold().replace("−", "-"))
    text = re.sub(r"[·⋅×]", "*", text).replace("**", "^")
    text = re.sub(r"(?<=[a-z])\.(?=$|\s|/)", "", text)
    text = re.sub(r"\s*(?:/|\bper\b|\bpro\b|\bpar\b|\bpor\b)\s*", "/", text)
    return re.sub(r"[\s_]+", " ", text).strip(" .,:;")


def _without_qualifier(text: str) -> tuple[str, str | None]:
    """Split the reference off: ``ft msl`` is ``ft`` and ``msl``; ``kias`` is ``kt`` and ``indicated``."""
    joined = text.replace(" ", "")
    if joined in _QUALIFIED:
        return _QUALIFIED[joined]
    words = text.split()
    if len(words) > 1 and words[-1] in _QUALIFIERS:
        return " ".join(words[:-1]), _QUALIFIERS[words[-1]]
    return text, None


def _compound(text: str) -> tuple[float, Dimension] | None:
    """A product or quotient of known units: ``gal/hr``, ``m/s/s``, ``m s-2``."""
    whole = _SIMPLE.get(text.replace(" ", ""))
    if whole is not None:
        return whole
    scale, dimension = 1.0, _RATIO
    for position, part in enumerate(text.split("/")):
        factor = _product(part)
        if factor is None:
            return None
        sign = 1 if position == 0 else -1
        scale *= factor[0] ** sign
        dimension = _combined(dimension, factor[1], sign)
    return scale, dimension


def _product(text: str) -> tuple[float, Dimension] | None:
    """A known unit, or known units side by side, each with an optional power; None for anything else."""
    whole = _SIMPLE.get(text.replace(" ", ""))
    if whole is not None:
        return whole
    scale, dimension = 1.0, _RATIO
    factors = re.split(r"[ *]+", text.strip())
    for factor in factors:
        match = _FACTOR.fullmatch(factor)
        known = _SIMPLE.get(match["name"]) if match else None
        if match is None or known is None:
            return None
        power = int(match["power"] or 1)
        scale *= known[0] ** power
        dimension = _combined(dimension, known[1], power)
    return scale, dimension


def _combined(one: Dimension, other: Dimension, power: int) -> Dimension:
    """The dimension of ``one`` times ``other`` to the ``power``."""
    a, b, c, d, e = (x + power * y for x, y in zip(one, other, strict=True))
    return (a, b, c, d, e)
