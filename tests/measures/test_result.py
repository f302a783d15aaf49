"""One measured row and what its doubt means; a row that was never tried."""

from dataclasses import replace

import pytest

from tapmark.measures.result import MarkingCheck, Measured, NotMeasured, Results

PLAIN = Measured("reach", "near", 4.0, 1.0, "% leg")


def test_a_number_of_its_own_is_neither_rough_nor_held_back_nor_pooled() -> None:
    assert not PLAIN.is_about
    assert (PLAIN.not_graded, PLAIN.capped, PLAIN.mostly) == ("", "", "")
    assert (PLAIN.digits, PLAIN.n_steps, PLAIN.scatter) == (0, 1, None)
    assert (PLAIN.u_set_up, PLAIN.bias, PLAIN.corrected) == (0.0, 0.0, 4.0)


def test_the_half_width_is_that_of_95_percent_and_at_least_one_printed_digit() -> None:
    # 1.96: the two-sided 95 % point of the normal distribution, any table of it
    assert replace(PLAIN, u=2.0).plus_minus == pytest.approx(3.92, abs=0.01)
    assert [replace(PLAIN, u=0.01, digits=n).plus_minus for n in (0, 1, 2)] == [
        1.0,
        0.1,
        0.01 * 1.96,
    ]


def test_a_known_bias_comes_off_with_its_sign() -> None:
    assert replace(PLAIN, bias=1.5).corrected == 2.5
    assert replace(PLAIN, bias=-1.5).corrected == 5.5


def test_of_a_bias_that_was_taken_off_only_its_own_doubt_stays() -> None:
    """JCGM 100:2008, 3.2.4 and F.2.4.5: 5² − 4² + 1² by hand."""
    biased = replace(PLAIN, u=5.0, bias=-4.0, u_bias=1.0)

    assert biased.u_corrected == pytest.approx(10.0**0.5)
    assert replace(biased, bias=0.0, u_bias=0.0).u_corrected == 5.0
    assert 0.0 < replace(PLAIN, u=4.0, bias=4.0).u_corrected < 0.01  # nothing but a bias


def test_what_is_new_in_every_step_is_what_the_set_up_leaves_times_their_number() -> None:
    pooled = replace(PLAIN, u=5.0, u_set_up=3.0, n_steps=4)

    assert pooled.u_one_step == pytest.approx(8.0)  # √((25 − 9) × 4)
    assert replace(PLAIN, u=3.0, u_set_up=5.0).u_one_step == 0.0


def test_most_of_the_doubt_is_its_first_part() -> None:
    assert replace(PLAIN, parts=(("the frame", 0.9), ("the hip tap", 0.2))).mostly == "the frame"


def test_a_row_is_found_by_its_only_leg_and_one_never_tried_says_so() -> None:
    results = Results({("reach", "near"): PLAIN, ("trunk_lean", ""): replace(PLAIN, leg="")})

    assert results.row("reach") is results.row("reach", "near") is PLAIN
    assert results.row("trunk_lean").leg == ""
    assert results.row("fold", "far") == NotMeasured("fold", "far", "Not marked in this run.")
    assert results.row("fold") == NotMeasured("fold", "", "Not marked in this run.")


def test_results_are_of_one_fast_sprint_from_the_side_unless_told() -> None:
    results = Results({})

    assert (results.context, results.view, results.near_side) == ("sprint", "side", "right")
    assert results.is_fast and results.n_steps == 1
    assert (results.rate_hz, results.effective_hz, results.leg_source) == (None, None, "")


def test_a_marking_check_is_of_the_first_step_unless_told() -> None:
    assert MarkingCheck("length", "The thigh is longer.").i_step == 0
