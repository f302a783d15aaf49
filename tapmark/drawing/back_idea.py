"""What we saw, and the idea, for the three items that are seen from behind or in front.

Nothing is tapped there but the shoe, so both figures are drawings by rule, the same for everybody.
"""

import math
from collections.abc import Callable, Iterator
from typing import Final

from tapmark.drawing.body import turned
from tapmark.drawing.pair import PairDrawing
from tapmark.drawing.palette import BLACK, TINT, WHITE
from tapmark.drawing.shapes import Area, Line, Point, Ring, Shape, Shapes, moved
from tapmark.drawing.signs import arrow
from tapmark.drawing.sole import sole_outline

LINE: Final = 0.43
DASH: Final = (3.4 * LINE, 2.6 * LINE)
TURNED_OUT: Final = 26.0  # degrees; past the limit of the foot-turn row


def back_pair(item: int, width: float, height: float) -> PairDrawing | None:
    """Return the pair for item 16, 17 or 18 within width × height, its lower edge at y = 0."""
    draw = _DRAWN.get(item)
    if draw is None:
        return None
    half = width / 2
    unit = min(height, 1.6 * half) / 10

    def both() -> Shapes:
        seen, idea = (tuple(draw(unit, is_seen)) for is_seen in (True, False))
        return moved(seen, 0.42 * half, 0.0) + moved(idea, 1.42 * half, 0.0)

    return PairDrawing(both, 10.0 * unit, 0.0, ((0.0, 1e9), (half, 1e9)))


def _sole(unit: float, at: Point, size: float, turn: float, fill: str) -> Area:
    """A sole with its heel at a point, toe up the page, turned outward by degrees."""
    corners = [turned((0.0, 0.0), x, y + 4.2, -turn) for x, y in sole_outline()]
    scale = size * unit / 8.4
    points = tuple((at[0] + x * scale, at[1] - y * scale) for x, y in corners)
    return Area(points, fill, BLACK, LINE)


def _foot(unit: float, is_seen: bool) -> Iterator[Shape]:
    """The sole as it leaves the ground, from above: turned, or along its line."""
    yield _sole(unit, (0.0, -0.8 * unit), 8.2, TURNED_OUT if is_seen else 0.0, TINT)
    yield Line(((0.0, -9.8 * unit), (0.0, 0.0)), BLACK, LINE, DASH)
    if is_seen:
        turn = math.radians(TURNED_OUT)
        way = [
            (8.8 * unit * math.sin(a), -0.8 * unit - 8.8 * unit * math.cos(a))
            for a in (turn * i / 12 for i in range(13))
        ]
        yield Line(tuple(way), BLACK, LINE)


def _shoulders(unit: float, is_seen: bool) -> Iterator[Shape]:
    """A runner from in front: hands cross the middle, or stay on their own side."""
    tilt = 0.75 * unit if is_seen else 0.0
    yield Line(((-3.2 * unit, 0.0), (4.0 * unit, 0.0)), BLACK, LINE)
    yield _limb(
        (0.5 * unit, -3.9 * unit), (0.6 * unit, -0.4 * unit), 0.62 * unit, 0.4 * unit, WHITE
    )
    yield _limb(
        (-0.5 * unit, -3.9 * unit), (-0.9 * unit, -1.6 * unit), 0.62 * unit, 0.4 * unit, WHITE
    )
    chest = (
        (-1.35 * unit, -7.0 * unit - tilt),
        (1.35 * unit, -7.0 * unit + tilt),
        (0.9 * unit, -4.0 * unit),
        (-0.9 * unit, -4.0 * unit),
    )
    yield Area(chest, TINT, BLACK, LINE)
    yield Ring((0.0, -8.6 * unit), 0.95 * unit, TINT, BLACK, LINE)
    hand = 0.55 * unit if is_seen else -1.0 * unit
    for side, y in ((-1, -tilt), (1, tilt)):
        shoulder = (side * 1.45 * unit, -6.7 * unit + y)
        elbow = (side * 2.1 * unit, -5.0 * unit + y)
        end = (-side * hand, -5.9 * unit) if side < 0 else (-side * hand, -4.6 * unit)
        yield _limb(shoulder, elbow, 0.42 * unit, 0.36 * unit, BLACK)
        yield _limb(elbow, end, 0.36 * unit, 0.3 * unit, BLACK)
    yield Line(((0.0, -9.8 * unit), (0.0, -3.2 * unit)), BLACK, LINE, DASH)


def _path(unit: float, is_seen: bool) -> Iterator[Shape]:
    """The way of one foot from one landing to the next, from above, between two rails."""
    for x in (-1.5 * unit, 1.5 * unit):
        yield Line(((x, -9.8 * unit), (x, 0.0)), BLACK, LINE, DASH)
    swing = 2.9 * unit if is_seen else 0.0
    way = tuple(
        (swing * math.sin(math.pi * i / 24), (-2.6 - 4.2 * i / 24) * unit) for i in range(25)
    )
    yield Line(way[:-3], BLACK, 2 * LINE)
    yield from arrow(way[-4], way[-1], BLACK, 2 * LINE, 1.0 * unit)
    for y in (-0.2 * unit, -6.9 * unit):
        yield _sole(unit, (0.0, y), 2.6, 0.0, TINT)


_DRAWN: Final[dict[int, Callable[[float, bool], Iterator[Shape]]]] = {
    16: _foot,
    17: _shoulders,
    18: _path,
}


def _limb(start: Point, end: Point, wide: float, narrow: float, fill: str) -> Area:
    """A part with round ends, wider at its start."""
    heading = math.atan2(end[1] - start[1], end[0] - start[0])
    points = []
    for (x, y), radius, turn in ((end, narrow, heading), (start, wide, heading + math.pi)):
        points += [
            (x + radius * math.cos(turn + a), y + radius * math.sin(turn + a))
            for a in (math.pi * (i / 10 - 0.5) for i in range(11))
        ]
    edge = BLACK if fill != BLACK else None
    return Area(tuple(points), fill, edge, LINE)
