"""One measure over a season: values with their ±, at true distances in time, over the band.

The fine zone lies across as a floor; limits are heavy strokes. No line joins the dots: what lies
between two visits is not known.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from tapmark.checklist.verdict import Band
from tapmark.measures.result import printed
from tapmark.report.drawing.palette import BLACK, TINT, WHITE
from tapmark.report.drawing.shapes import Area, Label, Line, Ring, Shape, Shapes, TextWidth

EDGE: Final = 0.08  # room above and below the outermost value, as a share of the height


@dataclass(frozen=True)
class TrendPoint:
    """One visit's value: day is any count of days, label what is written below it."""

    day: float
    label: str
    value: float
    plus_minus: float
    is_about: bool = False


@dataclass(frozen=True)
class TrendLook:
    """Sizes in the unit of the place, and colours."""

    width: float
    height: float
    text: float
    line: float
    heavy: float
    dot: float
    ink: str = BLACK
    paper: str = WHITE
    tint: str = TINT


def trend_shapes(
    visits: Sequence[TrendPoint], band: Band | None, look: TrendLook, text_width: TextWidth
) -> Shapes:
    """Return the plot within width × height, top left corner at (0, 0); numerals at its left.

    Empty without a visit. The dates stand below, those that would touch are left out.
    """
    if not visits:
        return ()
    return tuple(_Plot.of(visits, band, look, text_width).shapes())


@dataclass(frozen=True)
class _Plot:
    visits: Sequence[TrendPoint]
    band: Band | None
    look: TrendLook
    text_width: TextWidth
    low: float
    high: float
    left: float

    @classmethod
    def of(
        cls, visits: Sequence[TrendPoint], band: Band | None, look: TrendLook, text_width: TextWidth
    ) -> "_Plot":
        ends = [v.value + sign * v.plus_minus for v in visits for sign in (-1, 1)]
        ends += _edges(band)
        low, high = min(ends), max(ends)
        room = EDGE * ((high - low) or 1.0)
        numbers = [printed(v) for v in (*_edges(band), *(v.value for v in visits))]
        left = max(text_width(text, look.text, False) for text in numbers) + look.text
        return cls(visits, band, look, text_width, low - room, high + room, left)

    def shapes(self) -> Iterator[Shape]:
        yield from self._zone()
        yield from self._limits()
        for visit in self.visits:
            yield from self._visit(visit)
        yield from self._dates()

    def _y(self, value: float) -> float:
        floor = self.look.height - 1.6 * self.look.text
        return floor * (self.high - value) / (self.high - self.low)

    def _x(self, day: float) -> float:
        days = [visit.day for visit in self.visits]
        first, span = min(days), max(days) - min(days)
        pad = 2.0 * self.look.text
        room = self.look.width - self.left - 2 * pad
        share = (day - first) / span if span else 0.5
        return self.left + pad + room * share

    def _zone(self) -> Iterator[Shape]:
        band, look = self.band, self.look
        if band is None or (band.fine_low is None and band.fine_high is None):
            return
        top = self._y(band.fine_high if band.fine_high is not None else self.high)
        bottom = self._y(band.fine_low if band.fine_low is not None else self.low)
        a, b = self.left, look.width
        yield Area(((a, top), (b, top), (b, bottom), (a, bottom)), look.tint)
        for edge in (band.fine_low, band.fine_high):
            if edge is not None:
                yield Line(((a, self._y(edge)), (b, self._y(edge))), look.ink, look.line)
                yield self._number(edge)

    def _limits(self) -> Iterator[Shape]:
        if self.band is None:
            return
        for limit in (self.band.limit_low, self.band.limit_high):
            if limit is not None:
                y = self._y(limit)
                yield Line(((self.left, y), (self.look.width, y)), self.look.ink, self.look.heavy)
                yield self._number(limit)

    def _number(self, value: float) -> Label:
        size = self.look.text
        at = (self.left - 0.5 * size, self._y(value) + 0.36 * size)
        return Label(at, printed(value), size, self.look.ink, anchor="e")

    def _visit(self, visit: TrendPoint) -> Iterator[Shape]:
        look, x, y = self.look, self._x(visit.day), self._y(visit.value)
        top, bottom = (self._y(visit.value + s * visit.plus_minus) for s in (1, -1))
        bar = 1.4 * look.dot
        yield Line(((x, top), (x, bottom)), look.ink, look.line)
        for end in (top, bottom):
            yield Line(((x - bar, end), (x + bar, end)), look.ink, look.line)
        if visit.is_about:
            yield Ring((x, y), look.dot, look.paper, look.ink, look.line)
        else:
            yield Ring((x, y), look.dot, look.ink)

    def _dates(self) -> Iterator[Label]:
        size = self.look.text
        y, end = self.look.height - 0.3 * size, float("-inf")
        for visit in sorted(self.visits, key=lambda each: each.day):
            wide = self.text_width(visit.label, size, False)
            x = min(self._x(visit.day), self.look.width - wide / 2)
            if x - wide / 2 > end + 0.5 * size:
                yield Label((x, y), visit.label, size, self.look.ink, anchor="c")
                end = x + wide / 2


def _edges(band: Band | None) -> list[float]:
    if band is None:
        return []
    edges = (band.limit_low, band.fine_low, band.fine_high, band.limit_high)
    return [edge for edge in edges if edge is not None]
