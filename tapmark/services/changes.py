"""What moved between two visits, and what became of the priorities."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tapmark.checklist.verdict import RowVerdict
from tapmark.errors import NotThere, TapmarkError
from tapmark.marks.days import long_day
from tapmark.measures.change import CANT_TELL, MOVED, NEARER, Change, Limits, compare, in_words
from tapmark.measures.likeness import GROWN, MARKED_BY, RATE, Likeness
from tapmark.measures.result import Measured, printed
from tapmark.report.drawing.signs import CLOSER, FURTHER
from tapmark.report.pages.content import SinceLine
from tapmark.services.consent import let_out
from tapmark.services.places import VisitPlace, visit_at
from tapmark.services.visits import VisitReading, alike, in_both, read_visit
from tapmark.store.squad import Squad

MOST_LINES = 3
MOST_LABELS = 2
_FOR_COACH = (MARKED_BY, RATE, GROWN)  # GROWN has words of its own


@dataclass(frozen=True)
class SinceItem:
    """One priority between two visits.

    change:  None where it cannot be compared; why says so then.
    labels:  what differs between the runs but does not forbid a comparison.
    note:    those that are news to the athlete, as a sentence for the page.
    """

    number: int
    name: str
    change: Change | None
    why: str = ""
    labels: tuple[str, ...] = ()
    note: str = ""


def since_last(squad: Squad, reading: VisitReading) -> tuple[SinceItem, ...]:
    """Return what became of the last visit's priorities; nothing on a first visit."""
    earlier = next((visit for visit in reversed(reading.earlier) if visit.slots), None)
    if earlier is None:
        return ()
    place = VisitPlace(squad, earlier.code, earlier.dated)
    try:
        before = read_visit(place, date.fromisoformat(earlier.dated))
    except NotThere:  # its runs were deleted: say so on each line
        name, gone = reading.assessment.item, reading.criteria.words.say("since.gone")
        return tuple(SinceItem(s.item, name(s.item).name, None, gone) for s in earlier.slots or ())
    return since(before, reading)


def since(before: VisitReading, after: VisitReading) -> tuple[SinceItem, ...]:
    """Return what became of the priorities of an earlier visit by a later one."""
    like = alike(before, after)
    items = (slot.item for slot in (before.visit.slots or ())[:MOST_LINES])
    return tuple(_compared(number, before, after, like) for number in items)


def between(
    number: int, before: VisitReading, after: VisitReading
) -> tuple[SinceItem, tuple[RowVerdict, RowVerdict] | None]:
    """Return what became of one item, and its deciding row on both days where both have it."""
    pair = next(_pairs(number, before, after), None)
    return _compared(number, before, after, alike(before, after)), pair


def since_lines(items: tuple[SinceItem, ...]) -> tuple[SinceLine, ...]:
    """Return the lines of the page; what differed stands in the note."""
    lines = []
    for item in items:
        word, arrow = (item.change.word, item.change.arrow) if item.change else (CANT_TELL, "")
        if word == MOVED:
            word = (CLOSER if arrow == NEARER else FURTHER) if arrow else CANT_TELL
        lines.append(SinceLine(item.name, word, item.why or item.note))
    return tuple(lines)


def moved_items(items: tuple[SinceItem, ...]) -> tuple[int, ...]:
    """Return the numbers of the items that moved nearer to fine by more than chance explains."""
    return tuple(each.number for each in items if each.change and each.change.arrow == NEARER)


def _compared(number: int, before: VisitReading, after: VisitReading, like: Likeness) -> SinceItem:
    name, words = after.assessment.item(number).name, after.criteria.words
    pair = next(_pairs(number, before, after), None)
    if pair is None:
        return SinceItem(number, name, None, words.say("since.not_both_days"))
    was, now = pair
    assert isinstance(was.result, Measured) and isinstance(now.result, Measured)
    why = like.why_not(now.result.unit)
    if why:
        return SinceItem(number, name, None, why)
    change = compare(was.result, now.result, now.band or Limits())
    told = [words.say("since.grown")] if GROWN in like.labels else []
    others = (label for label in like.labels if not label.startswith(_FOR_COACH))
    said = "; ".join([*told, *others][:MOST_LABELS])
    note = f"{said[:1].upper()}{said[1:]}." if said else ""
    return SinceItem(number, name, change, labels=like.labels, note=note)


def _pairs(
    number: int, before: VisitReading, after: VisitReading
) -> Iterator[tuple[RowVerdict, RowVerdict]]:
    """Yield the rows of an item on both days, the one that was farthest past its limit first."""
    now = {(row.result.key, row.foot): row for row in after.assessment.item(number).rows}
    graded = [row for row in before.assessment.item(number).rows if row.band is not None]
    for was in sorted(graded, key=lambda row: -row.excess):
        later = now.get((was.result.key, was.foot))
        if later and isinstance(was.result, Measured) and isinstance(later.result, Measured):
            yield was, later


def compare_visits(earlier: Path, later: Path, today: date) -> Iterator[str]:
    """Yield lines: the priorities first, then every row that both visits have.

    Raises TapmarkError when the visits are of two athletes, NoConsent without consent.
    """
    places = sorted((visit_at(earlier), visit_at(later)), key=lambda place: place.dated)
    codes = [place.code for place in places]
    if codes[0] != codes[1]:
        raise TapmarkError(
            f"{codes[0]} and {codes[1]} are two athletes. Name two visits of the same one."
        )
    for place in places:
        let_out("csv", place.squad, (place.code,), today)
    before, after = (read_visit(place, today) for place in places)
    was, now = (long_day(reading.visit.dated) for reading in (before, after))
    yield f"{after.athlete.code}: {was}, then {now}"
    like = alike(before, after)
    yield from (f"Cannot be compared. {why}" for why in like.refused)
    yield from (f"Lengths cannot be compared. {why}" for why in like.refused_lengths)
    if not like.refused and like.why_not("ms"):
        yield f"Times cannot be compared. {like.why_not('ms')}"
    yield from (f"Note: {label}." for label in like.labels)
    if not like.refused:
        for item in since(before, after):
            said = in_words(item.change) if item.change else f"can't tell. {item.why}"
            yield f"{item.name}: {said}"
        yield from _rows(before, after, like)


def _rows(before: VisitReading, after: VisitReading, like: Likeness) -> Iterator[str]:
    yield "Every row (shown, not tested: of many rows one always seems to move)"
    bands = {row.result.key: row.band for row in after.assessment.rows}
    names = after.criteria.words
    told = []
    for results, was, now in in_both(before, after, like):
        change = compare(was, now, bands.get(now.key) or Limits())
        side = results.foot(now.leg)
        name = names.row(now.key) + (f", {side}" if side else "")
        then, today = (printed(each.value, max(1, now.digits)) for each in (was, now))
        told.append((name, then, f"→ {today} {now.unit}", in_words(change)))
    wide = [max(map(len, column), default=0) for column in zip(*told, strict=True)]
    for name, then, today, words in told:
        yield f"  {name:{wide[0]}}  {then:>{wide[1]}} {today:{wide[2]}}  {words}"
