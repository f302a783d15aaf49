"""Fifteen strengths, each fine by a margin, none invented."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.checklist.assess import process_praise, rows_of, strengths_of
from tests.checklist.made import CRITERIA, GOOD, adult, assessed, measured, results

ALONE = [  # strength, the rows that make it
    ("under_knee", ["reach"]),
    ("pushing_contact", ["reach", "knee_touchdown"]),
    ("knees_meet", ["knee_separation"]),
    ("hip_finishes", ["hip_share"]),
    ("tall", ["leg_stack"]),
    ("steady_chest", ["trunk_lean"]),
    ("quick_through", ["separation_behind", "turn_delay"]),
    ("compact", ["fold"]),
    ("front_leg_down", ["thigh_touchdown"]),
    ("arms_and_legs", ["arm_leg_lag"]),
    ("leaves_straight", ["drive_angle", "thigh_toe_off", "foot_turn"]),
    ("springy", ["knee_bend"]),
]


def keys(made, ticks=None, moved=(), several=()):
    rows = rows_of((made, *several), CRITERIA)
    return [each.key for each in strengths_of(rows, ticks or {}, CRITERIA, moved)]


def test_there_are_15_strengths_with_words():
    assert len(CRITERIA.strengths) == 15
    assert all(CRITERIA.words.strength(rule.key) for rule in CRITERIA.strengths)


@pytest.mark.parametrize(("key", "rows"), ALONE)
def test_strength_is_reached_by_its_rows_alone(key, rows):
    values = {row: GOOD[row] for row in rows}
    if key == "under_knee":
        assert keys(results(values)) == [key]
    assert key in keys(results(values, u=0.2))


@pytest.mark.parametrize(("key", "rows"), ALONE)
def test_strength_is_not_told_when_one_of_its_rows_is_missing(key, rows):
    judged = [row for row in rows if row != "peak_thigh"]
    for missing in judged:
        values = {row: GOOD[row] for row in rows if row != missing}
        assert key not in keys(results(values, u=0.2))


def test_margin_must_be_more_than_one_u():
    assert keys(results({"reach": 5.9}, u=1.0)) == ["under_knee"]
    assert keys(results({"reach": 6.1}, u=1.0)) == []


def test_foot_that_is_not_fine_spoils_the_strength():
    assert keys(results({"reach": 3}, far={"reach": 9})) == []


def test_two_or_three_are_told_surest_first():
    values = {key: GOOD[key] for key in ("leg_stack", "hip_share", "knee_bend", "fold")}
    told = strengths_of(rows_of((results(values),), CRITERIA), {}, CRITERIA)
    assert len(told) == 3
    assert [each.margin for each in told] == sorted((s.margin for s in told), reverse=True)


def test_one_strength_of_a_group_is_told():
    told = keys(results({"reach": 3, "knee_touchdown": 150}))
    assert told == ["pushing_contact"]  # it says more than the foot under the knee


def test_both_sides_alike_needs_both_filmed_as_the_near_leg():
    right = results({"knee_touchdown": 168}, near_side="right")
    left = results({"knee_touchdown": 168.5}, near_side="left")
    apart = results({"knee_touchdown": 173}, near_side="left")
    one_way = results({"knee_touchdown": 168}, far={"knee_touchdown": 168})
    assert keys(right, several=(left,)) == ["both_alike"]
    assert keys(right, several=(apart,)) == []
    assert keys(one_way) == []


def test_doubt_that_is_too_wide_says_nothing_about_both_sides():
    right = results({"knee_touchdown": 168}, u=3, near_side="right")
    left = results({"knee_touchdown": 168}, u=3, near_side="left")
    assert keys(right, several=(left,)) == []


def test_form_of_the_last_repetition_is_what_the_coach_ticked():
    assert keys(results(), {"form holds": 2}) == ["form_holds"]
    assert keys(results(), {"form holds": 1}) == []


def test_change_that_was_asked_for_is_told():
    assert keys(results(), moved=[1]) == ["changed"]


def test_nothing_fine_praises_what_was_done_and_nothing_else():
    said = [each.words for each in process_praise(CRITERIA, n_drills=3)]
    assert said == ["You did your drills"]
    assert process_praise(CRITERIA, 0) == ()  # to come and be filmed is no strength
    found = assessed({"reach": 30}, adult(n_drills=2))
    assert [each.key for each in found.strengths] == ["process drills"]
    assert assessed({"reach": 30}, adult(n_drills=0)).strengths == ()


@given(st.dictionaries(st.sampled_from(sorted(GOOD)), st.floats(-90, 200)), st.floats(0.1, 20))
def test_no_strength_rests_on_a_row_that_is_not_fine(values, u):
    made = results(values, u)
    rows = {row.result.key: row for row in rows_of((made,), CRITERIA)}
    for key in keys(made):
        rule = next(rule for rule in CRITERIA.strengths if rule.key == key)
        assert all(rows[row].word == "fine" and rows[row].margin > 1 for row in rule.rows)


def test_pooled_row_counts_like_any_other():
    row = measured("leg_stack", 96, 0.4, n_steps=6)
    made = results({"leg_stack": 96})
    assert keys(type(made)({("leg_stack", "near"): row}, n_steps=6)) == ["tall"]


def test_praise_for_drills_stands_behind_every_margin():
    assert [each.margin for each in process_praise(CRITERIA, 1)] == [0.0]
