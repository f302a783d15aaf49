"""One athlete over a season: what was worked on, one measure, left against right."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from tapmark.checklist.verdict import Band
from tapmark.errors import StoreError
from tapmark.marks.days import long_day
from tapmark.marks.people import Athlete, Visit
from tapmark.measures.catalogue import ROWS, row
from tapmark.measures.change import LeftRight, Trend, both_sides, left_right, trend, u_of_the_runner
from tapmark.measures.likeness import likeness
from tapmark.measures.result import Z95, Measured, NotMeasured, printed
from tapmark.report.drawing.trend import TrendPoint
from tapmark.services.changes import SinceItem, since
from tapmark.services.places import criteria_of
from tapmark.services.visits import Pass, VisitReading, latest_readings, passes_of
from tapmark.store.names import check_day
from tapmark.store.season import (
    Growth,
    Spell,
    adherence,
    growth,
    length_asked,
    quiet_period,
    spells,
)
from tapmark.store.squad import Squad, Troubles

FELT = ("", "easier", "same", "harder")
_WHAT = {"leg": "Leg length", "height": "Height"}


@dataclass(frozen=True)
class WorkedOn:
    """One visit and what followed from it.

    items:     (number, name) of the priorities on its sheet.
    ticked:    the boxes of the sheet, typed back in: ISO date or "", drill done, how it felt.
    done:      (sessions with the drill done, sessions ticked) among them.
    coach_saw: the coach's own box.
    became:    what the next visit showed of these priorities; empty until then.
    """

    dated: str
    sheet_number: int = 0
    items: tuple[tuple[int, str], ...] = ()
    ticked: tuple[tuple[str, bool, str], ...] = ()
    done: tuple[int, int] = (0, 0)
    coach_saw: str = ""
    became: tuple[SinceItem, ...] = ()


@dataclass(frozen=True)
class Season:
    """What the season page of one athlete shows.

    visits:   oldest first.
    spells:   (item's name, from when to when) of every priority without a break.
    quiet:    why nothing new is given now, "" when nothing speaks against it.
    growth:   between the first and the last visit, of leg and height, where a tape shows any.
    notices:  sentences: growth, a length to be measured, files that cannot be read.
    """

    athlete: Athlete
    visits: tuple[WorkedOn, ...]
    spells: tuple[tuple[str, Spell], ...]
    quiet: str = ""
    growth: tuple[Growth, ...] = ()
    notices: tuple[str, ...] = ()


def readings_of(
    squad: Squad, code: str, today: date, troubles: Troubles
) -> tuple[VisitReading, ...]:
    """Read every visit of an athlete that has a marked run, oldest first.

    troubles: visits that cannot be read are left out and told there.
    """
    found: Troubles = []
    newest_first = [*latest_readings(squad, code, today, found)]
    troubles.extend(reversed(found))
    return tuple(reversed(newest_first))


def season_and_readings(
    squad: Squad, code: str, today: date
) -> tuple[Season, tuple[VisitReading, ...]]:
    """Return an athlete's season and the visits it was read from, each measured once."""
    troubles: Troubles = []
    athlete, visits = squad.athlete(code), squad.visits(code, troubles)
    readings = readings_of(squad, code, today, troubles)
    name = criteria_of(squad).words.item
    became: dict[str, tuple[SinceItem, ...]] = {}  # date of a sheet -> what the next visit showed
    before: VisitReading | None = None
    for reading in readings:
        if before and before.visit.dated not in became:
            became[before.visit.dated] = since(before, reading)
        if reading.visit.slots:
            before = reading
    grown: list[Growth] = []
    if visits:
        first, last = visits[0].dated, visits[-1].dated
        grown = [found for what in _WHAT if (found := growth(athlete, first, last, what))]
    chosen = [(visit.dated, _items(visit)) for visit in visits]
    asked = length_asked(athlete, today.isoformat())
    season = Season(
        athlete,
        tuple(
            WorkedOn(
                dated=visit.dated,
                sheet_number=visit.sheet_number,
                items=tuple((number, name(number)) for number in _items(visit)),
                ticked=visit.ticked,
                done=adherence(visit),
                coach_saw=visit.coach_saw,
                became=became.get(visit.dated, ()),
            )
            for visit in visits
        ),
        tuple((name(spell.item), spell) for spell in spells(chosen)),
        quiet_period(athlete, today.isoformat()),
        tuple(grown),
        (*dict.fromkeys(map(str, troubles)), *map(growth_words, grown), *filter(None, (asked,))),
    )
    return season, readings


def growth_words(grown: Growth) -> str:
    """Return growth in a sentence, with what it means for comparing."""
    was, now = (f"{each.cm:g} cm on {long_day(each.dated)}" for each in (grown.before, grown.after))
    return (
        f"{_WHAT[grown.after.what]} {was}, {now}: {grown.cm:g} cm more. Lengths are compared in % "
        "of leg length; while somebody grows fast, one thing at a time is enough."
    )


def type_back(
    squad: Squad,
    code: str,
    dated: str,
    ticked: Sequence[tuple[str, bool, str]],
    coach_saw: str,
    today: date,
) -> Visit:
    """Keep the ticks of a printed sheet, (ISO date, drill done, how it felt), and the coach's box.

    The date is "" where nobody wrote one on the paper.

    Raises NotThere for a visit that is not there, StoreError for a session that cannot have been:
    before the sheet or after today.
    """
    visit = squad.visit(code, dated)
    for session, _, felt in ticked:
        if session and not dated <= check_day(session) <= today.isoformat():
            raise StoreError(
                f"A session on {long_day(session)} does not fit the sheet of {long_day(dated)}: "
                f"write a day between then and today, {long_day(today.isoformat())}."
            )
        if felt not in FELT:
            raise StoreError(f"“{felt}” is not on the sheet. Choose easier, same or harder.")
    changed = replace(visit, ticked=tuple(sorted(ticked)), coach_saw=coach_saw)
    squad.save_visit(changed)
    return changed


def _items(visit: Visit) -> tuple[int, ...]:
    return tuple(slot.item for slot in visit.slots or ())


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
            measured = each.find(key, side)
            assert isinstance(measured, Measured)
            plus_minus = Z95 * u_of_the_runner(measured)
            points.append(SeasonPoint(dated, measured, plus_minus, like.labels))
    told, criteria = row(key), readings[-1].criteria
    return SeasonMeasure(
        key=key,
        name=criteria.words.row(key),
        unit=told.unit,
        digits=told.digits,
        side=side,
        points=tuple(points),
        band=criteria.band(key, last.results.graded_as if last else "sprint"),
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
        slope = printed(measure.trend.slope_a_month, digits, "+")
        clear = "" if measure.trend.is_clear else ": no steady change is shown"
        plus_minus = printed(measure.trend.plus_minus, digits)
        said.append(f"Change a month: {slope} ± {plus_minus}{unit}{clear}.")
    if measure.missing:
        left_out = ", ".join(dated for dated, _ in measure.missing)
        said.append(f"Not measured, or not comparable: {left_out}.")
    return tuple(said)


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


NO_DIFFERENCE = Band(fine_low=0.0, fine_high=0.0, key="", context="")
"""The line that a plot of differences stands on."""


def difference_points(readings: Sequence[VisitReading], key: str) -> tuple[TrendPoint, ...]:
    """Return left − right of each visit that can tell it, oldest first, ± 95 %."""
    return tuple(
        TrendPoint(_day(dated), dated, row.difference, row.plus_minus)
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
    for visit in map(sides_of, readings):
        yield from ((visit.dated, row) for row in visit.rows if row.key == key)
