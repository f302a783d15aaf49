"""Picture and canvas: the arithmetic both ways, checked by laws rather than examples."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.app.state.viewport import MOST_PX_PER_PX, Viewport
from tests.examples import examples

SIZES = st.tuples(st.integers(16, 4000), st.integers(16, 4000))
SHARES = st.tuples(st.floats(0, 1), st.floats(0, 1))
ZOOMS = st.floats(1, 12)


def view_of(picture: tuple[int, int], canvas: tuple[int, int], zoom: float) -> Viewport:
    return Viewport(picture, canvas).zoomed(zoom)


@settings(max_examples=examples(100))
@given(SIZES, SIZES, ZOOMS, SHARES)
def test_a_point_comes_back_from_the_canvas(
    picture: tuple[int, int], canvas: tuple[int, int], zoom: float, at: tuple[float, float]
) -> None:
    view = view_of(picture, canvas, zoom)
    point = at[0] * picture[0], at[1] * picture[1]
    assert point == pytest.approx(view.to_picture(view.to_canvas(point)), abs=1e-6)


@settings(max_examples=examples(100))
@given(SIZES, SIZES, ZOOMS, SHARES, st.floats(0.2, 5))
def test_zooming_keeps_the_spot_under_the_pointer_unless_an_edge_is_in_the_way(
    picture: tuple[int, int],
    canvas: tuple[int, int],
    zoom: float,
    at: tuple[float, float],
    factor: float,
) -> None:
    view = view_of(picture, canvas, zoom)
    spot = at[0] * canvas[0], at[1] * canvas[1]
    kept = view.to_picture(spot)
    closer = view.zoomed(factor, spot)
    left, top, right, bottom = closer.seen
    away_from_edges = (
        left > 1e-6 and top > 1e-6 and right < picture[0] - 1e-6 and bottom < picture[1] - 1e-6
    )
    if away_from_edges:
        assert kept == pytest.approx(closer.to_picture(spot), abs=1e-4)


@settings(max_examples=examples(100))
@given(SIZES, SIZES, ZOOMS, st.floats(-5000, 5000), st.floats(-5000, 5000))
def test_a_picture_that_is_panned_never_leaves_its_canvas(
    picture: tuple[int, int], canvas: tuple[int, int], zoom: float, dx: float, dy: float
) -> None:
    view = view_of(picture, canvas, zoom)
    panned = view.panned(dx, dy)
    for axis in (0, 1):
        before = view.placed[axis + 2] - view.placed[axis]
        after = panned.placed[axis + 2] - panned.placed[axis]
        assert before == pytest.approx(after, abs=1e-6)


def test_the_whole_picture_is_seen_when_it_fits() -> None:
    view = Viewport((1280, 720), (996, 560))
    assert pytest.approx(view.seen) == (0.0, 0.0, 1280.0, 720.0)
    assert view.fits and not view.zoomed(2).fits
    assert view == replace(view.zoomed(3), zoom=1.0, centre=None)


def test_a_pixel_is_never_larger_than_sixteen() -> None:
    assert pytest.approx(MOST_PX_PER_PX) == Viewport((1280, 720), (996, 560)).zoomed(1e6).scale


def test_the_first_pixel_has_its_middle_at_a_half() -> None:
    view = Viewport((100, 100), (400, 400))
    assert pytest.approx(view.to_canvas((0.5, 0.5))) == (2.0, 2.0)


def test_showing_a_point_pans_just_enough() -> None:
    view = Viewport((1000, 1000), (500, 500)).zoomed(4)
    assert view == view.showing((500, 500))
    shown = view.showing((900, 500))
    x, _ = shown.to_canvas((900, 500))
    assert pytest.approx(500 * 0.85) == x
