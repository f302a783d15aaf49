"""The known part of a value's error: half a picture at contact, and the bend at a turn."""

from math import sqrt

import pytest

from tapmark.measures.catalogue import row
from tapmark.measures.compute import measure_run, measure_visit
from tests.measures.made import number, run_of, with_set_up, with_turns

INTERVAL_S = 1 / 240
SD_S = INTERVAL_S * sqrt(1 / 12 + 1 / 4)  # a picture is out by half an interval, and its own width
TEMPO = 0.110 / (26 / 240)  # the made runner's contact against the one the rates are told for
ANYWHERE = with_set_up(run_of(), camera_distance_m=None)  # no known depth off the axis


def bias(key: str, leg: str = "near") -> float:
    return number(measure_run(ANYWHERE), key, leg).bias


def test_the_first_picture_touching_is_half_a_picture_late_and_the_last_half_a_picture_early() -> (
    None
):
    at_landing = row("reach").rates["touchdown"] * TEMPO
    at_leaving = row("thigh_toe_off").rates["toe-off"] * TEMPO

    assert bias("reach") == pytest.approx(at_landing * INTERVAL_S / 2)
    assert bias("thigh_toe_off") == pytest.approx(-at_leaving * INTERVAL_S / 2)


def test_where_a_joint_turns_every_picture_errs_to_one_side_by_half_the_bend_times_the_square() -> (
    None
):
    # the mean of b t² ÷ 2 over errors t of that SD is b SD² ÷ 2
    bend = row("knee_mid_stance").bends["mid-stance"] * TEMPO**2

    assert bias("knee_mid_stance") == pytest.approx(bend * SD_S**2 / 2)


def test_at_toe_off_the_bend_adds_the_square_of_half_a_picture() -> None:
    told = row("hip_share")
    half_s = INTERVAL_S / 2

    straight = -told.rates["toe-off"] * TEMPO * half_s
    at_toe_off = told.bends["toe-off"] * TEMPO**2 * (SD_S**2 + half_s**2) / 2
    at_mid_stance = told.bends["mid-stance"] * TEMPO**2 * SD_S**2 / 2
    assert bias("hip_share") == pytest.approx(straight + at_toe_off + at_mid_stance)


def test_a_known_bias_is_in_doubt_by_a_third_of_what_a_usual_rate_makes_of_half_a_picture() -> None:
    """A third, 1 SD between people: working value, common practice, no source."""
    for key, event in (("reach", "touchdown"), ("thigh_toe_off", "toe-off")):
        moved = abs(row(key).rates[event]) * TEMPO * INTERVAL_S / 2
        assert number(measure_run(ANYWHERE), key, "near").u_bias == pytest.approx(moved / 3)


def test_where_published_runs_differ_by_more_than_a_third_their_spread_is_the_doubt() -> None:
    spread = row("knee_touchdown").spreads["touchdown"]  # at any tempo

    found = number(measure_run(ANYWHERE), "knee_touchdown", "near")
    assert found.u_bias == pytest.approx(spread * INTERVAL_S / 2)


def test_the_doubt_of_a_bias_does_not_shrink_with_passes_and_is_not_in_the_printed_one() -> None:
    one, four = (number(measure_visit([ANYWHERE] * n), "reach", "near") for n in (1, 4))

    assert one.u_bias == pytest.approx(four.u_bias)
    assert four.u**2 == pytest.approx(sum(part**2 for _, part in four.parts))
    expected = four.u**2 - four.bias**2 + four.u_bias**2
    assert four.u_corrected == pytest.approx(expected**0.5)


def test_when_the_formula_itself_holds_the_time_half_a_picture_is_known_exactly() -> None:
    turning = with_turns(ANYWHERE, rear_thigh=(0.53, 0.55))
    found = number(measure_run(turning), "turn_delay", "near")

    assert found.bias == pytest.approx(1000 * INTERVAL_S / 2)
    assert found.u_bias == 0.0


@pytest.mark.parametrize("speed", [4.0, 8.0])
def test_a_typed_speed_is_known_to_2_percent(speed: float) -> None:
    # 0.02 s on 10 m at 10 m/s by hand-held gates: common practice, no source
    found = number(measure_run(with_set_up(run_of(), speed_mps=speed)), "speed")

    assert (found.value, found.mostly) == (speed, "the stopwatch")
    assert found.u == pytest.approx(0.02 * speed)
