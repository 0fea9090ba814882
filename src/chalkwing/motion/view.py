"""How estimated quantities are named for the rest of the house: which altitude, which airspeed, which
north."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chalkwing.motion.motion import AirspeedKind, AltitudeKind
from chalkwing.motion.quantities import COLUMN
from chalkwing.units import Floats

if TYPE_CHECKING:
    from chalkwing.airplane import AirplaneSheet


@dataclass(frozen=True)
class View:
    """Turns the estimator's columns into named quantities, in values and in draws alike."""

    grid: Floats
    variation: Floats
    indicated_recorded: bool
    airspeed_recorded: bool
    pressure_recorded: bool
    ball_recorded: bool
    sheet: AirplaneSheet | None

    @property
    def airspeed_kind(self) -> AirspeedKind:
        """Indicated where it was recorded or the sheet can correct to it."""
        return "indicated" if self.indicated_recorded or self._correctable else "calibrated"

    @property
    def altitude_kind(self) -> AltitudeKind:
        """The altimeter's where pressure was recorded."""
        return "altimeter" if self.pressure_recorded else "geometric"

    @property
    def _correctable(self) -> bool:
        return self.sheet is not None and bool(self.sheet.indicated_to_calibrated)

    def named(self, columns: Floats, times: Floats) -> Mapping[str, Floats]:
        """Named quantities from ``columns`` (quantities, ..., times)."""
        named = {name: columns[column] for name, column in COLUMN.items()}
        if not self.ball_recorded:
            del named["lateral_load"]
        calibrated = named["calibrated_airspeed"]
        if not self.indicated_recorded:
            del named["indicated_airspeed"]
            if self._correctable and self.sheet is not None:
                named["indicated_airspeed"] = np.asarray(self.sheet.indicated(calibrated))
        named["airspeed"] = named.get("indicated_airspeed", calibrated)
        named["altitude"] = named["pressure_altitude" if self.pressure_recorded else "geometric_altitude"]
        named["heading_magnetic"] = named["heading_true"] - np.interp(times, self.grid, self.variation)
        return named

    def named_sds(self, columns: Floats) -> Mapping[str, Floats]:
        """Named sds from ``columns`` (quantities, times)."""
        sds = {name: columns[column] for name, column in COLUMN.items()}
        if not self.ball_recorded:
            del sds["lateral_load"]
        if not self.indicated_recorded:
            del sds["indicated_airspeed"]
            if self._correctable:
                sds["indicated_airspeed"] = sds["calibrated_airspeed"]
        sds["airspeed"] = sds.get("indicated_airspeed", sds["calibrated_airspeed"])
        sds["altitude"] = sds["pressure_altitude" if self.pressure_recorded else "geometric_altitude"]
        sds["heading_magnetic"] = sds["heading_true"]
        return sds
