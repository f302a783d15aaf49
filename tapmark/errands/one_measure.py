"""One measure of an athlete over all visits, and left against right where both ways were filmed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from tapmark.checklist.verdict import Band
from tapmark.drawing.trend import TrendPoint
from tapmark.errands.passes import Pass, passes_of
from tapmark.errands.visits import VisitReading
from tapmark.measures.catalogue import ROWS, row
from tapmark.measures.change import LeftRight, both_sides, left_right, u_of_the_runner
from tapmark.measures.likeness import Likeness, likeness
from tapmark.measures.result import Z95, Measured, NotMeasured
from tapmark.measures.trend import Trend, trend

FEET = ("right", "left", "")


@dataclass(frozen=True)
class SeasonPoint:
    """One visit's value.

    plus_minus: 95 %, of what the runner usually does: marking, steps that differ, set-up.
    labels:     what differs from the last visit but may be compared.
    """

    dated: str
    measured: Measured
    plus_minus: float
    labels: tuple[str, ...] = ()


@dataclass(frozen=True)
class SeasonMeasure:
    """One measure over a season, like with like.

    side:    "right", "left" or "" where no foot is meant.
    points:  oldest first; all of them may be compared with the last one.
    band:    of the last visit's kind of running, None for a row that is never graded.
    trend:   change a month with its ±, or why there is none.
    missing: (date, why) of the visits without a point.
    """

    key: str
    name: str
    unit: str
    digits: int
    side: str
    points: tuple[SeasonPoint, ...]
    band: Band | None
    trend: Trend | NotMeasured
    missing: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class SidesOfVisit:
    """Left − right of one visit, row by row; or why not: both ways have to be filmed."""

    dated: str
    rows: tuple[LeftRight, ...] = ()
    why: str = ""


def measures_to_show(readings: Sequence[VisitReading]) -> tuple[tuple[str, str], ...]:
    """Return (key, side) of everything measured at least once, in catalogue order."""
    there = {
        (key, side)
        for reading in readings
        for each in passes_of(reading)
        for key, _ in each.results.rows
        for side in FEET
        if isinstance(each.find(key, side), Measured)
    }
    return tuple((row.key, side) for row in ROWS for side in FEET if (row.key, side) in there)


def over_season(readings: Sequence[VisitReading], key: str, side: str) -> SeasonMeasure:
    """Return one measure over an athlete's visits.

    readings: at least one, oldest first. Visits that are not like the last one that has the
    measure are left out and named.
    """
    found = [(reading, _pass_with(reading, key, side)) for reading in readings]
    last = next((each for _, each in reversed(found) if each), None)
    points, missing = [], []
    for reading, each in found:
        dated = reading.visit.dated
        like = likeness(each.run, last.run, each.results, last.results) if each and last else None
        why = like.why_not(row(key).unit) if like else f"Not measured: {_reason(reading, key)}"
        if each is None or like is None or why:
            missing.append((dated, why))
        else:
            points.append(_point(dated, each, key, side, like))
    context = last.results.context if last else "sprint"
    told = row(key)
    return SeasonMeasure(
        key=key,
        name=readings[-1].criteria.words.row(key),
        unit=told.unit,
        digits=told.digits,
        side=side,
        points=tuple(points),
        band=readings[-1].criteria.band(key, context),
        trend=trend(key, [(_day(point.dated), point.measured) for point in points]),
        missing=tuple(missing),
    )


def trend_visits(measure: SeasonMeasure) -> tuple[TrendPoint, ...]:
    """Return the points as the drawing room plots them."""
    return tuple(
        TrendPoint(
            _day(point.dated),
            point.dated,
            point.measured.value,
            point.plus_minus,
            point.measured.is_about,
        )
        for point in measure.points
    )


def trend_words(measure: SeasonMeasure) -> tuple[str, ...]:
    """Return what stands below a plot: the change a month with its ±, and what was left out."""
    said = ["Bars: 95 %, of marking, steps that differ, and set-up."]
    if isinstance(measure.trend, NotMeasured):
        said.append(measure.trend.reason)
    else:
        digits, unit = measure.digits + 1, row(measure.key).shown_unit
        slope = f"{measure.trend.slope_a_month:+.{digits}f}".replace("-", "−")
        clear = "" if measure.trend.is_clear else ": no steady change is shown"
        plus_minus = f"{measure.trend.plus_minus:.{digits}f}"
        said.append(f"Change a month: {slope} ± {plus_minus}{unit}{clear}.")
    if measure.missing:
        left_out = ", ".join(dated for dated, _ in measure.missing)
        said.append(f"Not measured, or not comparable: {left_out}.")
    return tuple(said)


def sides_over_season(readings: Sequence[VisitReading]) -> tuple[SidesOfVisit, ...]:
    """Return left − right of every visit; only visits filmed both ways have rows."""
    return tuple(map(sides_of, readings))


def sides_of(reading: VisitReading) -> SidesOfVisit:
    """Return left − right of one visit, each foot filmed as the near one."""
    both = both_sides(reading.results)
    if isinstance(both, NotMeasured):
        return SidesOfVisit(reading.visit.dated, why=both.reason)
    is_static = all(run.set_up.is_static for _, run in reading.runs if run.view == "side")
    return SidesOfVisit(reading.visit.dated, left_right(*both, is_static))


def _pass_with(reading: VisitReading, key: str, side: str) -> Pass | None:
    """Return the pass that measured a row best: the foot near before far, then the smallest ±."""
    found = [
        (measured.leg == "far", measured.u, i, each)
        for i, each in enumerate(passes_of(reading))
        if isinstance(measured := each.find(key, side), Measured)
    ]
    return min(found)[-1] if found else None


def _point(dated: str, each: Pass, key: str, side: str, like: Likeness) -> SeasonPoint:
    measured = each.find(key, side)
    assert isinstance(measured, Measured)
    return SeasonPoint(dated, measured, Z95 * u_of_the_runner(measured), like.labels)


def _reason(reading: VisitReading, key: str) -> str:
    reasons = (
        result.reason
        for each in passes_of(reading)
        for (name, _), result in each.results.rows.items()
        if name == key and isinstance(result, NotMeasured)
    )
    return next(reasons, "this foot was not filmed near or far.")


def _day(dated: str) -> float:
    return float(date.fromisoformat(dated).toordinal())
