"""You, and the idea: the athlete's own pose beside itself with one fault put right."""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Final

from tapmark.marks.points import MID_STANCE, OPPOSITE_TOUCHDOWN, PEAK_KNEE_LIFT, TOE_OFF, TOUCHDOWN
from tapmark.report.drawing.body import (
    CONTACT,
    Arm,
    Leg,
    Pose,
    Side,
    above_ground,
    on_ground,
    points_of,
    sole_outline,
    turned,
)
from tapmark.report.drawing.figure import HEAD_RADIUS, PARTS, FigureLook, extent, figure_shapes
from tapmark.report.drawing.palette import BLACK, TINT, WHITE
from tapmark.report.drawing.shapes import Area, Label, Line, Point, Ring, Shape, Shapes, moved
from tapmark.report.drawing.signs import arrow
from tapmark.report.drawing.step_line import TextWidth

Poses = Mapping[str, Pose]
Change = Callable[[Pose, Side, Poses], Pose]
PLUMB, LEVEL, LEAN, BEND, THIGH = "plumb", "level", "lean", "bend", "thigh"
ANGLES: Final = (LEAN, BEND, THIGH)


@dataclass(frozen=True)
class Measure:
    """What the dotted line of a pair shows, and which row of the catalogue doubts it.

    kind:    "plumb": how far `end` lies ahead of a plumb line through `start`; "level": how high
             `start` is; "lean", "bend", "thigh": the angle at `start` from upright, from the
             line of the thigh, from straight down.
    row:     its doubt is that of this row; per_leg says that the row is in % of leg, not in °.
    beyond:  +1 where you have more than the idea, −1 where you have less.
    sign:    sign that your own value must have for the words beside it to be true.
    """

    kind: str
    start: str
    end: str = ""
    row: str = ""
    per_leg: bool = False
    beyond: int = 1
    sign: int = 1

    def value(self, pose: Pose) -> float:
        """Return what is shown of a pose, in body heights or degrees."""
        points = points_of(pose)
        if self.kind == PLUMB:
            return points[self.end][0] - points[self.start][0]
        if self.kind == LEVEL:
            return points[self.start][1]
        if self.kind == LEAN:
            return pose.trunk
        leg = pose.near_leg if self._is_near else pose.far_leg
        return 180.0 - leg.knee if self.kind == BEND else leg.thigh

    def length(self, pose: Pose) -> float:
        """Return how far start and end are apart, in body heights."""
        points = points_of(pose)
        return math.dist(points[self.start], points[self.end])

    @property
    def _is_near(self) -> bool:
        return "far" not in f"{self.start} {self.end}"

    def direction(self, pose: Pose) -> float:
        """Return where the dotted line of an angle runs, in degrees from straight down."""
        leg = pose.near_leg if self._is_near else pose.far_leg
        return {LEAN: 180.0, THIGH: 0.0, BEND: leg.thigh}[self.kind]


@dataclass(frozen=True)
class Pair:
    """Two poses that differ in one thing only.

    solid:    what is drawn in ink in both.
    measure:  what the dotted line shows; None where there is none.
    targets:  joints marked with a small target.
    """

    event: str
    you: Pose
    idea: Pose
    solid: frozenset[str]
    measure: Measure | None = None
    targets: tuple[str, ...] = ()

    @property
    def away(self) -> float:
        """How far you are past the idea, in body heights or degrees; negative on its other side."""
        if self.measure is None:
            return 0.0
        return self.measure.beyond * (self.measure.value(self.you) - self.measure.value(self.idea))


@dataclass(frozen=True)
class _Rule:
    """How an item is put right.

    speaks_of:  "contact", "swing" or "near" leg, "trunk" or "arms".
    measure, targets: point names with "leg" for the leg spoken of and "other" for the other.
    """

    events: tuple[str, ...]
    speaks_of: str
    change: Change
    measure: Measure | None = None
    targets: tuple[str, ...] = ()


def pair_of(item: int, poses: Poses, is_far: bool = False) -> Pair | None:
    """Return the pair for an item, or None.

    is_far: the item is worst at the far foot, so its contact is opposite touchdown.
    None where the athlete's own pose is missing, and where it already is as the idea has it: then
    the idea would show a step back. Items 16 to 18 are seen from behind or in front.
    """
    rule = _RULES.get(item)
    pair = _paired(rule, poses, is_far) if rule else None
    return pair if pair and (pair.measure is None or pair.away > 0) else None


