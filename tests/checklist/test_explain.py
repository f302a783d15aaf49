"""Why this one, and what another picture would have said."""

from dataclasses import replace
from datetime import timedelta

from tapmark.checklist.assess import assess_in
from tapmark.checklist.criteria import HERE
from tapmark.checklist.verdict import CANT_TELL
from tapmark.marks.people import Slot
from tapmark.measures.result import Results
from tests.checklist.made import CRITERIA, GOOD, TODAY, adult, assessed, measured, results


def test_reasons_name_the_item_the_foot_and_what_follows():
    found = assessed(GOOD | {"reach": 20, "knee_touchdown": 163})
    assert found.reasons[0] == (
        "Foot ahead of knee (right): seen. Past or near the line, probably because of it: 1."
    )


def test_reasons_tell_where_it_probably_starts():
    # leaning back is near the line, foot ahead is seen
    found = assessed(GOOD | {"reach": 20, "trunk_lean": -2})
    assert found.slots[0].starts_with == (10,)
    assert "Foot ahead of knee probably starts with Leaning back." in found.reasons


def test_what_an_item_may_start_with_is_told_where_this_film_cannot_tell():
    unsure = results(GOOD | {"reach": 20})
    stack = measured("leg_stack", 91, 4.0)
    made = replace(unsure, rows=dict(unsure.rows) | {("leg_stack", "near"): stack})
    found = assess_in((made,), adult(), CRITERIA)

    assert found.item(8).word == CANT_TELL
    told = "Foot ahead of knee may start with Sitting, which this film can't tell."
    assert told in found.reasons
    assert told not in assessed(GOOD | {"reach": 20}).reasons


def test_reasons_tell_that_reach_drives_the_gap():
    found = assessed(GOOD | {"reach": 20, "knee_separation": 47, "separation_behind": -8})
    assert any("shin angle at touchdown probably drives it" in reason for reason in found.reasons)
    assert (1, 3) in found.edges


def test_reasons_tell_a_tie():
    # sinking and arms out of time: nothing below, both at an end, both 40 u past their limit
    found = assessed(GOOD | {"knee_bend": 42, "arm_leg_lag": 80})
    assert "Sinking and Arms out of time rank alike: the choice is yours." in found.reasons


def test_reasons_say_what_could_not_be_told():
    found = assessed(GOOD | {"knee_bend": 20}, u=3)
    assert any("Sinking" in reason and "more passes" in reason for reason in found.reasons)


def test_kept_priority_is_told_with_its_day():
    day = (TODAY - timedelta(days=9)).isoformat()
    found = assessed(GOOD | {"reach": 20}, adult(kept=(Slot(1, since=day),)))
    assert found.reasons[0].startswith(f"Foot ahead of knee stays: chosen on {day}")


def test_chance_is_told_only_where_the_rule_picked():
    picked = assessed(GOOD | {"reach": 20})
    chosen = assessed(GOOD | {"reach": 20}, adult(slots=(Slot(8),), reason="mine"))
    assert any("chance" in reason for reason in picked.reasons)
    assert not any("chance" in reason for reason in chosen.reasons)


def test_what_one_step_alone_shows_is_told_and_what_two_show_is_not():
    told = "Foot ahead of knee: seen once, in one step. Mark another pass to be sure."

    def reasons(reach, n_steps):
        made = Results({("reach", "near"): measured("reach", reach, 0.5, n_steps=n_steps)})
        return assess_in((made,), adult(), CRITERIA).reasons

    assert told in reasons(20, 1)
    assert told not in reasons(20, 2)
    assert not any("in one step" in reason for reason in assessed(GOOD).reasons)


def test_no_reason_is_told_twice():
    found = assessed(GOOD | {"reach": 20, "hip_share": 30, "leg_stack": 80})
    assert len(found.reasons) == len(set(found.reasons))


def test_every_word_of_the_reasons_is_said_somewhere():
    code = " ".join(path.read_text("utf-8") for path in HERE.glob("*.py"))
    told = [key for key in CRITERIA.words.leaves if key.startswith("why.")]
    limits = {"why.one_first", "why.one_young", "why.one_grown", "why.one_injury", "why.one_quiet"}
    assert [key for key in told if key not in code and key not in limits] == []
    assert all(f'"{key.removeprefix("why.")}"' in code for key in limits)


def test_a_coachs_own_choice_is_told_with_the_reason_or_asks_for_one():
    say = CRITERIA.words.say
    told, asked = say("why.override", reason="mine"), say("why.override_bare")

    with_reason = assessed(GOOD | {"reach": 20}, adult(slots=(Slot(8),), reason="mine"))
    without = assessed(GOOD | {"reach": 20}, adult(slots=(Slot(8),)))
    like_the_rule = assessed(GOOD | {"reach": 20}, adult(slots=(Slot(1),), reason="mine"))

    assert told in with_reason.reasons and asked not in with_reason.reasons
    assert asked in without.reasons
    assert told not in like_the_rule.reasons and asked not in like_the_rule.reasons


def test_an_empty_second_slot_says_which_other_item_lies_on_the_same_path_or_that_none_is_left():
    related = assessed(GOOD | {"reach": 20, "trunk_lean": -8})
    alone = assessed(GOOD | {"reach": 20})

    assert (
        "No second priority: Foot ahead of knee lies on the same path as Leaning back."
        in related.reasons
    )
    assert "No second priority: nothing else is seen." in alone.reasons
