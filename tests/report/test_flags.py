"""Names on leaders: never two on one spot, never a leader through a name."""

from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.report.drawing.step_line import MOST_ROWS, Name, hung
from tests.examples import examples

WIDTH, GAP = 180.0, 1.4


def test_a_name_stands_right_of_its_leader_where_there_is_room():
    (flag,) = hung([Name("a", "a", 20.0, 50.0)], WIDTH, GAP)
    assert (flag.left, flag.row, flag.passes) == (51.4, 0, True)


def test_the_last_name_ends_at_the_margin_under_its_leader():
    (flag,) = hung([Name("a", "a", 40.0, 170.0)], WIDTH, GAP)
    assert (flag.right, flag.row, flag.passes) == (180.0, 0, False)


def test_a_crowded_name_goes_to_the_left_of_its_leader_before_it_takes_a_second_row():
    first, second = hung([Name("a", "a", 20.0, 100.0), Name("b", "b", 20.0, 105.0)], WIDTH, GAP)
    assert (first.right, first.row) == (98.6, 0)
    assert (second.left, second.row) == (106.4, 0)


def test_names_that_cannot_be_told_apart_take_a_row_each():
    names = [Name(str(i), "", 170.0, 5.0 + i) for i in range(5)]
    assert sorted(flag.row for flag in hung(names, WIDTH, GAP)) == [0, 1, 2, 3, 4]


@settings(max_examples=examples(150))
@given(
    st.lists(
        st.tuples(st.floats(5, 60), st.one_of(st.none(), st.floats(0, 180))),
        min_size=1,
        max_size=5,
    )
)
def test_no_two_names_touch_and_no_leader_cuts_a_name(raw):
    raw = sorted(raw, key=lambda pair: (pair[1] is None, pair[1] or 0.0))
    flags = hung([Name(str(i), "", w, x) for i, (w, x) in enumerate(raw)], WIDTH, GAP)
    assert len(flags) == len(raw)
    assert max(flag.row for flag in flags) < MOST_ROWS
    for flag in flags:
        assert (
            flag.right - flag.left == flag.name.width
            or abs(flag.right - flag.left - flag.name.width) < 1e-9
        )
        for other in flags:
            if other is flag:
                continue
            same_row = other.row == flag.row
            assert not (same_row and flag.left < other.right and other.left < flag.right)
            x = flag.name.leader
            if x is not None and other.row < flag.row + flag.passes:
                assert not other.left < x < other.right
