"""The whole assessment: results of several passes, cautions, what is left when nothing is there."""

import pytest

from tapmark.checklist.assess import assess, rows_of, ticks_of
from tapmark.checklist.verdict import FINE, NEAR_THE_LINE, NOT_MEASURED, SEEN
from tapmark.marks.people import Athlete, Slot, Visit
from tapmark.measures.result import NotMeasured, Results
from tests.checklist.made import (
    CRITERIA,
    GOOD,
    STILL,
    TODAY,
    adult,
    assessed,
    measured,
    numbers,
    results,
)

ATHLETE = Athlete("K07", birth_year=1996)
VISIT = Visit("K07", "2026-05-14", runs=("run-1",))
EARLIER = Visit("K07", "2026-04-20", slots=(Slot(1),), sheet_number=1)


def said(made, earlier=(EARLIER,), pain="no", athlete=ATHLETE, visit=VISIT):
    return assess(made, athlete, visit, TODAY, CRITERIA, earlier, pain=pain)


def test_everything_is_said_at_once():
    found = said(results(GOOD | {"reach": 20}, ticks=STILL))
    assert [item.number for item in found.items] == list(range(1, 19))
    assert numbers(found) == [1]
    assert found.slots[0].since == "2026-04-20"
    assert found.strengths and found.reasons and found.edges
    assert found.shows_checklist and not found.is_youth


def test_without_an_answer_about_pain_nothing_is_chosen():
    found = assess(results(GOOD | {"reach": 20}), ATHLETE, VISIT, TODAY, CRITERIA)
    assert numbers(found) == []
    assert found.blocked


def test_results_under_others_count():
    right = results(GOOD, near_side="right")
    left = results(GOOD | {"knee_bend": 40}, near_side="left")
    together = Results(right.rows, near_side="right", others=(left,))
    assert said(together).item(11).word == SEEN
    assert said(together).item(11).feet == "left"
    assert said([right, left]).items == said(together).items


def test_near_leg_counts_where_a_foot_was_filmed_both_ways():
    near = results({"reach": 3}, near_side="right")
    far = results({}, far={"reach": 20}, near_side="left")
    (reach,) = [row for row in rows_of((near, far), CRITERIA) if row.result.key == "reach"]
    assert (reach.word, reach.foot, reach.result.leg) == (FINE, "right", "near")


def test_far_leg_counts_where_the_near_one_was_not_measured():
    missing = NotMeasured("reach", "near", "Needs the near knee at touchdown.")
    near = Results({("reach", "near"): missing}, near_side="right")
    far = results({}, far={"reach": 20}, near_side="left")
    (reach,) = [row for row in rows_of((near, far), CRITERIA) if row.result.key == "reach"]
    assert reach.word == SEEN


def test_surer_of_two_set_ups_counts():
    sharp = results({"reach": 11}, u=0.5)
    blurred = results({"reach": 40}, u=9)
    for order in ((sharp, blurred), (blurred, sharp)):
        (reach,) = [row for row in rows_of(order, CRITERIA) if row.result.key == "reach"]
        assert reach.word == NEAR_THE_LINE


def test_graded_rows_that_nobody_tried_are_told_once_with_their_band():
    rows = rows_of((results({"reach": 3}), results({"reach": 3}, near_side="left")), CRITERIA)
    untried = [row for row in rows if row.word == NOT_MEASURED]
    assert {row.result.key for row in untried} == set(CRITERIA.graded) - {"reach"}
    assert len(untried) == len(CRITERIA.graded) - 1
    assert all(row.band and row.why for row in untried)


def test_worst_tick_of_all_runs_counts():
    made = (results(ticks={"foot path": 0}), results(ticks={"foot path": 2, "hand crosses": 1}))
    assert ticks_of(made) == {"foot path": 2, "hand crosses": 1}


def test_nothing_at_all_still_gives_18_items_and_no_praise():
    found = said(Results({}, n_steps=0))
    assert {item.word for item in found.items} == {NOT_MEASURED}
    assert found.strengths == ()  # to come and be filmed is no strength
    assert numbers(found) == [1]  # the running priority stays while nothing can be told


@pytest.mark.parametrize(
    ("situation", "told", "untold"),
    [
        (adult(), ["medical", "stop", "today", "warm_up"], ["growing", "back_from_injury"]),
        (adult(birth_year=2009), ["growing", "stop", "today"], ["back_from_injury"]),
        (adult(clearance="cleared"), ["back_from_injury", "stop"], ["growing"]),
        (adult(pain="yes"), ["medical", "stop"], ["today", "warm_up"]),
    ],
)
def test_cautions_fit_the_athlete_and_the_page(situation, told, untold):
    found = assessed(GOOD | {"reach": 20}, situation)
    say = CRITERIA.words.say
    assert {say(f"cautions.{key}") for key in told} <= set(found.cautions)
    assert not {say(f"cautions.{key}") for key in untold} & set(found.cautions)


def test_race_pace_of_a_16_year_old_gets_no_sprint_verdict():
    # 26 % ahead of the hip, knee bend 26: seen by sprint bands, fine by those of race pace
    values = {"knee_bend": 26, "separation_behind": 13, "fold": 68}
    sprint = assessed(values, adult(birth_year=2010), context="sprint")
    race = assessed(values, adult(birth_year=2010), context="race pace")
    assert [sprint.item(n).word for n in (11, 13)] != [race.item(n).word for n in (11, 13)]
    assert [race.item(n).word for n in (4, 11, 13)] == [FINE, FINE, FINE]


def test_twelve_things_seen_give_two_slots_and_the_whole_chain():
    worst = GOOD | {
        "reach": 25,
        "knee_touchdown": 176,
        "knee_separation": 50,
        "separation_behind": 28,
        "hip_share": 25,
        "leg_stack": 82,
        "trunk_lean": 26,
        "knee_bend": 40,
        "thigh_touchdown": 60,
        "fold": 100,
        "arm_leg_lag": 100,
        "foot_turn": 40,
    }
    found = assessed(worst, ticks=STILL | {"hand crosses": 2, "foot path": 2})
    assert sum(item.word == SEEN for item in found.items) >= 12
    assert 1 <= len(found.slots) <= 2
    assert len(found.edges) == len(CRITERIA.edges)


def test_hidden_far_knee_can_be_fine_but_never_seen():
    made = results({})
    row = measured("knee_separation", 60, 5, is_about=True, capped="behind the near leg")
    behind = type(made)({("knee_separation", "near"): row})
    assert said(behind).item(3).word == NEAR_THE_LINE


def test_athlete_s_cue_of_the_visit_is_printed():
    visit = Visit("K07", "2026-05-14", slots=(Slot(1, cue="Quick under me"),), reason="her word")
    found = said(results(GOOD | {"reach": 20}), visit=visit)
    assert found.slots[0].phrase.cue == "Quick under me"


def test_a_number_that_is_only_shown_stands_before_none_whatever_was_marked_first() -> None:
    held_back = measured("reach", 8, not_graded="Too oblique.")
    shown = Results({("reach", "near"): held_back})
    bare = Results({("reach", "near"): NotMeasured("reach", "near", "Not tapped.")})

    for order in ((shown, bare), (bare, shown)):
        (row,) = [row for row in rows_of(order, CRITERIA) if row.result.key == "reach"]
        assert row.result == held_back
