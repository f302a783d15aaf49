"""What the file says of its capture rate, and times that no runner makes."""

import pytest

from tapmark.clip.rates import (
    Capture,
    RateFix,
    capture_from_file,
    capture_told,
    rate_from_stopwatch,
    sanity,
)


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


def test_800_ms_on_the_ground_asks_for_240_saved_at_30() -> None:
    """Task 4 of the handbook's first month: contact must read about 100 ms, not 800."""
    doubt = sanity(0.800, 1.84, slow_factor=1.0, file_rate_hz=30.0)

    assert doubt is not None
    assert "800 ms on the ground" in doubt.words
    assert "0.5 steps a second" in doubt.words
    assert doubt.fixes[0] == RateFix(8.0, "filmed at 240, saved at 30?")


def test_12_ms_on_the_ground_asks_whether_it_was_slow_motion_at_all() -> None:
    doubt = sanity(0.0125, 0.029, slow_factor=8.0, file_rate_hz=30.0)

    assert doubt is not None
    assert doubt.fixes[0].words == "filmed at normal speed, not in slow motion?"


def test_odd_file_clocks_are_called_by_their_nominal_rate() -> None:
    doubt = sanity(0.85, 1.9, slow_factor=1.0, file_rate_hz=28.6)

    assert doubt is not None
    assert "filmed at 240, saved at 30?" in [fix.words for fix in doubt.fixes]


@pytest.mark.parametrize("contact_ms", [60, 95, 180, 280])
@pytest.mark.parametrize("steps_hz", [2.3, 3.4, 4.9, 5.5])
def test_what_runners_do_is_not_doubted(contact_ms: float, steps_hz: float) -> None:
    assert sanity(contact_ms / 1000, 1 / steps_hz, slow_factor=8.0, file_rate_hz=30.0) is None


@pytest.mark.parametrize(
    ("contact_s", "step_s"), [(0.059, 0.24), (0.281, 0.3), (None, 1 / 2.29), (0.1, 1 / 5.51)]
)
def test_just_outside_is_doubted(contact_s: float | None, step_s: float) -> None:
    assert sanity(contact_s, step_s, slow_factor=1.0, file_rate_hz=240.0) is not None


def test_nothing_measured_is_not_doubted() -> None:
    assert sanity(None, None, slow_factor=8.0, file_rate_hz=30.0) is None


def test_every_fix_makes_the_times_fit() -> None:
    doubt = sanity(0.44, 1.0, slow_factor=1.0, file_rate_hz=60.0)

    assert doubt is not None and doubt.fixes
    for factor in (fix.slow_factor for fix in doubt.fixes):
        assert sanity(0.44 / factor, 1.0 / factor, slow_factor=factor, file_rate_hz=60) is None


def test_a_step_without_length_is_doubted_and_has_no_fix() -> None:
    doubt = sanity(None, 0.0, slow_factor=8.0, file_rate_hz=30.0)

    assert doubt is not None
    assert doubt.fixes == ()


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
