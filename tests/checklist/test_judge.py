"""The word for a row: order of the rules, context gates, laws."""

from dataclasses import replace
from math import hypot
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.checklist.judge import judge_rows, judge_value
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
    SHOWN,
    Band,
)
from tapmark.measures.result import NotMeasured, Results
from tests.checklist.made import CRITERIA, GOOD, leg_of, measured, results

ONE_SIDED = Band(fine_high=7, limit_high=12, key="reach", context="sprint")
TWO_SIDED = Band(
    limit_low=-4, fine_low=0, fine_high=14, limit_high=18, key="trunk_lean", context="sprint"
)
BANDS = [band for band in CRITERIA.bands.values() if not band.is_trend_only]
VALUES = st.floats(-300, 300)
DOUBTS = st.floats(0.01, 60)
RANK = {FINE: 0, CANT_TELL: 1, NEAR_THE_LINE: 1, LIKELY: 2, SEEN: 3}


def word(value, u, band=ONE_SIDED):
    return judge_value(measured("reach", value, u), band).word


def rows(made, criteria=CRITERIA):
    return {(row.result.key, row.result.leg): row for row in judge_rows(made, criteria)}


@pytest.mark.parametrize(
    ("expected", "value", "u"),
    [
        # limit 12, gap 5: seen beyond 12 + 1.64 u, likely beyond 12 + 0.84 u, fine below
        # 12 - 1.64 u and inside 7, can't tell where 1.96 u > 5
        (SEEN, 13.65, 1.0),
        (LIKELY, 13.63, 1.0),
        (LIKELY, 12.85, 1.0),
        (NEAR_THE_LINE, 12.83, 1.0),
        (LIKELY, 20.5, 10.0),
        (CANT_TELL, 20.3, 10.0),
        (NEAR_THE_LINE, 7.1, 1.0),
        (FINE, 7.0, 1.0),
        (FINE, 7.0, 3.04),
        (CANT_TELL, 7.0, 3.05),
        (CANT_TELL, 12.0, 2.56),
        (NEAR_THE_LINE, 12.0, 2.55),
        (FINE, -20.0, 10.0),
        (SEEN, 30.0, 10.0),
    ],
)
def test_word_follows_the_rules_in_their_order(expected, value, u):
    assert expected == word(value, u)


def test_a_known_bias_is_taken_off_before_the_word_is_given():
    """JCGM 100:2008, 3.2.4: a result is corrected for every known systematic effect."""
    reads_low = measured("reach", 12.0, hypot(1.0, 2.0), bias=-2.0)
    reads_high = measured("reach", 14.0, hypot(1.0, 2.0), bias=2.0)

    assert [judge_value(row, ONE_SIDED).word for row in (reads_low, reads_high)] == [
        SEEN,
        NEAR_THE_LINE,
    ]
    assert judge_value(reads_low, ONE_SIDED).excess == pytest.approx(2.0)


def test_of_the_bias_that_was_taken_off_only_its_own_doubt_decides():
    """JCGM 100:2008, F.2.4.5: √(5² − 4² + 1²) = 3.16 counts; a bias counted twice would hide it."""
    row = measured("reach", 14.0, 5.0, bias=-4.0, u_bias=1.0)  # 18 when corrected, 6 past the limit

    assert judge_value(row, ONE_SIDED).word == SEEN
    assert judge_value(replace(row, bias=0.0, value=18.0), ONE_SIDED).word == LIKELY


@pytest.mark.parametrize(
    ("expected", "side", "value"),
    [
        (SEEN, "low", -6.0),
        (NEAR_THE_LINE, "low", -1.0),
        (FINE, "", 0.0),
        (FINE, "", 14.0),
        (NEAR_THE_LINE, "high", 15.0),
        (SEEN, "high", 20.0),
    ],
)
def test_two_sided_band_names_the_side(expected, side, value):
    verdict = judge_value(measured("trunk_lean", value, 1.0), TWO_SIDED)
    assert (expected, side) == (verdict.word, verdict.side)


def test_gap_of_the_nearest_side_decides_whether_it_can_be_told():
    uneven = replace(TWO_SIDED, fine_low=-2.0)  # gap 2 below, 4 above
    assert judge_value(measured("trunk_lean", -3, 1.5), uneven).word == CANT_TELL
    assert judge_value(measured("trunk_lean", 16, 1.5), uneven).word == NEAR_THE_LINE


def test_each_side_has_its_own_word():
    verdict = judge_value(measured("trunk_lean", 21, 1.0), TWO_SIDED)
    assert (verdict.low, verdict.high) == (FINE, SEEN)
    assert judge_value(measured("reach", 3, 1.0), ONE_SIDED).low == ""


