"""What each source of doubt adds to the ± of a row, worked out by hand."""

from dataclasses import replace

import numpy as np
import pytest

from tapmark.marks.points import prompts
from tapmark.marks.run import Tap
from tapmark.measures.compute import measure_run
from tapmark.measures.repeatability import Card, OwnSd
from tapmark.measures.result import Measured
from tests.measures.made import (
    at,
    moved,
    number,
    run_of,
    with_frame,
    with_set_up,
    with_tap,
)

RUN = run_of()
LEG = 1.08 * 0.491  # in standing heights


def test_every_printed_number_has_a_doubt_made_of_its_parts() -> None:
    for key, row in measure_run(RUN).rows.items():
        if isinstance(row, Measured):
            assert row.u > 0, key
            assert sum(sd**2 for _, sd in row.parts) == pytest.approx(row.u**2), key
            assert [sd for _, sd in row.parts] == sorted((s for _, s in row.parts), reverse=True)
            assert row.plus_minus >= 10.0**-row.digits, key
            assert np.isfinite([row.value, row.u]).all(), key


def test_a_guess_counts_with_twice_its_doubt_and_prints_about() -> None:
    """Baggy shorts hide the hip."""
    sure = number(measure_run(RUN), "thigh_toe_off", "near")
    guess = number(
        measure_run(moved(RUN, "toe-off", "hip", 0, 0, "guess")), "thigh_toe_off", "near"
    )

    assert dict(guess.parts)["the hip tap"] == pytest.approx(
        2 * dict(sure.parts)["the hip tap"], rel=0.01
    )
    assert dict(guess.parts)["the knee tap"] == pytest.approx(dict(sure.parts)["the knee tap"])
    assert guess.is_about
    assert not sure.is_about


def test_a_guess_on_a_blurred_picture_counts_four_times() -> None:
    """A task of a coach's first month."""
    blurred = with_frame(RUN, "toe-off", lambda frame: replace(frame, is_blurred=True))
    both = moved(blurred, "toe-off", "hip", 0, 0, "guess")
    shares = [
        dict(number(measure_run(run), "thigh_toe_off", "near").parts)["the hip tap"]
        for run in (RUN, blurred, both)
    ]

    assert shares[1] == pytest.approx(2 * shares[0], rel=0.01)
    assert shares[2] == pytest.approx(4 * shares[0], rel=0.05)
    assert "hip at toe-off (guess)" in measure_run(both).guesses


def test_unsure_by_one_widens_the_frames_share() -> None:
    unsure = with_frame(RUN, "touchdown", lambda frame: replace(frame, is_unsure=True))
    before = dict(number(measure_run(RUN), "contact_time", "near").parts)["the frame"]
    after = dict(number(measure_run(unsure), "contact_time", "near").parts)["the frame"]

    interval_ms = 1000 / 240
    assert before == pytest.approx(interval_ms * (2 * (1 / 12 + 1 / 4)) ** 0.5)
    assert after == pytest.approx(interval_ms * (1 / 12 + 1 / 4 + 1 / 12 + 1) ** 0.5)


NOWHERE = with_set_up(RUN, camera_distance_m=None)  # no place off the camera's axis is known


HALF_LATE_DEG = -670 * 0.110 / (26 / 240) / 240 / 2


def test_half_a_picture_is_told_as_a_bias_and_stays_in_the_doubt() -> None:
    row = number(measure_run(NOWHERE), "reach", "near")

    assert row.value == pytest.approx(4.0), "the value stays what the taps show"
    assert row.bias == pytest.approx(HALF_LATE_DEG)
    assert row.corrected == pytest.approx(4.0 - HALF_LATE_DEG)
    assert row.u**2 == pytest.approx(sum(part**2 for _, part in row.parts))


def test_known_errors_are_added_with_their_signs_before_they_are_squared() -> None:
    """The ankle lies 3.5 cm deeper than the knee; the hip is left of the axis at touchdown."""
    here = number(measure_run(RUN), "reach", "near")

    height_m = 0.92 / LEG
    behind_axis = 0.55 * height_m / 12.0
    leaning_deg = np.degrees(0.035 * behind_axis / (0.246 * height_m))
    assert here.bias == pytest.approx(HALF_LATE_DEG + leaning_deg, abs=0.05)
    assert here.u**2 == pytest.approx(sum(part**2 for _, part in here.parts))


def test_the_frame_counts_with_rate_interval_slip_and_half_a_picture() -> None:
    row = number(measure_run(NOWHERE), "reach", "near")

    # the mean of three published runs, its spread between them (1.32 SD), and half a picture
    per_picture, spread = (rate * 0.110 / (26 / 240) / 240 for rate in (670, 120))
    slip_squared = 1 / 12 + 1 / 4
    squared = (per_picture**2 + spread**2) * slip_squared + per_picture**2 / 4
    expected = squared**0.5
    assert dict(row.parts)["the frame"] == pytest.approx(expected)


