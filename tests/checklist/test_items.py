"""The 18 items, each reached through rows and ticks."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tapmark.checklist.items import worst
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    LIKELY,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
    SHOWN,
)
from tests.checklist.made import CRITERIA, GOOD, STILL, item, items, measured, results

SEEN_BY = [  # item, values that make it seen, ticks
    (1, {"reach": 20}, {}),
    (2, {"reach": 20, "knee_touchdown": 174}, {}),
    (3, {"knee_separation": 47}, {}),
    (4, {"separation_behind": 25}, {}),
    (4, {"separation_behind": -5, "turn_delay": 80}, {}),
    (5, {"drive_angle": 45, "thigh_toe_off": -47}, {}),
    (6, {"drive_angle": 15, "thigh_toe_off": -4}, {}),
    (7, {"hip_share": 30}, {}),
    (8, {"leg_stack": 84}, {}),
    (8, {"leg_stack": 90.5, "trunk_lean": 22}, {}),
    (9, {"trunk_lean": 22}, {}),
    (10, {"trunk_lean": -8}, {}),
    (11, {"knee_bend": 30}, {}),
    (12, {"thigh_touchdown": 47}, {}),
    (13, {"fold": 90}, {}),
    (15, {"arm_leg_lag": 80}, {}),
    (15, {"arm_leg_lag": -80}, {}),
    (16, {"foot_turn": 27}, {}),
    (17, {}, {"hand crosses": 2}),
    (17, {}, STILL | {"shoulders turn": 2}),
    (18, {}, {"foot path": 2}),
]


@pytest.mark.parametrize(("number", "values", "ticks"), SEEN_BY)
def test_item_is_seen_by_its_rows_or_ticks(number, values, ticks):
    assert item(results(GOOD | values, ticks=ticks), number).word == SEEN


# A good sprinter's rows at u = 0.5, moved 0.6 past a limit: by more than 0.84 u, less than 1.64 u.
@pytest.mark.parametrize(
    ("number", "word", "values"),
    [
        (1, LIKELY, {"reach": 12.6}),
        (2, LIKELY, {"reach": 12.6, "knee_touchdown": 165.6}),
        (2, LIKELY, {"reach": 20, "knee_touchdown": 165.6}),
        (2, NEAR_THE_LINE, {"reach": 12.6, "knee_touchdown": 150}),
        (4, SEEN, {"separation_behind": 16.6, "turn_delay": 80}),
        (8, LIKELY, {"leg_stack": 89.4}),
        (8, SEEN, {"leg_stack": 89.4, "trunk_lean": 22}),
        (8, LIKELY, {"leg_stack": 91, "trunk_lean": 18.6}),
        (8, FINE, {"leg_stack": 95, "trunk_lean": 22}),
        (9, LIKELY, {"trunk_lean": 18.6}),
        (10, LIKELY, {"trunk_lean": -4.6}),
    ],
)
def test_item_is_likely_where_its_rows_are_past_by_too_little_to_be_seen(number, word, values):
    assert item(results(GOOD | values), number).word == word


@pytest.mark.parametrize("number", [n for n in range(1, 19) if n != 14])
def test_item_of_a_good_sprinter_is_fine(number):
    assert item(results(GOOD, ticks=STILL), number).word == FINE


@pytest.mark.parametrize("number", range(1, 19))
def test_item_without_rows_and_ticks_is_not_measured_and_names_no_foot(number):
    found = item(results(), number)
    assert (found.word, found.feet) == (NOT_MEASURED, "")


def test_low_knee_is_information_without_a_word():
    found = item(results({"peak_thigh": 20}), 14)
    assert (found.word, found.is_result) == (SHOWN, True)


def test_results_are_13_and_14():
    assert [each.number for each in items(results()) if each.is_result] == [13, 14]


@pytest.mark.parametrize(
    ("kind", "word", "reach", "knee"),
    [
        ("pull", SEEN, 20, 174),
        ("push", FINE, 3, 150),
        ("between", NEAR_THE_LINE, 20, 150),
        ("between", NEAR_THE_LINE, 3, 174),
    ],
)
def test_contact_is_push_pull_or_between(kind, word, reach, knee):
    found = item(results({"reach": reach, "knee_touchdown": knee}), 2)
    assert (word, f"Contact: {kind}.") == (found.word, found.note.split(" Not")[0])


def test_no_kind_of_contact_is_named_where_it_is_only_likely():
    found = item(results({"reach": 20, "knee_touchdown": 165.6}), 2)
    assert (found.word, "Contact" in found.note) == (LIKELY, False)


@pytest.mark.parametrize(
    ("expected", "drive", "thigh"),
    [
        (SEEN, 45, -47),
        (NEAR_THE_LINE, 45, -27),
        (NEAR_THE_LINE, 30, -47),
        (FINE, 30, -27),
        (FINE, 15, -10),  # a short push is no long one
    ],
)
def test_long_push_needs_drive_and_thigh(expected, drive, thigh):
    assert expected == item(results({"drive_angle": drive, "thigh_toe_off": thigh}), 5).word


def test_one_long_side_with_the_other_missing_is_near_the_line_at_most():
    assert item(results({"thigh_toe_off": -47}), 5).word == NEAR_THE_LINE
    assert item(results({"thigh_toe_off": -27}), 5).word == NOT_MEASURED


@pytest.mark.parametrize(
    ("expected", "stack", "trunk"),
    [
        (SEEN, 84, 7),
        (SEEN, 90.5, 22),
        (NEAR_THE_LINE, 90.5, 7),
        (NEAR_THE_LINE, 90.5, -10),
        (FINE, 95, 22),
    ],
)
def test_sitting_is_the_stack_or_nearly_with_the_trunk_forward(expected, stack, trunk):
    assert expected == item(results({"leg_stack": stack, "trunk_lean": trunk}), 8).word


def test_trunk_alone_does_not_make_sitting():
    assert item(results({"trunk_lean": 25}), 8).word == NOT_MEASURED


def test_folded_forward_and_leaning_back_read_one_side_each():
    forward = results({"trunk_lean": 22})
    assert (item(forward, 9).word, item(forward, 10).word) == (SEEN, FINE)


@pytest.mark.parametrize(
    ("number", "named", "both", "alone"),
    [
        (11, 8, {"leg_stack": 84, "knee_bend": 24}, {"knee_bend": 24}),
        (12, 1, {"thigh_touchdown": 47, "reach": 20}, {"thigh_touchdown": 47, "reach": 3}),
        (12, 8, {"thigh_touchdown": 47, "leg_stack": 84}, {"thigh_touchdown": 47}),
    ],
)
def test_of_two_items_read_from_the_same_leg_one_is_named(number, named, both, alone):
    told, other = item(results(GOOD | both), number), item(results(GOOD | both), named)

    assert (told.word, other.word) == (NEAR_THE_LINE, SEEN)
    assert other.name in told.note
    assert item(results(GOOD | alone), number).word == SEEN
    assert item(results(GOOD | alone), named).word == FINE


@pytest.mark.parametrize(
    ("stack", "bend", "named", "told"),
    [
        (88.5, 37, "Sinking", "Sitting"),  # u is 0.5: 1.5 past the limit against 15
        (84, 30, "Sinking", "Sitting"),
        (84, 24, "Sitting", "Sinking"),
    ],
)
def test_of_sitting_and_sinking_the_one_more_surely_past_its_limit_is_named(
    stack, bend, named, told
):
    """A knee that gives by 37° from 163° passes the leg's limit on its way: 126° stacks 89.2 %."""
    both = items(results(GOOD | {"leg_stack": stack, "knee_bend": bend}))
    found = {each.name: each for each in both}

    assert (found[named].word, found[told].word) == (SEEN, NEAR_THE_LINE)
    assert named in found[told].note


