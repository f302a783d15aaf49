"""A measure over a season: true distances in time, ± to scale, the band as the floor."""

import pytest

from tapmark.checklist.criteria import load
from tapmark.checklist.verdict import Band
from tapmark.report.drawing.shapes import Area, Label, Line, Ring
from tapmark.report.drawing.trend import TrendLook, TrendPoint, trend_shapes
from tests.report.drawing_made import FONTS

LOOK = TrendLook(560.0, 320.0, 15.0, 1.5, 3.0, 5.0)
POINTS = (
    TrendPoint(0, "14 May", 19.0, 4.0),
    TrendPoint(35, "18 Jun", 15.0, 4.5),
    TrendPoint(84, "6 Aug", 9.0, 3.0, is_about=True),
)
BAND = Band(fine_high=7, limit_high=12, key="reach", context="sprint")


def plot(points=POINTS, band=BAND):
    return trend_shapes(points, band, LOOK, FONTS.width)


def _dots(shapes):
    return [s for s in shapes if isinstance(s, Ring)]


def test_visits_stand_at_their_true_distance_in_time():
    a, b, c = (dot.centre[0] for dot in _dots(plot()))
    assert (b - a) / (c - a) == pytest.approx(35 / 84)


def test_values_and_whiskers_share_one_scale_with_the_band():
    shapes = plot()
    a, b, _ = (dot.centre[1] for dot in _dots(shapes))
    per = (b - a) / 4.0
    limit = next(s for s in shapes if isinstance(s, Line) and s.width == LOOK.heavy)
    assert limit.points[0][1] == pytest.approx(a + 7.0 * per)
    whiskers = [s for s in shapes if isinstance(s, Line) and s.points[0][0] == s.points[1][0]]
    assert whiskers[0].points[1][1] - whiskers[0].points[0][1] == pytest.approx(8.0 * per)


def test_the_fine_zone_is_a_floor_that_ends_at_its_edge():
    shapes = plot()
    zone = next(s for s in shapes if isinstance(s, Area))
    top = min(y for _, y in zone.points)
    edge = next(s for s in shapes if isinstance(s, Label) and s.text == "7")
    assert top == pytest.approx(edge.point[1] - 0.36 * LOOK.text)


def test_an_approximate_value_is_an_open_dot_and_no_line_joins_the_dots():
    shapes = plot()
    assert [dot.fill for dot in _dots(shapes)] == ["#000000", "#000000", "#FFFFFF"]
    slanted = [
        s
        for s in shapes
        if isinstance(s, Line)
        and s.points[0][0] != s.points[1][0]
        and s.points[0][1] != s.points[1][1]
    ]
    assert slanted == []


def test_of_dates_that_would_touch_the_later_one_is_written():
    close = (*POINTS, TrendPoint(86, "8 Aug", 9.0, 3.0))
    dates = [s.text for s in plot(close) if isinstance(s, Label) and "A" in s.text]
    assert dates == ["8 Aug"]


def test_one_visit_stands_in_the_middle_and_none_draws_nothing():
    (dot,) = _dots(plot(POINTS[:1]))
    assert 0.4 * LOOK.width < dot.centre[0] < 0.65 * LOOK.width
    assert plot(()) == ()


def test_a_row_without_a_band_is_drawn_without_a_floor():
    assert not [s for s in plot(band=None) if isinstance(s, Area)]


@pytest.mark.parametrize("band", list(load().bands.values()), ids=lambda b: f"{b.key}-{b.context}")
def test_everything_stays_inside_for_every_band(band):
    for shape in plot(band=band):
        spots = getattr(shape, "points", None) or [getattr(shape, "centre", None) or shape.point]
        for x, y in spots:
            assert -1.0 <= x <= LOOK.width + 1.0
            assert -1.0 <= y <= LOOK.height + 1.0
