"""One picture earlier or later: times exactly, places by typical rates."""

from dataclasses import replace

import pytest

from tapmark.measures.catalogue import row
from tapmark.measures.compute import measure_run
from tapmark.measures.sensitivity import OnePictureOff, one_picture_off
from tests.measures.made import POSES, number, run_of, with_set_up
from tests.measures.test_rear import rear_run

RUN = run_of()
CONTACT_S = 26 / 240


def chosen(event: str, by: int) -> OnePictureOff:
    return next(off for off in one_picture_off(RUN) if (off.event, off.by) == (event, by))


def test_every_key_frame_is_tried_earlier_and_later() -> None:
    tried = [(off.event, off.by) for off in one_picture_off(RUN)]

    assert tried == [(event, by) for event in POSES for by in (-1, 1)]


def test_a_later_touchdown_moves_reach_by_its_rate_and_shortens_contact_by_a_picture() -> None:
    later = chosen("touchdown", 1).results

    per_picture = row("reach").rates["touchdown"] * 0.110 / CONTACT_S / 240
    assert number(later, "reach", "near").value == pytest.approx(4.0 + per_picture)
    assert number(later, "contact_time", "near").value == pytest.approx(1000 * 25 / 240)
    assert number(later, "thigh_toe_off", "near").value == pytest.approx(-30.0)
    assert number(later, "reach", "far").value == pytest.approx(3.0)


def test_earlier_is_the_opposite_of_later() -> None:
    base = measure_run(RUN)
    for key, leg in (("reach", "near"), ("knee_separation", "near"), ("step_time", "")):
        earlier, later = (number(chosen("touchdown", by).results, key, leg).value for by in (-1, 1))
        assert (earlier + later) / 2 == pytest.approx(number(base, key, leg).value)
        assert earlier != later


def test_the_far_contact_moves_with_opposite_touchdown() -> None:
    later = chosen("opposite touchdown", 1).results

    assert number(later, "reach", "far").value < 3.0
    assert number(later, "reach", "near").value == pytest.approx(4.0)
    assert number(later, "flight_time").value == pytest.approx(1000 * 29 / 240)


def test_a_slow_motion_file_moves_by_true_pictures() -> None:
    slow = with_set_up(run_of(hz=30.0), slow_factor=8.0)

    later = next(o for o in one_picture_off(slow) if (o.event, o.by) == ("toe-off", 1)).results

    assert number(later, "contact_time", "near").value == pytest.approx(1000 * 27 / 240)


def test_one_step_of_two_moves_the_mean_by_half() -> None:
    two = replace(RUN, steps=(RUN.steps[0], RUN.steps[0]))

    off = next(o for o in one_picture_off(two) if (o.event, o.by, o.i_step) == ("touchdown", 1, 1))

    whole = number(chosen("touchdown", 1).results, "reach", "near").value - 4.0
    assert number(off.results, "reach", "near").value == pytest.approx(4.0 + whole / 2)


def test_a_rear_view_has_no_key_frames_of_this_kind() -> None:
    assert list(one_picture_off(rear_run(5.0))) == []


def test_without_a_rate_a_later_touchdown_still_means_a_shorter_contact_and_faster_limbs() -> None:
    unknown = with_set_up(run_of(), slow_factor=None)
    u = {
        off.by: number(off.results, "reach", "near").u
        for off in one_picture_off(unknown)
        if off.event == "touchdown"
    }

    assert u[-1] < number(measure_run(unknown), "reach", "near").u < u[1]
