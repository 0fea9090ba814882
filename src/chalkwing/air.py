"""The standard atmosphere, the altimeter and the airspeeds.

Formulas only: no files, no state. Scalars or arrays that broadcast; ``nan`` in is ``nan`` out. Altitudes are
geopotential [m] unless a name says geometric; a *pressure altitude* is the geopotential altitude at which the
standard atmosphere has the pressure in question. Temperatures are in kelvins; an ISA deviation is the actual
less the standard temperature at the same pressure altitude [K].

Sources: the atmosphere is ICAO Doc 7488 / ISO 2533, layers below 20 km [ICAO7488]; the airspeeds follow the
subsonic compressible pitot-static relations for gamma = 1.4 [PITOT].
"""

from __future__ import annotations

import numpy as np

from chalkwing.units import STANDARD_GRAVITY, STANDARD_SEA_LEVEL_PRESSURE, Floats, Q, require_within

SEA_LEVEL_TEMPERATURE = 288.15
GAS_CONSTANT = 287.05287
LAPSE_RATE = 0.0065
TROPOPAUSE = 11_000.0
TROPOPAUSE_TEMPERATURE = SEA_LEVEL_TEMPERATURE - LAPSE_RATE * TROPOPAUSE
LOWEST, HIGHEST = -5_000.0, 20_000.0
EARTH_RADIUS = 6_356_766.0
"""The radius [m] with which the standard atmosphere turns geometric into geopotential altitude."""
HEAT_RATIO = 1.4
SEA_LEVEL_DENSITY = STANDARD_SEA_LEVEL_PRESSURE / (GAS_CONSTANT * SEA_LEVEL_TEMPERATURE)
SEA_LEVEL_SPEED_OF_SOUND = float(np.sqrt(HEAT_RATIO * GAS_CONSTANT * SEA_LEVEL_TEMPERATURE))
FASTEST = SEA_LEVEL_SPEED_OF_SOUND

_PRESSURE_POWER = STANDARD_GRAVITY / (GAS_CONSTANT * LAPSE_RATE)
_SCALE_HEIGHT = GAS_CONSTANT * TROPOPAUSE_TEMPERATURE / STANDARD_GRAVITY
_TROPOPAUSE_RATIO = TROPOPAUSE_TEMPERATURE / SEA_LEVEL_TEMPERATURE
_TROPOPAUSE_PRESSURE = STANDARD_SEA_LEVEL_PRESSURE * _TROPOPAUSE_RATIO**_PRESSURE_POWER
_TROPOPAUSE_DENSITY = _TROPOPAUSE_PRESSURE / (GAS_CONSTANT * TROPOPAUSE_TEMPERATURE)


def _require_altitude(altitude: float | Floats, name: str = "altitude") -> None:
    require_within(name, altitude, LOWEST, HIGHEST, "m", hint="Was it in feet?")


def _require_speed(speed: float | Floats, name: str) -> None:
    require_within(
        name, speed, 0.0, FASTEST, "m/s", hint="These relations hold below the speed of sound, in m/s."
    )


def _require_temperature(temperature: float | Floats) -> None:
    require_within(
        "temperature", temperature, 150.0, 350.0, "K", hint="Temperatures are in kelvins here, not °C or °F."
    )


def _require_deviation(isa_deviation: float | Floats) -> None:
    require_within(
        "ISA deviation",
        isa_deviation,
        -80.0,
        80.0,
        "K",
        hint="It is a difference of temperatures, in kelvins.",
    )


# --- The standard atmosphere ------------------------------------------------------------------------------


def geopotential_altitude(geometric_altitude: Q) -> Q:
    """Geopotential altitude [m] at a geometric altitude [m] above mean sea level.

    H = r z / (r + z), r = 6,356,766 m. Source: [ICAO7488].

    >>> round(float(geopotential_altitude(11_019.1)), 1)
    11000.0
    """
    _require_altitude(geometric_altitude, "geometric altitude")
    return EARTH_RADIUS * geometric_altitude / (EARTH_RADIUS + geometric_altitude)


def geometric_altitude(geopotential_altitude: Q) -> Q:
    """Geometric altitude [m] at a geopotential altitude [m]; undoes :func:`geopotential_altitude`."""
    _require_altitude(geopotential_altitude, "geopotential altitude")
    return EARTH_RADIUS * geopotential_altitude / (EARTH_RADIUS - geopotential_altitude)


def standard_temperature(altitude: Q | float) -> Q:
    """Temperature [K] of the standard atmosphere at a geopotential (or pressure) altitude [m].

    288.15 K less 6.5 K per km up to 11 km, constant from there to 20 km. Source: [ICAO7488].

    Raises
    ------
    OutsideModel
        Below -5,000 m or above 20,000 m.
    """
    _require_altitude(altitude)
    temperature: Q = SEA_LEVEL_TEMPERATURE - LAPSE_RATE * np.minimum(altitude, TROPOPAUSE)
    return temperature