def test_excess_and_margin_are_counted_in_u():
    verdict = judge_value(measured("reach", 16, 2.0), ONE_SIDED)
    assert (verdict.excess, verdict.margin) == (2.0, -4.5)


@given(st.sampled_from(BANDS), VALUES, DOUBTS, st.floats(1.001, 50))
def test_wider_doubt_never_turns_fine_or_cant_tell_into_seen(band, value, u, times):
    before = judge_value(measured(band.key, value, u), band).word
    after = judge_value(measured(band.key, value, u * times), band).word
    assert not (after == SEEN and before != SEEN)
    assert not (after == LIKELY and before not in (SEEN, LIKELY))


@given(st.sampled_from(BANDS), VALUES, st.floats(0, 100), DOUBTS)
def test_a_side_gets_no_better_as_the_value_moves_toward_it(band, value, step, u):
    for side, sign in (("high", 1), ("low", -1)):
        here = getattr(judge_value(measured(band.key, value, u), band), side)
        there = getattr(judge_value(measured(band.key, value + sign * step, u), band), side)
        assert here == there == "" or RANK[here] <= RANK[there]


@given(st.sampled_from(BANDS), VALUES, DOUBTS)
def test_whole_word_is_the_worse_side(band, value, u):
    verdict = judge_value(measured(band.key, value, u), band)
    sides = [word for word in (verdict.low, verdict.high) if word]
    assert max(RANK[each] for each in sides) == RANK[verdict.word]


@given(st.sampled_from(BANDS), VALUES, DOUBTS)
def test_a_capped_row_is_never_seen_nor_likely_and_otherwise_unchanged(band, value, u):
    free = judge_value(measured(band.key, value, u), band)
    held = judge_value(measured(band.key, value, u, capped="behind the leg"), band)
    assert (NEAR_THE_LINE if free.word in (SEEN, LIKELY) else free.word) == held.word
    assert not {SEEN, LIKELY} & {held.word, held.low, held.high}


def test_missing_row_is_not_measured_with_its_reason():
    made = Results({("reach", "near"): NotMeasured("reach", "near", "Needs the near knee.")})
    row = rows(made)["reach", "near"]
    assert (row.word, row.why) == (NOT_MEASURED, "Needs the near knee.")


def test_row_that_may_not_be_graded_is_not_measured_with_its_reason():
    row = measured("reach", 30, not_graded="About 50 frames per second.")
    judged = rows(Results({("reach", "near"): row}))["reach", "near"]
    assert (judged.word, judged.why) == (NOT_MEASURED, "About 50 frames per second.")


def test_row_without_a_band_is_shown_and_never_graded():
    judged = rows(results({"peak_thigh": 10, "contact_time": 400}))
    assert {SHOWN} == {row.word for row in judged.values()}
    assert all(row.band is None for row in judged.values())


def test_a_sprint_that_is_none_is_judged_by_race_pace_bands():
    slow = rows(results({"reach": 12.9, "knee_separation": 60}, is_sprint=False))
    assert slow["reach", "near"].band.context == "race pace"
    assert slow["knee_separation", "near"].word == SHOWN
    assert rows(results({"reach": 12.9}, context="acceleration"))["reach", "near"].word == SHOWN


def test_trend_row_is_only_shown_at_race_pace():
    made = results({"knee_separation": 60}, context="race pace")
    assert rows(made)["knee_separation", "near"].word == SHOWN


@pytest.mark.parametrize("key", ["reach", "knee_touchdown", "turn_delay"])
def test_ordinary_running_is_not_graded_by_rows_that_need_speed(key):
    slow = results({key: 300}, context="race pace", is_fast=False)
    fast = results({key: 300}, context="race pace", is_fast=True)
    assert rows(slow)[key, "near"].word == SHOWN
    assert rows(fast)[key, "near"].word == SEEN


def test_a_row_that_needs_several_steps_is_shown_until_there_are_enough():
    """From behind raters agree poorly at 14 to 18: 2022, PMC9527543 (abstract read)."""
    two, three = (
        rows(Results({("foot_turn", ""): measured("foot_turn", 40, 0.5, n_steps=n)}, view="rear"))
        for n in (2, 3)
    )
    assert two["foot_turn", ""].word == SHOWN
    assert "3 marked steps, and here are 2" in two["foot_turn", ""].why
    assert three["foot_turn", ""].word == SEEN


