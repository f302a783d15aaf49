"""Each of the 18 items reached from taps, turning marks or ticks; no verdict is put in by hand.

The taps are the true joints of the drawn runner; three passes each way, as the filming card asks.
"""

from dataclasses import replace
from math import cos, radians, sin

import pytest

from tapmark.checklist.assess import assess
from tapmark.checklist.verdict import FINE, SEEN, SHOWN
from tapmark.marks import edits
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.points import LAST_CONTACT, MOST_TURNED
from tapmark.marks.run import LEFT_TO_RIGHT, RIGHT_TO_LEFT, Run, SetUp, Source, Tap, TurningMark
from tapmark.measures.compute import measure_visit
from tests.checklist.made import CRITERIA, TODAY
from tests.drawn_runner.athletes import RUNS_WELL
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run

PASSES = 3
ATHLETE = Athlete("K07", birth_year=1996)
VISIT = Visit("K07", "2026-05-14", runs=("run-1", "run-2"))

POSED = {  # item -> what the drawn runner does otherwise than well
    1: {"reach": 21},
    2: {
        "reach": 23,
        "knee_touchdown": 178,
        "foot_touchdown": -19,
        "knee_mid_stance": 129,
        "contact_s": 0.16,
    },
    3: {"swing_thigh": -33},
    4: {"swing_thigh": -33},
    5: {"thigh_toe_off": -56, "drive": 50, "knee_toe_off": 179},
    6: {"thigh_toe_off": 2, "drive": 12, "knee_toe_off": 150},
    7: {"thigh_toe_off": -14, "drive": 18, "knee_toe_off": 168, "knee_mid_stance": 124},
    8: {"knee_mid_stance": 114},
    9: {"trunk_lean": 27},
    10: {"trunk_lean": -14},
    11: {"knee_touchdown": 164, "knee_mid_stance": 130},
    12: {"reach": 5, "knee_touchdown": 137},  # the thigh lands at 48
    13: {"fold": 95},
}


def passes(direction=1, **changes):
    run = drawn_run(replace(RUNS_WELL, **changes), View(direction=direction))
    run = replace(run, set_up=replace(run.set_up, speed_mps=9.0))  # whatever the pose makes of it
    return [run] * PASSES


def judged(runs):
    return assess(measure_visit(runs), ATHLETE, VISIT, TODAY, CRITERIA, pain="no")


def with_turning_marks(run, lag_s, delay_s):
    """Return a run whose arm turns so much after the leg, and the rear thigh after toe-off."""
    toe_off_s = run.steps[0].key_frame("toe-off").time_s
    turns_s = {"lead thigh": toe_off_s, "rear thigh": toe_off_s + delay_s}
    turns_s["elbow back"] = turns_s["lead thigh"] + lag_s
    turns_s["hand forward"] = turns_s["rear thigh"] + lag_s
    for limb, at_s in turns_s.items():
        run = edits.set_turning_mark(run, 0, TurningMark(limb, 30, 31, at_s - 0.002, at_s + 0.002))
    return run


def from_behind(turn_deg, direction=LEFT_TO_RIGHT):
    """Return a rear-view run in which the line of the shoe turns by so much."""
    run = Run("rear", source=Source("stills", size_px=(1280, 720)))
    run = replace(run, set_up=SetUp(direction=direction, slow_factor=8.0))
    for i, (event, lean) in enumerate(((LAST_CONTACT, 0.0), (MOST_TURNED, turn_deg))):
        run = edits.set_key_frame(run, 0, event, i * 10, i / 24, 1 / 240)
        heel = (600 + 80 * sin(radians(lean)), 400 - 80 * cos(radians(lean)))
        for point, at in (("heel centre", heel), ("forefoot centre", (600.0, 400.0))):
            run = edits.place_tap(run, 0, event, Tap(point, at))
    return run


def test_runner_who_runs_well_shows_nothing():
    found = judged(passes())
    assert [item.number for item in found.items if item.word == SEEN] == []
    assert [found.item(n).word for n in (1, 2, 3, 4, 5, 6, 8, 9, 10, 13)] == [FINE] * 10
    assert found.slots == ()
    assert len(found.strengths) == CRITERIA.choice.strengths


@pytest.mark.parametrize("number", POSED)
def test_item_is_seen_when_the_runner_shows_it(number):
    assert judged(passes(**POSED[number])).item(number).word == SEEN


@pytest.mark.parametrize("number", POSED)
def test_runner_filmed_the_other_way_gives_the_same_words_for_the_other_foot(number):
    swap = {"right": "left", "left": "right", "both": "both", "": ""}
    here = judged(passes(**POSED[number]))
    there = judged(passes(direction=-1, **POSED[number]))
    assert [item.word for item in there.items] == [item.word for item in here.items]
    assert [item.feet for item in there.items] == [swap[item.feet] for item in here.items]


def test_low_knee_is_told_as_information():
    found = judged(passes(peak_thigh=45)).item(14)
    assert (found.word, found.is_result) == (SHOWN, True)


@pytest.mark.parametrize("lag_s", [0.09, -0.09])
def test_arms_out_of_time_are_seen_by_their_turning_marks(lag_s):
    runs = [with_turning_marks(run, lag_s, 0.02) for run in passes()]
    assert judged(runs).item(15).word == SEEN


def test_arms_in_time_are_fine():
    runs = [with_turning_marks(run, 0.004, 0.02) for run in passes()]
    assert judged(runs).item(15).word == FINE


def test_rear_leg_that_turns_late_is_seen_by_its_turning_mark():
    runs = [with_turning_marks(run, 0.0, 0.1) for run in passes()]
    found = judged(runs).item(4)
    assert (found.word, found.feet) == (SEEN, "right")  # the right leg pushed, and it is late


@pytest.mark.parametrize("turn_deg", [35, -35])
def test_foot_that_turns_is_seen_from_behind(turn_deg):
    assert judged([from_behind(turn_deg)] * PASSES).item(16).word == SEEN


def test_foot_seen_from_behind_alone_is_named():
    found = judged([from_behind(35, RIGHT_TO_LEFT)] * PASSES)
    assert found.item(16).feet == from_behind(35, RIGHT_TO_LEFT).near_side


def test_foot_that_hardly_turns_is_fine():
    assert judged([from_behind(2)] * PASSES).item(16).word == FINE


@pytest.mark.parametrize(
    ("number", "name"),
    [(17, "hand crosses"), (17, "shoulder line tilts"), (17, "shoulders turn"), (18, "foot path")],
)
def test_what_is_ticked_from_the_front_is_seen(number, name):
    run = edits.tick(replace(from_behind(2), view="front"), 0, name, 2)
    assert judged([*passes(), run]).item(number).word == SEEN


def test_every_item_is_reached_in_this_file():
    assert {*POSED, 14, 15, 16, 17, 18} == {rule.number for rule in CRITERIA.items}


def test_worse_foot_counts_when_both_sides_were_filmed():
    right = passes(direction=1)
    left = passes(direction=-1, **POSED[8])
    assert judged([*right, *left]).item(8).word == SEEN
    one_reach = judged([*right, *passes(direction=-1, **POSED[1])]).item(1)
    assert (one_reach.word, one_reach.feet) == (SEEN, "left")


def test_no_step_marked_gives_no_item_and_no_slot():
    found = judged([Run()])
    assert {item.word for item in found.items} == {"not measured"}
    assert found.slots == ()