def _paired(rule: _Rule, poses: Poses, is_far: bool) -> Pair | None:
    order = rule.events[::-1] if is_far else rule.events
    event = next((each for each in order if each in poses), None)
    if event is None:
        return None
    you = poses[event]
    side = _side(rule, event)
    idea = _grounded(rule.change(you, side, poses), event)
    other = "far" if side == "near" else "near"

    def named(point: str) -> str:
        return point.replace("leg ", f"{side} ").replace("other ", f"{other} ")

    measure = rule.measure
    if measure:
        measure = replace(measure, start=named(measure.start), end=named(measure.end))
    return Pair(event, you, idea, _solid(rule, side), measure, tuple(map(named, rule.targets)))


def _side(rule: _Rule, event: str) -> Side:
    contact = CONTACT.get(event, "near")
    if rule.speaks_of == "swing":
        return "far" if contact == "near" else "near"
    return contact


def _solid(rule: _Rule, side: Side) -> frozenset[str]:
    if rule.speaks_of == "trunk":
        return frozenset({"trunk"})
    if rule.speaks_of == "arms":
        return frozenset({"near arm"})
    return frozenset({f"{side} leg"})


def _grounded(pose: Pose, event: str) -> Pose:
    return on_ground(pose, CONTACT[event]) if event in CONTACT else above_ground(pose)


def _shank_under(pose: Pose, side: Side, poses: Poses) -> Pose:
    return pose.with_leg(side, replace(pose.leg(side), shank=2.0))


def _soft_knee(pose: Pose, side: Side, poses: Poses) -> Pose:
    leg = pose.leg(side)
    return pose.with_leg(side, replace(leg, shank=leg.thigh - 27.0))


def _knee_beside(pose: Pose, side: Side, poses: Poses) -> Pose:
    stance = pose.leg("far" if side == "near" else "near")
    return _turned_thigh(pose, side, max(pose.leg(side).thigh, stance.thigh - 20.0))


def _came_through(pose: Pose, side: Side, poses: Poses) -> Pose:
    return _turned_thigh(pose, side, max(pose.leg(side).thigh, 4.0))


def _turned_thigh(pose: Pose, side: Side, thigh: float) -> Pose:
    """Turn a whole leg at the hip; knee and ankle keep their angles."""
    leg = pose.leg(side)
    by = thigh - leg.thigh
    return pose.with_leg(side, Leg(thigh, leg.shank + by, leg.foot + by))


def _pushed_to(thigh: float, bend: float | None = None) -> Change:
    def change(pose: Pose, side: Side, poses: Poses) -> Pose:
        leg = pose.leg(side)
        shank = thigh - (leg.thigh - leg.shank if bend is None else bend)
        return pose.with_leg(side, Leg(thigh, shank, leg.foot + 0.5 * (shank - leg.shank)))

    return change


def _tall(pose: Pose, side: Side, poses: Poses) -> Pose:
    return _stance(pose, side, 34.0)


def _stiff(pose: Pose, side: Side, poses: Poses) -> Pose:
    landed = poses.get(TOUCHDOWN)
    bend = 180.0 - landed.leg(side).knee + 12.0 if landed else 34.0
    return _stance(pose, side, min(bend, 180.0 - pose.leg(side).knee))


def _stance(pose: Pose, side: Side, bend: float) -> Pose:
    """Bend the standing leg by that much with the hip over the ankle."""
    return pose.with_leg(side, Leg(bend / 2, -bend / 2))


def _lean(degrees: float) -> Change:
    return lambda pose, side, poses: replace(pose, trunk=degrees)


def _straight_down(pose: Pose, side: Side, poses: Poses) -> Pose:
    thigh = min(pose.leg(side).thigh, 31.0)
    return pose.with_leg(side, replace(pose.leg(side), thigh=thigh, shank=2.0))


def _folded(pose: Pose, side: Side, poses: Poses) -> Pose:
    leg = pose.leg(side)
    shank = leg.thigh - 132.0
    return pose.with_leg(side, Leg(leg.thigh, shank, shank - 20.0))


def _lifted(pose: Pose, side: Side, poses: Poses) -> Pose:
    return _turned_thigh(pose, "far", max(pose.far_leg.thigh, 66.0))


def _unchanged(pose: Pose, side: Side, poses: Poses) -> Pose:
    return pose


