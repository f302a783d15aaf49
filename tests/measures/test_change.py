"""Moved, same or can't tell; left and right; how many steps it takes. Bands come as numbers."""

from dataclasses import replace
from statistics import NormalDist

import pytest

from tapmark.measures.change import (
    CANT_TELL,
    DIFFERS,
    FARTHER,
    MOVED,
    NEARER,
    NO_DIFFERENCE_SHOWN,
    SAME,
    Limits,
    both_sides,
    compare,
    in_words,
    left_right,
    step_scatter,
    steps_to_decide,
    u_of_the_runner,
)
from tapmark.measures.compute import measure_run, measure_visit
from tapmark.measures.result import Measured, NotMeasured
from tests.measures.made import POSES, number, run_of, with_set_up

SEPARATION = Limits(fine_high=25.0, limit_high=36.0)
TRUNK = Limits(-4.0, 0.0, 14.0, 18.0)


def measured(
    value: float, u: float, key: str = "separation_ahead", unit: str = "% leg", **more: object
) -> Measured:
    return Measured(key, "near", value, u, unit, **more)  # type: ignore[arg-type]


def test_scatter_seen_in_n_steps_weighs_as_n_less_1_against_three_of_the_default() -> None:
    """Variances are pooled by their degrees of freedom, n − 1 (any textbook of statistics).

    Default 2 % of a leg, weight 3; six steps that differ by 6 (SD) and whose marking is exact.
    """
    six = measured(1.0, 0.0, n_steps=6, scatter=6.0)

    pooled = ((3 * 2.0**2 + 5 * 6.0**2) / 8) ** 0.5
    assert pooled == pytest.approx(step_scatter(six))


def test_separation_and_swing_thigh_scatter_more_than_other_rows_between_steps_of_one_foot() -> (
    None
):
    """The sprinter of Dorn 2012, 10.1242/jeb.064527: two steps a foot; our arithmetic."""
    separation = measured(1.0, 0.0, "knee_separation")
    swing = measured(1.0, 0.0, "swing_thigh", "°")

    assert (step_scatter(separation), step_scatter(swing)) == (4.7, 5.6)
    assert step_scatter(measured(1.0, 0.0, "thigh_toe_off", "°")) == 2.0


def test_22_to_27_at_one_step_cannot_be_told() -> None:
    """A task of a coach's first month, with the doubt of a really marked step."""
    u = number(measure_run(run_of()), "knee_separation", "near").u

    change = compare(measured(22.0, u), measured(27.0, u), SEPARATION)

    assert change.word == CANT_TELL
    assert change.difference == 5.0
    assert change.smallest > 5.0
    assert change.n_steps is None or change.n_steps > 1


def test_the_smallest_change_is_made_of_both_doubts_and_both_scatters() -> None:
    change = compare(measured(22.0, 3.0), measured(27.0, 4.0), SEPARATION)

    assert change.smallest == pytest.approx(1.96 * (9 + 4 + 16 + 4) ** 0.5)


def test_a_large_step_away_from_fine_has_moved_farther() -> None:
    there = compare(measured(28.0, 1.0), measured(48.0, 1.0), SEPARATION)
    back = compare(measured(48.0, 1.0), measured(28.0, 1.0), SEPARATION)

    assert (there.word, there.arrow) == (MOVED, FARTHER)
    assert (back.word, back.arrow) == (MOVED, NEARER)


def test_a_move_inside_the_fine_band_has_no_arrow() -> None:
    change = compare(measured(2.0, 1.0), measured(22.0, 1.0), SEPARATION)

    assert (change.word, change.arrow) == (MOVED, "")


def test_a_small_difference_with_small_doubt_is_the_same() -> None:
    assert compare(measured(26.0, 1.0), measured(27.0, 1.0), SEPARATION).word == SAME


def test_without_limits_nothing_is_ever_called_the_same() -> None:
    assert compare(measured(26.0, 1.0), measured(26.0, 1.0), Limits()).word == CANT_TELL


def test_the_gap_is_that_of_the_nearer_side() -> None:
    edges = Limits(-20.0, 0.0, 14.0, 18.0)

    assert (edges.gap(16.0), edges.gap(-5.0)) == (4.0, 20.0)
    assert (edges.outside(16.0), edges.outside(-5.0), edges.outside(7.0)) == (2.0, 5.0, 0.0)
    assert SEPARATION.gap(10.0) == 11.0
    assert Limits().gap(0.0) is None
    assert Limits().outside(99.0) == 0.0


