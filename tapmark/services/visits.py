"""A visit from its files to what is said about it, and the passes that count together."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import product

from tapmark.checklist.assess import assess
from tapmark.checklist.criteria import Criteria
from tapmark.checklist.next_tap import NextTap, next_taps, untold
from tapmark.checklist.situation import has_grown, pain_of
from tapmark.checklist.verdict import CANT_TELL, Assessment
from tapmark.errors import NotThere, StoreError
from tapmark.marks.days import long_day, run_words
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import KeyFrame, Run
from tapmark.measures.card import Card, OwnSd, kind_of
from tapmark.measures.compute import measure_visit, readings, same_set_up
from tapmark.measures.likeness import GROWN, Likeness, likeness
from tapmark.measures.result import Measured, NotMeasured, Results
from tapmark.services.places import VisitPlace, criteria_of
from tapmark.store.season import Growth, growth
from tapmark.store.squad import Squad, Troubles

_NOTHING_SAID = Assessment((), (), (), ())


@dataclass(frozen=True)
class VisitReading:
    """Everything that is known of a visit on one day.

    runs:    (name, run) of the runs that the visit counts and somebody marked; at least one.
    counted: every run that the visit counts: pain and growth were asked before each of them.
    earlier: the athlete's visits before this one, oldest first.
    growth:  by the tape since the marked visit before; None when a tape may err as much.
    untold:  how many items its run at hand can't tell with those of the same set-up; next_taps:
             what to tap once more in one of them, which steps says by i_reading as (run's name,
             number of the step). Only where with_next_taps worked it out.
    """

    athlete: Athlete
    visit: Visit
    runs: tuple[tuple[str, Run], ...]
    counted: tuple[Run, ...]
    earlier: tuple[Visit, ...]
    criteria: Criteria
    results: Results
    assessment: Assessment
    growth: Growth | None = None
    untold: int = 0
    next_taps: tuple[NextTap, ...] = ()
    steps: tuple[tuple[str, int], ...] = ()


def read_visit(place: VisitPlace, today: date) -> VisitReading:
    """Measure and judge a visit as it lies on disk; passes that nobody marked yet are left out.

    Raises NotThere without a marked run, StoreError for files that cannot be read,
    CriteriaUnreadable for the squad's bands.
    """
    squad, code, dated = place.squad, place.code, place.dated
    athlete, visit = squad.athlete(code), squad.visit(code, dated)
    counted = counted_runs(squad, visit)
    runs = marked_runs(visit, counted)
    values = [run for _, run in runs]
    earlier = tuple(squad.visit(code, day) for day in squad.visit_dates(code) if day < dated)
    read = VisitReading(
        athlete=athlete,
        visit=visit,
        runs=runs,
        counted=tuple(run for _, run in counted),
        earlier=earlier,
        criteria=criteria_of(squad, date.fromisoformat(dated)),
        results=measure_visit(values, card_of(squad, values)),
        assessment=_NOTHING_SAID,
        growth=_growth(squad, athlete, earlier, dated),
    )
    return assessed(read, today)


def latest_readings(
    squad: Squad, code: str, today: date, troubles: Troubles
) -> Iterator[VisitReading]:
    """Read an athlete's visits that have a marked run, the newest first.

    troubles: visits that cannot be read are left out and told there, lost runs as well.
    """
    for dated in reversed(squad.visit_dates(code)):
        try:
            troubles.extend(lost_runs(squad, squad.visit(code, dated)))
            reading = read_visit(VisitPlace(squad, code, dated), today)
        except NotThere:  # nothing marked on that day yet
            continue
        except StoreError as trouble:
            troubles.append(trouble)
        else:
            yield reading


def with_next_taps(reading: VisitReading, name: str, card: Card) -> VisitReading:
    """Work out which points of a run, or of another one of the same set-up, tapped once more would
    tell what the visit can't. Of two that tell alike the one in the run at hand comes first."""
    run = next((run for each, run in reading.runs if each == name), None)
    if run is None or run.view != "side":
        return reading
    alike = same_set_up([each for _, each in reading.runs], run)
    others = [(n, each) for n, each in reading.runs if n != name and any(each is a for a in alike)]
    open_items = {item.number for item in reading.assessment.items if item.word == CANT_TELL}
    runs = [(name, run), *others]
    read = [each for _, one in runs for each in readings(one, card, with_checks=False)]
    return replace(
        reading,
        untold=len(untold(read, reading.criteria, open_items)),
        next_taps=next_taps(read, reading.criteria, open_items),
        steps=tuple((n, i) for n, one in runs for i in range(len(one.steps))),
    )


def assessed(reading: VisitReading, today: date, moved: tuple[int, ...] = ()) -> VisitReading:
    """Judge a visit from what was measured.

    moved: items of the last choice that have moved nearer to fine since.
    """
    said = assess(
        reading.results,
        reading.athlete,
        reading.visit,
        today,
        reading.criteria,
        reading.earlier,
        pain=pain_of(reading.counted),
        has_grown=has_grown(reading.counted) or reading.growth is not None,
        moved=moved,
    )
    return replace(reading, assessment=said)


