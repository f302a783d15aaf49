"""Tapping errors have the spread they claim, come from a seed, and leave the truth alone."""

import numpy as np
import pytest

from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.camera import View
from tests.drawn_runner.coach import slipped, tapped_step, tapping_error
from tests.drawn_runner.drawn import centred, key_pictures, leg_px, true_taps

VIEW = centred(RUNS_WELL, View())
PICTURES = key_pictures(RUNS_WELL, 240, 0.5)
TRUTH = true_taps(RUNS_WELL, VIEW, {e: p.time_s for e, p in PICTURES.items()})
LEG = leg_px(RUNS_WELL, VIEW)


@pytest.mark.parametrize(
    ("point", "percent"),
    [
        ("near knee", 1.1),
        ("far ankle", 1.1),
        ("elbow", 1.1),
        ("near toe", 1.1),
        ("far heel", 1.1),
        ("near wrist", 1.1),
        ("hip", 2.2),
        ("shoulder", 1.6),
        ("far shoulder", 1.6),
        ("neck base", 1.6),
    ],
)
def test_taps_scatter_as_much_as_planned_each_way(point: str, percent: float) -> None:
    one = {"touchdown": {point: (500.0, 400.0)}}
    taps = np.array([tapping_error(one, s, LEG)["touchdown"][point] for s in range(2500)])
    assert [percent, percent] == pytest.approx(100 * taps.std(0) / LEG, rel=0.06)
    assert taps.mean(0) == pytest.approx([500, 400], abs=0.35)


def test_the_same_seed_taps_the_same() -> None:
    assert tapping_error(TRUTH, 5, LEG) == tapping_error(TRUTH, 5, LEG)
    assert tapping_error(TRUTH, 5, LEG) != tapping_error(TRUTH, 6, LEG)


def test_every_point_of_every_event_is_tapped_and_the_truth_stays() -> None:
    before = {event: dict(points) for event, points in TRUTH.items()}
    tapped = tapping_error(TRUTH, 1, LEG)
    assert {e: list(p) for e, p in TRUTH.items()} == {e: list(p) for e, p in tapped.items()}
    assert before == TRUTH


def test_one_picture_in_eight_is_early_and_one_in_eight_late() -> None:
    slips = [
        slipped(PICTURES, seed, 240)["toe-off"].number - PICTURES["toe-off"].number
        for seed in range(4000)
    ]
    assert {-1, 0, 1} == set(slips)
    assert slips.count(-1) / 4000 == pytest.approx(0.125, abs=0.016)
    assert slips.count(1) / 4000 == pytest.approx(0.125, abs=0.016)


def test_a_slipped_picture_keeps_its_own_time() -> None:
    for seed in range(30):
        for event, picture in slipped(PICTURES, seed, 240).items():
            apart = (picture.number - PICTURES[event].number) / 240
            assert apart == pytest.approx(picture.time_s - PICTURES[event].time_s)


def test_a_tapped_step_is_the_truth_of_its_own_pictures_plus_error() -> None:
    pictures, taps = tapped_step(OVERSTRIDES, VIEW, 240, 0.2, seed=11)
    truth = true_taps(OVERSTRIDES, VIEW, {e: p.time_s for e, p in pictures.items()})
    off = [
        np.hypot(taps[e][n][0] - x, taps[e][n][1] - y)
        for e in truth
        for n, (x, y) in truth[e].items()
    ]
    assert 0 < max(off) < 0.12 * LEG
