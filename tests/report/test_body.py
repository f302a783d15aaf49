"""Angles in, points out: lengths kept, feet on the ground."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.report.drawing.body import (
    ANKLE_UP,
    Arm,
    Build,
    Leg,
    Pose,
    above_ground,
    on_ground,
    points_of,
    sole,
)
from tests.examples import examples

angle = st.floats(-120, 120)
leg = st.builds(Leg, angle, angle, angle)
arm = st.builds(Arm, angle, angle)
pose = st.builds(Pose, st.floats(-30, 50), leg, leg, arm, arm)


@settings(max_examples=examples(100))
@given(pose)
def test_parts_keep_their_lengths_in_any_pose(pose):
    points, build = points_of(pose), Build()
    assert math.dist(points["hip"], points["near knee"]) == pytest.approx(build.thigh)
    assert math.dist(points["far knee"], points["far ankle"]) == pytest.approx(build.shank)
    assert math.dist(points["hip"], points["shoulder"]) == pytest.approx(build.trunk)
    assert math.dist(points["shoulder"], points["near elbow"]) == pytest.approx(build.upper_arm)


@settings(max_examples=examples(100))
@given(pose)
def test_a_grounded_foot_touches_the_ground_and_nothing_else_changes(pose):
    grounded = on_ground(pose, "near")
    assert sole(grounded, "near") == pytest.approx(0.0, abs=1e-9)
    assert grounded.near_leg == pose.near_leg
    assert above_ground(grounded).hip_up >= grounded.hip_up


def test_an_upright_stance_is_as_high_as_the_classic_leg():
    """0.530 H = thigh 0.245 + shank 0.246 + foot 0.039 (Drillis & Contini, as drawn by Winter)."""
    still = Pose(0, Leg(0, 0), Leg(0, 0), Arm(0, 0), Arm(0, 0))
    assert on_ground(still, "near").hip_up == pytest.approx(0.530)
    assert points_of(on_ground(still, "near"))["near ankle"][1] == pytest.approx(ANKLE_UP)


def test_forward_is_plus_in_every_direction():
    """Knee ahead of the hip is +; ankle ahead of the knee is +; lean forward is +."""
    points = points_of(Pose(10, Leg(30, 5), Leg(-30, -90), Arm(0, 0), Arm(0, 0)))
    assert points["near knee"][0] > 0 > points["far knee"][0]
    assert points["near ankle"][0] > points["near knee"][0]
    assert points["shoulder"][0] > 0
    assert Leg(20, -10).knee == 150.0
    assert Leg(-10, 0).knee == 190.0
