"""Every source of doubt of one step: how large it is, worked out by hand from what was filmed.

The figures on the right are our own working values typed twice and our arithmetic on them: this
notices a slip and proves no doubt. Whether the ± covers the truth is asked in tests/long/coverage.
"""

from dataclasses import replace
from math import hypot, radians, sqrt, tan

import pytest

from tapmark.marks.points import STANDARD
from tapmark.marks.run import KeyFrame, Run, Tap
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.doubts import Doubt, askew_m, depth_name, doubts_of, shoe_sd_px
from tapmark.measures.setting import setting_of
from tests.measures.made import PX, at, run_of, with_frame, with_set_up, with_tap, with_turns

LEG_M = 0.92
PX_PER_M = 400.0
MARKS = ((1000.0, 900.0), (1800.0, 900.0))  # two metres at 400 px a metre
SCALED = with_set_up(run_of(), scale_px=MARKS, scale_m=2.0, leg_cm=92.0, leg_source="tape")
LEG_PX = LEG_M * PX_PER_M


def doubts(run: Run) -> dict[tuple[str, ...], Doubt]:
    step = run.steps[0]
    found = doubts_of(run, step, DEFAULT_CARD, setting_of(run, step))
    return {doubt.name: doubt for doubt in found}


def sd(run: Run, *name: str) -> float:
    return doubts(run)[name].sd


def tapped(run: Run, event: str, point: str, certainty: str) -> Run:
    place = None if certainty == "behind" else at(run, event, point)
    return with_tap(run, event, Tap(point, place, certainty))


@pytest.mark.parametrize(
    ("point", "percent"), [("hip", 2.2), ("near knee", 1.1), ("near ankle", 1.1), ("shoulder", 1.6)]
)
def test_a_tap_is_out_by_its_share_of_the_leg_along_either_axis(point: str, percent: float) -> None:
    x, y = at(SCALED, "touchdown", point)

    for axis, value in (("x", x), ("y", y)):
        doubt = doubts(SCALED)["touchdown", point, axis]
        assert (value, percent / 100 * LEG_PX) == (doubt.value, pytest.approx(doubt.sd))
        assert not doubt.is_shared


def test_a_guess_and_a_blurred_picture_count_twice_each() -> None:
    guess = tapped(SCALED, "touchdown", "hip", "guess")
    blurred = with_frame(SCALED, "touchdown", lambda frame: replace(frame, is_blurred=True))
    both = tapped(blurred, "touchdown", "hip", "guess")

    sure = sd(SCALED, "touchdown", "hip", "x")
    times = [sd(run, "touchdown", "hip", "x") / sure for run in (guess, blurred, both)]
    assert pytest.approx(times) == [2, 2, 4]


def test_a_knee_behind_the_leg_may_stand_4_6_cm_to_either_side() -> None:
    hidden = tapped(SCALED, "touchdown", "far knee", "behind")

    for axis in "xy":
        doubt = doubts(hidden)["touchdown", "far knee", f"behind {axis}"]
        assert (0.0, pytest.approx(0.046 * PX_PER_M)) == (doubt.value, doubt.sd)


def test_a_picture_is_out_by_half_an_interval_and_by_one_or_two_where_it_is_unsure() -> None:
    unsure = with_frame(SCALED, "touchdown", lambda frame: replace(frame, is_unsure=True))

    interval_s = 1 / 240
    by_two = with_frame(
        SCALED, "touchdown", lambda frame: replace(frame, is_unsure=True, is_unsure_by_two=True)
    )
    assert sd(by_two, "touchdown", "time") == pytest.approx(interval_s * sqrt(1 / 12 + 4))
    assert sd(SCALED, "touchdown", "time") == pytest.approx(interval_s * sqrt(1 / 12 + 1 / 4))
    assert sd(unsure, "touchdown", "time") == pytest.approx(interval_s * sqrt(1 / 12 + 1))
    assert sd(unsure, "toe-off", "time") == pytest.approx(interval_s * sqrt(1 / 12 + 1 / 4))
    assert doubts(SCALED)["toe-off", "time"].value == pytest.approx(125 / 240)


def test_the_other_foots_toe_off_has_a_time_of_its_own() -> None:
    frame = KeyFrame("far toe-off", 180, 180 / 240, 1 / 240)
    step = replace(SCALED.steps[0], far_toe_off=frame)
    longer = replace(SCALED, steps=(step,))

    assert ("far toe-off", "time") not in doubts(SCALED)
    assert doubts(longer)["far toe-off", "time"].value == pytest.approx(0.75)


def test_a_turn_is_spread_evenly_over_its_pictures_but_never_known_to_under_7_5_ms() -> None:
    wide = doubts(with_turns(SCALED, lead_thigh=(0.50, 0.56)))["lead thigh", "turning"]
    sharp = doubts(with_turns(SCALED, lead_thigh=(0.50, 0.51)))["lead thigh", "turning"]

    assert (pytest.approx(0.53), pytest.approx(0.03 / sqrt(3))) == (wide.value, wide.sd)
    assert (pytest.approx(0.505), 0.0075) == (sharp.value, sharp.sd)


def test_times_and_turns_are_true_ones_where_the_clip_is_slowed_down() -> None:
    slow = with_set_up(run_of(hz=30.0), slow_factor=8.0)
    turned = doubts(with_turns(slow, lead_thigh=(4.0, 4.8)))["lead thigh", "turning"]

    assert sd(slow, "touchdown", "time") == pytest.approx(sqrt(1 / 3) / 240)
    assert (pytest.approx(0.55), pytest.approx(0.05 / sqrt(3))) == (turned.value, turned.sd)


def test_a_turn_without_times_has_no_doubt() -> None:
    unknown = with_set_up(with_turns(SCALED, lead_thigh=(0.5, 0.6)), slow_factor=None)

    assert ("lead thigh", "turning") not in doubts(unknown)