def standard_pressure(altitude: Q | float) -> Q:
    """Pressure [Pa] of the standard atmosphere at a geopotential (or pressure) altitude [m].

    p = p0 (T/T0)^5.25588 below 11 km and an exponential above. Source: [ICAO7488].

    Raises
    ------
    OutsideModel
        Below -5,000 m or above 20,000 m.

    >>> round(float(standard_pressure(1524.0)), 0)
    84307.0
    """
    temperature: Q = standard_temperature(altitude)
    ratio = temperature / SEA_LEVEL_TEMPERATURE
    above = np.maximum(altitude - TROPOPAUSE, 0.0)
    # Above the tropopause the first factor stands still, below it the second is 1: no branch is needed.
    pressure: Q = STANDARD_SEA_LEVEL_PRESSURE * ratio**_PRESSURE_POWER * np.exp(-above / _SCALE_HEIGHT)
    return pressure


def standard_density(altitude: Q | float) -> Q:
    """Density [kg/m³] of the standard atmosphere at a geopotential (or pressure) altitude [m]; [ICAO7488]."""
    pressure: Q = standard_pressure(altitude)
    temperature: Q = standard_temperature(altitude)
    return pressure / (GAS_CONSTANT * temperature)


def pressure_altitude(static_pressure: Q | float) -> Q:
    """Altitude [m] at which the standard atmosphere has this pressure [Pa]; undoes ``standard_pressure``.

    Raises
    ------
    OutsideModel
        A pressure found nowhere between -5,000 m and 20,000 m: often one in hPa or inHg.

    >>> round(float(pressure_altitude(84_307.0)), 0)
    1524.0
    """
    require_within(
        "static pressure", static_pressure, 5_400.0, 178_000.0, "Pa", hint="Was it in hPa or inHg?"
    )
    ratio = static_pressure / STANDARD_SEA_LEVEL_PRESSURE
    below = 1.0 - np.maximum(ratio, _TROPOPAUSE_PRESSURE / STANDARD_SEA_LEVEL_PRESSURE) ** (
        1.0 / _PRESSURE_POWER
    )
    above = np.log(np.minimum(static_pressure / _TROPOPAUSE_PRESSURE, 1.0))
    altitude: Q = SEA_LEVEL_TEMPERATURE / LAPSE_RATE * below - _SCALE_HEIGHT * above
    return altitude


def isa_deviation(*, pressure_altitude: Q | float, temperature: Q | float) -> Q:
    """Actual less standard temperature [K] at a pressure altitude [m] and an air temperature [K]."""
    _require_temperature(temperature)
    standard: Q = standard_temperature(pressure_altitude)
    deviation: Q = temperature - standard
    return deviation


def temperature(*, pressure_altitude: Q | float, isa_deviation: Q | float) -> Q:
    """Air temperature [K] at a pressure altitude [m] and an ISA deviation [K]."""
    _require_deviation(isa_deviation)
    standard: Q = standard_temperature(pressure_altitude)
    actual: Q = standard + isa_deviation
    return actual


def density(*, pressure_altitude: Q | float, isa_deviation: Q | float = 0.0) -> Q:
    """Density [kg/m³] of dry air at a pressure altitude [m] and an ISA deviation [K]; p = rho R T.

    >>> round(float(density(pressure_altitude=0.0)), 4)
    1.225
    """
    actual: Q = temperature(pressure_altitude=pressure_altitude, isa_deviation=isa_deviation)
    pressure: Q = standard_pressure(pressure_altitude)
    return pressure / (GAS_CONSTANT * actual)


def density_altitude(*, pressure_altitude: Q | float, isa_deviation: Q | float = 0.0) -> Q:
    """Altitude [m] at which the standard atmosphere has the density found here; dry air, exact.

    Parameters
    ----------
    pressure_altitude : float or array
        [m]
    isa_deviation : float or array
        [K]; see :func:`isa_deviation` for it from a temperature.

    Notes
    -----
    Humidity is left out: saturated air at 30 °C adds about 500 ft. The pilots' arithmetic of so many feet a
    degree is ``rules_of_thumb.density_altitude_rule``. Source: inverts [ICAO7488].

    >>> altitude = density_altitude(pressure_altitude=2438.4, isa_deviation=18.85)
    >>> round(float(altitude) / 0.3048)  # 8,000 ft and 18 °C
    10145
    """
    actual: Q = density(pressure_altitude=pressure_altitude, isa_deviation=isa_deviation)
    ratio = np.maximum(actual, _TROPOPAUSE_DENSITY) / SEA_LEVEL_DENSITY
    below = 1.0 - ratio ** (1.0 / (_PRESSURE_POWER - 1.0))
    above = np.log(np.minimum(actual / _TROPOPAUSE_DENSITY, 1.0))
    altitude: Q = SEA_LEVEL_TEMPERATURE / LAPSE_RATE * below - _SCALE_HEIGHT * above
    return altitude


