"""Motion: from whatever was recorded to position, speed, wind and attitude, each with its doubt."""

from __future__ import annotations

from chalkwing.motion.estimate import reconstruct
from chalkwing.motion.motion import Draws, Motion, Posterior

__all__ = ["Draws", "Motion", "Posterior", "reconstruct"]
