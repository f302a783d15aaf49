"""The numerals on the scrub bar: all of them, apart, in order, and near their marks."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.app.widgets.scrubber import spread
from tests.examples import examples


@pytest.mark.parametrize(
    ("wanted", "places"),
    [
        ([10.0, 50.0], [10.0, 50.0]),  # far enough apart: each under its mark
        ([50.0, 54.0], [47.0, 57.0]),  # about their middle, 52
        ([50.0, 50.0, 50.0], [40.0, 50.0, 60.0]),
        ([50.0, 52.0, 61.0], [44.333, 54.333, 64.333]),  # pushing one pushes the next
        ([0.0, 1.0], [0.0, 10.0]),  # at the edge
        ([99.0, 100.0], [90.0, 100.0]),
        ([], []),
    ],
)
def test_numerals_that_would_touch_stand_about_their_middle(
    wanted: list[float], places: list[float]
) -> None:
    assert places == pytest.approx(spread(wanted, 10.0, 0.0, 100.0), abs=1e-3)


@settings(max_examples=examples(100))
@given(st.lists(st.floats(0, 300), min_size=1, max_size=9).map(sorted))
def test_no_numeral_is_left_out_or_touches_another_or_leaves_the_bar(wanted: list[float]) -> None:
    places = spread(wanted, 12.0, 0.0, 300.0)

    assert len(places) == len(wanted)
    assert all(b - a >= 12.0 - 1e-6 for a, b in pairwise(places))
    assert places[0] >= -1e-6 and places[-1] <= 300.0 + 1e-6
