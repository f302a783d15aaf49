"""A textbook's walking trial through the whole measure, and all 24 frames beside the checkout.

D. A. Winter, Biomechanics and Motor Control of Human Movement, 4th ed., Wiley 2009, Appendix A,
Tables A.2 (places) and A.3 (angles): see tests/geometry/test_planar.py for twelve typed-in frames.
"""

import csv
from pathlib import Path

import pytest

from tapmark.marks.run import KeyFrame, Run, SetUp, Source, Step, Tap
from tapmark.measures.compute import measure_run
from tests.geometry.test_planar import WINTER
from tests.measures.made import number

WITHIN_DEG = 0.11


def walking(places: list[tuple[float, float]], sign: int) -> Run:
    """Return a run whose two touchdowns show a frame; rib cage for shoulder, 800 px a metre."""
    rib, hip, knee, ankle = ((1500 + sign * 800 * x, 900 - 800 * y) for x, y in places)
    leg = (Tap("near knee", knee), Tap("near ankle", ankle), Tap("far knee", knee))
    near = (Tap("shoulder", rib), Tap("hip", hip), *leg)
    far = (Tap("shoulder", rib), Tap("hip", hip), Tap("far knee", knee), Tap("far ankle", ankle))
    frames = (
        KeyFrame("touchdown", 1, 0.0, 1 / 69.9, taps=near),
        KeyFrame("opposite touchdown", 35, 34 / 69.9, 1 / 69.9, taps=far),
    )
    direction = "left to right" if sign > 0 else "right to left"
    return Run(
        source=Source("clip", "", (6000, 1200)),
        set_up=SetUp(direction=direction, slow_factor=1.0),
        steps=(Step(frames),),
    )


def agrees(places: list[tuple[float, float]], trunk: float, thigh: float, leg: float) -> None:
    for sign in (1, -1):
        results = measure_run(walking(places, sign))
        for foot in ("near", "far"):
            assert number(results, "reach", foot).value == pytest.approx(leg - 90, abs=WITHIN_DEG)
            knee = 180 - number(results, "knee_touchdown", foot).value
            assert knee == pytest.approx(thigh - leg, abs=WITHIN_DEG)
        assert number(results, "trunk_lean").value == pytest.approx(90 - trunk, abs=WITHIN_DEG)
        assert number(results, "swing_thigh", "near").value == pytest.approx(
            thigh - 90, abs=WITHIN_DEG
        )


@pytest.mark.parametrize("frame", WINTER)
def test_typed_in_frames_come_out_as_printed_in_both_directions(frame: int) -> None:
    places, *angles = WINTER[frame]
    trunk, thigh, leg, _ = map(float, angles)

    agrees(places, trunk, thigh, leg)


@pytest.mark.long
def test_all_frames_beside_the_checkout_come_out_as_printed(shared: Path) -> None:
    path = shared / "data" / "winter_appendix_a_24_frames.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))

    assert len(rows) == 24
    for row in rows:
        places = [
            (float(row[f"a2_{name}_x_m"]), float(row[f"a2_{name}_y_m"]))
            for name in ("rib", "hip", "knee", "ankle")
        ]
        agrees(places, *(float(row[f"a3_{name}_deg"]) for name in ("half_hat", "thigh", "leg")))