def counted_runs(squad: Squad, visit: Visit) -> tuple[tuple[str, Run], ...]:
    """Return (name, run) of the runs that a visit counts and that are there."""
    found = dict(squad.runs(visit.code, visit.dated))
    return tuple((name, found[name]) for name in visit.runs if name in found)


def lost_runs(squad: Squad, visit: Visit) -> tuple[NotThere, ...]:
    """Return a sentence for each run that a visit counts and whose file is not there.

    A folder that was copied half way looks like this, or one whose files lie elsewhere until they
    are asked for.
    """
    there = squad.run_names(visit.code, visit.dated)
    return tuple(
        NotThere(
            f"{visit.code} on {long_day(visit.dated)} counts {run_words(name)}, but “{name}.json” "
            "is not there: perhaps the folder is still being copied. Without it the numbers come "
            "from the other runs."
        )
        for name in visit.runs
        if name not in there
    )


def marked_runs(visit: Visit, counted: tuple[tuple[str, Run], ...]) -> tuple[tuple[str, Run], ...]:
    """Return those of a visit's runs that somebody marked; raise NotThere when there is none."""
    marked = tuple((name, run) for name, run in counted if run.is_marked)
    if not marked:
        raise NotThere(
            f"The visit of {visit.code} on {long_day(visit.dated)} has no marked run. "
            "Film or import one, mark it, then ask again."
        )
    return marked


def marked_before(squad: Squad, earlier: Sequence[Visit]) -> Visit | None:
    """Return the last of some visits, oldest first, that has a marked run; None without one.

    Runs are read until one is found.
    """
    for visit in reversed(earlier):
        at = visit.code, visit.dated
        there = squad.run_names(*at)
        if any(squad.load_run(*at, name).is_marked for name in visit.runs if name in there):
            return visit
    return None


def _growth(
    squad: Squad, athlete: Athlete, earlier: tuple[Visit, ...], dated: str
) -> Growth | None:
    """Return the growth since the marked visit before; files are read only if a tape tells any."""
    if not earlier or growth(athlete, earlier[0].dated, dated) is None:
        return None
    before = marked_before(squad, earlier)
    return growth(athlete, before.dated, dated) if before else None


def card_of(squad: Squad, runs: list[Run]) -> Card:
    """Return the tap card of the marker of the first run."""
    marker = runs[0].marked_by if runs else ""
    rows = squad.choices.own_errors(marker)
    return Card(tuple(OwnSd(kind_of(row.point), row.sd_percent, row.n) for row in rows))


@dataclass(frozen=True)
class ShownStep:
    """The step of a visit that is drawn: the run's name, the run, the number of the step."""

    name: str
    run: Run
    i_step: int

    @property
    def frames(self) -> tuple[KeyFrame, ...]:
        """Its key frames."""
        return self.run.steps[self.i_step].key_frames


def most_tapped(runs: Sequence[tuple[str, Run]]) -> ShownStep:
    """Return the step with most taps of (name, run), the first of those that have as many.

    A view from the side goes before one from behind or in front, which has no figures.
    """
    drawn = [(name, run) for name, run in runs if run.view == "side"] or runs[:1]
    steps = (ShownStep(name, run, i) for name, run in drawn for i in range(len(run.steps)))
    return max(steps, key=lambda step: sum(len(frame.taps) for frame in step.frames))


@dataclass(frozen=True)
class Pass:
    """Results of one foot, view and set-up, and the first run that went in."""

    results: Results
    run: Run

    def find(self, key: str, side: str) -> Measured | NotMeasured | None:
        """Return a row of "right", "left" or "" (no foot meant); None when it is not among them."""
        rows = self.results.rows.items()
        same = (each for (name, leg), each in rows if (name, self.results.foot(leg)) == (key, side))
        return next(same, None)


def passes_of(reading: VisitReading) -> tuple[Pass, ...]:
    """Return the passes of a visit, the one with most steps first."""
    found = []
    for results in reading.results.all():
        wanted = (results.view, results.near_side, results.context)
        runs = [run for _, run in reading.runs]
        same = [r for r in runs if (r.view, r.near_side, r.set_up.context) == wanted]
        found.append(Pass(results, (same or runs)[0]))
    return tuple(found)


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

    def against(pair: tuple[Pass, Pass, Likeness]) -> tuple[int, int, int]:
        like = pair[2]
        return len(like.refused), len(like.refused_lengths), len(like.labels)

    pairs = product(passes_of(before), passes_of(after))
    found = ((a, b, likeness(a.run, b.run, a.results, b.results)) for a, b in pairs)
    return min(found, key=against)


def in_both(
    before: VisitReading, after: VisitReading, like: Likeness
) -> Iterator[tuple[Results, Measured, Measured]]:
    """Yield (results after, before, after) of every row measured on both days for the same foot.

    like: what stands against the comparison; rows that it speaks of are left out. Where a foot was
    filmed as the near and as the far one, near is set beside near.
    """
    for later in passes_of(after):
        for (key, leg), now in later.results.rows.items():
            side = later.results.foot(leg)
            found = (each.find(key, side) for each in passes_of(before))
            same = (was for was in found if isinstance(was, Measured) and was.leg == leg)
            was = next(same, None)
            if isinstance(now, Measured) and was and not like.why_not(now.unit):
                yield later.results, was, now