def speed_of_sound(temperature: Q | float) -> Q:
    """Speed of sound [m/s] in dry air at a temperature [K]: sqrt(gamma R T); [ICAO7488]."""
    _require_temperature(temperature)
    speed: Q = np.sqrt(HEAT_RATIO * GAS_CONSTANT * temperature)
    return speed


# --- The altimeter ----------------------------------------------------------------------------------------


def altimeter_altitude(*, pressure_altitude: Q | float, altimeter_setting: Q | float) -> Q:
    """What an altimeter shows [m] at a pressure altitude [m] with its subscale at a setting (QNH) [Pa].

    Turning the subscale shifts the reading by the standard altitude of the setting: h = Hp - H(QNH).
    Source: the altimeter's law, ICAO Doc 7488 atmosphere [ICAO7488].

    Raises
    ------
    OutsideModel
        A setting outside 870 to 1085 hPa (the channel's range): often one in hPa or inHg.
    """
    _require_altitude(pressure_altitude, "pressure altitude")
    shift: Q = _setting_altitude(altimeter_setting)
    reading: Q = pressure_altitude - shift
    return reading


def pressure_altitude_of_reading(*, altimeter_altitude: Q | float, altimeter_setting: Q | float) -> Q:
    """Pressure altitude [m] when the altimeter shows this [m] at this setting [Pa]; undoes the above.

    Field elevation and the reported setting give the pressure altitude of the field.

    >>> reading = pressure_altitude_of_reading(altimeter_altitude=1793.1, altimeter_setting=101_930.0)
    >>> round(float(reading) / 0.3048)  # [PHAK] ch. 11: 5,883 ft at 30.10 inHg is 5,718 ft from its table
    5718
    """
    _require_altitude(altimeter_altitude, "altimeter altitude")
    shift: Q = _setting_altitude(altimeter_setting)
    altitude: Q = altimeter_altitude + shift
    return altitude


def _setting_altitude(altimeter_setting: Q | float) -> Q:
    require_within(
        "altimeter setting", altimeter_setting, 87_000.0, 108_500.0, "Pa", hint="Was it in hPa or inHg?"
    )
    return pressure_altitude(altimeter_setting)


# --- The airspeeds ----------------------------------------------------------------------------------------
# Written with log1p and expm1, because (1 + x)**3.5 - 1 loses its digits at training speeds.


def impact_pressure(calibrated_airspeed: Q | float) -> Q:
    """Impact pressure [Pa] that shows as this calibrated airspeed [m/s].

    qc = p0 [(1 + 0.2 (V/a0)²)^3.5 - 1]. Source: [PITOT].
    """
    _require_speed(calibrated_airspeed, "calibrated airspeed")
    return _impact_pressure(calibrated_airspeed, SEA_LEVEL_SPEED_OF_SOUND, STANDARD_SEA_LEVEL_PRESSURE)


def _impact_pressure(speed: Q | float, sound: Q | float, pressure: Q | float) -> Q:
    result: Q = pressure * np.expm1(3.5 * np.log1p(0.2 * (speed / sound) ** 2))
    return result


def _mach(impact: Q | float, pressure: Q | float) -> Q:
    result: Q = np.sqrt(5.0 * np.expm1(np.log1p(impact / pressure) / 3.5))
    return result


def mach_number(*, calibrated_airspeed: Q | float, pressure_altitude: Q | float) -> Q:
    """Mach number at a calibrated airspeed [m/s] and pressure altitude [m].

    Raises
    ------
    OutsideModel
        When it would exceed 1: the relation is another there.
    """
    impact: Q = impact_pressure(calibrated_airspeed)
    pressure: Q = standard_pressure(pressure_altitude)
    mach: Q = _mach(impact, pressure)
    require_within("Mach number", mach, 0.0, 1.0, "", hint="The relations hold for subsonic flight.")
    return mach


def calibrated_from_mach(*, mach_number: Q | float, pressure_altitude: Q | float) -> Q:
    """Calibrated airspeed [m/s] at a Mach number (0 to 1) and pressure altitude [m]."""
    require_within("Mach number", mach_number, 0.0, 1.0, "", hint="The relations hold for subsonic flight.")
    pressure: Q = standard_pressure(pressure_altitude)
    impact: Q = _impact_pressure(mach_number, 1.0, pressure)
    mach_at_sea_level: Q = _mach(impact, STANDARD_SEA_LEVEL_PRESSURE)
    return SEA_LEVEL_SPEED_OF_SOUND * mach_at_sea_level