@pytest.mark.parametrize(
    ("key", "unit", "usual"),
    [
        ("knee_touchdown", "°", 3.0),
        ("thigh_toe_off", "°", 2.0),
        ("ankle_hip", "% leg", 2.0),
        ("leg_stack", "%", 3.0),
        ("ankle_knee_cm", "cm", 2.0),
        ("contact_time", "ms", 5.0),
        ("step_rate", "/s", 0.08),
        ("step_length", "m", 0.03),
        ("speed", "m/s", 0.1),
        ("return_rate", "°/s", 60.0),
    ],
)
def test_steps_scatter_as_usual_until_several_passes_tell(
    key: str, unit: str, usual: float
) -> None:
    assert step_scatter(measured(1.0, usual, key, unit)) == usual
    calm = measured(1.0, usual, key, unit, n_steps=9, scatter=0.0)
    wild = measured(1.0, usual, key, unit, n_steps=9, scatter=10 * usual)
    assert step_scatter(calm) < usual < step_scatter(wild)


def test_what_marking_alone_makes_is_no_scatter_of_the_runner() -> None:
    marking_only = measured(1.0, 2.0, n_steps=4, scatter=4.0)  # one step's own doubt is 4

    assert marking_only.u_one_step == 4.0
    assert step_scatter(marking_only) < 2.0


def test_more_steps_shrink_marking_and_scatter_but_not_the_set_up() -> None:
    one = measured(1.0, 5.0, u_set_up=3.0)

    assert u_of_the_runner(one) == pytest.approx((16 + 4 + 9) ** 0.5)
    four = replace(one, n_steps=4, u=(16 / 4 + 9) ** 0.5)
    assert u_of_the_runner(four) == pytest.approx((20 / 4 + 9) ** 0.5)


def test_how_many_steps_would_show_a_change() -> None:
    before, after = measured(22.0, 3.0), measured(27.0, 3.0)

    change = compare(before, after, SEPARATION)

    n = change.n_steps
    assert n is not None
    enough = 1.96 * (2 * (9 + 4) / n) ** 0.5
    one_less = 1.96 * (2 * (9 + 4) / (n - 1)) ** 0.5
    assert enough <= 5.0 < one_less


def test_a_doubtful_set_up_cannot_be_marked_away() -> None:
    change = compare(
        measured(22.0, 3.0, u_set_up=2.9), measured(27.0, 3.0, u_set_up=2.9), SEPARATION
    )

    assert change.n_steps is None
    assert steps_to_decide(measured(30.0, 3.0, u_set_up=2.9), 4.0) is None
    assert steps_to_decide(measured(30.0, 3.0), 4.0) == 3
    assert steps_to_decide(measured(30.0, 1.0), 4.0) == 1
    assert steps_to_decide(measured(30.0, 30.0), 4.0) is None


def test_a_runner_who_does_not_change_is_called_moved_in_one_of_twenty() -> None:
    """The minimal detectable change against the normal distribution it stands on."""
    change = compare(measured(20.0, 3.0), measured(20.0, 3.0), SEPARATION)
    spread = (2 * (9 + 4)) ** 0.5

    false_alarms = 2 * NormalDist().cdf(-change.smallest / spread)

    assert false_alarms == pytest.approx(0.05, abs=0.001)


def test_a_change_is_printed_in_plain_words() -> None:
    change = compare(measured(48.0, 1.0), measured(28.0, 1.0), SEPARATION)

    assert in_words(change) == "moved (−20 % leg, counts from 6 % leg)"


def test_both_sides_need_runs_filmed_both_ways() -> None:
    """A task of a coach's first month."""
    only = both_sides(measure_visit([run_of(), run_of()]))
    both = both_sides(measure_visit([run_of(sign=-1), run_of()]))

    assert isinstance(only, NotMeasured)
    assert "Film the same run the other way" in only.reason
    assert not isinstance(both, NotMeasured)
    assert (both[0].near_side, both[1].near_side) == ("right", "left")


def test_left_and_right_are_compared_near_leg_with_near_leg() -> None:
    far_back = POSES | {"toe-off": replace(POSES["toe-off"], near=(-50.0, -66.0))}
    visit = measure_visit(
        [run_of(), run_of(), run_of(far_back, sign=-1), run_of(far_back, sign=-1)]
    )
    sides = both_sides(visit)
    assert not isinstance(sides, NotMeasured)

    rows = {row.key: row for row in left_right(*sides, is_static=True)}

    assert rows["thigh_toe_off"].difference == pytest.approx(-20.0)
    assert rows["thigh_toe_off"].word == DIFFERS
    assert rows["reach"].word == NO_DIFFERENCE_SHOWN
    assert {row.leg for row in rows.values()} == {"near"}


def test_one_step_a_side_or_a_moving_camera_is_not_enough() -> None:
    right, left = measure_run(run_of()), measure_run(run_of(sign=-1))
    bend = measure_run(with_set_up(run_of(sign=-1), context="bend"))

    assert left_right(right, left, is_static=True)[0].why == "Needs two steps of each side."
    assert "camera moved" in left_right(right, left, is_static=False)[0].why
    assert "different kinds" in left_right(right, bend, is_static=True)[0].why
    assert left_right(right, left, is_static=True)[0].word == CANT_TELL
