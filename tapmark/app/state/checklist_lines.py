"""The checklist as lines of a column: by moment, with the measure that decides each item."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass

from tapmark.app.state.measure_lines import number
from tapmark.checklist.items import WORST_FIRST
from tapmark.checklist.next_tap import NextTap
from tapmark.checklist.verdict import (
    CANT_TELL,
    FINE,
    NEAR_THE_LINE,
    NOT_MEASURED,
    SEEN,
    SHOWN,
    TOLD,
    Assessment,
    Band,
    ItemVerdict,
    RowVerdict,
)
from tapmark.checklist.words import Words
from tapmark.marks.days import several
from tapmark.marks.points import BACK_EVENTS, SIDE_EVENTS
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.result import Measured
from tapmark.services.visits import VisitReading

FINE_GROUP, FOLLOWS, MISSING = "fine", "follow", "not measured"
FOLDS = (FINE_GROUP, FOLLOWS, MISSING)
"""Groups of quiet items that are folded away until they are asked for."""
WHOLE_STEP = "whole step"
MOMENTS = (*SIDE_EVENTS, *BACK_EVENTS, WHOLE_STEP)
COUNTED = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True)
class CheckLine:
    """One item of the checklist, or one suggestion of what to tap once more.

    moment:  key frame or part of the step that it stands under; event: the key frame it is shown
             on, "" for none. value: of the row that decides, as printed with ± and unit.
    verdict: that row's, None for what was ticked or not measured. tap: the suggestion, else None.
    """

    key: str
    moment: str
    word: str
    name: str
    value: str = ""
    event: str = ""
    item: ItemVerdict | None = None
    verdict: RowVerdict | None = None
    tap: NextTap | None = None

    @property
    def band(self) -> Band | None:
        """The band of the row that decides, where it has one and was judged."""
        is_judged = self.verdict is not None and self.word in (*TOLD, FINE, CANT_TELL)
        return self.verdict.band if self.verdict and is_judged else None


def checklist_lines(reading: VisitReading, opened: Collection[str]) -> tuple[CheckLine, ...]:
    """Return the items that say something, those of the opened folds, and the next best taps."""
    words = reading.criteria.words
    shown = [
        _line(item, words, reading.criteria.items[item.number - 1].rule == "all")
        for item in reading.assessment.items
        if not _fold(item) or _fold(item) in opened
    ]
    ordered = sorted(
        shown,
        key=lambda line: (
            MOMENTS.index(line.moment),
            WORST_FIRST.index(line.word),
            line.item.number if line.item else 0,
        ),
    )
    return (*ordered, *_taps(reading))


def fold_counts(reading: VisitReading) -> dict[str, int]:
    """Return how many items lie in each fold."""
    folds = [_fold(item) for item in reading.assessment.items]
    return {fold: folds.count(fold) for fold in FOLDS}


def _fold(item: ItemVerdict) -> str:
    if item.word == NOT_MEASURED:
        return MISSING
    if item.is_result or item.word == SHOWN:
        return FOLLOWS
    return FINE_GROUP if item.word == FINE else ""


def _line(item: ItemVerdict, words: Words, is_all: bool) -> CheckLine:
    verdict = deciding(item, is_all)
    result = verdict.result if verdict else None
    needs = catalogue_row(result.key).needs_of(result.leg) if result else {}
    event = next(reversed(list(needs)), "")  # the last one: there its drawing stands
    moment = event or (BACK_EVENTS[-1] if item.number in (16, 17, 18) else WHOLE_STEP)
    value = value_words(result) if isinstance(result, Measured) else ""
    ticked = "" if result is not None or item.word == NOT_MEASURED else "ticked"
    key = f"item {item.number}"
    return CheckLine(key, moment, item.word, item.name, value or ticked, event, item, verdict)


def value_words(result: Measured) -> str:
    """Return "20 ± 5 °", with ≈ behind what leans on a guess."""
    about = "  ≈" if result.is_about else ""
    doubt = number(result.plus_minus, result.digits)
    return f"{number(result.value, result.digits)} ± {doubt} {result.unit}{about}"


def deciding(item: ItemVerdict, is_all: bool = False) -> RowVerdict | None:
    """Return the row that an item's word comes from: of the worse foot, the farthest past.

    is_all: every row has to be past; then the one that is not keeps the item where it is.
    """
    rows = [row for row in item.rows if isinstance(row.result, Measured)] or list(item.rows)
    alike = [row for row in rows if row.word == item.word]

    def order(row: RowVerdict) -> tuple[int, float]:
        rank = WORST_FIRST.index(row.word)
        return (-rank if is_all else rank), -abs(row.excess)

    return min(alike or rows, key=order, default=None)


def _taps(reading: VisitReading) -> Iterator[CheckLine]:
    for i, tap in enumerate(reading.next_taps):
        where = f"Tap {'beside' if tap.is_beside else 'again at'} {tap.event}"
        name = in_one_go(tap.points)
        yield CheckLine(f"tap {i}", where, CANT_TELL, name, "", tap.event, tap=tap)


def in_one_go(words: Sequence[str]) -> str:
    """Return "hip, near knee and near ankle"."""
    *most, last = words
    return f"{', '.join(most)} and {last}" if most else last


def counted_words(n: int) -> str:
    """Return a number below ten in letters, any other in digits."""
    return COUNTED[n] if n < len(COUNTED) else str(n)


def headline(found: Assessment) -> str:
    """Return the proposed thing in one sentence."""
    if found.blocked:
        return "Nothing is proposed today."
    if not found.slots:
        return "Nothing is seen or likely."
    item = found.slots[0].item
    feet = f" ({item.feet})" if item.feet else ""
    follow, new = set[int](), {item.number}  # all that lies down the chain, without itself
    while new:
        new = {b for a, b in found.edges if a in new} - follow
        follow |= new
    n = sum(found.item(each).word in TOLD for each in follow - {item.number})
    more = f"; {counted_words(n)} more may come from it" if n else ""
    if item.word not in TOLD:
        return f"{item.name}{feet} stays the priority{more}."
    return f"{item.name}{feet} is {item.word}{more}."


def count_words(reading: VisitReading) -> str:
    """Return how many items have which word, and from how many steps."""
    items = [item for item in reading.assessment.items if not _fold(item)]
    parts = [
        f"{n} {word}"
        for word in (SEEN, "likely", NEAR_THE_LINE, CANT_TELL)
        if (n := sum(item.word == word for item in items))
    ]
    told = ", ".join(parts) or "Nothing past a limit"
    return f"{told}, in {several(reading.results.n_steps, 'step')}."


def detail_words(line: CheckLine, reading: VisitReading) -> str:
    """Return what stands behind a line: bands, both feet, the ±, what was measured in others."""
    words = reading.criteria.words
    item, verdict = line.item, line.verdict
    if item is None or verdict is None or not isinstance(verdict.result, Measured):
        note = item.note if item else ""
        return f"{words.verdict(line.word).capitalize()}. {note}".strip()
    result = verdict.result
    name = words.row(result.key)
    parts = [f"{name}{words.in_brackets(verdict.foot)}{_limits(verdict)}."]
    other = [
        f"{words.foot(row.foot)} {value_words(row.result)}"
        for row in item.rows
        if row.result.key == result.key and row.foot != verdict.foot
        if isinstance(row.result, Measured)
    ]
    mostly = f"± mostly {result.mostly}" if result.mostly else ""
    told = filter(None, (", ".join(other), mostly, words.measured(result.key)))
    parts += [f"{each[0].upper()}{each[1:]}." for each in told]
    why = verdict.why or item.note
    parts += [why] if why else []
    return " ".join(parts)


def _limits(verdict: RowVerdict) -> str:
    band = verdict.band
    if band is None:
        return ""
    high = band.limit_high is not None and (verdict.side == "high" or band.limit_low is None)
    fine = band.fine_high if high else band.fine_low
    limit = band.limit_high if high else band.limit_low
    if fine is None or limit is None:
        return ""
    way = "up to" if high else "from"
    return f": fine {way} {number(fine, 0)}, limit {number(limit, 0)}"