def _in_time(pose: Pose, side: Side, poses: Poses) -> Pose:
    return replace(pose, near_arm=Arm(46.0, 132.0), far_arm=Arm(-56.0, 22.0))


_LANDING: Final = (TOUCHDOWN, OPPOSITE_TOUCHDOWN)
_RULES: Final = {
    1: _Rule(
        _LANDING,
        "contact",
        _shank_under,
        Measure(PLUMB, "leg knee", "leg ankle", "reach"),
        ("leg knee", "leg ankle"),
    ),
    2: _Rule(
        _LANDING,
        "contact",
        _soft_knee,
        Measure(BEND, "leg knee", row="knee_touchdown", beyond=-1),
        ("leg knee",),
    ),
    3: _Rule(
        _LANDING,
        "swing",
        _knee_beside,
        Measure(PLUMB, "leg knee", "other knee", "knee_separation", per_leg=True),
        ("leg knee", "other knee"),
    ),
    4: _Rule(
        (OPPOSITE_TOUCHDOWN, TOUCHDOWN),
        "swing",
        _came_through,
        Measure(PLUMB, "hip", "leg knee", "separation_behind", True, beyond=-1, sign=-1),
        ("hip", "leg knee"),
    ),
    5: _Rule(
        (TOE_OFF,),
        "near",
        _pushed_to(-31.0),
        Measure(PLUMB, "hip", "leg toe", "thigh_toe_off", beyond=-1, sign=-1),
        ("hip",),
    ),
    6: _Rule(
        (TOE_OFF,),
        "near",
        _pushed_to(-27.0),
        Measure(PLUMB, "hip", "leg toe", "thigh_toe_off", sign=-1),
        ("hip",),
    ),
    7: _Rule((TOE_OFF,), "near", _pushed_to(-28.0, bend=28.0), targets=("hip", "leg knee")),
    8: _Rule(
        (MID_STANCE,), "near", _tall, Measure(LEVEL, "hip", "", "leg_stack", True, -1), ("hip",)
    ),
    9: _Rule(_LANDING, "trunk", _lean(7.0), Measure(LEAN, "hip", row="trunk_lean")),
    10: _Rule(
        _LANDING, "trunk", _lean(6.0), Measure(LEAN, "hip", row="trunk_lean", beyond=-1, sign=-1)
    ),
    11: _Rule(
        (MID_STANCE,), "near", _stiff, Measure(BEND, "leg knee", row="knee_bend"), ("leg knee",)
    ),
    12: _Rule(
        _LANDING,
        "contact",
        _straight_down,
        Measure(THIGH, "hip", "leg knee", "thigh_touchdown"),
        ("hip",),
    ),
    13: _Rule((MID_STANCE,), "swing", _folded, targets=("leg knee",)),
    14: _Rule((PEAK_KNEE_LIFT,), "swing", _lifted, targets=("far knee",)),
    15: _Rule((PEAK_KNEE_LIFT, TOE_OFF), "arms", _in_time),
}


_SHOWS: Final = {  # strength -> the moment, the limb and the dotted line that show it
    "under_knee": _RULES[1],
    "pushing_contact": _RULES[1],
    "knees_meet": _RULES[3],
    "quick_through": _RULES[4],
    "hip_finishes": _RULES[7],
    "tall": replace(_RULES[8], measure=None),
    "steady_chest": _RULES[9],
    "springy": replace(_RULES[11], measure=None),
    "front_leg_down": _RULES[12],
    "compact": _RULES[13],
    "arms_and_legs": _RULES[15],
}


def strength_of(key: str, poses: Poses) -> Pair | None:
    """Return the athlete's own pose that shows a strength, as both poses of a pair; None without.

    What is seen from behind, or in several steps only, has no such pose.
    """
    rule = _SHOWS.get(key)
    return _paired(replace(rule, change=_unchanged), poses, False) if rule else None


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
class PairDrawing:
    """A drawing with the ground at y = 0 and the left end at x = 0, and the room it takes.

    draw:          makes the shapes.
    above, below:  room above and under the ground.
    """

    draw: Callable[[], Shapes]
    above: float
    below: float

    @property
    def shapes(self) -> Shapes:
        """Everything drawn; made when it is asked for, since pages try several sizes."""
        return self.draw()


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
) -> PairDrawing:
    """Draw both poses in that width, at most that many mm a body height, with their names.

    shows_you: False leaves the left half free, for a photo.
    """
    reaches = [extent(pair.you), extent(pair.idea)]
    behind = max(reach[0] for reach in reaches)
    ahead = max(reach[1] for reach in reaches)
    height = min(height, 0.98 * width / 2 / (behind + ahead))
    middle = width / 4 + (behind - ahead) / 2 * height
    tops = [pose.hip_up + pose.build.trunk * 1.07 + 0.17 for pose in (pair.you, pair.idea)]
    hips = middle, middle + width / 2
    scene = _Scene(pair, caption, width, height, hips, look, shows_you)
    rows = scene.rows
    return PairDrawing(
        scene.shapes,
        above=height * max(tops),
        below=UNDER * look.text + (len(rows) - 1) * 1.35 * look.text + 0.3 * look.text,
    )


