"""The drawings for items seen from behind or in front: within their room, and different."""

import pytest

from tapmark.report.drawing.pair import BACK_PAIRS, Caption, PairLook, back_pair
from tapmark.report.drawing.shapes import Label, Ring, moved
from tests.report.drawing_made import mapped, pixels

WIDTH, HEIGHT = 68.0, 40.0
LOOK = PairLook(0.43, 3.9, 5.3, lambda text, size, *_: 0.5 * size * len(text))
CAPTION = Caption("what we saw", "the idea")
PX_PER_MM = 300 / 25.4


def drawn(item):
    """The two figures without their names."""
    shapes = back_pair(item, CAPTION, WIDTH, HEIGHT, LOOK).shapes
    return tuple(shape for shape in shapes if not isinstance(shape, Label))


def _xs_and_ys(shape):
    if isinstance(shape, Ring):
        (x, y), r = shape.centre, shape.radius
        return [(x - r, y - r), (x + r, y + r)]
    return list(shape.points)


@pytest.mark.parametrize("item", [16, 17, 18])
def test_both_figures_keep_within_their_room(item):
    for shape in drawn(item):
        for x, y in _xs_and_ys(shape):
            assert -0.5 <= x <= WIDTH + 0.5
            assert -HEIGHT <= y <= 1.0


@pytest.mark.parametrize("item", [16, 17, 18])
def test_what_we_saw_differs_from_the_idea_in_ink_not_in_tint(item):
    """As large as it is printed: 100 grey levels apart is a tint or paper against a black line."""
    shapes = drawn(item)
    placed = moved(mapped(shapes, PX_PER_MM), 0.0, 1.02 * HEIGHT * PX_PER_MM)
    half = round(WIDTH / 2 * PX_PER_MM)
    painted = pixels(placed, (2 * half, round(1.1 * HEIGHT * PX_PER_MM))).astype(int)
    left, right = painted[:, :half], painted[:, half:]
    square_mm = (abs(left - right) > 100).sum() / PX_PER_MM**2
    assert square_mm > 12


def test_items_of_the_side_view_have_no_such_drawing():
    assert [item for item in range(1, 19) if item in BACK_PAIRS] == [16, 17, 18]
