"""What is believed of a light airplane before its sheet is known: means and spreads, broad on purpose.

Common practice, no source: the spreads are meant to hold training airplanes from two seats and 100 hp to a
light twin within two standard deviations. They lie around textbook values for such airplanes ([Anderson],
lift slope of a finite wing; [Lowry], drag polars of light propeller airplanes), which are quoted from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from chalkwing.units import DEGREE, Q, require_within


@dataclass(frozen=True)
class Spread:
    """A normal distribution: its mean and standard deviation."""

    mean: float
    sd: float


@dataclass(frozen=True)
class GenericPriors:
    """Independent normal beliefs about a light airplane; SI and radians.

    The mean of ``lift_slope`` goes with an aspect ratio of 7; ``zero_lift_angle`` is measured from the
    attitude reference, whose own setting is the larger part of its spread. ``propeller_drag`` is
    the drag area of one windmilling propeller over the square of its diameter ([Lowry]); ``power_dropoff`` is
    the share of sea-level power that friction takes ([Gagg-Ferrar]).
    """

    wing_loading: Spread = Spread(670.0, 180.0)
    lift_slope: Spread = Spread(4.8, 0.4)
    zero_lift_angle: Spread = Spread(-3.5 * DEGREE, 2.0 * DEGREE)
    zero_lift_drag: Spread = Spread(0.031, 0.006)
    span_efficiency: Spread = Spread(0.75, 0.07)
    lift_max: Spread = Spread(1.45, 0.17)
    aspect_ratio: Spread = Spread(7.0, 0.7)
    propeller_efficiency: Spread = Spread(0.75, 0.06)
    propeller_drag: Spread = Spread(0.056, 0.017)
    power_dropoff: Spread = Spread(0.12, 0.03)


def generic_priors() -> GenericPriors:
    """The beliefs to start from when no airplane sheet is given.

    >>> generic_priors().lift_slope.mean
    4.8
    """
    return GenericPriors()


def usual_propeller_diameter(power: float) -> float:
    """Diameter [m] that a propeller for so much power [W] of one engine usually has.

    1.9 m at 160 hp, with the fourth root of power (disk area with its square root). Common practice, no
    source.

    >>> round(usual_propeller_diameter(119_312.0), 2)
    1.9
    """
    return float(1.9 * (power / 119_312.0) ** 0.25)


def finite_wing_lift_slope(aspect_ratio: Q) -> Q:
    """Lift slope [1/rad] of an unswept wing of this aspect ratio.

    Helmbold's equation with a section slope of 2 pi: a = 2 pi A / (2 + sqrt(4 + A²)). Source: [Anderson],
    sec. 5.3, from memory.

    >>> round(float(finite_wing_lift_slope(7.0)), 2)
    4.74
    """
    require_within("aspect ratio", aspect_ratio, 1.0, 50.0, "")
    slope: Q = 2.0 * np.pi * aspect_ratio / (2.0 + np.sqrt(4.0 + aspect_ratio**2))
    return slope
