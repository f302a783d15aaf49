"""Where a row stops making sense: just inside it is read, just outside a sentence says why."""

from dataclasses import replace

import pytest

from tapmark.marks.points import STANDARD
from tapmark.marks.run import Run, Tap
from tapmark.measures.compute import measure_run
from tests.measures.made import POSES, at, number, reason, run_of, with_frame, with_set_up

LEG_PX = 1.08 * 0.491 * 600.0


def pushing(thigh: float, shank: float) -> Run:
    """Return a run with that near leg at toe-off; thigh 18 and knee 140 at mid-stance."""
    toe_off = replace(POSES["toe-off"], near=(thigh, shank))
    return run_of(POSES | {"toe-off": toe_off})


def test_the_push_is_shared_out_from_20_degrees_of_thigh_on() -> None:
    too_little = reason(measure_run(pushing(-1.9, -1.9)), "hip_share", "near")

    assert too_little.startswith("The thigh turns less than 20°")
    assert number(measure_run(pushing(-2.1, -2.1)), "hip_share", "near").value == pytest.approx(
        100 * 20.1 / (20.1 + 40)
    )


@pytest.mark.parametrize(("opens", "share"), [(5.1, 48 / 53.1), (1, 48 / 49), (0, 1), (-9, 1)])
def test_where_the_knee_hardly_opens_the_hip_did_it_all(opens: float, share: float) -> None:
    """A competitive sprinter left the ground with the knee bent to 139°: digitised at 1,000
    pictures a second, data of Rottier & Allen 2021, 10.1016/j.jbiomech.2021.110640."""
    found = number(measure_run(pushing(-30.0, -70.0 + opens)), "hip_share", "near")

    assert found.value == pytest.approx(100 * share)
    assert 2 < found.u < 20


@pytest.mark.parametrize("way", [(1.0, 0.0), (0.0, 1.0), (-0.6, 0.8)])
def test_two_ends_of_a_limb_stand_at_least_2_percent_of_the_leg_apart(
    way: tuple[float, float],
) -> None:
    def knee_off(percent: float) -> Run:
        first = ("far knee", *(p for p in STANDARD["touchdown"] if p != "far knee"))
        run = run_of(points=STANDARD | {"touchdown": first})  # the order of tapping says nothing
        x, y = at(run, "touchdown", "hip")
        off_px = percent / 100 * LEG_PX
        place = (x + off_px * way[0], y + off_px * way[1])
        frame = run.steps[0].key_frames[0]
        taps = tuple(Tap(t.point, place) if t.point == "far knee" else t for t in frame.taps)
        return with_frame(run, "touchdown", lambda frame: replace(frame, taps=taps))

    same = reason(measure_run(knee_off(1.98)), "swing_thigh", "near")
    assert same == ("The hip and the far knee at touchdown lie on the same spot; tap them again.")
    assert number(measure_run(knee_off(2.02)), "swing_thigh", "near")


def test_a_share_of_a_step_without_a_rate_needs_pictures_that_run_forward() -> None:
    unrated = with_set_up(run_of(), slow_factor=None)
    same = with_frame(unrated, "opposite touchdown", lambda frame: replace(frame, picture=0))

    assert number(measure_run(unrated), "duty_factor", "near").value > 0.0
    assert "do not run forward" in reason(measure_run(same), "duty_factor", "near")
