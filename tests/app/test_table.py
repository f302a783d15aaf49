"""Columns share a width by what they hold; what is too long ends in an ellipsis."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.app.widgets.table import CUT, cut, shares
from tests.examples import examples

NEEDS = st.lists(st.integers(1, 400), min_size=1, max_size=8)


@pytest.mark.parametrize(
    ("needs", "room", "widths"),
    [
        ([40, 60], 120, [50, 70]),  # 20 to spare, the same to each
        ([40, 60, 20], 121, [41, 60, 20]),  # the odd px goes to the first
        ([20, 300, 40], 160, [20, 100, 40]),  # only the long one gives up
        ([300, 200, 20], 220, [100, 100, 20]),  # two long ones end up equal
        ([], 100, []),
    ],
)
def test_the_longest_gives_up_most(needs: list[int], room: int, widths: list[int]) -> None:
    assert shares(needs, room) == widths


@settings(max_examples=examples(100))
@given(NEEDS, st.integers(1, 2000))
def test_columns_never_take_more_than_there_is_nor_turn_their_order_round(
    needs: list[int], room: int
) -> None:
    widths = shares(needs, room)

    assert sum(widths) <= room
    if sum(needs) <= room:
        assert sum(widths) == room and all(w >= n for w, n in zip(widths, needs, strict=True))
    else:
        assert all(w <= n for w, n in zip(widths, needs, strict=True))
        ordered = [w for _, w in sorted(zip(needs, widths, strict=True))]
        assert all(a <= b for a, b in pairwise(ordered))


@pytest.mark.parametrize(
    ("text", "room", "shown"),
    [
        ("400 m", 5, "400 m"),
        ("400 and 800 m hurdles", 8, "400 and…"),
        ("400 and 800 m hurdles", 5, "400…"),  # no blank before the sign
        ("400", 1, CUT),
        ("Knee bend to mid-stance, left", 18, "Knee bend t…, left"),  # which leg stays
    ],
)
def test_a_text_too_long_ends_in_an_ellipsis_that_fits(text: str, room: int, shown: str) -> None:
    assert cut(text, room, len) == shown
