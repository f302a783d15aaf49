"""You, and the idea: the athlete's own pose beside itself with one fault put right."""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
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
from tapmark.report.drawing.figure import FigureLook, extent, figure_shapes
from tapmark.report.drawing.palette import BLACK, TINT, WHITE
from tapmark.report.drawing.shapes import Area, Line, Point, Ring, Shape, Shapes, moved
from tapmark.report.drawing.signs import arrow

Poses = Mapping[str, Pose]
Change = Callable[[Pose, Side, Poses], Pose]


@dataclass(frozen=True)
class Pair:
    """Two poses that differ in one thing only.

    solid:   what is drawn in ink in both.
    plumbs:  points from which a plumb line drops through the ground; between two of them, or one
             and gap_to, a short gap is shown below the ground.
    targets: joints marked with a small target.
    """

    event: str
    you: Pose
    idea: Pose
    solid: frozenset[str]
    plumbs: tuple[str, ...] = ()
    gap_to: str = ""
    targets: tuple[str, ...] = ()


@dataclass(frozen=True)
class _Rule:
    """How an item is put right.

    speaks_of:  "contact", "swing" or "near" leg, "trunk" or "arms".
    plumbs, gap_to, targets: point names with "leg" for the leg spoken of and "other" for the other.
    """

    events: tuple[str, ...]
    speaks_of: str
    change: Change
    plumbs: tuple[str, ...] = ()
    gap_to: str = ""
    targets: tuple[str, ...] = ()


def pair_of(item: int, poses: Poses, is_far: bool = False) -> Pair | None:
    """Return the pair for an item, or None where the athlete's own pose is missing.

    is_far: the item is worst at the far foot, so its contact is opposite touchdown.
    Items 16 to 18 are seen from behind or in front and have no side view.
    """
    rule = _RULES.get(item)
    if rule is None:
        return None
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

    return Pair(
        event,
        you,
        idea,
        _solid(rule, side),
        tuple(map(named, rule.plumbs)),
        named(rule.gap_to),
        tuple(map(named, rule.targets)),
    )


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


def _in_time(pose: Pose, side: Side, poses: Poses) -> Pose:
    return replace(pose, near_arm=Arm(46.0, 132.0), far_arm=Arm(-56.0, 22.0))


_LANDING: Final = (TOUCHDOWN, OPPOSITE_TOUCHDOWN)
_RULES: Final = {
    1: _Rule(
        _LANDING, "contact", _shank_under, ("leg knee",), "leg ankle", ("leg knee", "leg ankle")
    ),
    2: _Rule(_LANDING, "contact", _soft_knee, targets=("leg knee",)),
    3: _Rule(
        _LANDING, "swing", _knee_beside, ("leg knee", "other knee"), "", ("leg knee", "other knee")
    ),
    4: _Rule((OPPOSITE_TOUCHDOWN, TOUCHDOWN), "swing", _came_through, targets=("leg knee",)),
    5: _Rule((TOE_OFF,), "near", _pushed_to(-31.0), ("hip",), "leg toe"),
    6: _Rule((TOE_OFF,), "near", _pushed_to(-27.0), ("hip",), "leg toe"),
    7: _Rule((TOE_OFF,), "near", _pushed_to(-28.0, bend=28.0), targets=("leg knee",)),
    8: _Rule((MID_STANCE,), "near", _tall, targets=("leg knee",)),
    9: _Rule(_LANDING, "trunk", _lean(7.0)),
    10: _Rule(_LANDING, "trunk", _lean(6.0)),
    11: _Rule((MID_STANCE,), "near", _stiff, targets=("leg knee",)),
    12: _Rule(
        (OPPOSITE_TOUCHDOWN, TOUCHDOWN),
        "contact",
        _straight_down,
        ("leg knee",),
        "leg ankle",
        ("leg ankle",),
    ),
    13: _Rule((MID_STANCE,), "swing", _folded, targets=("leg knee",)),
    14: _Rule((PEAK_KNEE_LIFT,), "swing", _lifted, targets=("far knee",)),
    15: _Rule((PEAK_KNEE_LIFT, TOE_OFF), "arms", _in_time),
}


@dataclass(frozen=True)
class PairDrawing:
    """A drawing with the ground at y = 0 and the left end at x = 0, and the room it takes.

    draw:          makes the shapes.
    above, below:  room above and under the ground.
    clear:         for each name: where it begins, and how far it may reach beside the plumb lines.
    """

    draw: Callable[[], Shapes]
    above: float
    below: float
    clear: tuple[tuple[float, float], ...]

    @property
    def shapes(self) -> Shapes:
        """Everything drawn; made when it is asked for, since pages try several sizes."""
        return self.draw()


