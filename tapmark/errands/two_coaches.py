"""Two coaches, one squad: copies put together under the gate, and how far two markings agree.

Nothing is averaged: two markings of one clip stay two runs, and what differs is shown.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tapmark.errands.visits import card_of
from tapmark.errors import GateClosed, StoreError
from tapmark.marks.run import Run
from tapmark.measures.agreement import Agreement, agreement, smallest_change, typical_error
from tapmark.measures.repeatability import Pair, RowDifference, pairs_between, row_differences
from tapmark.measures.result import Key
from tapmark.store import merge as merging
from tapmark.store.gates import may_import
from tapmark.store.merge import Difference
from tapmark.store.squad import Squad, open_squad

RunAt = tuple[str, str, str]  # code, date, name
FEWEST_CLIPS = 2


@dataclass(frozen=True)
class Merged:
    """What merging another copy does, or did.

    differences: in the order of codes, dates and runs; conflicts keep both.
    left_out:    sentences about athletes whose visits are not taken: no consent here or there.
    troubles:    files of the other copy that cannot be read.
    """

    differences: tuple[Difference, ...]
    left_out: tuple[str, ...] = ()
    troubles: tuple[StoreError, ...] = ()


@dataclass(frozen=True)
class TwoMarkings:
    """One clip marked by two people.

    markers: who marked first and second run.
    points:  second − first of every point on the same picture, in % of leg.
    rows:    every measure of both, side by side.
    other_pictures: key frames for which they chose different pictures: never paired.
    """

    first: RunAt
    second: RunAt
    markers: tuple[str, str]
    points: tuple[Pair, ...]
    rows: tuple[RowDifference, ...]
    other_pictures: tuple[str, ...] = ()


@dataclass(frozen=True)
class RowAgreement:
    """Bias and limits of agreement of one measure between two coaches, second − first.

    smallest_change: between two visits of which each marked one, in the unit of the row; less may
    be nothing but the other hand.
    """

    markers: tuple[str, str]
    key: str
    leg: str
    agreement: Agreement
    smallest_change: float


def plan_merge(ours: Squad, their_folder: Path, today: date) -> Merged:
    """Return what taking in another copy would do; nothing is written.

    Raises NotThere, StoreError when the other folder is no squad.
    """
    left_out, theirs = _left_out(ours, their_folder, today)
    troubles: list[StoreError] = []
    found = merging.plan_merge(ours, theirs, today.isoformat(), frozenset(left_out), troubles)
    return Merged(found, tuple(left_out.values()), tuple(troubles))


def merge(
    ours: Squad, their_folder: Path, today: date, leave: frozenset[str] = frozenset()
) -> Merged:
    """Take another copy in and return what was done; the other copy is only read.

    leave: codes that are not taken at all, such as athletes who were deleted here.
    Raises CannotWrite; merging again carries on from there.
    """
    left_out, theirs = _left_out(ours, their_folder, today)
    troubles: list[StoreError] = []
    found = merging.merge(
        ours, theirs, today.isoformat(), leave, troubles, without_visits=frozenset(left_out)
    )
    return Merged(found, tuple(left_out.values()), tuple(troubles))


def marked_twice(squad: Squad) -> tuple[TwoMarkings, ...]:
    """Return every clip that two people marked, point by point and measure by measure."""
    return tuple(two_markings(squad, *pair) for pair in merging.same_clip_pairs(squad))


def two_markings(squad: Squad, one: RunAt, other: RunAt) -> TwoMarkings:
    """Return two markings beside each other; who comes first in the alphabet stands first."""
    first, second = sorted((one, other), key=lambda at: squad.load_run(*at).marked_by)
    a, b = squad.load_run(*first), squad.load_run(*second)
    return TwoMarkings(
        first=first,
        second=second,
        markers=(a.marked_by, b.marked_by),
        points=pairs_between(a, b),
        rows=row_differences(a, b, card_of(squad, [a])),
        other_pictures=tuple(dict.fromkeys(_other_pictures(a, b))),
    )


def limits_of_agreement(markings: tuple[TwoMarkings, ...]) -> tuple[RowAgreement, ...]:
    """Return bias and limits for each measure that the same two coaches have of several clips."""
    values: dict[tuple[tuple[str, str], Key], list[tuple[float, float]]] = {}
    for each in markings:
        for row in each.rows:
            values.setdefault((each.markers, (row.key, row.leg)), []).append((row.by_b, row.by_a))
    return tuple(
        RowAgreement(
            markers,
            *key,
            agreement(*zip(*found, strict=True)),
            smallest_change(typical_error(*zip(*found, strict=True))),
        )
        for (markers, key), found in values.items()
        if len(found) >= FEWEST_CLIPS
    )


def _other_pictures(a: Run, b: Run) -> Iterator[str]:
    for one, other in zip(a.steps, b.steps, strict=False):
        for frame in one.key_frames:
            same = other.key_frame(frame.event)
            if same and same.picture != frame.picture:
                yield frame.event


def _left_out(ours: Squad, their_folder: Path, today: date) -> tuple[dict[str, str], Squad]:
    """Return code -> why of those whose visits are not taken, and the other copy."""
    theirs = open_squad(their_folder, [])
    return dict(_closed(ours, theirs, today)), theirs


def _closed(ours: Squad, theirs: Squad, today: date) -> Iterator[tuple[str, str]]:
    """Yield (code, why) of those whose visits may not be brought in, here or there."""
    here = {athlete.code: athlete for athlete in ours.athletes([])}
    for athlete in theirs.athletes([]):
        try:
            for known in filter(None, (here.get(athlete.code), athlete)):
                may_import(known, today.isoformat())
        except GateClosed as closed:
            yield athlete.code, str(closed)
