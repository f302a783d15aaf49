"""Two visits of one athlete, in words: what became of the priorities, and of every other row."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from tapmark.errands.changes import SinceItem, edges, since
from tapmark.errands.gate import let_out
from tapmark.errands.passes import alike, in_both
from tapmark.errands.places import VisitPlace, visit_at
from tapmark.errands.visits import VisitReading, read_visit
from tapmark.errors import TapmarkError
from tapmark.marks.days import long_day
from tapmark.measures.change import compare, printed
from tapmark.measures.export import foot
from tapmark.measures.likeness import Likeness


def compare_visits(earlier: Path, later: Path, today: date) -> Iterator[str]:
    """Yield lines: the priorities first, then every row that both visits have.

    Raises TapmarkError when the visits are of two athletes, GateClosed without consent.
    """
    places = sorted((visit_at(earlier), visit_at(later)), key=lambda place: place.dated)
    _refuse_two_people(*places)
    for place in places:
        let_out("csv", place.squad, (place.code,), today)
    before, after = (read_visit(place, today) for place in places)
    was, now = (long_day(reading.visit.dated) for reading in (before, after))
    yield f"{after.athlete.code}: {was}, then {now}"
    like = alike(before, after)
    yield from (f"Cannot be compared. {why}" for why in like.refused)
    yield from (f"Lengths cannot be compared. {why}" for why in like.refused_lengths)
    yield from (f"Note: {label}." for label in like.labels)
    if not like.refused:
        yield from _priorities(since(before, after))
        yield from _rows(before, after, like)


def _refuse_two_people(a: VisitPlace, b: VisitPlace) -> None:
    if a.code != b.code:
        raise TapmarkError(
            f"{a.code} and {b.code} are two athletes. Name two visits of the same one."
        )


def _priorities(items: tuple[SinceItem, ...]) -> Iterator[str]:
    for item in items:
        said = printed(item.change) if item.change else f"can't tell. {item.why}"
        yield f"{item.name}: {said}"


def _rows(before: VisitReading, after: VisitReading, like: Likeness) -> Iterator[str]:
    yield "Every row (shown, not tested: of many rows one always seems to move)"
    bands = {row.result.key: row.band for row in after.assessment.rows}
    names = after.criteria.words
    for results, was, now in in_both(before, after):
        if not like.why_not(now.unit):
            change = compare(was, now, edges(bands.get(now.key)))
            side = foot(results, now.leg)
            name = names.row(now.key) + (f", {side}" if side else "")
            yield f"  {name:34} {was.value:8.1f} → {now.value:.1f} {now.unit}  {printed(change)}"