def true_from_mach(*, mach_number: Q | float, temperature: Q | float) -> Q:
    """True airspeed [m/s] at a Mach number and an air temperature [K]."""
    sound: Q = speed_of_sound(temperature)
    speed: Q = mach_number * sound
    return speed


def mach_from_true(*, true_airspeed: Q | float, temperature: Q | float) -> Q:
    """Mach number at a true airspeed [m/s] and an air temperature [K]."""
    _require_speed(true_airspeed, "true airspeed")
    sound: Q = speed_of_sound(temperature)
    mach: Q = true_airspeed / sound
    return mach


def true_from_calibrated(
    *, calibrated_airspeed: Q | float, pressure_altitude: Q | float, isa_deviation: Q | float = 0.0
) -> Q:
    """True airspeed [m/s] at a calibrated airspeed [m/s], pressure altitude [m] and ISA deviation [K].

    Compressible and exact below Mach 1: impact pressure, then Mach number, then M a. Source: [PITOT].

    Raises
    ------
    OutsideModel
        A negative or supersonic speed; an altitude outside -5 to 20 km; a deviation beyond 80 K.

    >>> tas = true_from_calibrated(calibrated_airspeed=51.444, pressure_altitude=1524.0, isa_deviation=20.0)
    >>> round(float(tas) * 3600 / 1852, 2)  # 100 KCAS at 5,000 ft, ISA+20
    111.47
    """
    mach: Q = mach_number(calibrated_airspeed=calibrated_airspeed, pressure_altitude=pressure_altitude)
    actual: Q = temperature(pressure_altitude=pressure_altitude, isa_deviation=isa_deviation)
    return true_from_mach(mach_number=mach, temperature=actual)


def calibrated_from_true(
    *, true_airspeed: Q | float, pressure_altitude: Q | float, isa_deviation: Q | float = 0.0
) -> Q:
    """Calibrated airspeed [m/s] at a true airspeed [m/s], pressure altitude [m] and ISA deviation [K].

    Undoes :func:`true_from_calibrated`; the same limits.
    """
    actual: Q = temperature(pressure_altitude=pressure_altitude, isa_deviation=isa_deviation)
    mach: Q = mach_from_true(true_airspeed=true_airspeed, temperature=actual)
    return calibrated_from_mach(mach_number=mach, pressure_altitude=pressure_altitude)


def equivalent_from_true(
    *, true_airspeed: Q | float, pressure_altitude: Q | float, isa_deviation: Q | float = 0.0
) -> Q:
    """Equivalent airspeed [m/s]: the speed at sea-level density with the same dynamic pressure.

    EAS = TAS sqrt(rho / rho0). Source: [PITOT].
    """
    _require_speed(true_airspeed, "true airspeed")
    actual: Q = density(pressure_altitude=pressure_altitude, isa_deviation=isa_deviation)
    speed: Q = true_airspeed * np.sqrt(actual / SEA_LEVEL_DENSITY)
    return speed


def true_from_equivalent(
    *, equivalent_airspeed: Q | float, pressure_altitude: Q | float, isa_deviation: Q | float = 0.0
) -> Q:
    """True airspeed [m/s] at an equivalent airspeed [m/s]; undoes :func:`equivalent_from_true`."""
    _require_speed(equivalent_airspeed, "equivalent airspeed")
    actual: Q = density(pressure_altitude=pressure_altitude, isa_deviation=isa_deviation)
    speed: Q = equivalent_airspeed * np.sqrt(SEA_LEVEL_DENSITY / actual)
    return speed


def equivalent_from_calibrated(*, calibrated_airspeed: Q | float, pressure_altitude: Q | float) -> Q:
    """Equivalent airspeed [m/s] at a calibrated airspeed [m/s]; temperature has no part in it.

    EAS = a0 M sqrt(p / p0). Source: [PITOT].
    """
    mach: Q = mach_number(calibrated_airspeed=calibrated_airspeed, pressure_altitude=pressure_altitude)
    pressure: Q = standard_pressure(pressure_altitude)
    speed: Q = SEA_LEVEL_SPEED_OF_SOUND * mach * np.sqrt(pressure / STANDARD_SEA_LEVEL_PRESSURE)
    return speed


def calibrated_from_equivalent(*, equivalent_airspeed: Q | float, pressure_altitude: Q | float) -> Q:
    """Calibrated airspeed [m/s] at an equivalent airspeed [m/s]; undoes the above."""
    _require_speed(equivalent_airspeed, "equivalent airspeed")
    pressure: Q = standard_pressure(pressure_altitude)
    mach: Q = equivalent_airspeed / (
        SEA_LEVEL_SPEED_OF_SOUND * np.sqrt(pressure / STANDARD_SEA_LEVEL_PRESSURE)
    )
    return calibrated_from_mach(mach_number=mach, pressure_altitude=pressure_altitude)