def test_pictures_that_span_missing_ones_widen_the_frames_share() -> None:
    gap = with_frame(NOWHERE, "touchdown", lambda frame: replace(frame, interval_s=2 / 240))
    before, after = (dict(number(measure_run(r), "reach", "near").parts) for r in (NOWHERE, gap))

    assert after["the frame"] == pytest.approx(2 * before["the frame"])


def test_a_tap_counts_with_its_share_of_the_leg() -> None:
    row = number(measure_run(with_set_up(RUN, upright_px=((0, 1000), (0, 0)))), "reach", "near")

    shank_pct = 100 * 0.246 / LEG
    expected = np.degrees(2**0.5 * 1.1 / shank_pct)
    taps = np.hypot(dict(row.parts)["the knee tap"], dict(row.parts)["the ankle tap"])
    assert taps == pytest.approx(expected, rel=2e-3)


def test_a_coachs_own_card_narrows_the_taps_share() -> None:
    steady = Card((OwnSd("knee", 0.4, 90), OwnSd("ankle", 0.4, 90)))

    usual, own = (dict(number(measure_run(RUN, c), "reach", "near").parts)["the ankle tap"]
                  for c in (Card(), steady))  # fmt: skip

    assert own == pytest.approx(0.6 * usual, rel=1e-3)  # never below 0.6 of the usual


@pytest.mark.parametrize(
    ("camera", "roll_deg"),
    [("tripod, levelled", 0.7), ("tripod", 1.5), ("hand-held", 2.0), ("panned", 1.5)],
)
def test_camera_roll_counts_one_to_one_in_a_tilt(camera: str, roll_deg: float) -> None:
    tilt = number(measure_run(with_set_up(RUN, camera=camera)), "reach", "near")
    joint = number(measure_run(with_set_up(RUN, camera=camera)), "knee_touchdown", "near")

    assert dict(tilt.parts)["camera roll"] == pytest.approx(roll_deg, rel=1e-3)
    assert dict(joint.parts).get("camera roll", 0.0) < 1e-6


def test_a_vertical_reference_leaves_a_third_of_a_degree() -> None:
    row = number(measure_run(with_set_up(RUN, upright_px=((9, 900), (9, 100)))), "reach", "near")

    assert dict(row.parts)["camera roll"] == pytest.approx(0.3, rel=1e-3)


def test_the_near_shoulder_carries_its_turn_and_the_neck_base_does_not() -> None:
    neck = run_of(points=prompts("side", neck_base=True))

    assert dict(number(measure_run(RUN), "trunk_lean").parts)["shoulder turn"] == pytest.approx(
        1.2, rel=2e-2
    )
    assert "shoulder turn" not in dict(number(measure_run(neck), "trunk_lean").parts)
    assert number(measure_run(neck), "trunk_lean").value == pytest.approx(8.0)


def test_the_middle_of_both_shoulders_carries_no_turn() -> None:
    run = RUN
    for event in ("touchdown", "opposite touchdown"):
        x, y = at(RUN, event, "shoulder")
        run = with_tap(run, event, Tap("shoulder", (x + 30, y)))
        run = with_tap(run, event, Tap("far shoulder", (x - 30, y)))

    row = number(measure_run(run), "trunk_lean")
    assert row.value == pytest.approx(8.0)
    assert "shoulder turn" not in dict(row.parts)


def test_far_leg_rows_carry_the_far_hip_and_print_about() -> None:
    results = measure_run(RUN)
    by_far_hip = {
        key
        for key, row in results.rows.items()
        if isinstance(row, Measured) and "the far hip" in dict(row.parts)
    }

    assert by_far_hip == {
        ("ankle_hip", "far"),
        ("knee_touchdown", "far"),
        ("thigh_touchdown", "far"),
        ("separation_ahead", "far"),
        ("separation_behind", "near"),
        ("swing_thigh", "near"),
        ("fold", "far"),
        ("peak_thigh", "far"),
        ("front_leg_return", "far"),
        ("return_rate", "far"),
    }
    about = {key for key, row in results.rows.items() if isinstance(row, Measured) and row.is_about}
    assert by_far_hip == about


def test_the_far_hip_doubt_is_the_same_one_on_both_frames_of_the_return() -> None:
    row = number(measure_run(RUN), "front_leg_return", "far")

    leg_cm, thigh_cm = 92.0, 92.0 * 0.245 / LEG
    assert leg_cm > thigh_cm
    along = (np.cos(np.radians(68)) - np.cos(np.radians(29))) / thigh_cm * 1.6
    upward = (np.sin(np.radians(68)) - np.sin(np.radians(29))) / thigh_cm * 1.5
    assert dict(row.parts)["the far hip"] == pytest.approx(
        np.degrees(np.hypot(along, upward)), rel=0.01
    )
