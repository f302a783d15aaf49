"""Left − right of one measure over a season, as points and sentences for a plot.

Each foot was filmed as the near one on the same day. Visits are not tested against each other.
"""

from collections.abc import Iterator, Sequence
from datetime import date

from tapmark.checklist.verdict import Band
from tapmark.drawing.trend import TrendPoint
from tapmark.errands.one_measure import sides_over_season
from tapmark.errands.visits import VisitReading
from tapmark.marks.days import long_day
from tapmark.measures.change import LeftRight

NO_DIFFERENCE = Band("", "", fine_low=0.0, fine_high=0.0)
"""The line that a plot of differences stands on."""


def difference_points(readings: Sequence[VisitReading], key: str) -> tuple[TrendPoint, ...]:
    """Return left − right of each visit that can tell it, oldest first, ± 95 %."""
    return tuple(
        TrendPoint(
            float(date.fromisoformat(dated).toordinal()), dated, row.difference, row.plus_minus
        )
        for dated, row in _rows(readings, key)
        if not row.why
    )


def difference_words(readings: Sequence[VisitReading], key: str) -> tuple[str, ...]:
    """Return what stands below that plot: what a bar is, and which visits have none and why."""
    said = ["Above the line: more on the left. Bars: 95 %, of marking and steps that differ."]
    rows = [(long_day(dated), row) for dated, row in _rows(readings, key)]
    said += [f"{day}: {row.word}." for day, row in rows if not row.why]
    said += [f"{day}: can't tell. {row.why}" for day, row in rows if row.why]
    there, days = {day for day, _ in rows}, [long_day(each.visit.dated) for each in readings]
    missing = [day for day in days if day not in there]
    if missing:
        said.append(f"Not measured from both sides: {', '.join(missing)}.")
    return tuple(said)


def _rows(readings: Sequence[VisitReading], key: str) -> Iterator[tuple[str, LeftRight]]:
    for visit in sides_over_season(readings):
        yield from ((visit.dated, row) for row in visit.rows if row.key == key)
