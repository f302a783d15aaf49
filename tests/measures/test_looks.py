"""Looking again sharpens: the mean of the looks counts, and the tap's part shrinks with √n."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
import pytest

from tapmark.marks.edits import look_again
from tapmark.marks.run import Run, Tap
from tapmark.measures.compute import measure_run
from tapmark.measures.repeatability import second_look_pairs
from tests.measures.made import at, moved, number, run_of, with_frame

RUN = run_of()
LEG = ("near knee", "near ankle")


def looked(run: Run, points: Iterable[str], shifts: Iterable[tuple[float, int, int]]) -> Run:
    """Return a run with later looks at touchdown: (px to the right, number of the look, by)."""
    for shift, look, by in shifts:
        for point in points:
            x, y = at(run, "touchdown", point)
            tap = Tap(point, (x + shift, y))
            run = look_again(run, 0, "touchdown", tap, look=look, by=by)
    return run


def taps_part(run: Run) -> float:
    parts = dict(number(measure_run(run), "reach", "near").parts)
    return float(np.hypot(parts["the knee tap"], parts["the ankle tap"]))


@pytest.mark.parametrize(
    ("shifts", "n"),
    [
        ([(0, 2, 0)], 2),
        ([(0, 2, 0), (0, 3, 0)], 3),
        ([(-6, 2, -1), (6, 2, 1)], 3),
        ([(0, 2, 0), (-6, 2, -1), (6, 2, 1)], 4),
        ([(5, 2, 1)], 1),  # one side alone: the line goes through both, and nothing is gained
    ],
)
def test_the_part_of_the_tap_shrinks_with_the_root_of_the_looks(
    shifts: list[tuple[float, int, int]], n: int
) -> None:
    once, again = taps_part(RUN), taps_part(looked(RUN, LEG, shifts))

    assert again == pytest.approx(once / n**0.5, rel=0.01)


def test_a_value_is_that_of_the_mean_of_its_looks() -> None:
    looks = looked(RUN, ("near knee",), [(6, 2, 0), (3, 3, 0)])
    by_mean = moved(RUN, "touchdown", "near knee", 3.0, 0.0)

    here, there = (number(measure_run(run), "reach", "near") for run in (looks, by_mean))
    assert here.value == pytest.approx(there.value)


def test_pictures_beside_are_put_back_along_a_straight_line() -> None:
    steady = looked(RUN, LEG, [(-7, 2, -1), (7, 2, 1)])

    here = number(measure_run(RUN), "reach", "near").value
    assert number(measure_run(steady), "reach", "near").value == pytest.approx(here)


def test_pictures_beside_say_nothing_at_120_a_second() -> None:
    slow = run_of(hz=120.0)

    assert taps_part(looked(slow, LEG, [(-7, 2, -1), (7, 2, 1)])) == taps_part(slow)
    assert taps_part(looked(slow, LEG, [(0, 2, 0)])) < taps_part(slow)


def test_a_picture_beside_is_no_pair_of_the_error_card() -> None:
    run = looked(RUN, ("near knee",), [(1, 2, 0), (2, 3, 0), (40, 2, 1)])

    second, third = (pair.forward_pct_leg for pair in second_look_pairs(run))
    assert third == pytest.approx(2 * second)


@pytest.mark.parametrize(("n", "off"), [(40, 0.3), pytest.param(400, 0.1, marks=pytest.mark.long)])
def test_many_seeded_looks_come_as_near_to_the_truth_as_is_said(n: int, off: float) -> None:
    """Reach over n coaches who look three times: its scatter is the part of the taps.

    The SD of n normal values is known to 1 ÷ √(2n): 11 % of 40, 3.5 % of 400.
    """
    random = np.random.default_rng(4)
    leg_px = 1.08 * 0.491 * 600
    values = []
    for _ in range(n):
        run = RUN
        for point in LEG:
            x, y = at(RUN, "touchdown", point)
            for look in (2, 3):
                dx, dy = random.normal(0.0, 0.011 * leg_px, 2)
                run = look_again(run, 0, "touchdown", Tap(point, (x + dx, y + dy)), look=look)
        values.append(number(measure_run(run, with_checks=False), "reach", "near").value)
    # the first look stands still here, so two of three looks scatter: √2 of √3 parts
    assert np.std(values) == pytest.approx(taps_part(run) * (2 / 3) ** 0.5, rel=off)


def test_a_look_that_slipped_is_told_and_an_honest_one_is_not() -> None:
    """Two taps of one knee scatter by 1.1 % of a leg each: 15 px apart is 3.4 of their doubt."""
    names = [
        [check.name for check in measure_run(looked(RUN, ("near knee",), [(px, 2, 0)])).checks]
        for px in (15.0, 20.0, 30.0)
    ]

    assert names == [[], ["looks"], ["looks"]]
    (check,) = measure_run(looked(RUN, ("near knee",), [(30.0, 2, 0)])).checks
    assert (check.event, check.point) == ("touchdown", "near knee")
    assert "lie 9 cm apart" in check.words


def test_a_picture_called_blurred_after_the_second_look_doubles_both_looks() -> None:
    again = looked(RUN, LEG, [(0, 2, 0)])
    blurred = with_frame(again, "touchdown", lambda frame: replace(frame, is_blurred=True))

    assert taps_part(blurred) == pytest.approx(2 * taps_part(again), rel=0.01)