def strength_drawing(pair: Pair, width: float, height: float, look: PairLook) -> PairDrawing:
    """Draw one figure in the middle of a width, the ground at y = 0, without names."""
    behind, ahead = extent(pair.you)
    height = min(height, 0.94 * width / (behind + ahead))
    hip = width / 2 + (behind - ahead) / 2 * height
    scene = _Scene(pair, Caption("", ""), width, height, (hip, hip), look)
    top = pair.you.hip_up + pair.you.build.trunk * 1.07 + 0.17
    return PairDrawing(lambda: scene.figure(pair.you, hip), height * top, 0.0)


Written = tuple[str, float, bool]  # text, size, bold
_Placed = tuple[list[Written], float]  # texts side by side, and their left end
SPACE: Final = 1.8


@dataclass(frozen=True)
class _Scene:
    """Sets one pair: figures, dotted lines, bar and names; hips are their x."""

    pair: Pair
    caption: Caption
    width: float
    height: float
    hips: tuple[float, float]
    look: PairLook
    shows_you: bool = True

    @property
    def poses(self) -> tuple[Pose, Pose]:
        return self.pair.you, self.pair.idea

    def shapes(self) -> Shapes:
        """Return everything: dotted lines, figures, bars and names."""
        look = self._figure_look
        drawn = list(zip(self.poses, self.hips, strict=True))[0 if self.shows_you else 1 :]
        figures = [s for p, x in drawn for s in figure_shapes(p, self.height, (x, 0.0), look)]
        marks = [s for p, x in drawn for s in self._marks(p, x)]
        ground = Line(
            ((0.0, self.look.line / 2), (self.width, self.look.line / 2)),
            self.look.ink,
            self.look.line,
        )
        lines = tuple(self._level()) if self._has_level else ()
        return (*lines, *self._ghost(), *figures, ground, *marks, *self._names())

    def figure(self, pose: Pose, x: float) -> Shapes:
        """Return one figure with its marks, nothing below the ground."""
        look = self._figure_look
        marks = (s for s in self._marks(pose, x) if not _is_low(s))
        return (*figure_shapes(pose, self.height, (x, 0.0), look), *marks)

    def _ghost(self) -> Shapes:
        """Your own limb, pale, behind the idea's: it shows what is to change."""
        limbs = [part for part in PARTS if part in self.pair.solid]
        look = replace(self._figure_look, ink=self.look.tint)
        return figure_shapes(self.pair.you, self.height, (self.hips[1], 0.0), look, parts=limbs)

    def _dotted(self, start: Point, end: Point, pose: Pose, x: float) -> Iterator[Shape]:
        """Discs of ink, and of paper where they lie on a solid limb."""
        look = self._figure_look
        limbs = [part for part in PARTS if part in self.pair.solid]
        solid = figure_shapes(pose, self.height, (x, 0.0), look, parts=limbs)
        areas = [s.points for s in solid if isinstance(s, Area) and s.fill == look.ink]
        head = self._at(pose, x, "head")
        for at in _dots(start, end, DISCS * self.look.unit):
            if math.dist(at, head) < HEAD_RADIUS * self.height + DISC * self.look.unit:
                continue
            yield Ring(
                at,
                DISC * self.look.unit,
                self.look.paper if any(_is_inside(at, each) for each in areas) else self.look.ink,
            )

    @property
    def _figure_look(self) -> FigureLook:
        look = self.look
        thick = THICKEST * look.unit
        return FigureLook(look.ink, look.paper, look.tint, look.line, self.pair.solid, thick)

    def _at(self, pose: Pose, x: float, name: str) -> Point:
        ahead, up = points_of(pose)[name]
        return x + ahead * self.height, -up * self.height

    def _marks(self, pose: Pose, x: float) -> Iterator[Shape]:
        measure = self.pair.measure
        if measure and measure.kind == PLUMB:
            yield from self._plumbs(pose, x, measure)
        elif measure and measure.kind in ANGLES:
            yield from self._angle(pose, x, measure)
        for name in self.pair.targets:
            yield from _target(self._at(pose, x, name), self.height, self.look)

    def _plumbs(self, pose: Pose, x: float, measure: Measure) -> Iterator[Shape]:
        start, end = (self._at(pose, x, name) for name in (measure.start, measure.end))
        mm = self.look.unit
        down = BAR_DOWN * mm
        both = measure.start.endswith("knee") and measure.end.endswith("knee")
        for top in (start, end) if both else (start,):
            yield from self._dotted(top, (top[0], down + mm), pose, x)
        line = self.look.line
        if abs(end[0] - start[0]) < 4 * line:
            return
        yield Line(((start[0], down), (end[0], down)), self.look.ink, line)
        for px in (start[0], end[0]):
            yield Line(((px, down - 1.2 * mm), (px, down + 1.2 * mm)), self.look.ink, line)

    def _angle(self, pose: Pose, x: float, measure: Measure) -> Iterator[Shape]:
        """A dotted line from the joint, and an arc from it to the limb."""
        start = self._at(pose, x, measure.start)
        direction, turn = measure.direction(pose), measure.value(pose)
        long = {LEAN: 0.46, BEND: 0.24, THIGH: 0.3}[measure.kind] * self.height
        yield from self._dotted(start, _away(start, direction, long), pose, x)
        turn = {LEAN: -turn, BEND: -turn, THIGH: turn}[measure.kind]
        arc = [_away(start, direction + turn * i / 12, 0.84 * long) for i in range(13)]
        if abs(turn) > LEAST_ARC:
            yield Line(tuple(arc), self.look.paper, 2.4 * self.look.line)
            yield Line(tuple(arc), self.look.ink, self.look.line)

    @property
    def _has_level(self) -> bool:
        measure = self.pair.measure
        return self.shows_you and measure is not None and measure.kind == LEVEL

    @property
    def _level_at(self) -> tuple[float, float]:
        """Where between the figures the two levels meet, and how much room is there."""
        left = self.hips[0] + extent(self.pair.you)[1] * self.height
        right = self.hips[1] - extent(self.pair.idea)[0] * self.height
        return (left + right) / 2, right - left

    def _level(self) -> Iterator[Shape]:
        middle, line, mm = self._level_at[0], self.look.line, self.look.unit
        (you, idea) = (self._at(p, x, "hip") for p, x in zip(self.poses, self.hips, strict=True))
        for ends in ((you, (middle + 5.0 * mm, you[1])), (idea, (middle - 5.0 * mm, idea[1]))):
            yield from (
                Ring(at, DISC * self.look.unit, self.look.ink) for at in _dots(*ends, DISCS * mm)
            )
        if abs(idea[1] - you[1]) < 4 * line:
            return
        yield Line(((middle, you[1]), (middle, idea[1])), self.look.ink, line)
        for y in (you[1], idea[1]):
            yield Line(((middle - 1.6 * mm, y), (middle + 1.6 * mm, y)), self.look.ink, 1.6 * line)

    @property
    def _number(self) -> list[Written]:
        told, look = self.caption, self.look
        if not told.size:
            return []
        parts = [(told.about, look.text, False), (told.size, look.number, True)]
        return [*parts, (told.says, look.text, False)]

    @property
    def _is_between(self) -> bool:
        """Whether the number of a level stands in the picture, between the figures."""
        if not (self._has_level and self.caption.size):
            return False
        widest = max(self.look.width(*part) for part in self._number)
        tall = 2.2 * self.look.unit + 1.3 * self.look.number + 0.8 * self.look.text
        head = points_of(self.pair.you)["head"][1] - self.pair.idea.hip_up
        return widest <= self._level_at[1] - self.look.unit and tall <= head * self.height

    @cached_property
    def rows(self) -> list[list[_Placed]]:
        """Rows of names under the figures: the first way in which no two of them touch."""
        ways = list(self._ways())
        return next((rows for rows in ways if all(map(self._fits, rows))), ways[-1])

    def _ways(self) -> Iterator[list[list[_Placed]]]:
        """Yield rows from all in one line down to names and number alone."""
        told, text = self.caption, self.look.text
        names: list[list[Written]] = [[(told.you, text, True)], [(told.idea, text, True)]]
        number = [] if self._is_between else self._number
        says: list[Written] = [(told.idea_says, text, False)] if told.idea_says else []
        bars = [self._bar(pose, x) for pose, x in zip(self.poses, self.hips, strict=True)]
        yield [
            [p for i, m in enumerate((number, says)) for p in self._line(i, names[i], m, bars[i])]
        ]
        first = [p for i in (0, 1) for p in self._line(i, names[i], [], bars[i])]
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
        measure = self.pair.measure
        if measure is None or measure.kind != PLUMB:
            return None
        ends = [self._at(pose, x, name)[0] for name in (measure.start, measure.end)]
        return min(ends), max(ends)

    def _wide(self, pieces: list[Written]) -> float:
        return sum(self.look.width(*each) for each in pieces) + SPACE * self.look.unit * max(
            0, len(pieces) - 1
        )

    def _names(self) -> Iterator[Shape]:
        for i, row in enumerate(self.rows):
            y = (UNDER + 1.35 * i) * self.look.text
            for pieces, left in row:
                x = left
                for text, size, is_bold in pieces:
                    yield Label((x, y), text, size, self.look.ink, is_bold)
                    x += self.look.width(text, size, is_bold) + SPACE * self.look.unit
        if self._is_between:
            yield from self._between()

    def _between(self) -> Iterator[Shape]:
        (you, idea) = (self._at(p, x, "hip")[1] for p, x in zip(self.poses, self.hips, strict=True))
        (about, size, says), x = self._number, self._level_at[0]
        top, low = min(you, idea) - 2.2 * self.look.unit, max(you, idea)
        yield Label((x, top - 1.3 * size[1]), *_label(about, self.look.ink), "c")
        yield Label((x, top), *_label(size, self.look.ink), "c")
        yield Label((x, low + 1.5 * says[1]), *_label(says, self.look.ink), "c")


