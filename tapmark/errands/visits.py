"""A visit from its files to what is said about it: runs, results, assessment."""

from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from pathlib import Path

from tapmark.checklist.assess import assess
from tapmark.checklist.criteria import Criteria, load
from tapmark.checklist.situation import has_grown, pain_of
from tapmark.checklist.verdict import Assessment
from tapmark.errands.places import VisitPlace
from tapmark.errors import NotThere
from tapmark.marks.people import Athlete, Visit
from tapmark.marks.run import Run
from tapmark.measures.card import Card, OwnSd, kind_of
from tapmark.measures.pool import measure_visit
from tapmark.measures.result import Results
from tapmark.store.season import Growth, growth
from tapmark.store.squad import Squad


@dataclass(frozen=True)
class VisitReading:
    """Everything that is known of a visit on one day.

    runs:    (name, run) of the runs the visit counts.
    earlier: the athlete's visits before this one, oldest first.
    growth:  by the tape since the visit before; None when a tape may err as much.
    """

    athlete: Athlete
    visit: Visit
    runs: tuple[tuple[str, Run], ...]
    earlier: tuple[Visit, ...]
    criteria: Criteria
    results: Results
    assessment: Assessment
    growth: Growth | None = None


def read_visit(place: VisitPlace, today: date, moved: tuple[int, ...] = ()) -> VisitReading:
    """Measure and judge a visit as it lies on disk.

    moved: items of the last choice that have moved nearer to fine since.
    Raises StoreError for files that cannot be read, CriteriaUnreadable for the squad's bands.
    """
    squad, code, dated = place.squad, place.code, place.dated
    athlete, visit = squad.athlete(code), squad.visit(code, dated)
    runs = counted_runs(squad, visit)
    values = [run for _, run in runs]
    criteria = criteria_of(squad, date.fromisoformat(dated))
    earlier = tuple(each for each in squad.visits(code) if each.dated < dated)
    grown = growth(athlete, earlier[-1].dated, dated) if earlier else None
    results = measure_visit(values, card_of(squad, values))
    assessment = assess(
        results,
        athlete,
        visit,
        today,
        criteria,
        earlier,
        pain=pain_of(values),
        has_grown=has_grown(values) or grown is not None,
        moved=moved,
    )
    return VisitReading(athlete, visit, runs, earlier, criteria, results, assessment, grown)


def counted_runs(squad: Squad, visit: Visit) -> tuple[tuple[str, Run], ...]:
    """Return (name, run) of the runs that a visit counts.

    Raises NotThere when the visit counts none.
    """
    found = dict(squad.runs(visit.code, visit.dated))
    runs = tuple((name, found[name]) for name in visit.runs if name in found)
    if not runs:
        raise NotThere(
            f"The visit of {visit.code} on {visit.dated} has no marked run. "
            "Film or import one, mark it, then ask again."
        )
    return runs


def criteria_of(squad: Squad, on: date | None = None) -> Criteria:
    """Return the bands and words of a squad that held on a day."""
    path = bands_file(squad)
    facts = path.stat() if path.exists() else None
    changed = (facts.st_mtime_ns, facts.st_size) if facts else ()
    return _read_criteria(path, changed, squad.choices.language, on)


@lru_cache(maxsize=64)
def _read_criteria(
    path: Path, changed: tuple[int, ...], language: str, on: date | None
) -> Criteria:
    """Read the bands once for as long as the squad's own file stays what it is."""
    return load(path, language, on)


def bands_file(squad: Squad) -> Path:
    """Return where a squad's own bands lie, if it has any."""
    return squad.folder / "checks.toml"


def card_of(squad: Squad, runs: list[Run]) -> Card:
    """Return the tap card of whoever marked the first run."""
    marker = runs[0].marked_by if runs else ""
    rows = squad.choices.own_errors(marker)
    return Card(tuple(OwnSd(kind_of(row.point), row.sd_percent, row.n) for row in rows))