def test_knee_bend_at_race_pace_is_near_the_line_at_most():
    """Better finishers of a 1500 m final bend more: Hanley 2023, 10.1111/sms.14331."""
    judged = rows(results({"knee_bend": 60}, context="race pace"))["knee_bend", "near"]
    assert (judged.word, judged.high) == (NEAR_THE_LINE, NEAR_THE_LINE)
    assert "Near the line at most" in judged.why
    assert rows(results({"knee_bend": 60}))["knee_bend", "near"].word == SEEN


def test_a_squads_own_band_may_wait_for_another_row():
    band = Band(20, 30, only_if=("peak_thigh", 50), key="front_leg_return", context="sprint")
    own = replace(CRITERIA, bands=CRITERIA.bands | {("front_leg_return", "sprint"): band})

    def of(peak):
        values = {"front_leg_return": 5} | ({"peak_thigh": peak} if peak else {})
        (found,) = [row for row in judge_rows(results(values), own) if row.result.key == band.key]
        return found

    assert of(50.0).word == SEEN
    assert of(49.9).word == SHOWN
    assert of(None).word == SHOWN


def test_acceleration_shows_posture_and_contact_but_does_not_grade_them():
    judged = rows(results({"reach": 40, "leg_stack": 60, "fold": 120}, context="acceleration"))
    assert [row.word for row in judged.values()] == [SHOWN, SHOWN, SEEN]


def test_bend_grades_nothing_of_the_side_view():
    judged = rows(results(GOOD, context="bend"))
    graded = {key for (key, _), row in judged.items() if row.word != SHOWN}
    assert {"foot_turn"} == graded


@pytest.mark.parametrize("near_side", ["right", "left"])
def test_foot_is_named_by_the_side_that_was_near(near_side):
    other = {"right": "left", "left": "right"}[near_side]
    judged = rows(results({"reach": 3, "fold": 40}, near_side=near_side))
    assert near_side == judged["reach", "near"].foot
    assert other == judged["fold", "far"].foot
    assert results({}, near_side=near_side).foot("") == ""


def test_rear_view_belongs_to_the_foot_that_was_marked():
    made = results({"foot_turn": 25}, view="rear", near_side="left")
    assert rows(made)["foot_turn", leg_of("foot_turn")].foot == "left"


def test_a_good_sprinter_is_fine_in_every_graded_row():
    judged = rows(results(GOOD))
    assert {FINE} == {row.word for (key, _), row in judged.items() if key in CRITERIA.graded}


def share_called(words, true_value, u, n=2000):
    """Return how often a true value gets one of the words when it is measured with normal errors.

    The errors are the quantiles of the normal distribution in Python's statistics module, so the
    share is a sum over the distribution and not a draw.
    """
    errors = [NormalDist(0, u).inv_cdf((i + 0.5) / n) for i in range(n)]
    return sum(word(true_value + error, u) in words for error in errors) / n


@pytest.mark.parametrize("u", [0.5, 1.5, 3.0])
def test_one_runner_in_twenty_at_the_limit_is_seen_and_hardly_one_who_is_fine(u):
    assert share_called([SEEN], 12.0, u) == pytest.approx(0.05, abs=0.002)
    assert share_called([SEEN], 12.0 + 3.3 * u, u) == pytest.approx(0.95, abs=0.005)
    assert share_called([SEEN], 12.0 - 2 * u, u) < 0.001


@pytest.mark.parametrize("u", [0.5, 1.5, 3.0])
def test_one_runner_in_five_at_the_limit_is_likely_at_least(u):
    """80 and 95 %, one-sided, of a normal distribution: 0.84 and 1.64 standard deviations."""
    assert share_called([SEEN, LIKELY], 12.0, u) == pytest.approx(0.20, abs=0.005)
    assert share_called([SEEN, LIKELY], 12.0 + 2.5 * u, u) == pytest.approx(0.95, abs=0.005)
    assert share_called([SEEN, LIKELY], 12.0 - 2 * u, u) < 0.003


def test_a_row_that_is_not_judged_has_no_side_no_excess_and_no_margin():
    made = Results({("reach", "near"): NotMeasured("reach", "near", "Not tapped.")})
    held_back = results(GOOD)
    held_back = replace(
        held_back,
        rows={k: replace(r, not_graded="Too oblique.") for k, r in held_back.rows.items()},
    )

    for row in (*judge_rows(made, CRITERIA), *judge_rows(held_back, CRITERIA)):
        assert row.word in (NOT_MEASURED, SHOWN)
        assert (row.excess, row.margin, row.side, row.low, row.high) == (0.0, 0.0, "", "", "")
