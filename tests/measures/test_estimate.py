"""The known part of a value's error: half a picture at contact, and the bend at a turn."""

from dataclasses import replace
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
    at_leaving = row("drive_angle").rates["toe-off"] * TEMPO

    assert bias("reach") == pytest.approx(at_landing * INTERVAL_S / 2)
    assert bias("drive_angle") == pytest.approx(-at_leaving * INTERVAL_S / 2)


def test_where_a_joint_turns_every_picture_errs_to_one_side_by_half_the_bend_times_the_square() -> (
    None
):
    # the mean of b t² ÷ 2 over errors t of that SD is b SD² ÷ 2
    bend = row("knee_mid_stance").bends["mid-stance"] * TEMPO**2

    assert bias("knee_mid_stance") == pytest.approx(bend * SD_S**2 / 2)


def test_where_a_joint_turns_a_slip_counts_to_the_second_order_too() -> None:
    """JCGM 100:2008, note to 5.1.2: half of (f'' u²)² beside (f' u)²; the leg stack at mid-stance.

    At 60 pictures a second, z of its verdict was 1.14 without.
    """
    told = row("leg_stack")
    rate, spread = (each["mid-stance"] * TEMPO * SD_S for each in (told.rates, told.spreads))
    second = told.bends["mid-stance"] * TEMPO**2 * SD_S**2 / sqrt(2)

    found = number(measure_run(ANYWHERE), "leg_stack", "near")

    own = dict(found.parts)["the frame"] ** 2 - found.bias**2
    assert own == pytest.approx(rate**2 + spread**2 + second**2, rel=1e-6)


def test_the_thigh_at_toe_off_is_read_before_it_slows_down_to_its_turn() -> None:
    told = row("thigh_toe_off")
    half_s = INTERVAL_S / 2

    straight = -told.rates["toe-off"] * TEMPO**2 * half_s
    bend = told.bends["toe-off"] * TEMPO**2 * (SD_S**2 + half_s**2) / 2
    assert bias("thigh_toe_off") == pytest.approx(straight + bend)


def test_at_toe_off_the_bend_adds_the_square_of_half_a_picture() -> None:
    told = row("hip_share")
    half_s = INTERVAL_S / 2

    straight = -told.rates["toe-off"] * TEMPO * half_s
    at_toe_off = told.bends["toe-off"] * TEMPO**2 * (SD_S**2 + half_s**2) / 2
    at_mid_stance = told.bends["mid-stance"] * TEMPO**2 * SD_S**2 / 2
    assert bias("hip_share") == pytest.approx(straight + at_toe_off + at_mid_stance)


def test_a_known_bias_is_in_doubt_by_how_much_people_differ_in_half_a_picture() -> None:
    powers = {"reach": 1, "knee_separation": 2, "knee_touchdown": 0, "thigh_touchdown": 0}
    for key, power in powers.items():
        (spread,) = row(key).spreads.values()
        moved = spread * TEMPO**power * INTERVAL_S / 2
        assert number(measure_run(ANYWHERE), key, "near").u_bias == pytest.approx(moved), key


def test_a_slip_moves_a_value_by_the_usual_rate_and_in_doubt_by_its_spread() -> None:
    """E[(rate · slip)²] over people is (mean² + SD²) · slip²."""
    told = row("drive_angle")
    rate, spread = told.rates["toe-off"] * TEMPO, told.spreads["toe-off"] * TEMPO

    found = number(measure_run(ANYWHERE), "drive_angle", "near")

    own = dict(found.parts)["the frame"] ** 2 - found.bias**2
    assert own == pytest.approx((rate**2 + spread**2) * SD_S**2, rel=1e-6)


def test_the_doubt_of_a_bias_does_not_shrink_with_passes_and_is_not_in_the_printed_one() -> None:
    one, four = (number(measure_visit([ANYWHERE] * n), "reach", "near") for n in (1, 4))

    assert one.u_bias == pytest.approx(four.u_bias)
    assert four.u**2 == pytest.approx(sum(part**2 for _, part in four.parts))
    expected = four.u**2 - four.bias**2 + four.u_bias**2 + four.of_slip
    assert four.u_corrected == pytest.approx(expected**0.5)


def test_a_bias_told_by_the_contact_counts_a_slip_of_its_key_frames_once() -> None:
    """JCGM 100:2008, 5.2: what value and correction have in common counts with its sign.

    Reach moves by r · late, and r goes by 1 ÷ contact; the bias is r · half a picture. A touchdown
    late by t makes the contact shorter by t: of the slip r · t there stays r · t · (1 − half ÷
    contact), and a toe-off late by t adds r · t · half ÷ contact.
    """
    contact_s, half_s = 0.110 / TEMPO, INTERVAL_S / 2
    slip = row("reach").rates["touchdown"] * TEMPO * SD_S
    part = half_s / contact_s

    near, far = (number(measure_run(ANYWHERE), "reach", leg) for leg in ("near", "far"))

    assert near.of_slip == pytest.approx(slip**2 * ((1 - part) ** 2 - 1 + part**2), rel=1e-3)
    # the far leg lands on another picture: nothing is told twice, the contact's doubt is added
    assert far.of_slip == pytest.approx(slip**2 * 2 * part**2, rel=1e-3)
    twice = number(measure_visit([ANYWHERE] * 2), "reach", "near")
    assert twice.of_slip == pytest.approx(near.of_slip / 2)


def test_where_the_contact_is_not_read_from_the_pictures_nothing_is_told_twice() -> None:
    (step,) = ANYWHERE.steps
    frames = tuple(frame for frame in step.key_frames if frame.event != "toe-off")
    unread = replace(ANYWHERE, steps=(replace(step, key_frames=frames),))

    assert number(measure_run(unread), "reach", "near").of_slip == 0.0


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
