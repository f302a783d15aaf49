"""How sure a tap is before a coach has shown it: working values, typed twice: no proof of them."""

import pytest

from tapmark.measures.card import DEFAULT_PCT_LEG
from tapmark.measures.doubts import DEPTH_M

HIPS_APART_M = 0.18  # between the hip joints: from memory
MEASURED_TO_M = 0.04  # the means differ by 2 cm (1 SD) between runs and key frames

TYPED = {
    1.1: {
        *("knee", "ankle", "elbow", "toe", "heel", "wrist", "heel centre", "forefoot centre"),
        "free end",
    },
    1.6: {"shoulder", "neck base"},
    2.2: {"hip"},
}


def test_scatter_of_a_tap_is_what_was_typed_twice() -> None:
    by_scatter = {
        sd: {kind for kind, given in DEFAULT_PCT_LEG.items() if given == sd} for sd in TYPED
    }

    assert by_scatter == TYPED
    assert set(DEFAULT_PCT_LEG) == set().union(*TYPED.values())


@pytest.mark.parametrize("point", ["knee", "ankle", "toe"])
def test_far_leg_lies_as_deep_as_the_near_one_seen_in_a_mirror_between_the_hips(point: str) -> None:
    """A body has two like halves: published means of either side must agree."""
    mirrored = HIPS_APART_M - DEPTH_M[f"near {point}"]

    assert mirrored == pytest.approx(DEPTH_M[f"far {point}"], abs=MEASURED_TO_M)


def test_neck_stands_midway_between_hips_and_between_shoulders() -> None:
    between_shoulders = (DEPTH_M["shoulder"] + DEPTH_M["far shoulder"]) / 2

    midway = HIPS_APART_M / 2
    assert midway == pytest.approx(DEPTH_M["neck base"], abs=MEASURED_TO_M / 2)
    assert between_shoulders == pytest.approx(DEPTH_M["neck base"], abs=MEASURED_TO_M / 2)
