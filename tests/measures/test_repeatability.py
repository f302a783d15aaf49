"""The coach's own error: second looks, the blended card, drift, two coaches on one run."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.special import stdtrit

from tapmark.marks.edits import look_again
from tapmark.marks.points import SECOND_LOOK
from tapmark.marks.run import Run, Tap
from tapmark.measures.card import DEFAULT_PCT_LEG
from tapmark.measures.compute import measure_run
from tapmark.measures.repeatability import (
    DEFAULT_CARD,
    Card,
    OwnSd,
    Pair,
    Shift,
    card_of,
    own_sd_pct_leg,
    pairs_between,
    row_differences,
    second_look_pairs,
    shift_in_words,
    steady_shifts,
)
from tests.measures.made import PX, at, moved, run_of, with_frame

RUN = run_of()
LEG_PX = 1.08 * 0.491 * PX


def looked_twice(run: Run, dx: float, dy: float) -> Run:
    """Return the run with a second look, every tap so many px off the first one."""
    for event, points in SECOND_LOOK.items():
        for point in points:
            x, y = at(run, event, point)
            run = look_again(run, 0, event, Tap(point, (x + dx, y + dy)))
    return run


def test_a_second_look_gives_ten_pairs_in_percent_of_leg() -> None:
    pairs = second_look_pairs(looked_twice(RUN, 3.0, 4.0))

    assert len(pairs) == 10
    assert [pair.kind for pair in pairs].count("knee") == 4
    for pair in pairs:
        assert pair.forward_pct_leg == pytest.approx(100 * 3.0 / LEG_PX)
        assert pair.up_pct_leg == pytest.approx(-100 * 4.0 / LEG_PX)
        assert pair.apart_pct_leg == pytest.approx(100 * 5.0 / LEG_PX)


def test_forward_is_the_way_the_runner_goes() -> None:
    back = second_look_pairs(looked_twice(run_of(sign=-1), 3.0, 0.0))

    assert all(pair.forward_pct_leg < 0 for pair in back)


def test_own_sd_is_found_again_from_simulated_second_looks() -> None:
    random = np.random.default_rng(12)
    taps = random.normal(0.0, 1.7, (4000, 2, 2))
    pairs = [Pair(0, "touchdown", "hip", *(b - a)) for a, b in taps]

    assert own_sd_pct_leg(pairs) == pytest.approx(1.7, rel=0.02)


def test_own_and_usual_error_are_blended_as_variances_with_ten_pairs_for_the_usual() -> None:
    card = Card((OwnSd("hip", 4.0, 30),))

    assert card.sd_pct_leg("hip") == pytest.approx(((10 * 2.2**2 + 30 * 4.0**2) / 40) ** 0.5)
    assert card.sd_pct_leg("far knee") == DEFAULT_PCT_LEG["knee"]
    assert DEFAULT_CARD.sd_pct_leg("near ankle") == 1.1


def test_a_very_steady_hand_never_counts_below_six_tenths_of_the_usual() -> None:
    assert Card((OwnSd("hip", 0.0, 10_000),)).sd_pct_leg("hip") == pytest.approx(0.6 * 2.2)


def test_a_card_is_made_of_second_looks_kind_by_kind() -> None:
    card = card_of(second_look_pairs(looked_twice(RUN, 3.0, 4.0)))

    assert {own.kind: own.n_pairs for own in card.own} == {
        "hip": 2,
        "shoulder": 2,
        "knee": 4,
        "ankle": 2,
    }
    expected = 100 * 5.0 / LEG_PX / 2  # √(Σ(dx² + dy²) ÷ 4n)
    assert all(own.pct_leg == pytest.approx(expected) for own in card.own)


def test_the_second_look_never_touches_the_first_taps() -> None:
    run = looked_twice(RUN, 30.0, 40.0)

    assert run.steps[0].key_frames == RUN.steps[0].key_frames


def test_a_steady_shift_over_months_is_told_and_a_scatter_is_not() -> None:
    """The same run marked again, in words and numbers."""
    random = np.random.default_rng(5)
    drifted = [Pair(0, "touchdown", "hip", *random.normal((1.5, 0.0), 0.8)) for _ in range(12)]
    steady = [Pair(0, "touchdown", "near knee", *random.normal(0.0, 0.8, 2)) for _ in range(12)]

    shifts = {shift.kind: shift for shift in steady_shifts([*drifted, *steady])}

    assert shifts["hip"].is_steady
    assert shift_in_words(shifts["hip"]).startswith("The hip is now tapped 1.")
    assert "% of leg forward and" in shift_in_words(shifts["hip"])
    assert shift_in_words(shifts["knee"]) == "No steady shift of the knee in 12 taps."
    assert shifts["hip"].forward_pct_leg == pytest.approx(1.5, abs=0.6)
    assert not shifts["knee"].is_steady
    assert not steady_shifts(drifted[:1])[0].is_steady
    assert steady_shifts(drifted[:1])[0].plus_minus is None


def test_pictures_chosen_otherwise_are_not_paired() -> None:
    other = with_frame(RUN, "toe-off", lambda frame: replace(frame, picture=126))

    events = {pair.event for pair in pairs_between(RUN, other)}

    assert "toe-off" not in events
    assert "touchdown" in events


def test_two_coaches_on_one_run_are_shown_point_by_point_and_row_by_row() -> None:
    """A task of a coach's first month; never averaged."""
    by_b = moved(RUN, "toe-off", "near knee", 20.0, 0.0)

    apart = [pair for pair in pairs_between(RUN, by_b) if pair.apart_pct_leg > 0]
    rows = {(row.key, row.leg): row for row in row_differences(RUN, by_b)}

    assert [(pair.event, pair.point) for pair in apart] == [("toe-off", "near knee")]
    assert apart[0].forward_pct_leg == pytest.approx(100 * 20 / LEG_PX)
    thigh = rows["thigh_toe_off", "near"]
    assert thigh.difference == pytest.approx(thigh.by_b - thigh.by_a)
    assert thigh.difference > 5.0
    assert rows["reach", "far"].difference == pytest.approx(0.0, abs=0.2)
    one = measure_run(RUN).row("thigh_toe_off", "near")
    assert thigh.plus_minus == pytest.approx(1.96 * 2**0.5 * one.u_one_step, rel=0.05)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("forward", "up", "words"),
    [
        (0.4, -0.4, "0.4 % of leg forward and 0.4 % of leg down"),
        (-0.6, 0.7, "0.6 % of leg back and 0.7 % of leg up"),
    ],
)
def test_a_steady_shift_is_told_with_its_ways(forward: float, up: float, words: str) -> None:
    told = shift_in_words(Shift("hip", forward, up, (0.1, 0.1), 12))

    assert told == f"The hip is now tapped {words} of where it was (12 taps)."


@pytest.mark.parametrize("n", [2, 3, 12])
def test_the_doubt_of_a_shift_is_students_for_both_ways_at_once(n: int) -> None:
    moves = np.random.default_rng(n).normal(0.5, 1.0, (n, 2))
    (shift,) = steady_shifts([Pair(0, "touchdown", "hip", *move) for move in moves])

    each = 1 - 0.05 / 2  # Bonferroni: 2.5 % for either way, so that both hold in 95 %
    t = stdtrit(n - 1, (1 + each) / 2)
    expected = t * moves.std(axis=0, ddof=1) / n**0.5
    assert shift.plus_minus == pytest.approx(tuple(expected), rel=1e-6)


@pytest.mark.parametrize(
    ("forward", "up", "is_steady"),
    [(0.5, 0.0, True), (-0.5, 0.0, True), (0.0, -0.9, True), (0.4, 0.8, False), (0.3, 0.5, False)],
)
def test_a_shift_is_steady_where_either_way_lies_beyond_its_half_width(
    forward: float, up: float, is_steady: bool
) -> None:
    assert Shift("hip", forward, up, (0.4, 0.8), 12).is_steady == is_steady
