"""A band and the value in it, one line tall: the fine zone is a floor closed by a post.

In one-sided rows the fine edge and the limit always stand at the same two places and right is
past the limit, so all limits form one upright line down the page and the eye finds what crosses
it. In two-sided rows the zone is in the middle, a limit on each side.
"""

from dataclasses import dataclass
from typing import Final

from tapmark.checklist.verdict import Band
from tapmark.measures.result import printed
from tapmark.report.drawing.palette import BLACK, TINT, WHITE
from tapmark.report.drawing.shapes import Area, Label, Line, Ring, Shape, Shapes, TextWidth

FINE_AT, LIMIT_AT = 0.36, 0.52
LOW_AT, HIGH_AT = 0.18, 0.82
TALL: Final = 3.9  # the limit's stroke, in mm
FLOOR: Final = 0.43
LIMIT: Final = 0.8


@dataclass(frozen=True)
class Dot:
    """One value in a band: is_about draws it open; y is its distance from the band's middle."""

    value: float
    plus_minus: float
    is_about: bool = False
    y: float = 0.0


@dataclass(frozen=True)
class _Ruler:
    """value -> share of the width; a one-sided band is turned so that right is past the limit."""

    zero: float
    per: float
    zone: tuple[float, float]
    marks: tuple[tuple[float, bool], ...]  # value, is a limit

    def at(self, value: float) -> float:
        return self.zero + self.per * value


def _ruler(band: Band) -> _Ruler | None:
    low, high = band.limit_low, band.limit_high
    if low is not None and high is not None:
        per = (HIGH_AT - LOW_AT) / (high - low)
        marks = [(low, True), (high, True), *((each, False) for each in band.fine)]
        zone = [LOW_AT + per * (each - low) for each in band.fine]
        return _Ruler(LOW_AT - per * low, per, (zone[0], zone[-1]), tuple(sorted(marks)))
    limit = high if high is not None else low
    edge = band.fine_high if high is not None else band.fine_low
    if limit is None or edge is None:
        return None
    per = (LIMIT_AT - FINE_AT) / (limit - edge)
    marks = [(edge, False), (limit, True)]
    return _Ruler(FINE_AT - per * edge, per, (0.0, FINE_AT), tuple(sorted(marks)))


def band_shapes(band: Band, dots: tuple[Dot, ...], width: float, tall: float = TALL) -> Shapes:
    """Return zone, limits and values around y = 0, left end at x = 0, in mm."""
    ruler = _ruler(band)
    if ruler is None:
        return ()
    left, right = (share * width for share in ruler.zone)
    top, floor = -0.36 * tall, 0.36 * tall
    corners = ((left, top), (right, top), (right, floor), (left, floor))
    posts = [right] if left == 0.0 else [left, right]
    limits = [ruler.at(value) * width for value, is_limit in ruler.marks if is_limit]
    return (
        Area(corners, TINT),
        Line(((left, floor), (right, floor)), BLACK, FLOOR),
        *(Line(((x, top), (x, floor + FLOOR / 2)), BLACK, FLOOR) for x in posts),
        *(Line(((x, -tall / 2), (x, tall / 2)), BLACK, LIMIT) for x in limits),
        *(shape for dot in dots for shape in _dot(ruler, dot, width)),
    )


def _dot(ruler: _Ruler, dot: Dot, width: float) -> Shapes:
    x = ruler.at(dot.value) * width
    reach = abs(ruler.per) * dot.plus_minus * width
    if x < 0:  # the value is off the bar; what its ± reaches of the bar stays
        return _arrowhead(0.0, -1, dot.y, min(width, x + reach))
    if x > width:
        return _arrowhead(width, 1, dot.y, max(0.0, x - reach))
    left, right = max(0.0, x - reach), min(width, x + reach)
    shapes: list[Shape] = [Line(((left, dot.y), (right, dot.y)), BLACK, FLOOR)]
    ends = [(left, left > 0.0), (right, right < width)]
    shapes += [
        Line(((end, dot.y - 0.8), (end, dot.y + 0.8)), BLACK, FLOOR) for end, whole in ends if whole
    ]
    if dot.is_about:
        shapes.append(Ring((x, dot.y), 0.9, WHITE, BLACK, FLOOR))
    else:
        shapes.append(Ring((x, dot.y), 1.05, BLACK))
    return tuple(shapes)


def _arrowhead(x: float, way: int, y: float, inner: float) -> Shapes:
    back, least = x - way * 2.4, x - way * 4.5
    start = min(inner, least) if way > 0 else max(inner, least)
    arrow = (
        Line(((start, y), (back, y)), BLACK, FLOOR),
        Area(((x, y), (back, y - 1.1), (back, y + 1.1)), BLACK),
    )
    if start == least:
        return arrow
    return (*arrow, Line(((start, y - 0.8), (start, y + 0.8)), BLACK, FLOOR))


def numerals(band: Band, width: float, y: float, size: float, text_width: TextWidth) -> Shapes:
    """Return the edges' numbers under a band, pushed apart where they would touch."""
    ruler = _ruler(band)
    if ruler is None:
        return ()
    places = sorted((ruler.at(value) * width, printed(value)) for value, _ in ruler.marks)
    centres = [x for x, _ in places]
    widths = [text_width(text, size, False) for _, text in places]
    for i in range(len(places) - 1):
        lack = (widths[i] + widths[i + 1]) / 2 + 0.9 - (centres[i + 1] - centres[i])
        if lack > 0:
            centres[i] -= lack / 2
            centres[i + 1] += lack / 2
    return tuple(
        Label((x, y), text, size, BLACK, anchor="c")
        for x, (_, text) in zip(centres, places, strict=True)
    )
