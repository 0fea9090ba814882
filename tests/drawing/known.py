"""Traces of a made-up eight, simple enough to know every place in its pictures."""

from __future__ import annotations

import numpy as np

from chalkwing.drawing import Mark, Trace

POINTS = (45.0, 90.0, 135.0, 180.0)


def half(part: int, *, role: str = "plan", scale: float = 1.0) -> Trace:
    """Half an eight of 40 s: heading steady, pitch two sines of unequal height, bank a sine."""
    time = np.linspace(0.0, 40.0, 401)
    turned = 4.5 * time
    angle = np.radians(turned)
    values = {
        "pitch_from_level_deg": scale * np.where(turned < 90, 12.0, 5.0) * np.sin(2.0 * angle),
        "bank_into_turn_deg": 30.0 * np.sin(angle),
        "airspeed_kt": 100.0 - 30.0 * np.sin(angle),
        "altitude_change_ft": 300.0 * np.sin(angle),
        "load_factor_g": np.ones_like(time),
        "ground_north_ft": 2000.0 * np.sin(angle),
        "ground_east_ft": 2000.0 * (1.0 - np.cos(angle)) + 4000.0 * (part - 1),
    }
    marks = tuple(
        Mark(
            f"{point:.0f}",
            point,
            {name: float(np.interp(point, turned, column)) for name, column in values.items()},
            told=point < 180.0,
            time_s=point / 4.5,
        )
        for point in POINTS
    )
    back = part % 2 == 0
    return Trace(
        part,
        role,  # type: ignore[arg-type]
        time + 40.0 * (part - 1),
        turned,
        values,
        marks,
        start_deg=180.0 if back else 0.0,
        sense=-1 if back else 1,
    )
