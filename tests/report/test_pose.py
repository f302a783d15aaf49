"""Poses from taps, held against the drawn runner's own truth (its angles by complex numbers)."""

from dataclasses import replace

import pytest

from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    SIDE_EVENTS,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.marks.run import Run, Tap
from tapmark.report.drawing.body import STAND_IN, sole
from tapmark.report.drawing.pose import step_poses
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.report.drawing_made import good_run, poor_run, untapped, with_frames, without

PERSPECTIVE = 1.5  # degrees that depth and a picture between two instants may cost


@pytest.mark.parametrize(("run", "style"), [(good_run, RUNS_WELL), (poor_run, OVERSTRIDES)])
def test_tapped_angles_are_the_runner_s_own(run, style):
    poses = step_poses(run())
    near = PERSPECTIVE + 1.5 * abs(style.knee_landing_rate) / 240
    assert poses[TOUCHDOWN].near_leg.shank == pytest.approx(style.reach, abs=PERSPECTIVE + 2.5)
    assert poses[TOUCHDOWN].near_leg.knee == pytest.approx(style.knee_touchdown, abs=near + 3)
    assert poses[MID_STANCE].near_leg.knee == pytest.approx(style.knee_mid_stance, abs=2.5)
    assert poses[TOE_OFF].near_leg.thigh == pytest.approx(style.thigh_toe_off, abs=2.5)
    assert poses[PEAK_KNEE_LIFT].far_leg.thigh == pytest.approx(style.peak_thigh, abs=2.0)
    assert poses[TOUCHDOWN].trunk == pytest.approx(style.trunk_lean, abs=4.0)


def test_a_run_to_the_left_gives_the_poses_of_a_run_to_the_right():
    right, left = step_poses(poor_run(1)), step_poses(poor_run(-1))
    for event in SIDE_EVENTS:
        assert left[event].near_leg.thigh == pytest.approx(right[event].near_leg.thigh, abs=0.05)
        assert left[event].far_leg.shank == pytest.approx(right[event].far_leg.shank, abs=0.05)
        assert left[event].hip_up == pytest.approx(right[event].hip_up, abs=0.002)


def test_a_post_marked_from_its_top_leans_as_one_marked_from_its_foot():
    """As the numbers beside the figure have it: a file may hold its ends in either order."""
    run = poor_run()
    foot, top = run.set_up.upright_px
    turned = replace(run, set_up=replace(run.set_up, upright_px=(top, foot)))
    assert step_poses(turned) == step_poses(run)


@pytest.mark.parametrize(
    ("event", "side"),
    [(TOUCHDOWN, "near"), (MID_STANCE, "near"), (TOE_OFF, "near"), (OPPOSITE_TOUCHDOWN, "far")],
)
def test_the_foot_that_is_down_stands_on_the_ground(event, side):
    assert sole(step_poses(poor_run())[event], side) == pytest.approx(0.0, abs=1e-9)


def test_in_the_air_both_feet_are_off_the_ground():
    pose = step_poses(good_run())[PEAK_KNEE_LIFT]
    assert sole(pose, "near") > 0.01
    assert sole(pose, "far") > 0.01


def test_a_key_frame_without_its_leading_leg_has_no_pose_of_its_own():
    poses = step_poses(untapped(good_run(), MID_STANCE))
    assert list(poses) == [event for event in SIDE_EVENTS if event != MID_STANCE]


def test_nothing_tapped_gives_no_pose():
    assert step_poses(Run()) == {}
    assert step_poses(untapped(good_run(), *SIDE_EVENTS)) == {}


def test_a_swing_leg_that_nobody_tapped_bends_as_the_other_leg_does_at_the_other_landing():
    poses = step_poses(good_run())
    other = poses[OPPOSITE_TOUCHDOWN].near_leg
    leg = poses[TOUCHDOWN].far_leg
    assert leg.thigh - leg.shank == pytest.approx(other.thigh - other.shank)
    alone = step_poses(without(good_run(), OPPOSITE_TOUCHDOWN))[TOUCHDOWN].far_leg
    usual = STAND_IN[TOUCHDOWN].far_leg
    assert alone.thigh - alone.shank == pytest.approx(usual.thigh - usual.shank)


def test_a_knee_behind_the_near_leg_is_drawn_at_the_near_knee():
    frames = good_run().steps[0].key_frames
    first = frames[0]
    taps = tuple(
        Tap("far knee", None, "behind") if tap.point == "far knee" else tap for tap in first.taps
    )
    poses = step_poses(with_frames(good_run(), (replace(first, taps=taps), *frames[1:])))
    assert poses[TOUCHDOWN].far_leg.thigh == pytest.approx(poses[TOUCHDOWN].near_leg.thigh)


def test_a_wild_tap_does_not_draw_a_giant():
    frames = good_run().steps[0].key_frames
    wild = tuple(
        replace(tap, at_px=(0.0, 0.0)) if tap.point == "shoulder" else tap for tap in frames[0].taps
    )
    poses = step_poses(with_frames(good_run(), (replace(frames[0], taps=wild), *frames[1:])))
    assert poses[TOUCHDOWN].build.trunk <= 0.288 * 1.15 + 1e-9


def test_points_on_one_spot_fall_back_to_the_stand_in():
    frames = good_run().steps[0].key_frames
    same = tuple(replace(tap, at_px=(5.0, 5.0)) for tap in frames[0].taps)
    poses = step_poses(with_frames(good_run(), (replace(frames[0], taps=same),)))
    assert poses[TOUCHDOWN].near_leg.thigh == STAND_IN[TOUCHDOWN].near_leg.thigh
