"""Marks over a picture: one letter each, casings, open points, references."""

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from tapmark.marks.points import (
    DEEPER,
    MID_STANCE,
    SHOE,
    SIDE_EVENTS,
    STANDARD,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.marks.run import KeyFrame, Tap
from tapmark.report.drawing.overlay import LETTERS, RIM, angle_shapes, reference_shapes, tap_shapes
from tapmark.report.drawing.palette import CASING, OVERLAY
from tapmark.report.drawing.shapes import Label, Line, Ring
from tests.report.drawing_made import lines, poor_run, texts


def same(point):
    return point


def _frame(event=TOUCHDOWN):
    return poor_run().steps[0].key_frame(event)


def test_every_point_of_every_tap_set_has_its_own_letter():
    side = {point for points in STANDARD.values() for point in points} | set(DEEPER)
    letters = [LETTERS[point] for point in (*side, "neck base")]
    assert len(set(letters)) == len(letters)
    assert {LETTERS[point] for point in SHOE} == {"H", "F"}


def test_near_points_carry_capitals_and_far_points_small_letters():
    for point, letter in LETTERS.items():
        assert letter.islower() == point.startswith("far")


@pytest.mark.parametrize("event", SIDE_EVENTS)
def test_every_tap_is_marked_and_lettered_once(event):
    frame = _frame(event)
    written = texts(tap_shapes(frame, same))
    assert sorted(written) == sorted(LETTERS[tap.point] for tap in frame.taps)


def test_the_very_point_stays_open():
    """Nothing is drawn within half a rim of a tap."""
    frame = _frame()
    for shape in tap_shapes(frame, same):
        for tap in frame.taps:
            if isinstance(shape, Line):
                for a, b in pairwise(shape.points):
                    assert _distance(tap.at_px, a, b) > 0.5 * RIM
            if isinstance(shape, Ring):
                assert shape.fill is None


def _distance(p, a, b):
    length = math.dist(a, b)
    share = 0.0
    if length:
        dot = (p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])
        share = max(0.0, min(1.0, dot / length**2))
    return math.dist(p, (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])))


def test_every_line_and_letter_has_a_pure_black_casing_as_wide_on_each_side():
    for shape in tap_shapes(_frame(), same):
        assert shape.casing == CASING == "#000000"
        if isinstance(shape, Line):
            assert shape.casing_width == pytest.approx(3 * shape.width)


def test_roles_differ_in_shape_or_dash_not_in_colour_alone():
    looks = {(role.shape, role.dash) for role in OVERLAY.values()}
    assert len(looks) == len(OVERLAY)


def test_a_guess_is_marked_beside_its_letter():
    frame = _frame()
    taps = tuple(
        replace(tap, certainty="guess") if tap.point == "elbow" else tap for tap in frame.taps
    )
    assert "E ≈" in texts(tap_shapes(replace(frame, taps=taps), same))


def test_hidden_points_draw_nothing():
    taps = (Tap("hip", None, "hidden"), Tap("far knee", None, "behind"))
    assert tap_shapes(KeyFrame(TOUCHDOWN, 0, taps=taps), same) == ()


def test_letters_keep_off_marks_and_one_another():
    for event in SIDE_EVENTS:
        frame = _frame(event)
        labels = [s for s in tap_shapes(frame, same) if isinstance(s, Label)]
        for label in labels:
            for tap in frame.taps:
                x, y = label.point
                assert math.dist((x, y - 4.7), tap.at_px) > RIM
        spots = [label.point for label in labels]
        for i, a in enumerate(spots):
            assert all(math.dist(a, b) > 8.0 for b in spots[i + 1 :])


@pytest.mark.parametrize("event", SIDE_EVENTS)
def test_letters_stay_in_a_place_that_ends_just_beyond_the_marks(event):
    """The picture of a low window ended below the ankle, and its letter lay beyond."""
    frame = _frame(event)
    xs, ys = zip(*(tap.at_px for tap in frame.taps), strict=True)
    size = (max(xs) - min(xs) + 4.0, max(ys) - min(ys) + 4.0)

    def moved(at):
        return at[0] - min(xs) + 2.0, at[1] - min(ys) + 2.0

    for label in (
        shape for shape in tap_shapes(frame, moved, size=size) if isinstance(shape, Label)
    ):
        middle = label.point[0], label.point[1] - 0.36 * label.size
        for at, wide in zip(middle, size, strict=True):
            assert 0.5 * label.size < at < wide - 0.5 * label.size, label.text


def test_the_place_decides_where_and_the_unit_how_large():
    def twice(point):
        return 2 * point[0], 2 * point[1]

    ring = next(s for s in tap_shapes(_frame(), twice, unit=3.0) if isinstance(s, Ring))
    tap = next(t for t in _frame().taps if twice(t.at_px) == ring.centre)
    assert tap.point in ("hip", "near knee", "near ankle", "far knee")
    assert ring.radius == pytest.approx(3 * RIM)


def test_references_tell_the_distance_of_the_scale():
    shapes = reference_shapes(poor_run().set_up, same)
    assert texts(shapes) == ["2.00 m"]
    assert {line.colour for line in lines(shapes)} == {
        OVERLAY["plumb and pole"].colour,
        OVERLAY["scale"].colour,
    }


def test_no_references_draw_nothing():
    set_up = replace(poor_run().set_up, upright_px=None, scale_px=None)
    assert reference_shapes(set_up, same) == ()


@pytest.mark.parametrize(
    ("event", "row", "truth"),
    [
        (TOUCHDOWN, "reach", 21.0),
        (MID_STANCE, "knee_mid_stance", 114.0),
        (TOE_OFF, "thigh_toe_off", 23.0),
    ],
)
def test_the_arc_spans_the_angle_it_names(event, row, truth):
    """Truth: the drawn runner's style, of which thigh at toe-off is -23."""
    frame = _frame(event)
    arc = angle_shapes(poor_run(), frame, row, "near", "x", same)[0]
    vertex = frame.at("hip" if row == "thigh_toe_off" else "near knee")
    ends = [math.atan2(p[1] - vertex[1], p[0] - vertex[0]) for p in (arc.points[0], arc.points[-1])]
    span = abs((ends[1] - ends[0] + math.pi) % (2 * math.pi) - math.pi)
    assert math.degrees(span) == pytest.approx(truth, abs=3.5)


def test_the_value_is_written_once_and_a_row_without_an_arc_draws_nothing():
    frame = _frame()
    assert texts(angle_shapes(poor_run(), frame, "reach", "near", "21 ± 3°", same)) == ["21 ± 3°"]
    assert angle_shapes(poor_run(), frame, "contact_time", "near", "x", same) == ()
    bare = replace(frame, taps=())
    assert angle_shapes(poor_run(), bare, "reach", "near", "x", same) == ()
