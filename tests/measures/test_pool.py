"""Passes of a visit: pooled where they may be, kept apart where they may not."""

from dataclasses import replace

import pytest

from tapmark.marks.run import Tap
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.compute import gathered, measure_run, measure_visit, readings
from tapmark.measures.repeatability import Card, OwnSd
from tests.measures.made import POSES, number, run_of, with_frame, with_set_up, with_tap
from tests.measures.test_rear import rear_run

RUN = run_of()


def reaching(shank: float, sign: int = 1):  # type: ignore[no-untyped-def]
    """Return a pass that lands with this shank angle."""
    return run_of(POSES | {"touchdown": replace(POSES["touchdown"], near=(30.0, shank))}, sign=sign)


def test_three_passes_shrink_the_marking_part_and_leave_the_set_up() -> None:
    one = number(measure_run(RUN), "reach", "near")
    three = number(measure_visit([RUN, RUN, RUN]), "reach", "near")

    parts, pooled = dict(one.parts), dict(three.parts)
    assert three.n_steps == 3
    assert pooled["the ankle tap"] == pytest.approx(parts["the ankle tap"] / 3**0.5)
    assert pooled["camera roll"] == pytest.approx(parts["camera roll"])
    assert pooled["side-on angle"] == pytest.approx(parts["side-on angle"])
    assert three.u_set_up == pytest.approx(one.u_set_up)
    assert three.u_one_step == pytest.approx(one.u_one_step)
    assert three.u < one.u


def test_the_half_pictures_delay_does_not_shrink_with_more_passes() -> None:
    delay = 670 * 0.110 / 26 / 2  # deg: half a picture of 26 in the contact

    once = readings(with_set_up(RUN, camera_distance_m=None), DEFAULT_CARD, with_checks=False)
    many = number(gathered(once * 400), "reach", "near")

    assert dict(many.parts)["the frame"] == pytest.approx(delay, rel=0.01)


def test_the_value_is_the_mean_and_the_scatter_is_told() -> None:
    row = number(measure_visit([reaching(2.0), reaching(4.0), reaching(9.0)]), "reach", "near")

    assert row.value == pytest.approx(5.0)
    assert row.scatter == pytest.approx(13**0.5)


def test_right_and_left_near_contacts_are_never_averaged() -> None:
    results = measure_visit([reaching(2.0), reaching(8.0), reaching(14.0, sign=-1)])

    assert results.near_side == "right"
    assert number(results, "reach", "near").value == pytest.approx(5.0)
    assert [other.near_side for other in results.others] == ["left"]
    assert number(results.others[0], "reach", "near").value == pytest.approx(14.0)


@pytest.mark.parametrize(
    "answers",
    [
        {"context": "race pace"},
        {"camera": "hand-held"},
        {"slow_factor": 2.0},
        {"shoes": "trainers"},
    ],
)
def test_another_set_up_is_another_sample(answers: dict[str, object]) -> None:
    results = measure_visit([RUN, RUN, with_set_up(RUN, **answers)])

    assert results.n_steps == 2
    assert [other.n_steps for other in results.others] == [1]


def test_a_step_that_may_not_be_judged_is_left_out_where_another_may() -> None:
    square, off = reaching(4.0), run_of(shift=(800.0, 0.0))

    row = number(measure_visit([square, off]), "knee_separation", "far")

    assert (row.n_steps, row.not_graded) == (1, "")
    assert "off square" in number(measure_visit([off, off]), "knee_separation", "far").not_graded


def test_one_pass_with_the_knee_behind_the_leg_caps_the_row() -> None:
    behind = with_tap(RUN, "touchdown", Tap("far knee", None, "behind"))

    row = number(measure_visit([RUN, RUN, behind]), "knee_separation", "near")

    assert "behind the near knee" in row.capped
    assert row.n_steps == 3


def test_a_missing_key_frame_costs_only_its_own_pass() -> None:
    no_push = with_frame(RUN, "toe-off", lambda frame: None)

    results = measure_visit([RUN, no_push])

    assert number(results, "reach", "near").n_steps == 2
    assert number(results, "thigh_toe_off", "near").n_steps == 1


def test_a_rear_view_stands_beside_the_side_view_with_its_foot_and_its_ticks() -> None:
    rear = rear_run(turn_deg=15.0)
    ticked = replace(rear, steps=(replace(rear.steps[0], ticks=(("hand crosses", 2),)),))

    results = measure_visit([ticked, RUN])

    assert results.view == "side"
    assert number(results, "reach", "near").value == pytest.approx(4.0)
    (behind,) = results.others
    assert (behind.view, behind.near_side) == ("rear", rear.near_side)
    assert number(behind, "foot_turn").value == pytest.approx(15.0)
    assert behind.ticks == {"hand crosses": 2}


def test_a_visit_filmed_from_behind_only_has_its_row() -> None:
    results = measure_visit([rear_run(turn_deg=-4.0)])

    assert results.view == "rear"
    assert number(results, "foot_turn").value == pytest.approx(-4.0)


def test_an_empty_visit_gives_empty_results() -> None:
    results = measure_visit([])

    assert (dict(results.rows), results.n_steps, results.others) == ({}, 0, ())


def test_the_coachs_card_counts_for_every_pass() -> None:
    steady = Card((OwnSd("knee", 0.1, 1000), OwnSd("ankle", 0.1, 1000)))

    usual, own = (
        number(measure_visit([RUN, RUN], card), "reach", "near") for card in (Card(), steady)
    )

    assert own.u_one_step < usual.u_one_step
