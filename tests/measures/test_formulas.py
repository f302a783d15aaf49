"""Formulas where a tap is missing: what is left is measured, never a wrong picture."""

import pytest

from tapmark.marks.points import STANDARD
from tapmark.marks.run import Tap
from tapmark.measures.compute import measure_run
from tests.measures.made import POSES, number, run_of, with_tap, without

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
