"""Where an athlete stands: the one thing, its cue, and how it went from last time to now."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import islice

from tapmark.checklist.situation import NOT_ANSWERED, PAIN, pain_of
from tapmark.checklist.verdict import Band, Chosen, RowVerdict
from tapmark.marks.days import long_day
from tapmark.marks.run import Run
from tapmark.measures.catalogue import row
from tapmark.measures.result import Measured
from tapmark.report.drawing.bands import Dot
from tapmark.report.drawing.idea import Pair, pair_of
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.trend import TrendPoint
from tapmark.report.pages.content import SinceLine
from tapmark.services.changes import between, since_lines
from tapmark.services.season import over_season, trend_visits
from tapmark.services.visits import VisitReading, latest_readings, most_tapped
from tapmark.store.squad import Squad

MOST_VISITS = 5  # that are read for the trend: enough to see where it goes


@dataclass(frozen=True)
class Standing:
    """What the last visits of an athlete say of the one thing.

    dated:   day of the newest marked visit; run, i_step: the step of it that is drawn.
    thing:   name of the one thing, or what stops it; about: its cue, or what to do about that.
    since:   ISO date on which it became the one thing, "" where there is none.
    name:    of the measure that decides; unit: with a space where one belongs before it.
    was, now: its value last time and now, None where it was not measured.
    word:    what became of it since last time, "" on a first visit; why: where it can't be told.
    points:  the measure over the visits. pair: the athlete beside the idea.
    """

    dated: str
    run: Run
    i_step: int
    thing: str
    about: str
    since: str = ""
    name: str = ""
    unit: str = ""
    band: Band | None = None
    was: Dot | None = None
    now: Dot | None = None
    word: str = ""
    why: str = ""
    points: tuple[TrendPoint, ...] = ()
    pair: Pair | None = None


def standing(squad: Squad, code: str, today: date) -> Standing | None:
    """Return where an athlete stands, None before the first marked visit.

    Visits that cannot be read are left out. Raises CriteriaUnreadable for the squad's bands.
    """
    readings = [*islice(latest_readings(squad, code, today, []), MOST_VISITS)][::-1]
    if not readings:
        return None
    last = readings[-1]
    said, step = last.assessment, most_tapped(last.runs)
    drawn = last.visit.dated, step.run, step.i_step
    if said.blocked:
        return Standing(*drawn, *_stopped(last))
    if not said.slots:
        return Standing(*drawn, "Keep this", "no fault seen")
    return _with_thing(*drawn, said.slots[0], readings)


def _stopped(last: VisitReading) -> tuple[str, str]:
    """Return what stops work and what to do, in a coach's short words."""
    pain, day = pain_of(last.counted), long_day(last.visit.dated, with_year=False)
    if last.athlete.clearance == "under treatment":
        return "Under treatment", "no drills until cleared"
    if pain == PAIN:
        return f"Pain on {day}", "no drills until cleared"
    if pain == NOT_ANSWERED:
        return f"Pain not asked on {day}", "answer it on Film"
    return "Under 12", "strengths only, no task"


def _with_thing(
    dated: str, run: Run, i_step: int, chosen: Chosen, readings: Sequence[VisitReading]
) -> Standing:
    last, number = readings[-1], chosen.item.number
    was: RowVerdict | None = None
    graded = [each for each in chosen.item.rows if each.band and isinstance(each.result, Measured)]
    now = max(graded, key=lambda each: each.excess, default=None)
    line = SinceLine("", "")
    if len(readings) > 1:
        moved, rows = between(number, readings[-2], last)
        (line,) = since_lines((moved,))
        was, now = rows or (None, now)
    found = Standing(
        dated=dated,
        run=run,
        i_step=i_step,
        thing=chosen.item.name,
        about=last.athlete.own_cue or chosen.phrase.cue,
        since=_since(number, last),
        word=line.word,
        why=line.note,
        pair=pair_of(number, step_poses(run, i_step), chosen.item.feet == run.far_side),
    )
    if now is None or not isinstance(now.result, Measured):
        return found
    key = now.result.key
    return replace(
        found,
        name=last.criteria.words.short_row(key),
        unit=row(key).shown_unit,
        band=now.band,
        was=_dot(was),
        now=_dot(now),
        points=trend_visits(over_season(readings, key, now.foot)),
    )


def _since(number: int, last: VisitReading) -> str:
    """Return the day from which on every visit that chose anything chose this."""
    since = last.visit.dated
    for visit in reversed(last.earlier):
        if visit.slots is not None:
            if all(slot.item != number for slot in visit.slots):
                break
            since = visit.dated
    return since


def _dot(read: RowVerdict | None) -> Dot | None:
    if read is None or not isinstance(read.result, Measured):
        return None
    return Dot(read.result.value, read.result.plus_minus, read.result.is_about)
