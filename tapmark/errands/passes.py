"""The passes of a visit that were measured together, each with a run that shows its set-up."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product

from tapmark.errands.visits import VisitReading
from tapmark.marks.run import Run
from tapmark.measures.export import foot
from tapmark.measures.likeness import GROWN, Likeness, likeness
from tapmark.measures.result import Measured, NotMeasured, Results
from tapmark.store.season import growth


@dataclass(frozen=True)
class Pass:
    """Results of one foot, view and set-up, and the first run that went in."""

    results: Results
    run: Run

    def find(self, key: str, side: str) -> Measured | NotMeasured | None:
        """Return a row of "right", "left" or "" (no foot meant); None when it is not among them."""
        found = [
            result
            for (name, leg), result in self.results.rows.items()
            if name == key and foot(self.results, leg) == side
        ]
        return next(iter(found), None)


def passes_of(reading: VisitReading) -> tuple[Pass, ...]:
    """Return the passes of a visit, the one with most steps first."""
    runs = [run for _, run in reading.runs]
    return tuple(Pass(results, _shows(results, runs)) for results in all_results(reading.results))


def all_results(results: Results) -> tuple[Results, ...]:
    """Return the results of a visit one by one: each foot, set-up and view."""
    return (results, *(each for other in results.others for each in all_results(other)))


def alike(before: VisitReading, after: VisitReading) -> Likeness:
    """Return what stands against a comparison of the two passes that are most alike.

    Growth counts that was ticked for a run, and that two measured heights or legs show.
    """
    like = most_alike(before, after)[2]
    if GROWN in like.labels or not growth(after.athlete, before.visit.dated, after.visit.dated):
        return like
    return replace(like, labels=(*like.labels, GROWN))


def most_alike(before: VisitReading, after: VisitReading) -> tuple[Pass, Pass, Likeness]:
    """Return the two passes of two visits that are most alike, and what stands against them."""
    pairs = product(passes_of(before), passes_of(after))
    found = ((a, b, likeness(a.run, b.run, a.results, b.results)) for a, b in pairs)
    return min(found, key=lambda pair: _against(pair[2]))


def in_both(
    before: VisitReading, after: VisitReading
) -> Iterator[tuple[Results, Measured, Measured]]:
    """Yield (results after, before, after) of every row measured on both days for the same foot.

    Where a foot was filmed as the near and as the far one, near is set beside near.
    """
    for later in passes_of(after):
        for (key, leg), now in later.results.rows.items():
            side = foot(later.results, leg)
            found = (each.find(key, side) for each in passes_of(before))
            same = (was for was in found if isinstance(was, Measured) and was.leg == leg)
            was = next(same, None)
            if isinstance(now, Measured) and was:
                yield later.results, was, now


def _against(like: Likeness) -> tuple[int, int, int]:
    return len(like.refused), len(like.refused_lengths), len(like.labels)


def _shows(results: Results, runs: list[Run]) -> Run:
    wanted = (results.view, results.near_side, results.context)
    same = [run for run in runs if (run.view, run.near_side, run.set_up.context) == wanted]
    return (same or runs)[0]
