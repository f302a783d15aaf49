"""Picture to runner: direction, roll, and what a camera that is off square does to angles."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from tapmark.geometry.planar import hang_deg
from tapmark.geometry.runner_axes import roll_rad, to_runner

POINTS = np.random.default_rng(4).uniform(0, 1000, (8, 2))


def test_a_level_picture_only_turns_y_upside_down() -> None:
    assert to_runner(np.array([3.0, 4.0]), 0.0, +1).tolist() == [3.0, -4.0]
    assert to_runner(np.array([3.0, 4.0]), 0.0, -1).tolist() == [-3.0, -4.0]


def test_roll_of_an_upright_that_leans_right_is_positive() -> None:
    assert np.degrees(roll_rad(np.array([0.0, 100.0]), np.array([10.0, 0.0]))) == pytest.approx(
        5.7105931, abs=1e-6
    )
    assert roll_rad(np.array([5.0, 100.0]), np.array([5.0, 0.0])) == 0.0


@pytest.mark.parametrize("sign", [1, -1])
@pytest.mark.parametrize("roll_deg", [-4.0, 3.5, 20.0])
def test_roll_is_taken_out_as_scipys_rotation_does(sign: int, roll_deg: float) -> None:
    level = to_runner(POINTS, 0.0, sign)
    turn = Rotation.from_euler("z", roll_deg, degrees=True).as_matrix()[:2, :2]
    rolled_picture = POINTS @ turn.T  # y down: a positive turn leans an upright to the right

    found = to_runner(rolled_picture, np.radians(roll_deg), sign)

    assert found == pytest.approx(level, abs=1e-9)


def test_roll_is_found_from_any_true_vertical() -> None:
    for roll_deg in (-4.0, 0.0, 2.5):
        rad = np.radians(roll_deg)
        bottom = np.array([400.0, 600.0])
        top = bottom + 500.0 * np.array([np.sin(rad), -np.cos(rad)])
        assert roll_deg == pytest.approx(np.degrees(roll_rad(bottom, top)), abs=1e-9)


def test_a_mirrored_picture_gives_the_very_same_places() -> None:
    mirrored = POINTS * np.array([-1.0, 1.0])

    there = to_runner(POINTS, np.radians(2.0), +1)
    back = to_runner(mirrored, np.radians(-2.0), -1)

    assert back == pytest.approx(there, abs=1e-9)


@pytest.mark.parametrize(
    ("off_deg", "thigh_deg", "reads_deg"),
    [(10, 20, 19.7197), (20, 20, 18.8817), (30, 10, 8.6822), (30, 45, 40.8934)],
)
def test_foreshortening_from_afar_is_the_known_one(
    off_deg: float, thigh_deg: float, reads_deg: float
) -> None:
    # atan(tan t · cos ψ), Hartley & Zisserman, Multiple View Geometry; own table by a pinhole.
    t, psi = np.radians([thigh_deg, off_deg])
    knee = np.array([np.sin(t) * np.cos(psi), np.cos(t)])  # picture, y down

    hip = to_runner(np.array([0.0, 0.0]), 0.0, 1)
    seen = hang_deg(hip, to_runner(knee, 0.0, 1))

    assert reads_deg == pytest.approx(seen, abs=1e-3)
