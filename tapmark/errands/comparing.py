"""Two visits of one athlete, in words: what became of the priorities, and of every other row."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from tapmark.errands.changes import SinceItem, edges, since_last
from tapmark.errands.gate import let_out
from tapmark.errands.places import VisitPlace, visit_at
from tapmark.errands.visits import VisitReading, read_visit
from tapmark.errors import TapmarkError
from tapmark.measures.change import compare, printed
from tapmark.measures.likeness import likeness
from tapmark.measures.result import Measured


def compare_visits(earlier: Path, later: Path, today: date) -> Iterator[str]:
    """Yield lines: the priorities first, then every row that both visits have.

    Raises TapmarkError when the visits are of two athletes, GateClosed without consent.
    """
    places = visit_at(earlier), visit_at(later)
    _refuse_two_people(*places)
    let_out("csv", places[1].squad, (places[1].code,), today)
    before, after = (read_visit(place, today) for place in places)
    yield f"{after.athlete.code}: {before.visit.dated}, then {after.visit.dated}"
    like = likeness(before.runs[0][1], after.runs[0][1], before.results, after.results)
    yield from (f"Cannot be compared. {why}" for why in like.refused)
    yield from (f"Lengths cannot be compared. {why}" for why in like.refused_lengths)
    yield from (f"Note: {label}." for label in like.labels)
    if not like.refused:
        yield from _priorities(since_last(places[1].squad, after))
        yield from _rows(before, after)


def _refuse_two_people(a: VisitPlace, b: VisitPlace) -> None:
    if a.code != b.code:
        raise TapmarkError(
            f"{a.code} and {b.code} are two athletes. Name two visits of the same one."
        )


def _priorities(items: tuple[SinceItem, ...]) -> Iterator[str]:
    for item in items:
        said = printed(item.change) if item.change else f"can't tell. {item.why}"
        yield f"{item.name}: {said}"


def _rows(before: VisitReading, after: VisitReading) -> Iterator[str]:
    yield "Every row (shown, not tested: of many rows one always seems to move)"
    bands = {row.result.key: row.band for row in after.assessment.rows}
    names = after.criteria.words
    for (key, leg), now in after.results.rows.items():
        was = before.results.row(key, leg)
        if isinstance(was, Measured) and isinstance(now, Measured):
            change = compare(was, now, edges(bands.get(key)))
            name = names.row(key) + (f", {leg}" if leg else "")
            yield f"  {name:34} {was.value:8.1f} → {now.value:.1f} {now.unit}  {printed(change)}"
