"""Signs tell where a value stands, without colour, and look different from one another."""

from itertools import combinations

import numpy as np
import pytest

from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
    SHOWN,
)
from tapmark.report.drawing.shapes import Line, Ring, moved
from tapmark.report.drawing.signs import (
    CHANGES,
    CLOSER,
    FURTHER,
    HEIGHT,
    SAME,
    change_sign,
    check_box,
    strength_tick,
    verdict_sign,
)
from tests.report.drawing_made import mapped, pixels

WORDS = (SEEN, LIKELY, NEAR_THE_LINE, FINE, CANT_TELL, NOT_MEASURED)


def _dot(word):
    return next(s for s in verdict_sign(word, (0, 0), 10.0) if isinstance(s, Ring))


def test_seen_is_a_solid_dot_past_the_stroke():
    dot = _dot(SEEN)
    assert dot.fill == "#000000"
    assert dot.centre[0] - dot.radius > 0


def test_likely_is_an_open_ring_past_the_stroke():
    dot = _dot(LIKELY)
    assert dot.centre == _dot(SEEN).centre
    assert (dot.edge, dot.fill) == ("#000000", "#FFFFFF")


def test_fine_is_an_open_ring_before_the_stroke():
    dot = _dot(FINE)
    assert dot.edge == "#000000"
    assert dot.fill == "#FFFFFF"
    assert dot.centre[0] + dot.radius < 0


def test_near_the_line_stands_on_the_stroke_half_open_half_solid():
    painted = pixels(mapped(verdict_sign(NEAR_THE_LINE, (0, 0), 10.0), 10.0, 100, 100), (200, 200))
    left, right = painted[100, 82:92].mean(), painted[100, 108:118].mean()
    assert left > 200
    assert right == 0


def test_cant_tell_is_a_whisker_across_the_stroke_without_a_dot():
    shapes = verdict_sign(CANT_TELL, (0, 0), 10.0)
    assert all(isinstance(shape, Line) for shape in shapes)
    level = [s for s in shapes if s.points[0][1] == s.points[1][1]]
    assert level[0].points[0][0] == -level[0].points[1][0]


def test_not_measured_has_no_stroke_and_a_row_that_is_only_shown_has_no_sign():
    upright = [
        s for s in verdict_sign(NOT_MEASURED, (0, 0), 10.0) if s.points[0][0] == s.points[1][0]
    ]
    assert upright == []
    assert verdict_sign(SHOWN, (0, 0), 10.0) == ()


def _small(shapes):
    """The sign at 26 × 18 px, as in the window."""
    return pixels(moved(shapes, 13.0, 9.0), (26, 18)).astype(float)


@pytest.mark.parametrize(("one", "other"), list(combinations(WORDS, 2)))
def test_any_two_verdicts_differ_when_small_and_cut_to_black_and_white(one, other):
    a, b = (_small(verdict_sign(word, (0, 0), 14.0)) < 128 for word in (one, other))
    assert (a != b).sum() > 12


@pytest.mark.parametrize(("one", "other"), list(combinations(CHANGES, 2)))
def test_any_two_changes_differ_likewise(one, other):
    a, b = (_small(change_sign(word, (-13, 0), 10.0)) < 128 for word in (one, other))
    assert (a != b).sum() > 12


def test_nearer_points_at_the_ring_and_farther_leaves_it():
    def ring_and_tip(word):
        shapes = change_sign(word, (0, 0), HEIGHT)
        ring = next(s for s in shapes if isinstance(s, Ring))
        tip = max(s.points[0][0] for s in shapes if hasattr(s, "fill") and hasattr(s, "points"))
        return ring.centre[0], tip

    ring, tip = ring_and_tip(CLOSER)
    assert tip < ring
    ring, tip = ring_and_tip(FURTHER)
    assert ring < tip


def test_no_change_points_up_or_down():
    for word in CHANGES:
        for shape in change_sign(word, (0, 0), HEIGHT):
            if isinstance(shape, Line) and word in (CLOSER, FURTHER, SAME):
                assert shape.points[0][1] == shape.points[1][1]


def test_changes_are_7_to_9_mm_wide_in_print():
    for word in CHANGES:
        xs = [x for s in change_sign(word, (0, 0), HEIGHT) for x in _xs(s)]
        assert 6.5 <= max(xs) - min(xs) <= 9.0


def _xs(shape):
    if isinstance(shape, Ring):
        return [shape.centre[0] - shape.radius, shape.centre[0] + shape.radius]
    return [x for x, _ in shape.points]


def test_a_box_to_tick_is_as_large_outside_as_it_says():
    painted = pixels(mapped(check_box((2.0, 2.0), 5.0), 10.0), (100, 100))
    dark = np.argwhere(painted < 128)
    assert dark.min(axis=0) == pytest.approx([20, 20], abs=1)
    assert dark.max(axis=0) == pytest.approx([69, 69], abs=1)
    assert painted[45, 45] == 255


def test_a_strength_is_a_tick_with_rounded_ends():
    (tick,) = strength_tick((0, 0), HEIGHT)
    assert tick.is_round
    assert tick.width == pytest.approx(0.75)
