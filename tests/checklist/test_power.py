"""Are real faults told, and fine runners left alone? The short form of tests/long/power.py and
tests/long/choices.py, whose tables stand in tests/long/figures.md."""

from functools import cache
from itertools import islice

import pytest

from tapmark.checklist.verdict import FINE, LIKELY, SEEN
from tests.checklist.made import CRITERIA
from tests.long.choices import Coach, chosen, coaches, fine_runners, measured, roots
from tests.long.power import USUAL, errors_of, places_of, shares

N = 12
# 3 SD of nine distance runners at 5 m/s are less than what taps can tell of the hip's share; who
# sinks by 3 SD sits, too, and sitting is named.
HARD = {"knee pushes": (7,), "sinking": (8, 11)}


@cache
def twelve() -> list[Coach]:
    return coaches(3, range(N))


def test_a_fault_well_past_its_limit_is_chosen_by_three_coaches() -> None:
    """The first two roots of the study below, by the first three of its coaches."""
    for name, named, truth in islice(roots(3.0), 2):
        picks = [chosen(measured(coach, truth), CRITERIA) for coach in twelve()[:3]]
        assert sum(pick in HARD.get(name, named) for pick in picks) >= 2, (name, picks)


@pytest.mark.long
def test_a_fault_well_past_its_limit_is_chosen_by_nearly_every_coach() -> None:
    faults = list(roots(3.0))
    for name, named, truth in faults:
        picks = [chosen(measured(coach, truth), CRITERIA) for coach in twelve()]

        right = [pick in HARD.get(name, named) for pick in picks]
        wrong = [pick for pick in picks if pick and pick not in HARD.get(name, named)]
        assert sum(right) >= (N // 3 if name == "knee pushes" else N - 2), (name, picks)
        assert len(wrong) <= 1, (name, picks)
    assert len(faults) >= 15


def test_fine_runners_get_no_proposal() -> None:
    for _, truth in fine_runners(CRITERIA, 20):
        picks = [chosen(measured(coach, truth), CRITERIA) for coach in twelve()[:4]]
        assert picks.count(0) >= 3, picks


def test_reach_past_its_limit_is_told_and_inside_it_is_fine() -> None:
    found = errors_of("sprint", 240.0, USUAL, range(N))[("reach", "near"), 3]
    band = CRITERIA.band("reach", "sprint")
    assert band is not None
    (_, places), *_ = places_of(band)

    past, inside = (shares(found, band, "high", places[place]) for place in ("past", "inside"))
    assert past[SEEN] + past[LIKELY] >= 80
    assert inside[FINE] >= 90
    assert sum(past.values()) == pytest.approx(100)
