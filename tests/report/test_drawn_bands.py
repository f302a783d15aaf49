"""Bands: limits in one upright line, right is past the limit, numbers true."""

from itertools import pairwise

import pytest

from tapmark.checklist.criteria import load
from tapmark.checklist.verdict import Band
from tapmark.measures.result import printed
from tapmark.report.drawing.bands import Dot, band_shapes, numerals
from tapmark.report.drawing.shapes import Area, Label, Line, Ring
from tests.report.drawing_made import FONTS

WIDTH = 42.0
CRITERIA = load()
ONE_SIDED_HIGH = Band(fine_high=7, limit_high=12, key="reach", context="sprint")
ONE_SIDED_LOW = Band(limit_low=90, fine_low=92, key="leg_stack", context="sprint")
TWO_SIDED = Band(-4, 0, 14, 18, key="trunk_lean", context="sprint")


def _limits(band):
    return [
        s.points[0][0]
        for s in band_shapes(band, (), WIDTH)
        if isinstance(s, Line) and s.width == 0.8
    ]


def _dot_x(band, value, plus_minus=0.1):
    shapes = band_shapes(band, (Dot(value, plus_minus),), WIDTH)
    return next(s.centre[0] for s in shapes if isinstance(s, Ring))


@pytest.mark.parametrize("band", [ONE_SIDED_HIGH, ONE_SIDED_LOW])
def test_one_sided_limits_stand_in_one_upright_line(band):
    assert _limits(band) == pytest.approx([0.52 * WIDTH])


def test_every_band_of_the_data_can_be_drawn():
    drawn = [band for band in CRITERIA.bands.values() if band_shapes(band, (), WIDTH)]
    graded = [b for b in CRITERIA.bands.values() if (b.limit_low, b.limit_high) != (None, None)]
    assert drawn == graded
    assert len(drawn) > 20


@pytest.mark.parametrize(
    ("band", "value", "share"),
    [
        (ONE_SIDED_HIGH, 7, 0.36),
        (ONE_SIDED_HIGH, 12, 0.52),
        (ONE_SIDED_HIGH, 17, 0.68),
        (ONE_SIDED_LOW, 92, 0.36),
        (ONE_SIDED_LOW, 90, 0.52),
        (ONE_SIDED_LOW, 88, 0.68),
        (TWO_SIDED, -4, 0.18),
        (TWO_SIDED, 7, 0.50),
        (TWO_SIDED, 18, 0.82),
    ],
)
def test_a_value_stands_where_it_belongs(band, value, share):
    assert _dot_x(band, value) == pytest.approx(share * WIDTH)


def test_past_the_limit_is_always_to_the_right_in_one_sided_rows():
    assert _dot_x(ONE_SIDED_LOW, 85) > 0.52 * WIDTH > _dot_x(ONE_SIDED_LOW, 95)


def test_the_whisker_is_the_plus_minus_in_the_scale_of_the_band():
    shapes = band_shapes(ONE_SIDED_HIGH, (Dot(12, 2.5),), WIDTH)
    whisker = next(
        s for s in shapes if isinstance(s, Line) and s.points[0][1] == s.points[1][1] == 0.0
    )
    per_degree = 0.16 * WIDTH / 5
    assert whisker.points[1][0] - whisker.points[0][0] == pytest.approx(2 * 2.5 * per_degree)


@pytest.mark.parametrize(("value", "tip"), [(60.0, WIDTH), (-60.0, 0.0)])
def test_a_value_beyond_the_bar_is_an_arrowhead_at_its_end(value, tip):
    shapes = band_shapes(ONE_SIDED_HIGH, (Dot(value, 3.0),), WIDTH)
    assert not [s for s in shapes if isinstance(s, Ring)]
    heads = [s for s in shapes if isinstance(s, Area) and len(s.points) == 3]
    assert heads[0].points[0] == (tip, 0.0)


def test_an_approximate_value_is_an_open_dot():
    dot = next(
        s for s in band_shapes(TWO_SIDED, (Dot(5, 2, is_about=True),), WIDTH) if isinstance(s, Ring)
    )
    assert (dot.fill, dot.edge) == ("#FFFFFF", "#000000")


def test_nothing_is_drawn_outside_the_bar():
    for band in CRITERIA.bands.values():
        for value in (-500.0, -20.0, 0.0, 20.0, 100.0, 500.0):
            for shape in band_shapes(band, (Dot(value, 30.0),), WIDTH):
                for x in [x for x, _ in getattr(shape, "points", ())]:
                    assert -0.01 <= x <= WIDTH + 0.01


@pytest.mark.parametrize("band", [ONE_SIDED_HIGH, ONE_SIDED_LOW, TWO_SIDED])
def test_numerals_never_touch(band):
    labels = sorted(numerals(band, WIDTH, 4.0, 3.2, FONTS.width), key=lambda s: s.point[0])
    edges = [
        (s.point[0] - FONTS.width(s.text, 3.2) / 2, s.point[0] + FONTS.width(s.text, 3.2) / 2)
        for s in labels
        if isinstance(s, Label)
    ]
    assert all(a[1] < b[0] for a, b in pairwise(edges))


def test_numerals_tell_the_limits():
    assert {s.text for s in numerals(TWO_SIDED, WIDTH, 4.0, 3.2, FONTS.width)} == {
        "−4", "0", "14", "18",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("number", "digits", "text"),
    [(-27.4, 0, "−27"), (-0.3, 0, "0"), (0.0, 1, "0.0"), (4.456, 2, "4.46"), (-0.06, 1, "−0.1")],
)
def test_numbers_print_with_a_true_minus_and_never_as_minus_zero(number, digits, text):
    assert printed(number, digits) == text
