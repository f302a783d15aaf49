"""Which points to tap once more: those whose second look most probably changes a word.

A value of information: with its doubt a value could come out anywhere after another look. The share
of those outcomes in which a row that can't be told gets another word is what a suggestion is worth.
"""

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from math import prod
from statistics import NormalDist

from tapmark.checklist.criteria import Criteria
from tapmark.checklist.items import judge_items
from tapmark.checklist.judge import judge_rows, judge_value
from tapmark.checklist.verdict import CANT_TELL, ItemVerdict, RowVerdict
from tapmark.marks.points import DEEPER, OPPOSITE_TOUCHDOWN, STANDARD, TOE_OFF, TOUCHDOWN
from tapmark.measures.compute import Reading, gathered
from tapmark.measures.doubts import LONGEST_BESIDE_S, n_looks
from tapmark.measures.estimate import Estimate
from tapmark.measures.result import Key, Measured

MOST = 3
LEAST_WORTH = 0.25  # words that a suggestion should decide, in the mean: common practice, no source
COST_OF_A_TAP = 0.04  # words; of two alike suggestions the one with fewer taps is made: ours
_OUTCOMES = tuple(NormalDist().inv_cdf((i + 0.5) / 16) for i in range(16))

Place = tuple[int, str, str]  # number of the reading, key frame, point


@dataclass(frozen=True)
class NextTap:
    """Points of one key frame to tap once more.

    i_reading:  which of the readings, in the order they were given.
    is_beside:  on the pictures before and after the key frame, not on itself.
    worth:      how many words it decides in the mean.
    decides:    items that can't be told now, and then more likely can than not.
    """

    i_reading: int
    event: str
    points: tuple[str, ...]
    is_beside: bool
    worth: float
    decides: tuple[int, ...]


@dataclass(frozen=True)
class _Open:
    """A row that can't be told: its value, and how much of its doubt each tapped point makes."""

    verdict: RowVerdict
    measured: Measured
    squares: Mapping[Place, float]


def untold(
    readings: Sequence[Reading], criteria: Criteria, among: Container[int] | None = None
) -> tuple[ItemVerdict, ...]:
    """Return the items that these readings can't tell; only those numbers where some are given."""
    results = gathered(readings)
    items = judge_items(judge_rows(results, criteria), results.ticks, criteria)
    return tuple(
        item
        for item in items
        if item.word == CANT_TELL and not item.is_result and (among is None or item.number in among)
    )


def next_taps(
    readings: Sequence[Reading],
    criteria: Criteria,
    among: Container[int] | None = None,
) -> tuple[NextTap, ...]:
    """Return at most three suggestions, the most telling first; none where tapping cannot help.

    readings: steps of one set-up, as compute.gathered takes them. Each suggestion is worked out
    as if the ones before it had been followed.
    among:    numbers of the items that are worth a tap; all of them where None.
    """

    def order(tap: NextTap) -> float:
        return tap.worth - COST_OF_A_TAP * len(tap.points) * (2 if tap.is_beside else 1)

    items = untold(readings, criteria, among)
    rows = _open_rows(readings, items)
    looks: dict[Place, int] = {}
    found: list[NextTap] = []
    while len(found) < MOST:
        tried = [_worth(places, readings, rows, items, looks) for places in _candidates(rows)]
        best = max(tried, key=order, default=None)
        if best is None or best.worth < LEAST_WORTH:
            break
        found.append(best)
        for point in best.points:
            place = (best.i_reading, best.event, point)
            looks[place] = _n_looks(readings, place, looks) + (2 if best.is_beside else 1)
    return tuple(found)


def _open_rows(readings: Sequence[Reading], items: Sequence[ItemVerdict]) -> tuple[_Open, ...]:
    verdicts = {(v.result.key, v.result.leg): v for item in items for v in item.rows}
    return tuple(
        _Open(verdict, verdict.result, _squares(key, readings))
        for key, verdict in verdicts.items()
        if verdict.word == CANT_TELL and isinstance(verdict.result, Measured)
    )


