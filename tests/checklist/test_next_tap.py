"""Which points to tap once more, and whether that helps."""

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from tapmark.checklist.next_tap import LEAST_WORTH, MOST, next_taps, untold
from tapmark.checklist.verdict import CANT_TELL
from tapmark.marks.edits import look_again
from tapmark.marks.run import Tap
from tapmark.measures.card import DEFAULT_CARD
from tapmark.measures.compute import gathered, readings
from tests.checklist.made import CRITERIA
from tests.long.retap import counted, near_a_limit, words_of
from tests.measures.made import PICTURES, at, run_of
from tests.measures.simulated import Filming, looked_again, marked, runner

RUN = run_of()
NOT_IN_RUN = {"turn_delay", "arm_leg_lag", "foot_turn"}


def only(run=RUN, **past):
    """Return criteria in which each named row of a run stands so far past its limit, on the first
    side that has one, and every other row is fine by far."""
    rows = {row.key: row for row in gathered(readings(run, DEFAULT_CARD, False)).rows.values()}
    bands = dict(CRITERIA.bands)
    for (key, context), band in CRITERIA.bands.items():
        if context != "sprint":
            continue
        low, high = band.limit_low is not None, band.limit_high is not None
        edges = {"limit_low": -2e3, "fine_low": -1e3} if low else {}
        edges |= {"fine_high": 1e3, "limit_high": 2e3} if high else {}
        if key in past:
            side, sign = ("low", -1) if low else ("high", 1)
            limit = rows[key].corrected - sign * past[key]
            wide = getattr(band, f"limit_{side}") - getattr(band, f"fine_{side}")
            edges |= {f"limit_{side}": limit, f"fine_{side}": limit - wide}
        bands[key, context] = replace(band, **edges)
    return replace(CRITERIA, bands=bands)


def told(run, criteria):
    return next_taps(readings(run, DEFAULT_CARD, False), criteria)


def looked(run, event, points, look=2, by=0):
    for point in points:
        run = look_again(run, 0, event, Tap(point, at(run, event, point)), look=look, by=by)
    return run


def test_the_points_of_the_row_that_cannot_be_told_are_asked_for_on_its_key_frame():
    (first, *_) = told(RUN, only(leg_stack=-0.5))

    assert (first.event, set(first.points)) == ("mid-stance", {"hip", "near knee", "near ankle"})
    assert (first.is_beside, first.decides) == (False, (8,))
    assert first.worth >= LEAST_WORTH


def test_the_items_that_cannot_be_told_are_those_of_the_checklist_and_no_results():
    read = readings(RUN, DEFAULT_CARD, False)
    items = untold(read, only(leg_stack=-0.5, fold=-1.0))
    assert [item.number for item in items] == [8]


def test_after_a_second_look_the_pictures_beside_are_asked_for():
    criteria = only(knee_bend=-1.0)
    first = told(looked(RUN, "mid-stance", ("hip", "near knee")), criteria)
    assert all(not tap.is_beside for tap in first if set(tap.points) - {"hip", "near knee"})

    again = looked(RUN, "mid-stance", ("hip", "near knee", "near ankle"))
    for tap in told(again, only(again, leg_stack=-0.5)):
        assert tap.is_beside


def test_nothing_is_suggested_where_everything_can_be_told():
    assert told(RUN, only()) == ()


def test_nothing_is_suggested_where_filming_again_is_the_only_help():
    """At 60 pictures a second the choice of the picture makes most of the doubt of reach."""
    slow = run_of(hz=60.0, pictures={event: i // 4 for event, i in PICTURES.items()})
    criteria = only(slow, reach=-0.5)

    assert [item.number for item in untold(readings(slow, DEFAULT_CARD, False), criteria)] == [1, 2]
    assert told(slow, criteria) == ()


def test_at_most_three_are_suggested():
    keys = {key for key, context in CRITERIA.bands if context == "sprint"} - NOT_IN_RUN
    found = told(RUN, only(**dict.fromkeys(keys, -0.5)))

    assert len(found) == MOST
    assert found[0].worth > found[2].worth >= LEAST_WORTH
    assert len({(tap.event, tap.points, tap.is_beside) for tap in found}) == MOST


@pytest.mark.long
@pytest.mark.parametrize("n", [60])
def test_what_is_promised_is_what_comes(n):
    """The share of rows that a first suggestion decides is the one it promises, over n runners."""
    promised, came = 0.0, 0
    for seed in range(n):
        style = runner(4 * seed)
        run, truth = marked(style, Filming(), seed)
        criteria, _ = near_a_limit(CRITERIA, truth, np.random.default_rng([seed, 8]))
        read = readings(run, DEFAULT_CARD, False)
        (first, *_) = next_taps(read, criteria) or (None,)
        if first is None:
            continue
        again = looked_again(run, (style, Filming(), seed), first.event, first.points, 1)
        before = words_of(read, criteria)
        after = words_of(readings(again, DEFAULT_CARD, False), criteria)
        verdicts = (row for item in untold(read, criteria) for row in item.rows)
        keys = {(row.result.key, row.result.leg) for row in verdicts}
        promised += first.worth
        came += sum(before[key] == CANT_TELL != after[key] for key in keys)
    assert came == pytest.approx(promised, rel=0.2)


def test_a_suggestion_that_is_followed_turns_some_cant_tell_into_the_right_word():
    """Three drawn sprinters near a limit; how often is asked of more of them below."""
    found = counted(range(3))
    assert found["can't tell"] > 0
    assert found["right"] > found["seen inside or fine past it"]
    assert 0 < found["suggestions"] <= MOST * found["runners"]


@pytest.fixture(scope="module")
def retaps() -> Counter[str]:
    return counted(range(16))


@pytest.mark.long
def test_three_suggestions_turn_a_third_of_cant_tell_into_a_word_and_no_wrong_one(retaps):
    """The small, seeded version of tests.long.retap: drawn sprinters near a limit."""
    assert retaps["can't tell"] > 40
    right, wrong = retaps["right"], retaps["seen inside or fine past it"]
    assert right >= retaps["can't tell"] / 3  # near the line counts between fine and limit only
    assert wrong <= 0.05 * (right + wrong)
    assert retaps["suggestions"] <= MOST * retaps["runners"]
