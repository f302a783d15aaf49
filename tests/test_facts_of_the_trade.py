"""What every coach of sprinters would say, asked of the whole chain: taps, measures, words, choice.

Each fact: common practice, stated by a practitioner, no source. None of them comes from the bands,
so a band, a rule or a formula that contradicts one of them is wrong, whatever it was argued from.
Taps are the true joints of a drawn runner or those of seeded coaches; three passes, as is asked for
on the filming card, unless a fact must hold for a single one.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

import pytest

from tapmark.checklist.assess import assess
from tapmark.checklist.chain import starts_with
from tapmark.checklist.criteria import load
from tapmark.checklist.verdict import FINE, SEEN, SHOWN, Assessment, RowVerdict
from tapmark.marks.edits import set_turning_mark
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import Run, TurningMark
from tapmark.measures.compute import measure_visit
from tapmark.measures.result import Measured
from tests.drawn_runner.athletes import RUNS_WELL
from tests.drawn_runner.runs import drawn_run

CRITERIA = load()
DAY = date(2026, 5, 14)
PAST_LIMIT = (SEEN, "likely")  # words that say: past the limit
AHEAD, PULL, APART, LATE_REAR, LONG_PUSH, SHORT_PUSH = 1, 2, 3, 4, 5, 6
KNEE_PUSH, SITS, LEANS, LEANS_BACK, KNEE_LIFT, ARMS = 7, 8, 9, 10, 14, 15

# ours: how far a drawn sprinter is posed to do what the fact speaks of
PULLS = {
    "reach": 23,
    "knee_touchdown": 178,
    "foot_touchdown": -19,
    "knee_mid_stance": 129,
    "contact_s": 0.16,
}
PUSHES_LONG = {"thigh_toe_off": -56, "drive": 50, "knee_toe_off": 179, "swing_thigh": -33}
PUSHES_WITH_THE_KNEE = {
    "thigh_toe_off": 4.3,
    "drive": 4,
    "knee_toe_off": 167,
    "knee_mid_stance": 123,
}


def runner(*, seed: int | None = None, context: str = "sprint", **changes: float) -> Run:
    """Return a good sprinter who does a few things otherwise, marked."""
    return drawn_run(replace(RUNS_WELL, **changes), seed=seed, context=context)


def judged(runs: Sequence[Run]) -> Assessment:
    """Return what is said to a healthy adult about passes of one visit."""
    visit = Visit("K07", DAY.isoformat(), tuple(f"run-{i}" for i, _ in enumerate(runs, 1)))
    return assess(
        measure_visit(runs), Athlete("K07", birth_year=1996), visit, DAY, CRITERIA, pain="no"
    )


def three(**changes: float) -> Assessment:
    """Return what is said about three passes tapped at the true joints."""
    return judged([runner(**changes)] * 3)


def past_limit(found: Assessment) -> set[int]:
    """Return the items that are past their limit."""
    return {item.number for item in found.items if item.word in PAST_LIMIT}


def chosen(found: Assessment) -> list[int]:
    """Return the items that take a priority."""
    return [slot.item.number for slot in found.slots]


# --- touchdown: common practice, stated by a practitioner, no source ----------------------------


@pytest.mark.parametrize("context", ["sprint", "race pace"])
def test_an_ankle_under_the_knee_at_touchdown_is_never_called_ahead(context: str) -> None:
    """Whatever the knee does, and whoever tapped it, in one pass or more."""
    for reach in (-2, 0, 2):
        for knee in (145, 160, 175):
            passes = [
                runner(reach=reach, knee_touchdown=knee, seed=seed, context=context)
                for seed in (None, 1, 2)
            ]
            for runs in (passes[:1], passes[1:2], passes):
                assert not past_limit(judged(runs)) & {AHEAD, PULL}, (reach, knee)


def test_a_shank_ahead_and_a_straight_knee_is_a_pull() -> None:
    found = three(**PULLS)

    assert past_limit(found) >= {AHEAD, PULL}
    assert chosen(found)[:1] == [AHEAD]


def test_a_shank_ahead_with_a_bent_knee_is_no_pull() -> None:
    found = three(reach=19, knee_touchdown=148, foot_touchdown=-5, contact_s=0.14)

    assert AHEAD in past_limit(found)
    assert PULL not in past_limit(found)


@pytest.mark.parametrize("swing_thigh", [12, 18, 25])
def test_knees_together_at_touchdown_are_fine(swing_thigh: int) -> None:
    found = three(swing_thigh=swing_thigh)

    assert [found.item(number).word for number in (APART, LATE_REAR)] == [FINE, FINE]


def test_knees_far_apart_at_touchdown_are_not() -> None:
    assert {APART, LATE_REAR} <= past_limit(three(swing_thigh=-33))


# --- push: common practice, stated by a practitioner, no source ---------------------------------


@pytest.mark.parametrize("knee", [150, 155, 160, 165])
def test_a_bent_knee_at_toe_off_is_never_a_fault(knee: int) -> None:
    """Faster runners leave the ground with the knee bent; nobody is told to stretch it."""
    found = three(knee_toe_off=knee)

    assert [row.word for row in rows(found, "knee_toe_off")] == [SHOWN]
    assert past_limit(found) == set()
    assert chosen(found) == []


def rows(found: Assessment, key: str) -> Iterator[RowVerdict]:
    """Yield the verdicts of a row."""
    yield from (row for row in found.rows if row.result.key == key)


def test_the_share_of_the_hip_and_where_the_thigh_goes_decide_the_push() -> None:
    """Thigh far enough back: the hip pushed. Thigh left ahead while the knee opens: the knee."""
    by_hip, by_knee = three(), three(**PUSHES_WITH_THE_KNEE)

    assert [by_hip.item(n).word for n in (LONG_PUSH, SHORT_PUSH, KNEE_PUSH)] == [FINE] * 3
    assert past_limit(by_knee) >= {SHORT_PUSH, KNEE_PUSH}
    hip, knee = (next(rows(found, "hip_share")).result for found in (by_hip, by_knee))
    assert isinstance(hip, Measured) and isinstance(knee, Measured)
    assert knee.value + 20 < hip.value


def test_a_long_push_explains_a_rear_leg_that_is_late() -> None:
    found = three(**PUSHES_LONG)

    assert past_limit(found) >= {LONG_PUSH, LATE_REAR}
    assert LONG_PUSH in starts_with(found.edges, LATE_REAR, found.items)
    assert chosen(found) == [LONG_PUSH]


# --- trunk and arms: common practice, stated by a practitioner, no source -----------------------


@pytest.mark.parametrize("lean", [1, 3, 6, 9])
def test_an_upright_trunk_and_a_slight_lean_are_fine(lean: int) -> None:
    found = three(trunk_lean=lean)

    assert [found.item(number).word for number in (LEANS, LEANS_BACK)] == [FINE, FINE]


def test_a_trunk_that_stands_exactly_upright_is_no_fault() -> None:
    """Half the upright runners tap a hair behind the plumb line; that is marking, not leaning."""
    for lean in (0, -1):
        assert not past_limit(three(trunk_lean=lean)) & {SITS, LEANS, LEANS_BACK}


@pytest.mark.parametrize("lean", [27, -14])
def test_a_trunk_that_is_neither_is_told(lean: int) -> None:
    assert past_limit(three(trunk_lean=lean)) & {LEANS, LEANS_BACK}


def with_arms(run: Run, late_s: float) -> Run:
    """Return a run in which both arm turns come so much after those of the legs."""
    toe_off = run.steps[0].key_frame("toe-off")
    assert toe_off is not None
    lead, rear = toe_off.time_s, toe_off.time_s + 0.02
    turns = {"lead thigh": lead, "elbow back": lead + late_s}
    turns |= {"rear thigh": rear, "hand forward": rear + late_s}
    for limb, at_s in turns.items():
        run = set_turning_mark(run, 0, TurningMark(limb, 30, 31, at_s - 0.002, at_s + 0.002))
    return run


def test_an_arm_and_a_leg_that_stop_together_are_fine() -> None:
    assert judged([with_arms(runner(), 0.0)] * 3).item(ARMS).word == FINE


def test_an_arm_that_stops_long_after_the_leg_is_told() -> None:
    assert ARMS in past_limit(judged([with_arms(runner(), 0.09)] * 3))


# --- what follows from the rest: common practice, stated by a practitioner, no source -----------


@pytest.mark.parametrize("context", ["sprint", "race pace"])
def test_peak_knee_lift_never_takes_a_priority(context: str) -> None:
    """A knee that is lifted low or high is what push and posture gave; it is no cue."""
    for peak_thigh in (25, 40, 55, 75):
        found = judged([runner(peak_thigh=peak_thigh, context=context)] * 3)
        assert KNEE_LIFT not in {*chosen(found), *found.by_rule}, peak_thigh
        assert found.item(KNEE_LIFT).word == SHOWN


# --- speed: arithmetic on a time that every coach can place -------------------------------------


def test_a_hundred_metres_in_11_3_seconds_is_8_85_metres_a_second_and_a_sprint() -> None:
    run = runner(contact_s=0.112)
    timed = replace(run, set_up=replace(run.set_up, speed_mps=100 / 11.3))
    found = judged([timed] * 3)

    speed = next(rows(found, "speed")).result
    assert isinstance(speed, Measured)
    assert f"{speed.value:.2f}" == "8.85"
    graded = [row for row in found.rows if row.band is not None and row.word != SHOWN]
    assert {row.band.context for row in graded if row.band} == {"sprint"}
    assert {"reach", "knee_touchdown", "trunk_lean", "hip_share", "thigh_toe_off"} <= {
        row.result.key for row in graded if row.word == FINE
    }
