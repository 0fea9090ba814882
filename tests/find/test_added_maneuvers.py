"""A maneuver that chalkwing does not bring is found from its file alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from tests.find.fake_estimator import AVIONICS, TRACK_ONLY, Quality, motion
from tests.find.kinematics import Sketch

from chalkwing.find import can_find, find
from chalkwing.maneuvers import definitions

HEAD = """
schema = 1
kind = "{kind}"
title = "{kind}"
summary = "For a test."
source = "none"
progress = "heading_change"
solver = "none"
element = []
fact = []
[[point]]
name = "entry"
title = "Entry"
where = "turn_starts"
[[point]]
name = "end"
title = "Rollout"
where = "turn_stops"
"""

STEEP_720 = (
    HEAD.format(kind="steep_720")
    + """
[turns]
count = 1
angle_deg = 720
[finder]
repeats = "single"
excludes = ["steep_turn"]
complete_share = 0.9
shortest_s = 30
longest_s = 160
[[leg]]
name = "hold"
title = "Bank held twice around"
until = "turn_stops"
duration_s = [25, 60, 120]
mean = [
  { quantity = "bank_into_turn_deg", low = 35, high = 62 },
  { quantity = "path_angle_deg", low = -3, high = 3 },
]
"""
)

CLIMBING_SPIRAL = (
    HEAD.format(kind="climbing_spiral")
    + """
[turns]
count = 1
angle_deg = 1080
[finder]
repeats = "single"
excludes = []
complete_share = 0.9
shortest_s = 60
longest_s = 400
"""
    + "".join(
        f"""
[[leg]]
name = "round_{number}"
title = "Round"
until = {"'turn_stops'" if number == 3 else 360 * number}
duration_s = [20, 60, 150]
mean = [
  {{ quantity = "bank_into_turn_deg", low = 12, high = 35 }},
  {{ quantity = "path_angle_deg", low = 2, high = 12 }},
]
"""
        for number in (1, 2, 3)
    )
)


@pytest.mark.parametrize("quality", [AVIONICS, TRACK_ONLY], ids=["avionics", "track"])
def test_a_file_is_all_it_takes(tmp_path: Path, quality: Quality) -> None:
    (tmp_path / "steep_720.toml").write_text(STEEP_720)
    (tmp_path / "climbing_spiral.toml").write_text(CLIMBING_SPIRAL)
    known = [each for each in definitions([tmp_path]).values() if can_find(each)]
    sketch = Sketch().level(40).turn(720, bank=48, kind="steep_720").level(40)
    sketch.turn(-1080, bank=22, climb=5, speed=40.0, kind="climbing_spiral").level(40)
    sketch.turn(-360, bank=46, speed=50.0, kind="steep_turn").level(40)
    found = find(motion(sketch.table(), quality, seed=4), known)
    # The longer definition wins over two steep turns; the single 360 stays a steep turn.
    assert [(one.kind, one.direction) for one in found] == [
        ("steep_720", "right"),
        ("climbing_spiral", "left"),
        ("steep_turn", "left"),
    ]
    for one, flown in zip(found, sketch.flown, strict=True):
        assert one.start == pytest.approx(flown.start, abs=4.0)
        assert one.end == pytest.approx(flown.end, abs=4.0)


WEAVE = (
    HEAD.format(kind="weave")
    + """
[turns]
count = [3, 12]
angle_deg = 60
angle_range_deg = [40, 90]
directions = "alternating"
[finder]
repeats = "single"
excludes = []
complete_share = 0.7
complete_parts = 3
pause_s = [0, 1, 5]
shortest_s = 15
longest_s = 300
[[leg]]
name = "bend"
title = "One bend, descending"
until = "turn_stops"
duration_s = [4, 9, 25]
mean = [
  { quantity = "bank_into_turn_deg", low = 22, high = 50 },
  { quantity = "path_angle_deg", low = -10, high = -3 },
]
[[whole]]
quantity = "altitude_change_ft"
low = -3000
high = -100
"""
)


@pytest.mark.parametrize("bends", [3, 7])
def test_so_it_is_for_a_series_of_turns(tmp_path: Path, bends: int) -> None:
    (tmp_path / "weave.toml").write_text(WEAVE)
    known = [each for each in definitions([tmp_path]).values() if can_find(each)]
    sketch = Sketch().level(40)
    for bend in range(bends):
        sketch.turn(60.0 * (-1) ** bend, bank=35, climb=-6, speed=48.0)
    (one,) = find(motion(sketch.level(60).table(), AVIONICS, seed=2), known)
    assert (one.kind, one.direction, one.status, len(one.parts)) == ("weave", "right", "complete", bends)
