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

    Empty without a visit. The dates stand below; of those that would touch, the later one.
    """
    return tuple(_Plot(visits, band, look, text_width).shapes()) if visits else ()


class _Plot:
    def __init__(
        self,
        visits: Sequence[TrendPoint],
        band: Band | None,
        look: TrendLook,
        text_width: TextWidth,
    ) -> None:
        self.visits, self.look, self.text_width = visits, look, text_width
        self.fine = (band.fine_low, band.fine_high) if band else (None, None)
        limits = (band.limit_low, band.limit_high) if band else (None, None)
        self.limits = [limit for limit in limits if limit is not None]
        self.edges = [edge for edge in self.fine if edge is not None]
        ends = [v.value + sign * v.plus_minus for v in visits for sign in (-1, 1)]
        ends += [*self.edges, *self.limits]
        low, high = min(ends), max(ends)
        room = EDGE * ((high - low) or 1.0)
        self.low, self.high = low - room, high + room
        numbers = [printed(v) for v in (*self.edges, *self.limits, *(v.value for v in visits))]
        self.left = max(text_width(text, look.text, False) for text in numbers) + look.text

    def shapes(self) -> Iterator[Shape]:
        """Yield zone and limits with their numbers, then every value, then the dates."""
        look, (low, high) = self.look, self.fine
        a, b = self.left, look.width
        if self.edges:
            top = self._y(self.high if high is None else high)
            bottom = self._y(self.low if low is None else low)
            yield Area(((a, top), (b, top), (b, bottom), (a, bottom)), look.tint)
        for values, thick in ((self.edges, look.line), (self.limits, look.heavy)):
            for value in values:
                y = self._y(value)
                yield Line(((a, y), (b, y)), look.ink, thick)
                at = a - 0.5 * look.text, y + 0.36 * look.text
                yield Label(at, printed(value), look.text, look.ink, anchor="e")
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
        y, begin = self.look.height - 0.3 * size, float("inf")
        for visit in sorted(self.visits, key=lambda each: -each.day):  # the last one always
            wide = self.text_width(visit.label, size, False)
            x = min(self._x(visit.day), self.look.width - wide / 2)
            if x + wide / 2 < begin - 0.5 * size:
                yield Label((x, y), visit.label, size, self.look.ink, anchor="c")
                begin = x - wide / 2
