"""A pair drawn: you and the idea with dotted lines and names; and the pairs seen from behind."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Final

from tapmark.report.drawing.body import Pose, points_of, sole_outline, turned
from tapmark.report.drawing.figure import HEAD_RADIUS, PARTS, FigureLook, extent, figure_shapes
from tapmark.report.drawing.idea import ANGLES, BEND, LEAN, LEVEL, PLUMB, THIGH, Measure, Pair
from tapmark.report.drawing.palette import BLACK, TINT, WHITE
from tapmark.report.drawing.shapes import (
    Area,
    Drawing,
    Label,
    Line,
    Point,
    Ring,
    Shape,
    Shapes,
    TextWidth,
    moved,
)
from tapmark.report.drawing.signs import arrow


@dataclass(frozen=True)
class Caption:
    """What is written below the figures.

    you, idea:         their names.
    about, size, says: "about", "10 cm" and "ahead of the knee"; a size of "" leaves all three out.
    idea_says:         the same of the idea, without a number: "under the knee".
    """

    you: str
    idea: str
    about: str = ""
    size: str = ""
    says: str = ""
    idea_says: str = ""


@dataclass(frozen=True)
class PairLook:
    """Line, letters and colours of a pair, and how wide a text is.

    unit: a millimetre of paper in the unit of the place.
    """

    line: float
    text: float
    number: float
    width: TextWidth
    ink: str = BLACK
    paper: str = WHITE
    tint: str = TINT
    unit: float = 1.0


LEAST_ARC: Final = 7.0  # degrees; a smaller one would lie on the limb
DISC, DISCS = 0.35, 1.7  # radius and pitch of the dots of a dotted line, in mm
THICKEST: Final = 0.6  # mm of an outline, however large the figure: it spares toner
BAR_DOWN: Final = 4.0  # the bar of a plumb line, under the ground
UNDER: Final = 1.35  # em from the ground to the baseline of the names


def pair_drawing(
    pair: Pair,
    caption: Caption,
    width: float,
    height: float,
    look: PairLook,
    shows_you: bool = True,
) -> Drawing:
    """Draw both poses in that width, at most that many mm a body height, with their names.

    shows_you: False leaves the left half free, for a photo.
    """
    reaches = [extent(pair.you), extent(pair.idea)]
    behind, ahead = (max(reach[i] for reach in reaches) for i in (0, 1))
    height = min(height, 0.98 * width / 2 / (behind + ahead))
    middle = width / 4 + (behind - ahead) / 2 * height
    hips = middle, middle + width / 2
    scene = _Scene(pair, caption, width, height, hips, look, shows_you)
    above = height * max(map(_top, (pair.you, pair.idea)))
    below = UNDER * look.text + (len(scene.rows) - 1) * 1.35 * look.text + 0.3 * look.text
    return Drawing(scene.shapes, above, below)


def strength_drawing(pair: Pair, width: float, height: float, look: PairLook) -> Drawing:
    """Draw one figure in the middle of a width, the ground at y = 0, without names."""
    behind, ahead = extent(pair.you)
    height = min(height, 0.94 * width / (behind + ahead))
    hip = width / 2 + (behind - ahead) / 2 * height
    scene = _Scene(pair, Caption("", ""), width, height, (hip, hip), look)
    return Drawing(lambda: scene.figure(pair.you, hip), height * _top(pair.you), 0.0)


def _top(pose: Pose) -> float:
    """Return the room above the ground that a figure takes, in body heights."""
    return pose.hip_up + pose.build.trunk * 1.07 + 0.17


Written = tuple[str, float, bool]  # text, size, bold
_Placed = tuple[list[Written], float]  # texts side by side, and their left end
SPACE: Final = 1.8


class _Scene:
    """Sets one pair: figures, dotted lines, bar and names; hips are their x."""

    def __init__(
        self,
        pair: Pair,
        caption: Caption,
        width: float,
        height: float,
        hips: tuple[float, float],
        look: PairLook,
        shows_you: bool = True,
    ) -> None:
        self.pair, self.caption, self.look = pair, caption, look
        self.width, self.height, self.hips = width, height, hips
        self.shows_you, self.measure = shows_you, pair.measure
        self.placed = ((pair.you, hips[0]), (pair.idea, hips[1]))
        thick = THICKEST * look.unit
        self.figure_look = FigureLook(look.ink, look.paper, look.tint, look.line, pair.solid, thick)
        self.has_level = shows_you and self.measure is not None and self.measure.kind == LEVEL
        left, right = (
            hips[0] + extent(pair.you)[1] * height,
            hips[1] - extent(pair.idea)[0] * height,
        )
        self.level_x, self.level_room = (left + right) / 2, right - left  # between the figures
        number = (caption.about, look.text, False), (caption.size, look.number, True)
        says = (caption.says, look.text, False)
        self.number: list[Written] = [*number, says] if caption.size else []
        self._figures: dict[tuple[Pose, float], Shapes] = {}

    def shapes(self) -> Shapes:
        """Return everything: dotted lines, figures, bars and names."""
        line, ink = self.look.line, self.look.ink
        drawn = self.placed[0 if self.shows_you else 1 :]
        figures = [s for p, x in drawn for s in self._figure(p, x)]
        marks = [s for p, x in drawn for s in self._marks(p, x)]
        # your own limb, pale, behind the idea's: it shows what is to change
        pale = replace(self.figure_look, ink=self.look.tint)
        limb = [part for part in PARTS if part in self.pair.solid]
        at = self.hips[1], 0.0
        ghost = figure_shapes(self.pair.you, self.height, at, pale, parts=limb)
        ground = Line(((0.0, line / 2), (self.width, line / 2)), ink, line)
        levels = self._level() if self.has_level else ()
        return (*levels, *ghost, *figures, ground, *marks, *self._names())

    def figure(self, pose: Pose, x: float) -> Shapes:
        """Return one figure with its marks, nothing below the ground."""
        shapes = list(self._figure(pose, x))
        for mark in self._marks(pose, x):
            is_line = isinstance(mark, Line) and any(y <= 0 for _, y in mark.points)
            if is_line or (isinstance(mark, Ring) and mark.centre[1] <= 0):
                shapes.append(mark)
        return tuple(shapes)

    def _figure(self, pose: Pose, x: float) -> Shapes:
        if (pose, x) not in self._figures:
            drawn = figure_shapes(pose, self.height, (x, 0.0), self.figure_look)
            self._figures[pose, x] = drawn
        return self._figures[pose, x]

    def _dotted(self, start: Point, end: Point, pose: Pose, x: float) -> Iterator[Shape]:
        """Discs of ink, and of paper where they lie on ink, as far as the head."""
        look, disc = self.look, DISC * self.look.unit
        areas = [s for s in self._figure(pose, x) if isinstance(s, Area)][::-1]
        boxed = [(s, tuple(map(min, *s.points)), tuple(map(max, *s.points))) for s in areas]
        head = self._at(pose, x, "head")
        for at in _dots(start, end, DISCS * look.unit):
            if math.dist(at, head) < HEAD_RADIUS * self.height + disc:
                return
            there = (
                area.fill
                for area, (left, up), (right, down) in boxed  # most lie elsewhere
                if left <= at[0] <= right and up <= at[1] <= down and _is_inside(at, area.points)
            )
            top = next(there, look.paper)
            yield Ring(at, disc, look.paper if top == look.ink else look.ink)

    def _at(self, pose: Pose, x: float, name: str) -> Point:
        ahead, up = points_of(pose)[name]
        return x + ahead * self.height, -up * self.height

    def _marks(self, pose: Pose, x: float) -> Iterator[Shape]:
        measure, look = self.measure, self.look
        if measure and measure.kind == PLUMB:
            yield from self._plumbs(pose, x, measure)
        elif measure and measure.kind in ANGLES:
            yield from self._angle(pose, x, measure)
        radius = 0.027 * self.height
        for at in (self._at(pose, x, name) for name in self.pair.targets):
            yield Ring(at, radius + look.line / 2, look.paper, look.ink, look.line)
            yield Ring(at, 0.32 * radius, look.ink)

    def _plumbs(self, pose: Pose, x: float, measure: Measure) -> Iterator[Shape]:
        start, end = (self._at(pose, x, name) for name in (measure.start, measure.end))
        ink, line, mm = self.look.ink, self.look.line, self.look.unit
        down = BAR_DOWN * mm
        both = measure.start.endswith("knee") and measure.end.endswith("knee")
        for top in (start, end) if both else (start,):
            yield from self._dotted(top, (top[0], down + mm), pose, x)
        if abs(end[0] - start[0]) < 4 * line:
            return
        yield Line(((start[0], down), (end[0], down)), ink, line)
        for px in (start[0], end[0]):
            yield Line(((px, down - 1.2 * mm), (px, down + 1.2 * mm)), ink, line)

    def _angle(self, pose: Pose, x: float, measure: Measure) -> Iterator[Shape]:
        """A dotted line from the joint, and an arc from it to the limb."""
        start = self._at(pose, x, measure.start)
        direction, turn = measure.direction(pose), measure.value(pose)
        long = {LEAN: 0.46, BEND: 0.24, THIGH: 0.3}[measure.kind] * self.height
        yield from self._dotted(start, _away(start, direction, long), pose, x)
        turn = turn if measure.kind == THIGH else -turn
        arc = [_away(start, direction + turn * i / 12, 0.84 * long) for i in range(13)]
        if abs(turn) > LEAST_ARC:
            yield Line(tuple(arc), self.look.paper, 2.4 * self.look.line)
            yield Line(tuple(arc), self.look.ink, self.look.line)

    def _level(self) -> Iterator[Shape]:
        middle, line, mm = self.level_x, self.look.line, self.look.unit
        you, idea = (self._at(pose, x, "hip") for pose, x in self.placed)
        for hip, reach in ((you, 5.0 * mm), (idea, -5.0 * mm)):
            for at in _dots(hip, (middle + reach, hip[1]), DISCS * mm):
                yield Ring(at, DISC * mm, self.look.ink)
        if abs(idea[1] - you[1]) < 4 * line:
            return
        yield Line(((middle, you[1]), (middle, idea[1])), self.look.ink, line)
        for y in (you[1], idea[1]):
            yield Line(((middle - 1.6 * mm, y), (middle + 1.6 * mm, y)), self.look.ink, 1.6 * line)

    @cached_property
    def _is_between(self) -> bool:
        """Whether the number of a level stands in the picture, between the figures."""
        if not (self.has_level and self.number):
            return False
        widest = max(self.look.width(*part) for part in self.number)
        tall = 2.2 * self.look.unit + 1.3 * self.look.number + 0.8 * self.look.text
        head = points_of(self.pair.you)["head"][1] - self.pair.idea.hip_up
        return widest <= self.level_room - self.look.unit and tall <= head * self.height

    @cached_property
    def rows(self) -> list[list[_Placed]]:
        """Rows of names under the figures: the first way in which no two of them touch."""
        ways = list(self._ways())
        return next((rows for rows in ways if all(map(self._fits, rows))), ways[-1])

    def _ways(self) -> Iterator[list[list[_Placed]]]:
        """Yield rows from all in one line down to names and number alone."""
        told, text = self.caption, self.look.text
        names: list[list[Written]] = [[(told.you, text, True)], [(told.idea, text, True)]]
        number = [] if self._is_between else self.number
        says: list[Written] = [(told.idea_says, text, False)] if told.idea_says else []
        bars = [self._bar(pose, x) for pose, x in self.placed]
        both = (0, number), (1, says)
        yield [[part for i, more in both for part in self._line(i, names[i], more, bars[i])]]
        first = [part for i in (0, 1) for part in self._line(i, names[i], [], bars[i])]
        for more in ((number, says), (number, []), (number[:2], [])):
            second = [
                (pieces, self._held(sum(bar) / 2 if bar else x, self._wide(pieces)))
                for pieces, bar, x in zip(more, bars, self.hips, strict=True)
                if pieces
            ]
            yield [first, second] if second else [first]

    def _line(
        self, i: int, name: list[Written], more: list[Written], bar: tuple[float, float] | None
    ) -> list[_Placed]:
        """Name and number on either side of a bar, or together under the hip."""
        if bar is None:
            whole = [*name, *more]
            return [(whole, self._held(self.hips[i], self._wide(whole)))]
        placed = [(name, bar[0] - SPACE * self.look.unit - self._wide(name))]
        return [*placed, (more, bar[1] + SPACE * self.look.unit)] if more else placed

    def _held(self, middle: float, wide: float) -> float:
        """Return the left end of a text in the middle of a place, kept within the width."""
        return min(max(middle - wide / 2, 0.0), self.width - wide)

    def _fits(self, row: list[_Placed]) -> bool:
        ends = [(left, left + self._wide(pieces)) for pieces, left in row]
        apart = all(b[0] - a[1] >= 2.0 * self.look.unit for a, b in pairwise(ends))
        return apart and ends[0][0] >= -0.01 and ends[-1][1] <= self.width + 0.01

    def _bar(self, pose: Pose, x: float) -> tuple[float, float] | None:
        if self.measure is None or self.measure.kind != PLUMB:
            return None
        ends = [self._at(pose, x, name)[0] for name in (self.measure.start, self.measure.end)]
        return min(ends), max(ends)

    def _wide(self, pieces: list[Written]) -> float:
        gaps = SPACE * self.look.unit * max(0, len(pieces) - 1)
        return sum(self.look.width(*each) for each in pieces) + gaps

    def _names(self) -> Iterator[Shape]:
        look = self.look
        for i, row in enumerate(self.rows):
            y = (UNDER + 1.35 * i) * look.text
            for pieces, x in row:
                for text, size, is_bold in pieces:
                    yield Label((x, y), text, size, look.ink, is_bold)
                    x += look.width(text, size, is_bold) + SPACE * look.unit
        if self._is_between:
            you, idea = (self._at(pose, x, "hip")[1] for pose, x in self.placed)
            top, low = min(you, idea) - 2.2 * look.unit, max(you, idea) + 1.5 * look.text
            heights = (top - 1.3 * look.number, top, low)
            for (text, em, is_bold), y in zip(self.number, heights, strict=True):
                yield Label((self.level_x, y), text, em, look.ink, is_bold, False, "c")


def _away(start: Point, direction: float, length: float) -> Point:
    """Return the point that far away on a page, where y runs down."""
    turn = math.radians(direction)
    return start[0] + length * math.sin(turn), start[1] + length * math.cos(turn)


def _dots(start: Point, end: Point, pitch: float) -> Iterator[Point]:
    """Yield the middles of the dots of a line."""
    n = max(1, round(math.dist(start, end) / pitch))
    for i in range(1, n + 1):
        yield start[0] + (end[0] - start[0]) * i / n, start[1] + (end[1] - start[1]) * i / n


def _is_inside(at: Point, outline: Sequence[Point]) -> bool:
    """Whether a point lies in a convex outline: on one side of all its edges."""
    x, y = at
    is_left = is_right = True
    xa, ya = outline[-1]
    for xb, yb in outline:
        side = (xb - xa) * (y - ya) - (yb - ya) * (x - xa)
        is_left, is_right = is_left and side >= 0, is_right and side <= 0
        if not (is_left or is_right):
            return False
        xa, ya = xb, yb
    return True


LINE: Final = 0.43
DASH: Final = (3.4 * LINE, 2.6 * LINE)
TURNED_OUT: Final = 26.0  # degrees; past the limit of the foot-turn row


def back_pair(item: int, caption: Caption, width: float, height: float, look: PairLook) -> Drawing:
    """Return the pair for item 16, 17 or 18 within width × height, its lower edge at y = 0.

    Raises KeyError for any other item.
    """
    draw, half = BACK_PAIRS[item], width / 2
    unit = min(height, 1.6 * half) / 10

    def both() -> Iterator[Shape]:
        names = []
        for x, text, is_seen in ((0.5, caption.you, True), (1.5, caption.idea, False)):
            yield from moved(tuple(draw(unit, is_seen)), x * half, 0.0)
            at = x * half, UNDER * look.text
            names.append(Label(at, text, look.text, BLACK, True, False, "c"))
        yield from names

    return Drawing(lambda: tuple(both()), 10.0 * unit, (UNDER + 0.3) * look.text)


def _sole(unit: float, at: Point, size: float, turn: float) -> Area:
    """A sole with its heel at a point, toe up the page, turned outward by degrees."""
    corners = [turned((0.0, 0.0), x, y + 4.2, -turn) for x, y in sole_outline()]
    scale = size * unit / 8.4
    return Area(
        tuple((at[0] + x * scale, at[1] - y * scale) for x, y in corners), TINT, BLACK, LINE
    )


def _foot(unit: float, is_seen: bool) -> Iterator[Shape]:
    """The sole as it leaves the ground, from above: turned, or along its line."""
    yield _sole(unit, (0.0, -0.8 * unit), 8.2, TURNED_OUT if is_seen else 0.0)
    yield Line(((0.0, -9.8 * unit), (0.0, 0.0)), BLACK, LINE, DASH)
    if is_seen:
        turns = (math.radians(TURNED_OUT) * i / 12 for i in range(13))
        way = ((8.8 * math.sin(a), -0.8 - 8.8 * math.cos(a)) for a in turns)
        yield Line(tuple((x * unit, y * unit) for x, y in way), BLACK, LINE)


def _shoulders(unit: float, is_seen: bool) -> Iterator[Shape]:
    """A runner from in front: hands cross the middle, or stay on their own side."""

    def at(x: float, y: float) -> Point:
        return x * unit, y * unit

    tilt = 0.75 if is_seen else 0.0
    yield Line((at(-3.2, 0.0), at(4.0, 0.0)), BLACK, LINE)
    for start, end in ((at(0.5, -3.9), at(0.6, -0.4)), (at(-0.5, -3.9), at(-0.9, -1.6))):
        yield _limb(start, end, 0.62 * unit, 0.4 * unit, WHITE)
    chest = at(-1.35, -7.0 - tilt), at(1.35, -7.0 + tilt), at(0.9, -4.0), at(-0.9, -4.0)
    yield Area(chest, TINT, BLACK, LINE)
    yield Ring(at(0.0, -8.6), 0.95 * unit, TINT, BLACK, LINE)
    hand = 0.55 if is_seen else -1.0
    for side, high in ((-1, -5.9), (1, -4.6)):
        shoulder, elbow = (at(side * x, y + side * tilt) for x, y in ((1.45, -6.7), (2.1, -5.0)))
        yield _limb(shoulder, elbow, 0.42 * unit, 0.36 * unit, BLACK)
        yield _limb(elbow, at(-side * hand, high), 0.36 * unit, 0.3 * unit, BLACK)
    yield Line((at(0.0, -9.8), at(0.0, -3.2)), BLACK, LINE, DASH)


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
        yield _sole(unit, (0.0, y), 2.6, 0.0)


BACK_PAIRS: Final = {16: _foot, 17: _shoulders, 18: _path}
"""Items that are seen from behind or in front, each with a drawing of its own."""


def _limb(start: Point, end: Point, wide: float, narrow: float, fill: str) -> Area:
    """A part with round ends, wider at its start."""
    heading = math.atan2(end[1] - start[1], end[0] - start[0])
    points = []
    for (x, y), radius, turn in ((end, narrow, heading), (start, wide, heading + math.pi)):
        turns = (turn + math.pi * (i / 10 - 0.5) for i in range(11))
        points += [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in turns]
    return Area(tuple(points), fill, BLACK if fill != BLACK else None, LINE)
