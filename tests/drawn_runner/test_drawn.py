"""Through the front door: asked angles come out of the picture, and the right pictures."""

from dataclasses import replace

import numpy as np
import pytest

from tests.drawn_runner.angles import from_down, from_up, joint, upright
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.camera import View
from tests.drawn_runner.drawn import (
    centred,
    key_pictures,
    key_times,
    leg_px,
    true_points,
    true_taps,
)
from tests.drawn_runner.style import EVENTS, POINTS, Style

BOTH = pytest.mark.parametrize("style", [RUNS_WELL, OVERSTRIDES], ids=["P01", "P02"])
FILMED = pytest.mark.parametrize(
    ("direction", "roll"), [(1, 0), (-1, 0), (1, 4), (-1, 4), (1, -4), (-1, -4)]
)


def seen(style: Style, event: str, direction: int, roll: float) -> dict[str, np.ndarray]:
    """Points at a key frame, forward and up, from the picture."""
    view = View(direction=direction, roll=roll)
    points = true_points(style, key_times(style)[event], view)
    return {name: upright(xy, direction, roll) for name, xy in points.items()}


@BOTH
@FILMED
def test_touchdown_has_the_asked_angles(style: Style, direction: int, roll: float) -> None:
    at = seen(style, "touchdown", direction, roll)
    assert style.reach == pytest.approx(from_down(at["near knee"], at["near ankle"]), abs=0.1)
    knee = joint(at["hip"], at["near knee"], at["near ankle"])
    assert style.knee_touchdown == pytest.approx(knee, abs=0.1)
    assert style.swing_thigh == pytest.approx(from_down(at["hip"], at["far knee"]), abs=0.1)
    assert style.swing_knee == pytest.approx(
        joint(at["hip"], at["far knee"], at["far ankle"]), abs=0.1
    )
    assert style.trunk_lean == pytest.approx(from_up(at["hip"], at["neck base"]), abs=0.1)


@BOTH
@FILMED
def test_mid_stance_has_the_asked_angles(style: Style, direction: int, roll: float) -> None:
    at = seen(style, "mid-stance", direction, roll)
    assert at["hip"][0] == pytest.approx(at["near ankle"][0], abs=0.01)
    knee = joint(at["hip"], at["near knee"], at["near ankle"])
    assert style.knee_mid_stance == pytest.approx(knee, abs=0.1)
    assert style.fold == pytest.approx(joint(at["hip"], at["far knee"], at["far ankle"]), abs=0.1)


@BOTH
@FILMED
def test_toe_off_has_the_asked_angles(style: Style, direction: int, roll: float) -> None:
    at = seen(style, "toe-off", direction, roll)
    assert style.thigh_toe_off == pytest.approx(from_down(at["hip"], at["near knee"]), abs=0.1)
    knee = joint(at["hip"], at["near knee"], at["near ankle"])
    assert style.knee_toe_off == pytest.approx(knee, abs=0.1)
    assert style.drive == pytest.approx(from_up(at["near toe"], at["hip"]), abs=0.1)


@BOTH
@FILMED
def test_peak_knee_lift_has_the_asked_angle(style: Style, direction: int, roll: float) -> None:
    at = seen(style, "peak knee lift", direction, roll)
    assert style.peak_thigh == pytest.approx(from_down(at["hip"], at["far knee"]), abs=0.1)


@BOTH
@FILMED
def test_the_far_foot_lands_as_the_near_one_did(style: Style, direction: int, roll: float) -> None:
    at = seen(style, "opposite touchdown", direction, roll)
    assert style.reach == pytest.approx(from_down(at["far knee"], at["far ankle"]), abs=0.1)
    knee = joint(at["hip"], at["far knee"], at["far ankle"])
    assert style.knee_touchdown == pytest.approx(knee, abs=0.1)
    assert style.swing_thigh == pytest.approx(from_down(at["hip"], at["near knee"]), abs=0.1)


@BOTH
def test_the_lead_thigh_is_highest_at_peak_knee_lift(style: Style) -> None:
    around = key_times(style)["peak knee lift"] + np.linspace(-0.05, 0.05, 201)
    points = true_points(style, around)
    thigh = from_down(upright(points["hip"]), upright(points["far knee"]))
    assert int(np.argmax(thigh)) == pytest.approx(100, abs=1)


@BOTH
def test_the_rear_thigh_turns_when_asked(style: Style) -> None:
    t = style.contact_s + np.linspace(0, style.flight_s, 2001)
    points = true_points(style, t)
    thigh = from_down(upright(points["hip"]), upright(points["near knee"]))
    turned = t[np.argmin(thigh)] - style.contact_s
    assert style.turn_delay_s == pytest.approx(turned, abs=0.004)


