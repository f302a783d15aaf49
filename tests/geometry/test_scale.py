"""Scale marks, leg length, and what depth and an oblique camera do to both."""

import numpy as np
import pytest
import shapely

from tapmark.errors import ScaleUnusable
from tapmark.geometry.planar import hang_deg, joint_deg
from tapmark.geometry.scale import leg_from_segments, px_per_m


def test_two_marks_two_metres_apart_give_the_scale() -> None:
    ends = [(100.0, 600.0), (640.0, 610.0)]

    along = shapely.Point(ends[0]).distance(shapely.Point(ends[1]))

    assert along / 2.0 == pytest.approx(px_per_m(ends, 2.0), abs=1e-9)


def test_marks_less_than_a_metre_apart_give_a_scale_too() -> None:
    assert px_per_m([(0.0, 0.0), (30.0, 40.0)], 0.25) == pytest.approx(200.0)


@pytest.mark.parametrize("distance_m", [0.0, -2.0, float("nan"), float("inf")])
def test_a_distance_that_cannot_be_one_is_refused(distance_m: float) -> None:
    with pytest.raises(ScaleUnusable, match="type in the true one"):
        px_per_m([(0.0, 0.0), (10.0, 0.0)], distance_m)


def test_marks_on_the_same_spot_are_refused() -> None:
    with pytest.raises(ScaleUnusable, match="same spot"):
        px_per_m([(5.0, 5.0), (5.5, 5.0)], 2.0)


def test_leg_length_is_that_of_a_standing_body_of_the_published_ratios() -> None:
    # Drillis & Contini ratios: thigh 0.245, shank 0.246, leg 0.530 of height (from memory).
    thighs, shanks = np.full(3, 0.245 * 1.80), np.full(3, 0.246 * 1.80)

    assert leg_from_segments(thighs, shanks) == pytest.approx(0.530 * 1.80, rel=1e-3)


def test_leg_length_is_the_mean_over_pictures_row_by_row() -> None:
    thighs = np.array([[40.0, 44.0], [42.0, 44.0]])
    shanks = np.array([[41.0, 45.0], [41.0, 45.0]])

    assert leg_from_segments(thighs, shanks).tolist() == pytest.approx([1.08 * 82, 1.08 * 89])


@pytest.mark.parametrize(
    ("nearer_m", "percent"), [(0.15, 1.91), (-0.15, -1.84), (0.25, 3.23), (-0.25, -3.03)]
)
def test_a_runner_off_the_marks_line_is_scaled_wrong_by_the_known_amount(
    nearer_m: float, percent: float
) -> None:
    focal_px, distance_m = 1500.0, 8.0
    marks = [(0.0, 0.0), (focal_px * 2.0 / distance_m, 0.0)]
    seen_px = focal_px * 1.0 / (distance_m - nearer_m)

    read_m = seen_px / px_per_m(marks, 2.0)

    assert percent == pytest.approx(100 * (read_m - 1.0), abs=0.005)


def test_a_knee_seen_obliquely_reads_what_a_pinhole_says() -> None:
    # Plane turned 15° about the vertical, 8 m away, f 1500 px: image points and both flexions by
    # the pinhole formula (see Hartley & Zisserman, Multiple View Geometry, ch. 4 and 8).
    hip, knee, ankle = np.array([(849.1822, 358.3489), (877.2960, 444.8650), (820.7888, 520.7837)])

    flexion = abs(180 - joint_deg(hang_deg(hip, knee), hang_deg(knee, ankle)))

    assert flexion == pytest.approx(54.662475, abs=1e-3)
    assert abs(flexion - 55.304846) < 0.7  # one joint loses little where distances lose 3 %
