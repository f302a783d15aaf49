"""Who gets no task or only one: pain, age, a race near; and what the coach chooses instead."""

from dataclasses import replace
from datetime import timedelta

import pytest

from tapmark.checklist.verdict import SEEN
from tapmark.marks.people import Slot
from tests.checklist.made import (
    GOOD,
    TODAY,
    adult,
    assessed,
    numbers,
)


def days_ago(n):
    return (TODAY - timedelta(days=n)).isoformat()


# --- care -----------------------------------------------------------------------------------

BAD = GOOD | {"reach": 20, "hip_share": 30}  # fills two slots of an adult


@pytest.mark.parametrize(
    ("why", "care"),
    [
        ("pain", {"pain": "yes"}),
        ("open", {"pain": "not answered"}),
        ("treatment", {"clearance": "under treatment"}),
        ("Under 12", {"birth_year": 2014}),
    ],
)
def test_care_blocks_every_slot_and_says_why(why, care):
    found = assessed(BAD, adult(**care, slots=(Slot(1),), reason="anyway"))
    assert numbers(found) == []
    assert why in found.blocked
    assert (found.blocked,) == found.reasons
    assert found.most_slots == 0


def test_blocked_sheet_still_tells_strengths():
    assert assessed(BAD, adult(pain="yes")).strengths


@pytest.mark.parametrize(
    "care",
    [
        {"is_first_sheet": True},
        {"clearance": "cleared"},
        {"birth_year": 2009, "has_grown": True},
        {"birth_year": None, "has_grown": True},
        {"birth_year": 2011, "accepted": frozenset({1, 7})},
    ],
)
def test_one_slot_only(care):
    assert numbers(assessed(BAD, adult(**care))) == [7]
    assert assessed(BAD, adult(**care)).most_slots == 1


def test_growth_of_an_adult_changes_nothing():
    assert len(numbers(assessed(BAD, adult(has_grown=True)))) == 2


@pytest.mark.parametrize(("expected", "days"), [([], 0), ([], 14), ([7, 1], 15), ([7, 1], -1)])
def test_nothing_new_in_the_two_weeks_before_a_goal_race(expected, days):
    race = (TODAY + timedelta(days=days)).isoformat()
    assert expected == numbers(assessed(BAD, adult(goal_race=race)))


def test_quiet_period_keeps_one_running_priority():
    race = (TODAY + timedelta(days=10)).isoformat()
    kept = (Slot(1, since=days_ago(14)), Slot(7, since=days_ago(14)))
    assert numbers(assessed(BAD, adult(goal_race=race, kept=kept))) == [1]


def test_quiet_period_yields_to_the_coach_with_one_slot():
    race = (TODAY + timedelta(days=10)).isoformat()
    own = adult(goal_race=race, slots=(Slot(1), Slot(7)), reason="one week is enough")
    assert numbers(assessed(BAD, own)) == [1]


def test_goal_race_that_is_no_date_is_told():
    found = assessed(BAD, adult(goal_race="county final"))
    assert any("county final" in reason for reason in found.reasons)


# --- keeping a priority -----------------------------------------------------------------------


@pytest.mark.parametrize(("expected", "days"), [([1, 7], 10), ([1, 7], 42), ([7, 1], 43)])
def test_priority_stays_four_to_six_weeks(expected, days):
    kept = (Slot(1, since=days_ago(days)),)
    assert expected == numbers(assessed(BAD, adult(kept=kept)))


def test_kept_priority_keeps_its_first_day():
    found = assessed(BAD, adult(kept=(Slot(1, since=days_ago(20)),)))
    assert [days_ago(20), TODAY.isoformat()] == [slot.since for slot in found.slots]


def test_priority_ends_when_it_is_fine():
    found = assessed(GOOD | {"hip_share": 30}, adult(kept=(Slot(1, since=days_ago(20)),)))
    assert numbers(found) == [7]
    assert any("fine now" in reason for reason in found.reasons)


def test_priority_stays_while_it_can_not_be_told():
    values = {key: value for key, value in GOOD.items() if key != "reach"}
    assert numbers(assessed(values, adult(kept=(Slot(1, since=days_ago(20)),)))) == [1]


# --- the coach's choice ------------------------------------------------------------------------


def test_choice_goes_before_the_rule_and_both_are_told():
    found = assessed(BAD, adult(slots=(Slot(1, "Quick under you"),), reason="one thing now"))
    assert numbers(found) == [1]
    assert found.slots[0].phrase.cue == "Quick under you"
    assert found.by_rule == (7, 1)
    assert found.slots[0].is_override
    assert any("one thing now" in reason for reason in found.reasons)
    assert not found.lacks_reason


def test_choice_without_a_reason_asks_for_one():
    assert assessed(BAD, adult(slots=(Slot(1),))).lacks_reason


def test_choice_like_the_rule_is_no_override():
    found = assessed(BAD, adult(slots=(Slot(7), Slot(1))))
    assert not found.lacks_reason
    assert not any(slot.is_override for slot in found.slots)


def test_three_choices_are_cut_to_two_and_told():
    found = assessed(BAD, adult(slots=(Slot(1), Slot(7), Slot(9)), reason="all"))
    assert numbers(found) == [1, 7]
    assert any("cut to 2" in reason for reason in found.reasons)


def test_the_same_item_chosen_twice_fills_one_slot():
    found = assessed(BAD, adult(slots=(Slot(1, "first cue"), Slot(1)), reason="mine"))
    assert numbers(found) == [1]
    assert found.slots[0].phrase.cue == "first cue"


def test_choosing_nothing_is_a_choice():
    assert numbers(assessed(BAD, adult(slots=(), reason="race week"))) == []


# --- under 16 -----------------------------------------------------------------------------------


def test_under_16_seen_is_near_the_line_until_accepted():
    found = assessed(BAD, adult(birth_year=2011))
    assert numbers(found) == []
    assert not any(item.word == SEEN for item in found.items)
    assert found.item(1).is_capped
    assert any("Foot ahead of knee, Knee does" in reason for reason in found.reasons)
    assert not any("Nothing is seen" in reason for reason in found.reasons)


def test_under_18_a_turning_foot_takes_no_slot_by_rule_or_by_hand():
    """Raters agree poorly on it at 14 to 18: 2022, PMC9527543 (abstract read)."""
    turns = GOOD | {"foot_turn": 40}
    young, grown = (adult(birth_year=TODAY.year - age) for age in (17, 19))

    assert numbers(assessed(turns, grown)) == [16]
    assert numbers(assessed(turns, young)) == []
    by_hand = assessed(turns, replace(young, slots=(Slot(16),), reason="I see it every day"))
    assert numbers(by_hand) == []
    assert any("is no priority" in reason for reason in by_hand.reasons)


def test_under_16_accepted_item_is_something_to_try():
    found = assessed(BAD, adult(birth_year=2011, accepted=frozenset({1})))
    assert numbers(found) == [1]
    assert found.heading == "Something to try"


@pytest.mark.parametrize(
    ("is_youth", "birth_year"), [(True, None), (True, 2008), (False, 2007), (True, 2015)]
)
def test_age_that_is_not_known_counts_as_under_18(is_youth, birth_year):
    found = assessed(GOOD, adult(birth_year=birth_year))
    assert is_youth is found.is_youth
    assert is_youth is not found.shows_checklist