def test_sinking_reads_the_knee_bend_only():
    assert item(results({"knee_bend": 9, "leg_stack": 70}), 11).word == FINE


@pytest.mark.parametrize("near_side", ["right", "left"])
def test_worse_foot_is_named(near_side):
    far_side = {"right": "left", "left": "right"}[near_side]
    bad_near = results({"reach": 20}, far={"reach": 3}, near_side=near_side)
    bad_far = results({"reach": 3}, far={"reach": 20}, near_side=near_side)
    both = results({"reach": 20}, far={"reach": 20}, near_side=near_side)
    assert (SEEN, near_side) == (item(bad_near, 1).word, item(bad_near, 1).feet)
    assert (SEEN, far_side) == (item(bad_far, 1).word, item(bad_far, 1).feet)
    assert (item(both, 1).word, item(both, 1).feet) == (SEEN, "both")


def test_rear_leg_late_names_the_leg_that_swings_and_not_the_one_that_lands():
    at_right_landing = results({"separation_behind": 25}, near_side="right")
    after_right_push = results({"turn_delay": 90}, near_side="right")
    assert item(at_right_landing, 4).feet == "left"
    assert item(after_right_push, 4).feet == "right"


def test_pull_needs_both_rows_of_the_same_foot():
    made = results({"reach": 20, "knee_touchdown": 150}, far={"reach": 3, "knee_touchdown": 174})
    assert item(made, 2).word == NEAR_THE_LINE


