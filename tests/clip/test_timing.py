"""Stamps into seconds, gaps and missing exposures. Expected values are worked out by hand."""

from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tapmark.clip.timing import (
    Stamps,
    is_uneven,
    missing_exposures,
    rate_stretches,
    usual_gap_s,
)
from tests.examples import examples

CLOCK = Fraction(1, 90_000)


def stamps_of(
    ticks: Sequence[int | None], tick_s: Fraction = CLOCK, first: int | None = None
) -> Stamps:
    stamps = Stamps(tick_s, first)
    for tick in ticks:
        stamps.add(tick)
    return stamps


def test_time_is_a_difference_of_stamps() -> None:
    stamps = stamps_of([45_000, 48_000, 51_000])

    assert [stamps.time_s(i) for i in range(3)] == [0.0, 3000 / 90_000, 6000 / 90_000]


def test_time_in_a_part_counts_from_the_files_first_picture() -> None:
    assert stamps_of([48_000], first=45_000).time_s(0) == 3000 / 90_000


def test_rounding_does_not_grow_over_an_hour() -> None:
    """30000/1001 pictures a second on a 90 kHz clock: 3003 ticks each, exactly."""
    stamps = stamps_of([3003 * k for k in range(107_893)])

    assert pytest.approx(stamps.time_s(107_892), abs=1e-9) == 107_892 * 1001 / 30_000


def test_one_picture_without_a_stamp_makes_all_times_unknown() -> None:
    stamps = stamps_of([0, None, 6000])

    assert [stamps.time_s(i) for i in range(3)] == [None, None, None]
    assert stamps.interval_s(0) is None
    assert stamps.rate_hz() is None


def test_interval_is_the_wider_of_both_gaps() -> None:
    stamps = stamps_of([0, 1500, 6000, 7500])

    assert [pytest.approx((stamps.interval_s(i) or 0) * 90_000) for i in range(4)] == [
        1500,
        4500,
        4500,
        1500,
    ]


def test_a_lone_picture_has_no_interval_and_no_rate() -> None:
    stamps = stamps_of([0])

    assert stamps.interval_s(0) is None
    assert stamps.rate_hz() is None


def test_twins_are_found_wherever_they_are() -> None:
    stamps = stamps_of([0, 0, 1, 1, 1, 2, 0])

    assert [stamps.twins(i) for i in range(7)] == [
        (0, 3),
        (1, 3),
        (0, 3),
        (1, 3),
        (2, 3),
        (0, 1),
        (2, 3),
    ]


def test_usual_gap_sees_through_a_coarse_clock() -> None:
    """240 a second on 1/600 s: 2, 3, 2, 3 ticks; the median would say 300 or 200."""
    ticks = [round(k * 2.5 + 0.01) for k in range(60)]

    assert stamps_of(ticks, Fraction(1, 600)).rate_hz() == pytest.approx(240, rel=0.01)


def test_usual_gap_leaves_dropped_exposures_out() -> None:
    gaps = np.array([1.0] * 9 + [2.0, 4.0])

    assert usual_gap_s(gaps, 0.001) == 1.0


def test_missing_exposures_are_counted_where_they_are() -> None:
    gaps = np.array([1.0, 1.02, 0.98, 2.0, 1.0, 1.01, 3.96, 1.0, 1.0])

    assert missing_exposures(gaps, 0.001).tolist() == [0, 0, 0, 1, 0, 0, 3, 0, 0]


def test_a_clip_that_changes_its_rate_misses_nothing() -> None:
    gaps = np.array([8.0] * 12 + [1.0] * 40 + [8.0] * 12)

    assert missing_exposures(gaps, 0.01).sum() == 0


def test_a_clock_that_ticks_four_or_five_misses_nothing() -> None:
    gaps = np.array([0.004, 0.004, 0.005, 0.004] * 10)

    assert missing_exposures(gaps, 0.001).sum() == 0


@settings(max_examples=examples(100))
@given(
    usual=st.floats(0.002, 0.05),
    n=st.integers(20, 60),
    drops=st.dictionaries(st.integers(0, 9), st.integers(1, 4), max_size=2),
)
def test_any_few_drops_in_a_steady_clip_are_found(
    usual: float, n: int, drops: dict[int, int]
) -> None:
    wanted = [0] * n
    for place, missing in drops.items():
        wanted[2 * place] = missing
    gaps = np.array([usual * (1 + missing) for missing in wanted])

    assert wanted == missing_exposures(gaps, 1e-6).tolist()


def test_stretches_of_different_rates_are_told_apart() -> None:
    gaps = np.array([1 / 30] * 22 + [1 / 240] * 44 + [1 / 30] * 22)

    assert tuple(round(rate) for rate in rate_stretches(gaps, 1e-5)) == (30, 240, 30)


def test_a_few_drops_do_not_make_a_stretch() -> None:
    gaps = np.array(([1 / 60] * 10 + [3 / 60]) * 4)

    assert tuple(round(rate) for rate in rate_stretches(gaps, 1e-5)) == (60,)


def test_unevenness_is_more_than_a_coarse_clock() -> None:
    assert not is_uneven(np.array([0.004, 0.004, 0.005] * 9), 0.001)
    assert not is_uneven(np.array([0.0333, 0.0334] * 9), 1 / 90_000)
    assert is_uneven(np.array([0.03, 0.034, 0.038] * 9), 1 / 90_000)