def test_the_far_hip_and_the_shoulders_turn_are_the_same_in_every_picture() -> None:
    found = doubts(SCALED)

    x, y = found["far hip", "x"], found["far hip", "y"]
    turn, alone = (found["shoulder turn", when] for when in ("at both landings", "toe-off"))
    assert (pytest.approx(6.4), pytest.approx(6.0)) == (x.sd, y.sd)  # 1.6 and 1.5 cm
    assert (turn.sd, alone.sd) == (pytest.approx(radians(1.2)), pytest.approx(radians(2.5)))
    assert [x.value, y.value, turn.value] == [0.0, 0.0, 0.0]
    assert x.is_shared and y.is_shared and turn.is_shared


@pytest.mark.parametrize(
    ("camera", "degrees"), [("tripod, levelled", 0.7), ("hand-held", 2.0), ("tripod", 1.5)]
)
def test_the_cameras_roll_is_in_doubt_by_how_it_stood(camera: str, degrees: float) -> None:
    roll = doubts(with_set_up(SCALED, camera=camera))["roll",]

    assert (0.0, pytest.approx(radians(degrees))) == (roll.value, roll.sd)
    assert roll.is_shared


def test_an_upright_tells_the_roll_to_a_third_of_a_degree() -> None:
    leaning = with_set_up(SCALED, upright_px=((500.0, 1000.0), (510.0, 0.0)))
    roll = doubts(leaning)["roll",]

    assert abs(roll.value) == pytest.approx(0.01, rel=1e-3)
    assert roll.sd == pytest.approx(radians(0.3))


def test_depths_are_known_to_2_cm_and_every_doubt_of_the_camera_is_shared() -> None:
    found = doubts(SCALED)
    parts = ("far side", "near knee", "near ankle", "near toe", "shoulder", "neck base")

    assert [found[part, "off axis"].sd for part in parts] == [0.02] * 6
    assert [found[part, "aim"].sd for part in parts] == [1.0] * 6
    assert found["the body", "off axis"].sd == 1.0
    assert all(found[part, kind].is_shared for part in parts for kind in ("off axis", "aim"))
    assert found["the body", "off axis"].is_shared


def test_what_an_askew_camera_moves_is_told_by_depth() -> None:
    # 0.18 m between the hips; the others are working values: common practice, no source
    expected = {"far knee": 0.18, "far toe": 0.18, "near knee": 0.03, "near ankle": 0.04}
    expected |= {"near toe": 0.05, "shoulder": 0.05, "neck base": 0.16, "hip": 0.0, "elbow": 0.0}

    assert expected == {point: askew_m(point) for point in expected}


def test_every_far_point_shares_one_depth_and_hip_and_elbow_have_none() -> None:
    names = {"far knee": "far side", "far ankle": "far side", "near knee": "near knee"}
    names |= {"neck base": "neck base", "hip": "", "elbow": ""}

    assert names == {point: depth_name(point) for point in names}


def test_a_scale_is_in_doubt_by_its_marks_its_depth_and_the_cameras_aim() -> None:
    middle = with_set_up(SCALED, is_mirrored=False)
    furthest_m = max(
        abs(at(middle, frame.event, "hip")[0] - 1500.0) / PX_PER_M
        for frame in middle.steps[0].key_frames
    )
    marks = sqrt(2) * 0.005 * LEG_PX / 800.0  # half a percent of the leg for either end
    depth = 0.15 / 12.0  # marks and hip 15 cm apart, 12 m away
    oblique = 2 * tan(radians(2.0)) * furthest_m / 12.0

    expected = PX_PER_M * hypot(marks, depth, oblique)
    assert expected == pytest.approx(sd(middle, "px per m"))
    assert doubts(middle)["px per m",].value == pytest.approx(PX_PER_M)
    assert doubts(middle)["px per m",].is_shared


def test_where_no_two_taps_tell_a_size_the_scale_is_in_doubt_by_its_depth_alone() -> None:
    alone = run_of(points=dict.fromkeys(STANDARD, ("hip",)))
    scaled = with_set_up(alone, scale_px=MARKS, scale_m=2.0)

    assert sd(scaled, "px per m") == PX_PER_M * 0.0125


def test_without_a_scale_there_is_no_doubt_of_it() -> None:
    assert ("px per m",) not in doubts(run_of())


def test_a_leg_by_tape_is_known_to_a_centimetre_by_height_to_3_percent() -> None:
    by_height = with_set_up(SCALED, leg_source="height")

    assert (doubts(SCALED)["leg cm",].value, sd(SCALED, "leg cm")) == (92.0, 1.0)
    assert sd(by_height, "leg cm") == pytest.approx(2.76)
    assert doubts(SCALED)["leg cm",].is_shared
    assert ("leg cm",) not in doubts(run_of())


def test_a_leg_that_is_the_only_scale_adds_2_percent_of_body_ratio() -> None:
    unscaled = with_set_up(run_of(), leg_cm=90.0, leg_source="tape")

    assert sd(unscaled, "leg cm") == pytest.approx(hypot(1.0, 1.8))


def test_without_scale_or_tape_a_leg_counts_0_92_m() -> None:
    leg_px = 0.530 / 0.491 * (0.245 + 0.246) * PX  # leg ÷ (thigh + shank), body ratios

    assert sd(run_of(), "far hip", "x") == pytest.approx(0.016 / 0.92 * leg_px, rel=0.01)


def test_a_shoe_tap_is_out_by_7_percent_of_the_shoes_line_or_a_px_and_a_half() -> None:
    assert (pytest.approx(shoe_sd_px(100.0)), shoe_sd_px(10.0)) == (7.0, 1.5)