def test_fine_foot_is_named_where_the_other_was_not_measured():
    found = item(results({"reach": 3}), 1)
    assert (found.word, found.feet) == (FINE, "right")
    assert found.note == "Not measured: the left foot."
    assert item(results({"reach": 3}, far={"reach": 3}), 1).feet == ""


def test_posture_names_no_foot():
    assert item(results({"leg_stack": 84}), 8).feet == ""


def test_row_that_is_only_shown_leaves_the_item_not_measured_with_the_reason():
    slow = results({"reach": 30}, context="race pace", is_fast=False)
    found = item(slow, 1)
    assert found.word == NOT_MEASURED
    assert "6 m/s" in found.note


@pytest.mark.parametrize(
    ("expected", "ticks"),
    [
        (SEEN, {"hand crosses": 2}),
        (NEAR_THE_LINE, {"shoulders turn": 1}),
        (NOT_MEASURED, {"hand crosses": 0}),
        (FINE, STILL),
    ],
)
def test_twist_is_fine_only_when_every_question_was_answered(expected, ticks):
    assert expected == item(results(ticks=ticks), 17).word


def test_foot_turn_ticked_from_the_side_is_near_the_line_at_most():
    found = item(results(ticks={"foot turns late": 2}), 16)
    assert (found.word, "behind" in found.note) == (NEAR_THE_LINE, True)


def test_tick_from_the_side_does_not_overrule_the_rear_view():
    assert item(results({"foot_turn": 2}, ticks={"foot turns late": 2}), 16).word == FINE


def test_once_says_that_one_step_was_seen():
    once = results({"reach": 20})
    several = results({}, n_steps=3)
    twice = measured("reach", 20, 0.5, n_steps=3)
    assert item(once, 1).once
    several = type(several)({("reach", "near"): twice}, n_steps=3)
    assert not item(several, 1).once


WORDS = st.sampled_from([SEEN, NEAR_THE_LINE, CANT_TELL, FINE, NOT_MEASURED])


@given(st.lists(WORDS, min_size=1))
def test_worst_word_does_not_depend_on_order(words):
    assert worst(words) == worst(reversed(words))
    assert (SEEN in words) == (worst(words) == SEEN)


@given(st.dictionaries(st.sampled_from(sorted(GOOD)), st.floats(-200, 300)), st.floats(0.1, 20))
def test_mirrored_feet_give_the_same_words_with_the_feet_swapped(values, u):
    swap = {"right": "left", "left": "right", "both": "both", "": ""}
    here = items(results(values, u, near_side="right"))
    there = items(results(values, u, near_side="left"))
    assert [each.word for each in here] == [each.word for each in there]
    assert [swap[each.feet] for each in here] == [each.feet for each in there]


def test_there_are_18_items_in_order_and_every_input_is_a_known_row():
    rules = CRITERIA.items
    assert list(range(1, 19)) == [rule.number for rule in rules]
    known = {*CRITERIA.graded, "peak_thigh"}
    assert {each.row for rule in rules for each in rule.inputs} <= known
