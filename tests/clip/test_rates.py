"""What the file says of its capture rate, and what a filmed stopwatch shows."""

import pytest

from tapmark.clip.rates import Capture, capture_from_file, capture_told, rate_from_stopwatch


@pytest.mark.parametrize(
    ("tag", "clock", "factor"),
    [
        (240.0, 30.0, 8.0),
        (240.0, 29.97, 8.0),
        (119.88, 29.97, 4.0),
        (120.0, 120.0, 1.0),
        (30.0, 29.7, 1.0),
        (240.0, 28.6, 240 / 28.6),
        (None, 240.0, 1.0),
        (None, 119.88, 1.0),
        (None, 60.0, None),
        (None, 29.97, None),
        (None, 2400.0, None),
        (None, None, None),
        (240.0, None, None),
    ],
)
def test_factor_comes_from_the_tag_or_a_fast_clock_or_stays_open(
    tag: float | None, clock: float | None, factor: float | None
) -> None:
    assert factor == capture_from_file(tag, clock).slow_factor


def test_a_clip_of_several_rates_stays_open_even_with_a_tag() -> None:
    capture = capture_from_file(240.0, 30.0, is_steady=False)

    assert Capture(None, None, "not known: the rate changes inside the clip") == capture


def test_true_rate_is_file_rate_times_factor() -> None:
    assert capture_from_file(240.0, 29.97).rate_hz == pytest.approx(239.76)
    assert capture_told(240, 29.97).rate_hz == pytest.approx(239.76)


def test_true_seconds_need_both_a_time_and_a_factor() -> None:
    known, unknown = capture_told(240, 30), capture_from_file(None, 30)

    assert known.true_s(0.8) == pytest.approx(0.1)
    assert known.true_s(None) is None
    assert unknown.true_s(0.8) is None


def test_stopwatch_gives_the_true_rate_and_factor() -> None:
    """2400 pictures while the watch ran 10.01 s; the file plays them for 80 s."""
    found = rate_from_stopwatch(2400, 10.01, 80.0)

    assert found.rate_hz == pytest.approx(239.76, abs=0.01)
    assert found.slow_factor == pytest.approx(7.992, abs=0.001)
    assert found.plus_minus_hz == pytest.approx(0.383, abs=0.001)


@pytest.mark.parametrize("wrong", [(0, 1.0, 1.0), (5, 0.0, 1.0), (5, 1.0, -1.0)])
def test_a_stopwatch_that_stands_still_is_our_mistake(wrong: tuple[int, float, float]) -> None:
    with pytest.raises(ValueError, match="stopwatch"):
        rate_from_stopwatch(*wrong)
