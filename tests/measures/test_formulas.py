"""Formulas where a tap is missing: what is left is measured, never a wrong picture."""

from math import radians, sin

import pytest

from tapmark.marks.points import STANDARD
from tapmark.marks.run import Tap
from tapmark.measures.compute import measure_run
from tests.measures.made import POSES, number, run_of, with_set_up, with_tap, without

NEEDED = ("touchdown", "toe-off", "opposite touchdown")
ARMS = {event: pose.arm for event, pose in POSES.items() if "elbow" in STANDARD[event]}


def test_the_arms_range_is_from_the_rearmost_to_the_foremost_tapped_elbow() -> None:
    expected = max(ARMS.values()) - min(ARMS.values())

    assert number(measure_run(run_of()), "arm_range").value == pytest.approx(expected)


@pytest.mark.parametrize("event", sorted(ARMS.keys() - NEEDED))
@pytest.mark.parametrize("point", ["elbow", "shoulder"])
def test_a_key_frame_without_elbow_or_shoulder_is_left_out_of_the_arms_range(
    event: str, point: str
) -> None:
    left = [arm for other, arm in ARMS.items() if other != event]

    for run in (
        without(run_of(), event, point),
        with_tap(run_of(), event, Tap(point, None, "hidden")),
    ):
        found = number(measure_run(run), "arm_range")
        assert found.value == pytest.approx(max(left) - min(left))


def test_contact_length_is_the_ankles_way_under_the_hip_in_metres() -> None:
    scaled = with_set_up(run_of(), scale_px=((0.0, 900.0), (800.0, 900.0)), scale_m=2.0)
    in_front = 0.245 * sin(radians(30)) + 0.246 * sin(radians(4))  # thigh and shank, in heights
    behind = 0.245 * sin(radians(-30)) + 0.246 * sin(radians(-46))

    found = number(measure_run(scaled), "contact_length", "near")
    assert found.value == pytest.approx((in_front - behind) * 600 / 400)
