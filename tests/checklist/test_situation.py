"""Age, pain and history, worked out from athlete, visits and runs."""

from dataclasses import replace
from datetime import date

import pytest

from tapmark.checklist.situation import has_grown, pain_of, situation_of, still_runs
from tapmark.marks.people import Athlete, Slot, Visit
from tapmark.marks.run import Run, SetUp
from tests.checklist.made import CRITERIA, TODAY

CHOICE = CRITERIA.choice
ATHLETE = Athlete("K07", birth_year=1996)
VISIT = Visit("K07", "2026-05-14", runs=("run-1", "run-2"))


def of(*earlier, visit=VISIT, athlete=ATHLETE, **more):
    return situation_of(athlete, visit, TODAY, earlier, **more)


def before(dated, **more):
    return Visit("K07", dated, **more)


@pytest.mark.parametrize(
    ("expected", "answers"),
    [
        ("not answered", []),
        ("no", ["no", "no"]),
        ("not answered", ["no", "not answered"]),
        ("yes", ["no", "yes", "not answered"]),
        ("not answered", ["perhaps"]),
    ],
)
def test_pain_of_a_visit_is_the_most_careful_answer(expected, answers):
    assert pain_of([Run(set_up=SetUp(pain=answer)) for answer in answers]) == expected


def test_growth_is_noted_when_one_run_notes_it():
    grown = Run(set_up=SetUp(has_grown=True))
    assert has_grown([Run(), grown])
    assert not has_grown([Run()])


def test_pain_that_nobody_asked_for_is_not_answered():
    assert of().pain == "not answered"


def test_first_sheet_is_one_without_a_printed_sheet_before():
    assert of(before("2026-03-01")).is_first_sheet
    assert not of(before("2026-03-01", sheet_number=1)).is_first_sheet
    assert of(before("2026-09-01", sheet_number=2)).is_first_sheet  # a later visit does not count


def test_last_choice_runs_on_with_its_first_day():
    first = before("2026-04-10", slots=(Slot(1, "quick"),))
    second = before("2026-04-30", slots=(Slot(1, "quick", since="2026-04-10"), Slot(7)))
    assert of(second, first).kept == (
        Slot(1, "quick", "2026-04-10"),
        Slot(7, "", "2026-04-30"),
    )


def test_dropped_choice_does_not_come_back():
    dropped = before("2026-04-30", slots=())
    assert of(before("2026-04-10", slots=(Slot(1),)), dropped).kept == ()


def test_priority_runs_for_six_weeks():
    assert still_runs(Slot(1, since="2026-04-02"), TODAY, CHOICE)
    assert not still_runs(Slot(1, since="2026-04-01"), TODAY, CHOICE)
    assert not still_runs(Slot(1, since="once"), TODAY, CHOICE)


def test_items_chosen_by_hand_count_as_accepted():
    visit = replace(VISIT, accepted=(4,), slots=(Slot(1),))
    assert of(visit=visit).accepted == {1, 4}


def test_drills_of_the_last_visit_are_counted():
    ticked = (("2026-05-01", True, "easier"), ("2026-05-03", False, ""), ("2026-05-08", True, ""))
    assert of(before("2026-04-28", ticked=ticked)).n_drills == 2


@pytest.mark.parametrize(
    ("year", "under_12", "under_16", "under_18"),
    [
        (2014, True, True, True),
        (2013, False, True, True),
        (2010, False, True, True),
        (2009, False, False, True),
        (2008, False, False, True),
        (2007, False, False, False),
        (None, False, False, True),
    ],
)
def test_age_is_read_on_the_careful_side(year, under_12, under_16, under_18):
    situation = of(athlete=replace(ATHLETE, birth_year=year))
    assert situation.is_under(CHOICE.under_12) is under_12
    assert situation.is_under(CHOICE.under_16) is under_16
    assert situation.is_youth(CHOICE) is under_18


def test_race_day_is_a_date_or_nothing():
    assert of(athlete=replace(ATHLETE, goal_race="2026-06-01")).race_day() == date(2026, 6, 1)
    assert of(athlete=replace(ATHLETE, goal_race="county final")).race_day() is None
