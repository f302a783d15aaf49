"""What stands around a run: the upright, and how long the foot was down."""

from dataclasses import replace
from math import atan, degrees, radians, tan

import pytest

from tapmark.marks.run import Run
from tapmark.measures.setting import Setting, setting_of, upright_of
from tests.measures.made import POSES, at, run_of, with_frame, with_set_up, without


@pytest.mark.parametrize(
    "ends", [((500.0, 1000.0), (500.0, 999.0)), ((500.0, 1000.0), (501.0, 1000.0))]
)
def test_an_upright_of_no_length_is_none_wherever_it_stands(
    ends: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    assert upright_of(with_set_up(run_of(), upright_px=ends)) is None


def test_an_upright_is_given_lower_end_first() -> None:
    low, high = (500.0, 1000.0), (540.0, 200.0)

    for ends in ((low, high), (high, low)):
        assert upright_of(with_set_up(run_of(), upright_px=ends)) == (low, high)


MARKS = ((1000.0, 900.0), (1800.0, 900.0))
SCALED = with_set_up(run_of(), scale_px=MARKS, scale_m=2.0)


def setting(run: Run) -> Setting:
    return setting_of(run, run.steps[0])


def with_picture(run: Run, event: str, picture: int) -> Run:
    return with_frame(run, event, lambda frame: replace(frame, picture=picture))


def without_times(run: Run) -> Run:
    for event in POSES:
        run = with_frame(run, event, lambda f: replace(f, time_s=None, interval_s=None))
    return run


def test_an_upright_needs_five_px() -> None:
    short, enough = ((500.0, 1000.0), (503.0, 996.1)), ((500.0, 1000.0), (503.0, 996.0))

    assert upright_of(with_set_up(run_of(), upright_px=short)) is None
    assert upright_of(with_set_up(run_of(), upright_px=enough)) == enough


def test_a_scale_turns_tape_into_px_and_px_into_metres() -> None:
    taped = setting(with_set_up(SCALED, leg_cm=90.0, leg_source="tape"))
    bare = setting(SCALED)

    assert (taped.px_per_m, taped.leg_px, taped.leg_source) == (400.0, 360.0, "tape")
    assert (taped.leg_m, taped.px(10.0)) == (0.9, pytest.approx(40.0))
    assert bare.leg_m == pytest.approx(bare.leg_px / 400.0)
    assert (bare.leg_source, setting(run_of()).leg_m) == ("picture", 0.92)


def test_a_tape_without_a_scale_tells_metres_but_not_px() -> None:
    found = setting(with_set_up(run_of(), leg_cm=90.0, leg_source="tape"))

    assert (found.px_per_m, found.leg_m, found.leg_source) == (None, 0.9, "picture")


def test_a_leg_in_the_picture_is_thigh_and_shank_by_the_body_ratio() -> None:
    # Drillis and Contini's ratios: leg 0.530, thigh 0.245, shank 0.246 of standing height
    assert setting(run_of()).leg_px == pytest.approx(0.530 * 600.0, rel=0.01)


@pytest.mark.parametrize(
    ("kept", "factor"),
    [
        (("hip", "near knee"), 2.16 * 0.245),
        (("near knee", "near ankle"), 2.16 * 0.246),
        (("hip", "far knee"), 2.16 * 0.245),
        (("far knee", "far ankle"), 2.16 * 0.246),
        (("shoulder", "hip"), 1.84 * 0.288),
        (("neck base", "hip"), 1.84 * 0.288),
    ],
)
def test_two_taps_alone_tell_the_leg_roughly(kept: tuple[str, str], factor: float) -> None:
    found = setting(run_of(points=dict.fromkeys(POSES, kept)))

    assert found.leg_px == pytest.approx(factor * 600.0)
    assert found.leg_source == ""
    assert factor == pytest.approx(0.530, rel=0.01)  # the same ratios tell the same leg


def test_no_two_taps_tell_no_size() -> None:
    found = setting(run_of(points=dict.fromkeys(POSES, ("hip",))))

    assert (found.leg_px, found.px(10.0)) == (None, 0.0)


def test_the_rate_is_that_of_the_pictures_times_the_slow_factor() -> None:
    slow = with_set_up(run_of(hz=30.0), slow_factor=8.0)

    assert (setting(slow).rate_hz, setting(slow).effective_hz) == (pytest.approx(240.0),) * 2
    assert setting(slow).interval_s(slow.steps[0].key_frames[0]) == pytest.approx(1 / 240)
    assert setting(with_set_up(slow, slow_factor=None)).rate_hz is None


def test_without_intervals_the_mean_time_between_key_frames_tells_the_rate() -> None:
    bare = run_of()
    for event in POSES:
        bare = with_frame(bare, event, lambda frame: replace(frame, interval_s=None))

    assert setting(bare).rate_hz == pytest.approx(240.0)
    assert setting(bare).interval_s(bare.steps[0].key_frames[0]) == pytest.approx(1 / 240)


def test_two_key_frames_of_one_picture_tell_no_rate() -> None:
    bare = without_times(run_of())
    twice = with_frame(bare, "touchdown", lambda f: replace(f, time_s=0.4))
    twice = with_frame(twice, "mid-stance", lambda f: replace(f, picture=100, time_s=0.5))

    assert setting(twice).rate_hz is None


@pytest.mark.parametrize(
    ("context", "step_s"), [("sprint", 0.225), ("acceleration", 0.225), ("800 m", 0.29)]
)
def test_a_rate_nobody_knows_counts_by_the_pictures_of_a_usual_step(
    context: str, step_s: float
) -> None:
    unknown = with_set_up(run_of(), slow_factor=None, context=context)

    assert setting(unknown).effective_hz == pytest.approx(54 / step_s)
    assert setting(unknown).interval_s(unknown.steps[0].key_frames[0]) == pytest.approx(step_s / 54)


def test_a_step_without_both_contacts_in_order_counts_30_pictures_a_second() -> None:
    unknown = with_set_up(run_of(), slow_factor=None)
    alone = with_frame(unknown, "opposite touchdown", lambda frame: None)
    turned = with_picture(unknown, "opposite touchdown", 100)

    for run in (alone, turned):
        assert setting(run).effective_hz is None
        assert setting(run).interval_s(run.steps[0].key_frames[0]) == pytest.approx(1 / 30)


def test_contact_lasts_from_the_first_to_behind_the_last_picture_within_what_runners_show() -> None:
    # 60 to 280 ms: the sanity net's own limits
    spans = {125: 26 / 240, 108: 0.06, 190: 0.28}
    told = {last: setting(at_pictures(run_of(), last)).contact_s for last in spans}

    assert spans == pytest.approx(told)


def at_pictures(run: Run, last: int) -> Run:
    moved = with_picture(run, "toe-off", last)
    return with_frame(moved, "toe-off", lambda frame: replace(frame, time_s=last / 240))


def test_contact_by_numbers_where_there_are_no_times() -> None:
    unknown = with_set_up(run_of(), slow_factor=None)

    assert setting(unknown).contact_s == pytest.approx(26 * 0.225 / 54)


@pytest.mark.parametrize(("context", "usual_s"), [("sprint", 0.110), ("800 m", 0.160)])
def test_contact_is_a_usual_one_where_it_is_not_marked(context: str, usual_s: float) -> None:
    run = with_set_up(run_of(), context=context)
    without = with_frame(run, "toe-off", lambda frame: None)
    turned = with_picture(run, "toe-off", 100)

    assert [usual_s] * 2 == [setting(each).contact_s for each in (without, turned)]


def test_off_the_axis_is_counted_along_the_run_and_only_with_a_fixed_camera_of_known_place() -> (
    None
):
    there, back = (
        with_set_up(run_of(sign=sign), scale_px=MARKS, scale_m=2.0, leg_cm=92.0) for sign in (1, -1)
    )
    expected_m = 0.60 * 600.0 / 400.0  # the hip is 0.60 heights ahead of the middle

    for run in (there, back):
        found = setting(run)
        assert found.tan_off["opposite touchdown"] == pytest.approx(expected_m / 12.0)
        degrees_off = degrees(atan(expected_m / 12.0))
        assert found.off_square_deg(["toe-off", "opposite touchdown"]) == pytest.approx(degrees_off)
        assert found.off_square_deg(["nothing"]) == 0.0
        assert found.aim_tan == pytest.approx(tan(radians(2.0)))
    panned = setting(with_set_up(there, camera="panned"))
    unknown = setting(with_set_up(there, camera_distance_m=None))
    for found in (panned, unknown):
        assert (found.knows_place, found.aim_tan) == (False, pytest.approx(tan(radians(5.0))))
    assert dict(panned.tan_off) == {}
    assert unknown.tan_off["opposite touchdown"] == pytest.approx(expected_m / 8.0)


def test_where_the_hip_is_not_tapped_the_near_knee_tells_the_place() -> None:
    run = with_set_up(run_of(), scale_px=MARKS, scale_m=2.0, leg_cm=92.0)
    hidden = without(run, "toe-off", "hip")
    x = at(run, "toe-off", "near knee")[0]

    assert setting(hidden).tan_off["toe-off"] == pytest.approx((x - 1500.0) / 400.0 / 12.0)
