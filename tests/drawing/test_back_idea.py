"""The drawings for items seen from behind or in front: within their room, and different."""

import pytest

from tapmark.drawing.back_idea import back_pair
from tapmark.drawing.shapes import Ring, moved
from tests.drawing.made import pixels

WIDTH, HEIGHT = 68.0, 40.0


def _xs_and_ys(shape):
    if isinstance(shape, Ring):
        (x, y), r = shape.centre, shape.radius
        return [(x - r, y - r), (x + r, y + r)]
    return list(shape.points)


@pytest.mark.parametrize("item", [16, 17, 18])
def test_both_figures_keep_within_their_room(item):
    for shape in back_pair(item, WIDTH, HEIGHT).shapes:
        for x, y in _xs_and_ys(shape):
            assert -0.5 <= x <= WIDTH + 0.5
            assert -HEIGHT <= y <= 1.0


@pytest.mark.parametrize("item", [16, 17, 18])
def test_what_we_saw_differs_from_the_idea(item):
    painted = pixels(moved(back_pair(item, 400.0, 240.0).shapes, 0, 250), (400, 260)).astype(int)
    left, right = painted[:, :200], painted[:, 200:]
    assert (abs(left - right) > 25).sum() > 300


def test_items_of_the_side_view_have_no_such_drawing():
    assert back_pair(1, WIDTH, HEIGHT) is None
