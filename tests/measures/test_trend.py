"""A season's line against NIST, JCGM 100 H.3 and simple laws."""

import numpy as np
import pytest

from tapmark.measures.change import Trend, straight_line, trend
from tapmark.measures.result import Measured, NotMeasured

# JCGM 100:2008, H.3: thermometer correction against temperature.
TEMPERATURES = """
21.521 22.012 22.512 23.003 23.507 23.999 24.513 25.002 25.503 26.010 26.511
"""
CORRECTIONS = """
-0.171 -0.169 -0.166 -0.159 -0.164 -0.165 -0.156 -0.157 -0.159 -0.161 -0.160
"""


def test_a_calibration_line_is_that_of_jcgm_100_h3() -> None:
    x, y = (np.array(row.split(), dtype=float) for row in (TEMPERATURES, CORRECTIONS))

    line = straight_line(x - 20, y, np.full(11, 1.0))

    assert line.start == pytest.approx(-0.1712, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert line.u_start * line.excess == pytest.approx(0.0029, abs=5e-5)
    assert line.u_slope * line.excess == pytest.approx(0.00067, abs=5e-6)
    assert line.excess == pytest.approx(0.0035, abs=5e-5)


NORRIS = """
0.1 0.2  338.8 337.4  118.1 118.2  888.0 884.6  9.2 10.1  228.1 226.5  668.5 666.3
998.5 996.3  449.1 448.6  778.9 777.0  559.2 558.2  0.3 0.4  0.1 0.6  778.1 775.5
668.8 666.9  339.3 338.0  448.9 447.5  10.8 11.6  557.7 556.0  228.3 228.1  998.0 995.8
888.8 887.6  119.6 120.2  0.3 0.3  0.6 0.3  557.6 556.8  339.3 339.1  888.0 887.2
998.5 999.0  778.9 779.0  10.2 11.1  117.6 118.3  228.9 229.2  668.4 669.1  449.2 448.9
0.2 0.5
"""  # NIST Statistical Reference Datasets, Norris: y and x of 36 readings


def test_a_line_is_that_of_the_certified_nist_set() -> None:
    y, x = np.array(NORRIS.split(), dtype=float).reshape(-1, 2).T
    assert len(x) == 36

    line = straight_line(x, y, np.full(len(x), 1.0))

    assert line.slope == pytest.approx(1.00211681802045, rel=1e-9)
    assert line.start == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.u_slope * line.excess == pytest.approx(4.29796848199937e-4, rel=1e-9)
    assert line.u_start * line.excess == pytest.approx(0.232818234301152, rel=1e-9)
    assert line.excess == pytest.approx(0.884796396144373, rel=1e-9)


def session(value: float, u: float = 1.0) -> Measured:
    return Measured("trunk_lean", "", value, u, "°")


def test_a_clear_season_has_a_slope_outside_its_doubt() -> None:
    found = trend("trunk_lean", [(day, session(12 - day / 10)) for day in (0, 30, 60, 90, 120)])

    assert isinstance(found, Trend)
    assert found.slope_a_month == pytest.approx(-365.25 / 12 / 10, rel=1e-3)
    assert found.is_clear


def test_a_wobble_is_not_a_trend() -> None:
    found = trend("trunk_lean", list(enumerate(map(session, (8, 9, 8, 9, 8)))))

    assert isinstance(found, Trend)
    assert not found.is_clear


def test_points_that_scatter_more_than_they_say_widen_the_slope() -> None:
    days = (0, 30, 60, 90)
    calm = trend("trunk_lean", list(zip(days, map(session, (5, 6, 7, 8)), strict=True)))
    wild = trend("trunk_lean", list(zip(days, map(session, (5, 16, -3, 8)), strict=True)))

    assert isinstance(calm, Trend)
    assert isinstance(wild, Trend)
    assert wild.plus_minus > 3 * calm.plus_minus


@pytest.mark.parametrize("days", [(0, 30), (5, 5, 5)])
def test_two_sessions_or_one_day_are_no_trend(days: tuple[float, ...]) -> None:
    found = trend("trunk_lean", [(day, session(8)) for day in days])

    assert isinstance(found, NotMeasured)
    assert "three sessions" in found.reason
