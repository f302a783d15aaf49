"""The figure against a union drawn by shapely, and its layers."""

import numpy as np
import pytest
from shapely.geometry import Polygon
from shapely.ops import unary_union

from tapmark.marks.points import TOE_OFF, TOUCHDOWN
from tapmark.report.drawing.body import STAND_IN, points_of
from tapmark.report.drawing.figure import PARTS, FigureLook, extent, figure_shapes
from tapmark.report.drawing.shapes import Area, Ring
from tests.report.drawing_made import ink, pixels

HEIGHT = 380.0
AT = (200.0, 390.0)


def _of(pose, parts, **look):
    return figure_shapes(pose, HEIGHT, AT, FigureLook(**look), parts=parts)


@pytest.mark.parametrize("event", list(STAND_IN))
def test_a_solid_limb_is_the_union_of_its_parts(event):
    shapes = _of(STAND_IN[event], ("near leg",))
    black = [shape for shape in shapes if isinstance(shape, Area) and shape.fill == "#000000"]
    union = unary_union([Polygon(shape.points).buffer(0) for shape in black])
    assert union.geom_type == "Polygon", "one outline, no loose piece"
    assert ink(shapes) == pytest.approx(union.area, rel=0.02)


def test_a_hollow_limb_has_no_seam_at_knee_and_ankle():
    pose = STAND_IN[TOE_OFF]
    painted = pixels(_of(pose, ("near leg",), solid=frozenset()))
    points = points_of(pose)
    for name in ("near knee", "near ankle"):
        x, y = points[name]
        column, row = int(AT[0] + x * HEIGHT), int(AT[1] - y * HEIGHT)
        assert painted[row - 1 : row + 2, column - 1 : column + 2].min() == 255


def test_far_limbs_are_white_near_limbs_black_trunk_tinted():
    pose = STAND_IN[TOUCHDOWN]
    painted = pixels(_of(pose, PARTS))
    points = points_of(pose)

    def grey(a, b, share=0.5):
        x = points[a][0] + (points[b][0] - points[a][0]) * share
        y = points[a][1] + (points[b][1] - points[a][1]) * share
        return painted[int(AT[1] - y * HEIGHT), int(AT[0] + x * HEIGHT)]

    assert grey("near knee", "near ankle") == 0
    assert grey("far knee", "far ankle") == 255
    assert grey("hip", "neck", 0.6) in (0, 222, 255)
    assert (painted == 222).sum() > 500, "trunk and head carry the tint"


def test_parts_are_painted_from_far_to_near():
    assert PARTS == ("far arm", "far leg", "trunk", "head", "near leg", "near arm")


def test_only_the_leg_spoken_of_is_solid():
    pose = STAND_IN[TOUCHDOWN]
    spoken = ink(_of(pose, PARTS, solid=frozenset({"far leg"}), tint="#FFFFFF"))
    hollow = ink(_of(pose, PARTS, solid=frozenset(), tint="#FFFFFF"))
    assert spoken > hollow * 1.15


def test_thin_outlines_are_kept_at_the_least_width():
    small = figure_shapes(STAND_IN[TOUCHDOWN], 25.0, (0, 0), FigureLook(min_outline=0.43))
    rings = [shape for shape in small if isinstance(shape, Ring)]
    assert rings[1].radius - rings[2].radius == pytest.approx(0.43)
    large = figure_shapes(STAND_IN[TOUCHDOWN], 100.0, (0, 0), FigureLook(min_outline=0.43))
    rings = [shape for shape in large if isinstance(shape, Ring)]
    assert rings[1].radius - rings[2].radius == pytest.approx(1.1)


@pytest.mark.parametrize("event", list(STAND_IN))
def test_extent_is_where_the_painted_figure_ends(event):
    pose = STAND_IN[event]
    dark = np.argwhere(pixels(_of(pose, PARTS)) < 128)
    behind, ahead = extent(pose)
    assert dark[:, 1].min() == pytest.approx(AT[0] - behind * HEIGHT, abs=3)
    assert dark[:, 1].max() == pytest.approx(AT[0] + ahead * HEIGHT, abs=3)
