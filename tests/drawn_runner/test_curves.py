"""Cubic curves against an outside spline, and their own promises."""

import numpy as np
import pytest

from tests.drawn_runner.curves import curve_through

# ours: any knots will do
TIMES = [0.0, 0.1, 0.25, 0.3, 0.5]
VALUES = [2.0, -1.0, 4.0, 3.0, 0.0]


def test_free_slopes_give_the_clamped_spline_of_scipy() -> None:
    from scipy.interpolate import CubicSpline  # half a second, which no other process needs

    ours = curve_through(TIMES, VALUES, [1.0, None, None, None, -2.0])
    theirs = CubicSpline(TIMES, VALUES, bc_type=((1, 1.0), (1, -2.0)))
    t = np.linspace(0, 0.5, 301)
    assert theirs(t) == pytest.approx(ours(t), abs=1e-9)
    assert theirs(t, 1) == pytest.approx(ours.slope(t), abs=1e-6)


def test_given_slopes_give_the_hermite_curve_of_scipy() -> None:
    from scipy.interpolate import CubicHermiteSpline

    slopes = [1.0, 0.0, 5.0, -3.0, 2.0]
    ours = curve_through(TIMES, VALUES, slopes)
    t = np.linspace(0, 0.5, 301)
    assert CubicHermiteSpline(TIMES, VALUES, slopes)(t) == pytest.approx(ours(t), abs=1e-9)


def test_end_values_hold_outside_the_knots() -> None:
    ours = curve_through(TIMES, VALUES, [0.0, None, None, None, 0.0])
    assert ours(np.array([-1.0, 9.0])) == pytest.approx([2.0, 0.0])
