"""Real sprinting and running: every measure of a published step, and through a camera at 12 m.

The licence of these coordinates is not stated, so they stay beside the checkout and the tests are
long ones; tests/measures/test_real_contacts.py holds what may be kept here.

Coordinates: published (sources in tests/measures/published.py). Expected numbers: our own
arithmetic on them, by a second program; no number here was printed by their authors. Columns
S1–S4, J1–J5 and T1–T16.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from tapmark.marks.run import Point, Run
from tapmark.measures.compute import measure_run
from tapmark.measures.result import Measured
from tests.measures.made import number
from tests.measures.published import ALL, FILES, Place, feet, place, run_of_step, table

EXPECTED = """
reach near: 0.35 1.43 5.31 3.45 2.30 5.85 4.48 5.11 2.82
knee_touchdown near: 149.70 148.13 155.46 149.25 160.12 166.35 162.70 165.28 160.17
ankle_knee near: 0.27 1.11 4.07 2.66 1.78 4.53 3.46 3.96 2.18
ankle_hip near: 24.34 27.21 27.62 29.42 20.03 20.46 21.37 20.19 20.75
knee_separation near: 28.58 35.66 36.26 41.76 26.45 25.77 26.17 23.16 25.98
separation_ahead near: 24.07 26.10 23.55 26.76 18.25 15.92 17.91 16.22 18.56
separation_behind near: 4.52 9.56 12.71 15.00 8.20 9.85 8.26 6.93 7.42
swing_thigh near: -5.01 -10.87 -14.14 -17.35 -9.53 -11.26 -9.66 -7.89 -8.60
trunk_lean: 10.59 11.87 9.43 11.84 0.61 -1.21 -0.51 -2.10 -0.29
leg_stack near: 94.03 93.73 94.46 92.50 93.28 93.49 92.19 92.83 92.64
knee_mid_stance near: 140.12 139.12 141.62 135.26 137.71 138.40 134.35 136.31 135.72
knee_bend near: 9.58 9.01 13.84 13.99 22.41 27.95 28.35 28.97 24.44
fold far: 37.50 31.02 31.31 27.95 79.28 77.34 80.18 77.05 75.70
thigh_toe_off near: -40.19 -40.75 -38.68 -40.52 -23.63 -20.67 -21.98 -22.35 -22.12
knee_toe_off near: 173.30 175.11 172.23 173.58 166.58 159.93 162.49 161.43 164.16
hip_toe_off near: 214.15 215.84 213.62 216.28 202.18 200.79 203.35 204.35 202.06
hip_share near: 64.27 62.54 64.64 61.75 60.26 65.15 60.73 63.48 60.41
drive_angle near: 36.65 35.90 35.14 36.55 21.91 22.14 22.12 23.17 21.32
peak_thigh far: 69.97 69.36 62.32 65.63 39.30 35.58 35.76 36.59 37.97
front_leg_return far: 38.83 37.65 30.21 36.35 17.92 16.09 14.94 15.75 17.41
contact_time near: 116 116 116 120 232 236 236 240 236
flight_time: 112 116 108 116 144 136 148 132 156
step_rate: 4.3860 4.3103 4.4643 4.2373 2.6596 2.6882 2.6042 2.6882 2.5510
"""
EXPECTED_T = """
reach near: 14.83 17.82 13.27 17.60 18.09 14.47 17.08 16.07 16.68 20.43 14.70 14.92 12.29 16.67 17.47 13.84
knee_touchdown near: 166.49 171.59 165.39 172.10 168.66 169.12 169.23 169.95 168.61 175.48 166.70 168.26 167.18 173.16 170.85 168.10
swing_thigh near: -14.40 -20.43 -16.07 -19.12 -19.21 -15.73 -15.72 -14.06 -19.30 -18.81 -14.82 -14.95 -10.70 -17.01 -16.97 -17.05
leg_stack near: 91.97 91.60 91.91 91.68 90.93 92.86 91.86 91.83 91.82 91.72 91.74 92.09 94.04 92.37 91.97 92.90
knee_bend near: 32.73 38.89 31.81 39.17 37.85 32.69 35.79 36.60 35.29 42.46 33.62 34.16 26.95 38.23 37.10 31.54
fold far: 68.12 73.81 70.49 74.41 64.10 76.97 71.18 69.65 67.40 70.06 66.87 66.77 70.42 75.03 72.45 79.43
thigh_toe_off near: -29.99 -30.17 -29.95 -30.82 -27.46 -30.11 -25.89 -30.66 -29.51 -29.68 -27.02 -27.26 -29.18 -29.03 -28.61 -31.96
hip_toe_off near: 204.01 203.18 204.30 204.55 201.68 203.23 200.46 204.70 205.45 204.47 202.44 201.55 205.31 203.08 203.09 204.23
hip_share near: 61.03 59.31 61.44 60.51 60.18 61.89 61.76 60.32 61.16 60.54 60.00 58.45 63.35 60.93 60.75 61.79
drive_angle near: 27.56 25.57 27.35 27.37 25.80 26.94 24.48 27.42 26.74 27.12 24.21 22.79 26.02 25.75 25.09 27.84
peak_thigh far: 46.40 41.49 44.17 42.81 46.76 41.55 43.49 44.50 44.91 43.43 44.52 43.21 41.69 40.40 43.61 42.14
front_leg_return far: 18.23 14.02 16.73 13.37 19.62 14.31 15.68 16.29 18.55 15.14 15.56 18.29 16.73 13.99 16.15 13.27
trunk_lean: 6.81 6.89 7.50 6.55 7.03 6.54 7.21 5.56 5.49 5.22 5.95 5.35 5.75 5.47 7.19 7.25
contact_time near: 210 210 200 210 210 200 200 210 210 220 200 200 200 210 210 210
flight_time: 70 80 70 70 90 70 90 70 80 80 100 100 80 70 80 60
"""  # noqa: E501
WITHIN = 0.05
pytestmark = pytest.mark.long


def expected() -> list[tuple[str, int, tuple[str, str], float]]:
    """Return who, step, row and value of every number typed in above."""
    found = []
    for text, who_and_step in ((EXPECTED, ALL[:9]), (EXPECTED_T, ALL[9:])):
        for line in text.strip().splitlines():
            name, values = line.split(":")
            key, _, leg = name.partition(" ")
            for (who, i), value in zip(who_and_step, values.split(), strict=True):
                found.append((who, i, (key, leg), float(value)))
    return found


@pytest.mark.parametrize("who_and_step", ALL, ids=lambda ws: f"{ws[0]}{ws[1] + 1}")
def test_every_measure_of_a_published_step(shared: Path, who_and_step: tuple[str, int]) -> None:
    results = measure_run(as_fed(run_of_step(shared, *who_and_step)))
    numbers = [(key, value) for who, i, key, value in expected() if (who, i) == who_and_step]

    assert len(numbers) >= 15
    for key, value in numbers:
        assert number(results, *key).value == pytest.approx(value, abs=WITHIN), key


@pytest.mark.parametrize("who_and_step", ALL, ids=lambda ws: f"{ws[0]}{ws[1] + 1}")
def test_checks_stay_silent_on_what_real_points_do(
    shared: Path, who_and_step: tuple[str, int]
) -> None:
    run = run_of_step(shared, *who_and_step)

    assert [check.words for check in measure_run(run).checks] == []


@pytest.mark.parametrize("who_and_step", ALL, ids=lambda ws: f"{ws[0]}{ws[1] + 1}")
def test_a_camera_at_12_m_stays_within_the_stated_doubt(
    shared: Path, who_and_step: tuple[str, int]
) -> None:
    flat, seen = (
        measure_run(run).rows
        for run in (
            run_of_step(shared, *who_and_step),
            run_of_step(shared, *who_and_step, pinhole_at_12_m(shared, *who_and_step)),
        )
    )

    for key, row in seen.items():
        true = flat[key]
        if isinstance(row, Measured) and isinstance(true, Measured):
            assert abs(row.value - true.value) <= row.plus_minus, key


def test_squareness_has_its_share_where_perspective_moves_a_row_most(shared: Path) -> None:
    """The return moves by up to 3.2° and the trunk at opposite touchdown by 1.9° at 12 m."""
    seen = measure_run(run_of_step(shared, "S", 0, pinhole_at_12_m(shared, "S", 0)))
    flat = measure_run(run_of_step(shared, "S", 0))
    moved = abs(
        number(seen, "front_leg_return", "far").value
        - number(flat, "front_leg_return", "far").value
    )

    assert moved > 2.0
    assert dict(number(seen, "front_leg_return", "far").parts)["side-on angle"] > moved / 2


def pinhole_at_12_m(folder: Path, who: str, i_step: int) -> Callable[[Place, int], Point]:
    """Return a camera at 1.0 m on the near side, square, opposite the near hip at mid-stance."""
    near, _, rows = feet(who, i_step)
    middle = place(table(folder / "data" / FILES[who][0])[rows[1]], f"{near}_hip")
    assert middle is not None
    x, _, z = middle

    def camera(at: Place, sign: int) -> Point:
        scale = 12.0 * 400.0 / (12.0 + (z - at[2]) * sign)
        return 3000.0 + sign * scale * (at[0] - x), 900.0 - scale * (at[1] - 1.0)

    return camera


def as_fed(run: Run) -> Run:
    """Return the run without near ankle at peak knee lift, as the standard taps have it."""
    frames = tuple(
        replace(f, taps=tuple(t for t in f.taps if t.point != "near ankle"))
        if f.event == "peak knee lift"
        else f
        for f in run.steps[0].key_frames
    )
    return replace(run, steps=(replace(run.steps[0], key_frames=frames),))
