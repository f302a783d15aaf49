"""What became of the priorities of the last visit: one honest test each, no more.

Each priority is tested on one row: the one that spoke loudest then. Testing every row would give
even odds of one false alarm.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from tapmark.checklist.verdict import Band, RowVerdict
from tapmark.checklist.words import Words
from tapmark.errands.passes import alike
from tapmark.errands.places import VisitPlace
from tapmark.errands.visits import VisitReading, read_visit
from tapmark.errors import NotThere
from tapmark.marks.people import Visit
from tapmark.measures.change import CANT_TELL, MOVED, NEARER, Change, Edges, compare
from tapmark.measures.likeness import GROWN, Likeness
from tapmark.measures.result import Measured
from tapmark.sheet.content import SinceLine
from tapmark.store.squad import Squad

MOST_LINES = 3
MOST_LABELS = 2
_FOR_COACH = ("marked by", "pictures a second")  # no news to whoever runs


@dataclass(frozen=True)
class SinceItem:
    """One priority between two visits.

    change:  None where it cannot be compared; why says so then.
    labels:  what differs between the runs but does not forbid a comparison.
    note:    those that are news to whoever runs, as a sentence for the page.
    """

    number: int
    name: str
    change: Change | None
    why: str = ""
    labels: tuple[str, ...] = ()
    note: str = ""

    @property
    def has_moved_nearer(self) -> bool:
        """True when it moved towards fine by more than chance explains."""
        return self.change is not None and self.change.arrow == NEARER


def since_last(squad: Squad, reading: VisitReading) -> tuple[SinceItem, ...]:
    """Return what became of the last visit's priorities; nothing on a first visit."""
    earlier = last_with_priorities(reading)
    if earlier is None:
        return ()
    place = VisitPlace(squad, earlier.code, earlier.dated)
    try:
        before = read_visit(place, date.fromisoformat(earlier.dated))
    except NotThere:  # its runs were deleted: say so on each line
        return tuple(_gone(reading, slot.item) for slot in earlier.slots or ())
    return since(before, reading)


def since(before: VisitReading, after: VisitReading) -> tuple[SinceItem, ...]:
    """Return what became of the priorities of an earlier visit by a later one."""
    like = alike(before, after)
    items = (slot.item for slot in (before.visit.slots or ())[:MOST_LINES])
    return tuple(_compared(number, before, after, like) for number in items)


def last_with_priorities(reading: VisitReading) -> Visit | None:
    """Return the latest earlier visit that left priorities, or None."""
    return next((visit for visit in reversed(reading.earlier) if visit.slots), None)


def since_lines(items: tuple[SinceItem, ...]) -> tuple[SinceLine, ...]:
    """Return the lines of the page; what differed stands in the note."""
    return tuple(SinceLine(item.name, _word(item), item.why or item.note) for item in items)


def moved_items(items: tuple[SinceItem, ...]) -> tuple[int, ...]:
    """Return the numbers of the items that moved nearer to fine."""
    return tuple(item.number for item in items if item.has_moved_nearer)


def _compared(number: int, before: VisitReading, after: VisitReading, like: Likeness) -> SinceItem:
    name, words = after.assessment.item(number).name, after.criteria.words
    pair = next(_pairs(number, before, after), None)
    if pair is None:
        return SinceItem(number, name, None, words.say("since.not_both_days"))
    was, now = pair
    assert isinstance(was.result, Measured) and isinstance(now.result, Measured)
    why = like.why_not(now.result.unit)
    if why:
        return SinceItem(number, name, None, words.told(why))
    change = compare(was.result, now.result, edges(now.band))
    note = _differed(like.labels, words)
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


def edges(band: Band | None) -> Edges:
    """Return the plain numbers of a band."""
    if band is None:
        return Edges()
    return Edges(band.limit_low, band.fine_low, band.fine_high, band.limit_high)


def _word(item: SinceItem) -> str:
    if item.change is None:
        return CANT_TELL
    if item.change.word == MOVED and item.change.arrow:
        return f"{MOVED}, {item.change.arrow}"
    return item.change.word if item.change.word != MOVED else CANT_TELL


def _differed(labels: tuple[str, ...], words: Words) -> str:
    told = [words.say("since.grown")] if GROWN in labels else []
    others = (label for label in labels if not label.startswith((*_FOR_COACH, GROWN)))
    said = "; ".join([*told, *map(words.told, others)][:MOST_LABELS])
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def _gone(reading: VisitReading, number: int) -> SinceItem:
    name = reading.assessment.item(number).name
    return SinceItem(number, name, None, reading.criteria.words.say("since.gone"))