def _is_low(shape: Shape) -> bool:
    """Whether a mark lies below the ground."""
    if isinstance(shape, Ring):
        return shape.centre[1] > 0
    return isinstance(shape, Line) and all(y > 0 for _, y in shape.points)


def _label(piece: Written, ink: str) -> tuple[str, float, str, bool, bool]:
    text, size, is_bold = piece
    return text, size, ink, is_bold, False


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
    """Whether a point lies in a convex outline."""
    ends = zip(outline, [*outline[1:], outline[0]], strict=True)
    sides = [(xb - xa) * (at[1] - ya) - (yb - ya) * (at[0] - xa) for (xa, ya), (xb, yb) in ends]
    return min(sides) >= 0 or max(sides) <= 0


def _target(centre: Point, height: float, look: PairLook) -> Shapes:
    radius = 0.027 * height
    return (
        Ring(centre, radius + look.line / 2, look.paper, look.ink, look.line),
        Ring(centre, 0.32 * radius, look.ink),
    )


LINE: Final = 0.43
DASH: Final = (3.4 * LINE, 2.6 * LINE)
TURNED_OUT: Final = 26.0  # degrees; past the limit of the foot-turn row


def has_back_pair(item: int) -> bool:
    """Return whether an item is seen from behind or in front, with a drawing of its own."""
    return item in _DRAWN


def back_pair(
    item: int, caption: Caption, width: float, height: float, look: PairLook
) -> PairDrawing:
    """Return the pair for item 16, 17 or 18 within width × height, its lower edge at y = 0.

    Raises KeyError for any other item.
    """
    draw = _DRAWN[item]
    half = width / 2
    unit = min(height, 1.6 * half) / 10

    def both() -> Shapes:
        seen, idea = (tuple(draw(unit, is_seen)) for is_seen in (True, False))
        y = UNDER * look.text
        names = tuple(
            Label((x * half, y), text, look.text, BLACK, True, False, "c")
            for x, text in ((0.5, caption.you), (1.5, caption.idea))
        )
        return moved(seen, 0.5 * half, 0.0) + moved(idea, 1.5 * half, 0.0) + names

    return PairDrawing(both, 10.0 * unit, (UNDER + 0.3) * look.text)


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