def pair_drawing(
    pair: Pair,
    width: float,
    height: float,
    line: float = 0.43,
    ink: str = BLACK,
    paper: str = WHITE,
    tint: str = "#DEDEDE",
    shows_you: bool = True,
) -> PairDrawing:
    """Draw both poses in that width, at most that many units a body height.

    shows_you: False leaves the left half free, for a photo.
    """
    reaches = [extent(pair.you), extent(pair.idea)]
    behind = max(reach[0] for reach in reaches)
    ahead = max(reach[1] for reach in reaches)
    height = min(height, 0.98 * width / 2 / (behind + ahead))
    look = FigureLook(ink, paper, tint, line, pair.solid)
    hips = [behind * height, width / 2 + behind * height]
    both = list(zip((pair.you, pair.idea), hips, strict=True))
    drawn = both if shows_you else both[1:]

    def draw() -> Shapes:
        figures = [s for pose, x in drawn for s in figure_shapes(pose, height, (x, 0.0), look)]
        plumbs = [s for pose, x in drawn for s in _plumbs(pair, pose, x, height, look)]
        marks = [s for pose, x in drawn for s in _marks(pair, pose, x, height, look)]
        ground = Line(((0.0, line / 2), (width, line / 2)), ink, line)
        return (*plumbs, *figures, ground, *marks)

    tops = [pose.hip_up + pose.build.trunk * 1.07 + 0.17 for pose in (pair.you, pair.idea)]
    ends = [_clear(pair, pose, x, height) for pose, x in both]
    return PairDrawing(
        draw,
        above=height * max(tops),
        below=0.09 * height if pair.plumbs else 0.0,
        clear=((0.0, ends[0]), (width / 2, ends[1] - width / 2)),
    )


def _clear(pair: Pair, pose: Pose, x: float, height: float) -> float:
    """Return where the leftmost mark below the ground stands."""
    points = points_of(pose)
    return min((x + points[n][0] * height for n in (*pair.plumbs, pair.gap_to) if n), default=1e9)


def _plumbs(pair: Pair, pose: Pose, x: float, height: float, look: FigureLook) -> Iterator[Line]:
    """Plumb lines hang behind the figure, so a leg that stands under its knee hides its own."""
    points = points_of(pose)
    for name in pair.plumbs:
        px, py = x + points[name][0] * height, -points[name][1] * height
        yield Line(((px, py), (px, 0.05 * height)), look.ink, look.min_outline)


def _marks(pair: Pair, pose: Pose, x: float, height: float, look: FigureLook) -> Iterator[Shape]:
    points = points_of(pose)

    def at(name: str) -> Point:
        return x + points[name][0] * height, -points[name][1] * height

    foot = 0.05 * height
    for name in pair.plumbs:
        yield Line(((at(name)[0], 0.0), (at(name)[0], foot)), look.ink, look.min_outline)
    if "trunk" in pair.solid:  # an upright from the hip shows the lean
        yield from _upright(at("hip"), 0.46 * height, look)
    yield from _gap([at(n)[0] for n in (*pair.plumbs, pair.gap_to) if n], 0.068 * height, look)
    for name in pair.targets:
        yield from _target(at(name), height, look)


def _upright(hip: Point, length: float, look: FigureLook) -> Shapes:
    x, y = hip
    line = look.min_outline
    return (
        Line(((x, y), (x, y - length)), look.paper, 3 * line),
        Line(((x, y), (x, y - length)), look.ink, line, (3.4 * line, 2.6 * line)),
    )


def _gap(ends: list[float], y: float, look: FigureLook) -> Iterator[Shape]:
    if len(ends) < 2 or abs(ends[1] - ends[0]) < 4 * look.min_outline:
        return
    bar = 2.2 * look.min_outline
    yield Line(((ends[0], y), (ends[1], y)), look.ink, look.min_outline)
    for end in ends:
        yield Line(((end, y - bar), (end, y + bar)), look.ink, look.min_outline)


def _target(centre: Point, height: float, look: FigureLook) -> Shapes:
    line = look.min_outline
    radius = 0.027 * height
    return (
        Ring(centre, radius + line / 2, look.paper, look.ink, line),
        Ring(centre, 0.32 * radius, look.ink),
    )


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