def _squares(key: Key, readings: Sequence[Reading]) -> dict[Place, float]:
    """Return the variance of the pooled value that each tapped point makes."""
    read = [(i, reading.tried.get(key)) for i, reading in enumerate(readings)]
    usable = [(i, each) for i, each in read if isinstance(each, Estimate) and not each.not_graded]
    squares: dict[Place, float] = {}
    for i, each in usable:
        for share in each.shares:
            if len(share.name) == 3 and share.name[2] in ("x", "y"):
                place = (i, share.name[0], share.name[1])
                squares[place] = squares.get(place, 0.0) + (share.sd / len(usable)) ** 2
    return squares


def _candidates(rows: Sequence[_Open]) -> list[tuple[Place, ...]]:
    """Return sets of points of one key frame: those of a row, and of two rows together."""
    sets = {
        frozenset(place for place in row.squares if place[:2] == at)
        for row in rows
        for at in {place[:2] for place in row.squares}
    }
    both = {one | other for one in sets for other in sets if {*_at(one)} == {*_at(other)}}
    return sorted(tuple(sorted(places)) for places in sets | both)


def _at(places: Iterable[Place]) -> set[tuple[int, str]]:
    return {place[:2] for place in places}


def _worth(
    places: tuple[Place, ...],
    readings: Sequence[Reading],
    rows: Sequence[_Open],
    items: Sequence[ItemVerdict],
    looks: Mapping[Place, int],
) -> NextTap:
    i_reading, event, _ = places[0]
    n = {place: _n_looks(readings, place, looks) for place in places}
    is_beside = min(n.values()) > 1 and _may_be_beside(readings[i_reading], event)
    later = {**looks, **{place: n[place] + (2 if is_beside else 1) for place in places}}
    before, after = (
        {id(row.verdict): _told_share(row, _gone(row, readings, each)) for row in rows}
        for each in (looks, later)
    )
    return NextTap(
        i_reading,
        event,
        tuple(sorted((point for _, _, point in places), key=_asked_for)),
        is_beside,
        sum(after.values()) - sum(before.values()),
        tuple(item.number for item in items if _chance(item, after) > 0.5 >= _chance(item, before)),
    )


def _asked_for(point: str) -> int:
    """Return the place of a point in the order in which points are asked for."""
    order = [*STANDARD[OPPOSITE_TOUCHDOWN], *STANDARD[TOUCHDOWN], *STANDARD[TOE_OFF], *DEEPER]
    return order.index(point) if point in order else len(order)


def _chance(item: ItemVerdict, told: Mapping[int, float]) -> float:
    """Return how likely every row of an item is told."""
    return prod(told.get(id(verdict), 1.0) for verdict in item.rows)


def _gone(row: _Open, readings: Sequence[Reading], looks: Mapping[Place, int]) -> float:
    """Return the variance of a row that so many looks take away from what it is now."""
    return sum(
        row.squares[place] * (1.0 - _first(place, readings) / n)
        for place, n in looks.items()
        if place in row.squares
    )


def _told_share(row: _Open, gone: float) -> float:
    """Return the share of outcomes in which a row is told, once so much variance is gone."""
    was, band = row.measured, row.verdict.band
    if gone <= 0.0 or band is None:
        return 0.0
    u = max(was.u**2 - gone, 0.0) ** 0.5
    outcomes = (replace(was, value=was.value + z * gone**0.5, u=u) for z in _OUTCOMES)
    return sum(judge_value(each, band).word != CANT_TELL for each in outcomes) / len(_OUTCOMES)


def _n_looks(readings: Sequence[Reading], place: Place, looks: Mapping[Place, int]) -> int:
    return looks.get(place) or _first(place, readings)


def _first(place: Place, readings: Sequence[Reading]) -> int:
    """Return how many looks at a point there are now."""
    i_reading, event, point = place
    posture = readings[i_reading].posture
    frame = posture.step.key_frame(event)
    if frame is None:
        return 1
    return n_looks(posture.step, frame, point, posture.setting.interval_s(frame))


def _may_be_beside(reading: Reading, event: str) -> bool:
    step, setting = reading.posture.step, reading.posture.setting
    frame = step.key_frame(event)
    if frame is None or step.looks(event, -1) or step.looks(event, 1):
        return False
    return setting.interval_s(frame) <= LONGEST_BESIDE_S
