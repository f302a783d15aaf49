"""Small signs that stand beside their word: verdicts, change since last time, a strength.

A verdict is its band in small: the upright stroke is the limit, the dot stands where the value
stands. Never coloured, never alone. All are drawn around a centre, in units of the sign's height.
"""

import math
from typing import Final

from tapmark.checklist.verdict import CANT_TELL, FINE, LIKELY, NEAR_THE_LINE, NOT_MEASURED, SEEN
from tapmark.report.drawing.palette import BLACK, WHITE
from tapmark.report.drawing.shapes import Area, Line, Point, Ring, Shapes

CLOSER: Final = "closer to the idea"
FURTHER: Final = "further from the idea"
SAME: Final = "same"
CHANGES: Final = (CLOSER, FURTHER, SAME, CANT_TELL)
HEIGHT: Final = 3.5  # millimetres in print, with the stroke and the dot below
IN_TABLE: Final = 3.0  # the same in a table of many
STROKE: Final = 0.43 / HEIGHT
DOT: Final = 0.3
PAST: Final = 0.48  # from the stroke to the middle of a dot past it
OPEN: Final = 0.38  # radius of a ring: larger, so that a copier does not fill it
DASHES: Final = ((-0.68, -0.2), (0.2, 0.68))


def verdict_sign(
    word: str, centre: Point, height: float, ink: str = BLACK, paper: str = WHITE
) -> Shapes:
    """Return the sign of a verdict word; nothing for a word without a sign."""
    post, width = _post(centre, height, ink), height * STROKE
    if word == SEEN:
        return (post, Ring(_off(centre, height * PAST, 0), height * DOT, ink))
    if word in (LIKELY, FINE):  # an open ring past the stroke, not sure, or before it
        at = _off(centre, height * (PAST if word == LIKELY else -PAST), 0)
        return (post, Ring(at, height * OPEN - width / 2, paper, ink, width))
    if word == CANT_TELL:
        return _whisker(centre, 0.86 * height, height, ink)
    if word == NOT_MEASURED:
        ends = ((_off(centre, a * height, 0), _off(centre, b * height, 0)) for a, b in DASHES)
        return tuple(Line(each, ink, width) for each in ends)
    return _near(centre, height, ink, paper) if word == NEAR_THE_LINE else ()


def _near(centre: Point, height: float, ink: str, paper: str) -> Shapes:
    """The dot stands on the stroke: left half open, right half solid.

    The stroke stops at its rim, so that a copier does not fill the open half.
    """
    x, y = centre
    radius, width = height * OPEN, height * STROKE
    turns = [-math.pi / 2 + math.pi * i / 16 for i in range(17)]
    half = tuple((x + radius * math.cos(turn), y + radius * math.sin(turn)) for turn in turns)
    return (
        Line((_off(centre, 0, -0.62 * height), _off(centre, 0, 0.62 * height)), ink, width),
        Ring(centre, radius, paper),
        Area(half, ink),
        Ring(centre, radius - width / 2, None, ink, width),
    )


def _whisker(centre: Point, reach: float, height: float, ink: str) -> Shapes:
    bar, width = 0.2 * height, height * STROKE
    ends = [_off(centre, side * reach, 0) for side in (-1, 1)]
    whisker = [Line((ends[0], ends[1]), ink, width)]
    whisker += [Line((_off(end, 0, -bar), _off(end, 0, bar)), ink, width) for end in ends]
    return (_post(centre, height, ink), *whisker)


def table_sign(word: str, at: Point) -> Shapes:
    """Return a verdict among many: what is fine and what was not measured stays small."""
    if word == FINE:
        return (Ring(at, 0.8, WHITE, BLACK, 0.34),)
    if word == NOT_MEASURED:
        return (Line((_off(at, -0.9, 0), _off(at, 0.9, 0)), BLACK, 0.5),)
    return verdict_sign(word, at, IN_TABLE)


def change_sign(word: str, left: Point, height: float) -> Shapes:
    """Return the sign of a change, about 2.4 heights wide, from its left end on.

    word: one of CHANGES. Never an arrow up or down: those read as good and bad.
    """
    width = 1.25 * STROKE * height
    middle = _off(left, 1.2 * height, 0)
    if word == SAME:
        return tuple(
            Line((_off(left, 0.1 * height, dy), _off(left, 2.2 * height, dy)), BLACK, width)
            for dy in (-0.2 * height, 0.2 * height)
        )
    if word == CANT_TELL:
        return _whisker(middle, 1.05 * height, height, BLACK)
    ring_at = 2.02 if word == CLOSER else 0.34
    start, end = (0.0, 1.5) if word == CLOSER else (0.86, 2.36)
    ring = Ring(_off(left, ring_at * height, 0), 0.3 * height, WHITE, BLACK, width)
    return (*arrow(_off(left, start * height, 0), _off(left, end * height, 0), BLACK, width), ring)


def arrow(start: Point, end: Point, ink: str, width: float, head: float = 0.0) -> Shapes:
    """Return a straight arrow with a solid head; head is its length, 0 for the usual."""
    length = math.dist(start, end) or 1.0
    ux, uy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    long = min(head or 3.4 * width, length)
    wide = 0.42 * long
    neck = (end[0] - ux * long, end[1] - uy * long)
    tip = (
        end,
        (neck[0] - uy * wide, neck[1] + ux * wide),
        (neck[0] + uy * wide, neck[1] - ux * wide),
    )
    inside = (neck[0] + ux * width / 2, neck[1] + uy * width / 2)
    return (Line((start, inside), ink, width), Area(tip, ink))


def strength_tick(left: Point, height: float, ink: str = BLACK) -> Shapes:
    """Return a drawn tick with rounded ends, standing on left[1]."""
    width = 0.75 / HEIGHT * height
    at = [(0.1, -0.36), (0.42, -0.08), (1.05, -0.92)]
    points = tuple(_off(left, x * height, y * height) for x, y in at)
    return (Line(points, ink, width, is_round=True),)


def check_box(left_top: Point, size: float, width: float = 0.43) -> Shapes:
    """Return an empty square to tick; size is its outer edge."""
    x, y = left_top
    a, b = width / 2, size - width / 2
    corners = ((x + a, y + a), (x + b, y + a), (x + b, y + b), (x + a, y + b))
    return (Area(corners, None, BLACK, width),)


def _post(centre: Point, height: float, ink: str) -> Line:
    half = height / 2
    return Line((_off(centre, 0, -half), _off(centre, 0, half)), ink, height * STROKE)


def _off(point: Point, dx: float, dy: float) -> Point:
    return point[0] + dx, point[1] + dy