@pytest.mark.parametrize("field", ["reach", "knee_touchdown", "swing_thigh", "fold", "peak_thigh"])
def test_one_asked_angle_can_be_changed_alone(field: str) -> None:
    style = replace(RUNS_WELL, **{field: getattr(RUNS_WELL, field) + 4})
    at = seen(style, "touchdown", 1, 0)
    assert style.reach == pytest.approx(from_down(at["near knee"], at["near ankle"]), abs=0.1)
    assert style.swing_thigh == pytest.approx(from_down(at["hip"], at["far knee"]), abs=0.1)
    lift = seen(style, "peak knee lift", 1, 0)
    assert style.peak_thigh == pytest.approx(from_down(lift["hip"], lift["far knee"]), abs=0.1)


@pytest.mark.parametrize("rate", [240, 120, 60])
@pytest.mark.parametrize("phase", [0.0, 0.25, 0.5, 0.95])
@BOTH
def test_key_pictures_obey_the_rules(style: Style, phase: float, rate: int) -> None:
    found, gap = key_pictures(style, rate, phase), 1 / rate
    down, off, other = (found[e].time_s for e in ("touchdown", "toe-off", "opposite touchdown"))
    assert 0 <= down < gap  # the first picture that touches
    assert off <= style.contact_s + 1e-9 < off + gap + 2e-9  # the last picture that touches
    assert other - gap < style.step_s <= other + 1e-9
    assert list(found) == list(EVENTS)


@BOTH
def test_mid_stance_picture_has_hip_closest_to_ankle(style: Style) -> None:
    chosen = key_pictures(style, 240, 0.3)["mid-stance"].time_s
    gaps = []
    for t in (chosen - 1 / 240, chosen, chosen + 1 / 240):
        at = true_points(style, t)
        gaps.append(abs(at["hip"][0] - at["near ankle"][0]))
    assert int(np.argmin(gaps)) == 1


@BOTH
def test_contact_counted_on_pictures_is_right_on_average(style: Style) -> None:
    counted = []
    for phase in np.linspace(0, 1, 400, endpoint=False):
        found = key_pictures(style, 240, float(phase))
        counted.append((found["toe-off"].number - found["touchdown"].number + 1) / 240)
    assert style.contact_s == pytest.approx(np.mean(counted), abs=2e-5)


@BOTH
def test_pictures_at_240_are_the_120_pictures_and_those_between(style: Style) -> None:
    coarse = true_points(style, np.arange(8) / 120)
    fine = true_points(style, np.arange(16) / 240)
    assert coarse["near knee"] == pytest.approx(fine["near knee"][::2])


def test_every_point_is_there_for_one_time_and_for_many() -> None:
    one, many = true_points(RUNS_WELL, 0.1), true_points(RUNS_WELL, np.zeros((4, 3)))
    assert set(POINTS) == set(one) == set(many)
    assert {(2,)} == {xy.shape for xy in one.values()}
    assert {(4, 3, 2)} == {xy.shape for xy in many.values()}


def test_taps_are_plain_numbers_by_event_and_point() -> None:
    taps = true_taps(RUNS_WELL, View(), key_times(RUNS_WELL))
    assert list(EVENTS) == list(taps)
    assert {float} == {type(v) for at in taps.values() for xy in at.values() for v in xy}


@BOTH
def test_a_centred_step_lies_evenly_about_the_middle_of_the_picture(style: Style) -> None:
    view = centred(style, View(direction=-1))
    hip = true_points(style, np.array([0.0, style.step_s]), view)["hip"][:, 0]
    assert hip.mean() == pytest.approx(640)


def test_leg_length_in_pixels_is_0_53_of_height() -> None:
    assert leg_px(RUNS_WELL, View(px_per_m=270)) == pytest.approx(0.53 * 1.78 * 270)


def test_off_square_one_leg_angles_barely_change() -> None:
    # Calc of ours: a reach of 20 reads 19.7 ten degrees off square.
    # The shank also slants in depth, which adds one way and takes away the other: the mean.
    style, reach = replace(OVERSTRIDES, reach=20.0), []
    for yaw in (-10, 10):
        seen_so = true_points(style, 0.0, View(yaw=yaw, distance_m=1e6))
        at = {name: upright(xy) for name, xy in seen_so.items()}
        reach.append(from_down(at["near knee"], at["near ankle"]))
    assert np.mean(reach) == pytest.approx(19.7, abs=0.1)
    assert reach == pytest.approx([20, 20], abs=1.5)
