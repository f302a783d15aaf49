"""The camera: scale, mirror, roll, depth and turning off square."""

import numpy as np
import pytest

from tests.drawn_runner.camera import View, project


def test_a_metre_on_the_running_line_is_as_many_pixels_as_asked() -> None:
    a, b = project(View(px_per_m=300), np.array([[-0.5, 0, 0], [0.5, 0, 0]]))
    assert b - a == pytest.approx([300, 0])


def test_the_point_in_front_of_the_camera_is_in_the_middle_on_the_ground_line() -> None:
    view = View(ground_y=610, centre_m=1.7)
    assert project(view, np.array([1.7, 0.0, 0.0])) == pytest.approx([640, 610])


def test_up_in_the_world_is_up_in_the_picture() -> None:
    foot, head = project(View(px_per_m=300), np.array([[0, 0, 0], [0, 1.0, 0]]))
    assert head - foot == pytest.approx([0, -300])


def test_running_the_other_way_mirrors_the_picture() -> None:
    points = np.random.default_rng(3).normal(size=(20, 3))
    there = project(View(yaw=4, distance_m=9), points)
    back = project(View(yaw=4, distance_m=9, direction=-1), points)
    assert there * [-1, 1] + [1280, 0] == pytest.approx(back)


def test_a_rolled_camera_leans_a_vertical_by_the_roll() -> None:
    # Our sign: roll = atan2(x_top - x_foot, y_foot - y_top).
    foot, top = project(View(roll=4), np.array([[1.2, 0, 0], [1.2, 2, 0]]))
    assert np.degrees(np.arctan2(top[0] - foot[0], foot[1] - top[1])) == pytest.approx(4)


def test_twice_as_far_away_is_half_as_large() -> None:
    view = View(distance_m=10, px_per_m=200)
    near, far = (project(view, np.array([[0, 0, z], [1, 0, z]])) for z in (0.0, 10.0))
    assert (far[1] - far[0])[0] == pytest.approx(100)
    assert (near[1] - near[0])[0] == pytest.approx(200)


@pytest.mark.parametrize(("yaw", "shift_cm"), [(5, 1.6), (10, 3.2), (15, 4.8)])
def test_hips_18_cm_apart_shift_by_the_sine_of_the_angle(yaw: float, shift_cm: float) -> None:
    # 0.18 m times the tangent of the angle off square; camera far away.
    view = View(yaw=yaw, distance_m=1e6)
    near, far = project(view, np.array([[0, 1, -0.09], [0, 1, 0.09]]))
    along_the_line = (far - near)[0] / np.cos(np.radians(yaw)) / view.px_per_m
    assert shift_cm == pytest.approx(100 * along_the_line, abs=0.05)


def test_without_depth_the_pinhole_agrees_with_the_scale_drawing() -> None:
    points = np.array([[0.4, 1.2, 0.0], [-1.0, 0.1, 0.0]])
    assert project(View(), points) == pytest.approx(project(View(distance_m=11), points))
