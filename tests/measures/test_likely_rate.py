"""Times that no runner makes, and the rate that would explain them."""

from dataclasses import replace

import pytest

from tapmark.measures.checks import likely_rate
from tapmark.measures.compute import measure_run
from tapmark.measures.likely_rate import LikelyRate, are_usual, likely_rates
from tests.measures.made import POSES, run_of, with_frame


def test_800_ms_on_the_ground_asks_for_240_saved_at_30() -> None:
    """Contact must read about 100 ms, not 800."""
    first = likely_rates(0.800, 1.84, slow_factor=1.0, file_hz=30.0)[0]

    assert first == LikelyRate(8.0, 240.0, 30.0)
    assert first.question == "Filmed at 240, saved at 30?"


def test_rate_that_is_in_use_is_not_asked_for() -> None:
    others = likely_rates(0.100, 0.230, slow_factor=8.0, file_hz=30.0)

    assert [rate for rate in others if abs(rate.slow_factor - 8.0) < 0.1] == []


def test_12_ms_on_the_ground_asks_whether_it_was_slow_motion_at_all() -> None:
    first = likely_rates(0.0125, 0.029, slow_factor=8.0, file_hz=30.0)[0]

    assert first.question == "Filmed at normal speed, not in slow motion?"


def test_a_clip_baked_at_1000_a_second_is_explained_too() -> None:
    assert likely_rates(3.52, 7.68, slow_factor=1.0, file_hz=30.0)[0].filmed_hz == 960


def test_odd_file_clocks_are_called_by_their_nominal_rate() -> None:
    questions = [r.question for r in likely_rates(0.85, 1.9, slow_factor=1.0, file_hz=28.6)]

    assert "Filmed at 240, saved at 30?" in questions


@pytest.mark.parametrize("contact_ms", [60, 95, 180, 280])
@pytest.mark.parametrize("steps_hz", [2.3, 3.4, 4.9, 5.5])
def test_what_runners_do_is_not_doubted(contact_ms: float, steps_hz: float) -> None:
    assert are_usual(contact_ms / 1000, 1 / steps_hz)


@pytest.mark.parametrize(
    ("contact_s", "step_s"),
    [(0.059, 0.24), (0.281, 0.3), (None, 1 / 2.29), (0.1, 1 / 5.51), (None, 0.0)],
)
def test_just_outside_is_doubted(contact_s: float | None, step_s: float) -> None:
    assert not are_usual(contact_s, step_s)


def test_nothing_measured_is_not_doubted() -> None:
    assert are_usual(None, None)


@pytest.mark.parametrize(("contact_s", "step_s"), [(0.44, 1.0), (None, 1.0), (0.9, None)])
def test_every_rate_offered_makes_the_times_fit(
    contact_s: float | None, step_s: float | None
) -> None:
    offered = likely_rates(contact_s, step_s, slow_factor=1.0, file_hz=60.0)

    assert offered
    for factor in (rate.slow_factor for rate in offered):
        times = (None if s is None else s / factor for s in (contact_s, step_s))
        assert are_usual(*times)


def test_a_step_without_length_has_no_rate_that_fits() -> None:
    assert likely_rates(None, 0.0, slow_factor=8.0, file_hz=30.0) == ()


def test_taking_the_offer_leaves_nothing_to_doubt() -> None:
    """A run saved at 30 with the clock taken as true: after the fix contact is 108 ms."""
    run = run_of(hz=30.0)
    offer = likely_rate(run, 0)

    assert offer is not None and offer.filmed_hz == 240
    mended = replace(run, set_up=replace(run.set_up, slow_factor=offer.slow_factor))
    assert likely_rate(mended, 0) is None
    assert [check for check in measure_run(mended).checks if check.name == "time"] == []


@pytest.mark.parametrize("factor", [1.0, None])
def test_usual_times_and_unknown_rates_get_no_offer(factor: float | None) -> None:
    run = run_of(hz=240.0)

    assert likely_rate(replace(run, set_up=replace(run.set_up, slow_factor=factor)), 0) is None


def test_times_typed_beside_pictures_of_one_number_get_no_offer() -> None:
    run = run_of()
    for i, event in enumerate(POSES):  # 0.4 s from key frame to key frame: no runner
        run = with_frame(
            run, event, lambda f, i=i: replace(f, picture=7, time_s=0.4 * i, interval_s=None)
        )

    assert run.set_up.slow_factor == 1.0
    assert likely_rate(run, 0) is None


@pytest.mark.parametrize(
    ("file_hz", "factors"),
    [
        (30.0, [1.0, 2.0, 4.0, 8.0, 16.0, 32.0]),
        (29.97, [1.0, 2.0, 4.0, 8.0, 16.0, 32.0]),
        (25.0, [1.0, 1.2, 2.4, 4.8, 9.6]),
    ],
)
def test_factors_are_whole_only_where_the_rates_make_them_so(
    file_hz: float, factors: list[float]
) -> None:
    rates = likely_rates(None, None, slow_factor=100.0, file_hz=file_hz)

    assert factors == [rate.slow_factor for rate in rates][: len(factors)]


@pytest.mark.parametrize("saved", [24, 25, 30, 50, 60])
def test_every_rate_that_phones_film_at_is_asked_of_every_rate_that_files_play(saved: int) -> None:
    # common practice, no source: 30 to 960 doubling, saved at 24, 25, 30, 50 or 60
    rates = likely_rates(None, None, slow_factor=100.0, file_hz=saved * 1.02)

    assert {rate.saved_hz for rate in rates} == {float(saved)}
    slow = [rate.filmed_hz for rate in rates[1:]]
    assert slow == [hz for hz in (30.0, 60.0, 120.0, 240.0, 480.0, 960.0) if hz != saved]


def test_an_odd_clock_far_from_every_usual_rate_keeps_its_own_name() -> None:
    rates = likely_rates(None, None, slow_factor=100.0, file_hz=15.2)

    assert {rate.saved_hz for rate in rates} == {15.0}


def test_times_too_short_are_as_odd_as_times_too_long() -> None:
    # 140 ms is nearer to a fast run's 110 than 70 ms is, and that nearer than 280 ms
    rates = [rate.filmed_hz for rate in likely_rates(1.12, None, slow_factor=1.0, file_hz=30.0)]

    assert rates == [240.0, 480.0, 120.0]
