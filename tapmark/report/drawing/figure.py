"""The drawn figure: a pose as shapes, limb by limb.

Every limb is one outline: its round parts are laid down first in the colour of the edge, then
once more, a line's width smaller, in the colour of the limb, so no seam shows at knee or elbow.
A white edge around each limb keeps crossings clear. The radii are the same for everybody: a pose
is drawn, never a body.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

from tapmark.report.drawing.body import HEEL, TOE, Point, Points, Pose, points_of
from tapmark.report.drawing.palette import BLACK, TINT, WHITE
from tapmark.report.drawing.shapes import Area, Ring, Shape, Shapes, moved, on_the_way

OUTLINE: Final = 0.011
EDGE: Final = 1.1  # width of the white edge in outlines
HEAD_RADIUS: Final = 0.063
SOLID_NEAR: Final = frozenset({"near leg", "near arm"})
PARTS: Final = ("far arm", "far leg", "trunk", "head", "near leg", "near arm")
STEPS: Final = 4  # pieces between two given radii
CORNERS: Final = 24  # corners of a full round
Round = tuple[float, float, float]  # x, y, radius


@dataclass(frozen=True)
class FigureLook:
    """Colours of a figure, the thinnest and the thickest outline in the unit of the place.

    solid: the limbs filled with ink: any of "near leg", "far leg", "near arm", "far arm".
    """

    ink: str = BLACK
    paper: str = WHITE
    tint: str = TINT
    min_outline: float = 0.0
    solid: frozenset[str] = SOLID_NEAR
    max_outline: float = math.inf


def figure_shapes(
    pose: Pose,
    height: float,
    at: Point,
    look: FigureLook,
    fills: Mapping[str, str] | None = None,
    parts: Iterable[str] = PARTS,
) -> Shapes:
    """Return a figure whose hip stands above x = at[0] and whose ground is at y = at[1].

    height is one body height in the unit of the place; the runner moves towards +x.
    fills: part -> colour instead of the usual one. parts: only some of PARTS, in that order.
    """
    drawn = _drawn(pose, height, look, tuple(sorted((fills or {}).items())), tuple(parts))
    return moved(drawn, *at)


@lru_cache(maxsize=64)
def _drawn(
    pose: Pose,
    height: float,
    look: FigureLook,
    fills: tuple[tuple[str, str], ...],
    parts: tuple[str, ...],
) -> Shapes:
    """The figure with its hip above the origin; pages that try several layouts ask again."""
    outline = min(max(OUTLINE, look.min_outline / height), look.max_outline / height)
    points, own, shapes = points_of(pose), dict(fills), list[Shape]()

    def place(point: Point) -> Point:
        return point[0] * height, -point[1] * height

    def lay(chains: list[list[Round]], by: float, fill: str) -> None:
        """Add the outline around each chain, wider by that much."""
        for chain in chains:
            grown = [(x, y, max(radius + by, 0.001)) for x, y, radius in chain]
            for group in [grown] if len(grown) == 3 else pairwise(grown):  # three are a foot
                shapes.append(Area(tuple(map(place, _hull(group))), fill))

    for name in parts:
        if name == "head":
            at, radius, line = place(points[name]), HEAD_RADIUS * height, outline * height
            shapes.append(Ring(at, radius + 0.4 * line, look.paper))
            shapes.append(Ring(at, radius, look.ink))
            shapes.append(Ring(at, radius - line, look.tint))
            continue
        rounds, is_solid = _chains(name, points), name in look.solid
        fill = own.get(name, look.tint if name == "trunk" else look.paper)
        lay(rounds, outline * EDGE, look.paper)
        lay(rounds, 0.0, look.ink)
        if not is_solid:
            lay(rounds, -outline, fill)
        if name == "trunk":  # the neck has no outline: two short strokes would read as a collar
            neck, head = points["neck"], points["head"]
            throat = [(*neck, 0.025), (*on_the_way(neck, head, 0.5), 0.022)]
            lay([throat], 0.0, look.ink if is_solid else fill)
    return tuple(shapes)


def _chains(name: str, points: Points) -> list[list[Round]]:
    """Return the rounds of trunk, leg or arm; those of a leg and those of its foot."""
    if name == "trunk":
        hip, neck = points["hip"], points["neck"]
        shares = ((0.02, 0.050), (0.34, 0.050), (0.74, 0.057), (0.97, 0.034))
        return [_eased([(*on_the_way(hip, neck, share), radius) for share, radius in shares])]
    side, limb = name.split()
    if limb == "arm":
        shoulder, elbow = points["shoulder"], points[f"{side} elbow"]
        wrist = points[f"{side} wrist"]
        arm = _eased([(*shoulder, 0.033), (*elbow, 0.023), (*wrist, 0.015)])
        return [[*arm, (*on_the_way(elbow, wrist, 1.12), 0.0215)]]
    hip, knee, ankle = points["hip"], points[f"{side} knee"], points[f"{side} ankle"]
    heel, toe = points[f"{side} heel"], points[f"{side} toe"]
    x, y = on_the_way(knee, ankle, 0.3)
    back = 0.008 / (math.dist(knee, ankle) or 1.0)
    calf = x - (knee[1] - ankle[1]) * back, y + (ankle[0] - knee[0]) * back
    bones = [
        (*hip, 0.053),
        (*on_the_way(hip, knee, 0.5), 0.0455),
        (*knee, 0.0315),
        (*calf, 0.033),
        (*ankle, 0.0175),
    ]
    return [_eased(bones), [(*ankle, 0.0175), (*heel, HEEL[1]), (*toe, TOE[1])]]


def _eased(rounds: list[Round]) -> list[Round]:
    """Put rounds between the given ones, radius eased, so that the outline has no corner."""
    eased = [rounds[0]]
    for (xa, ya, ra), (xb, yb, rb) in pairwise(rounds):
        for i in range(1, STEPS + 1):
            t = i / STEPS
            ease = 0.5 - 0.5 * math.cos(math.pi * t)
            eased.append((xa + (xb - xa) * t, ya + (yb - ya) * t, ra + (rb - ra) * ease))
    return eased


def _hull(rounds: Sequence[Round]) -> list[Point]:
    """Return the convex outline around two circles, or around the three of a foot."""
    if len(rounds) == 3:
        points = sorted(point for each in rounds for point in _rim(each, 0, CORNERS))
        return _half(points) + _half(points[::-1])
    a, b = rounds  # their outer arcs; where one holds the other, its rim
    dx, dy = b[0] - a[0], b[1] - a[1]
    distance = math.hypot(dx, dy)
    if distance <= abs(a[2] - b[2]):
        return _rim(a if a[2] > b[2] else b, 0, CORNERS)
    heading = math.atan2(dy, dx) / _CORNER
    spread = math.acos((a[2] - b[2]) / distance) / _CORNER
    first, last = math.ceil(heading - spread), math.floor(heading + spread)
    return _rim(b, first, last + 1) + _rim(a, last + 1, first + CORNERS)


def _rim(circle: Round, first: int, end: int) -> list[Point]:
    """Return corners first…end − 1 of a circle, counted round from the +x axis."""
    x, y, radius = circle
    turns = (_CIRCLE[i % CORNERS] for i in range(first, end))
    return [(x + radius * cos, y + radius * sin) for cos, sin in turns]


_CORNER: Final = 2 * math.pi / CORNERS
_CIRCLE: Final = tuple((math.cos(i * _CORNER), math.sin(i * _CORNER)) for i in range(CORNERS))


def _half(ordered: list[Point]) -> list[Point]:
    """Return one side of the convex outline of points in order (Andrew's monotone chain)."""

    def turn(a: Point, b: Point, c: Point) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    half: list[Point] = []
    for point in ordered:
        while len(half) > 1 and turn(half[-2], half[-1], point) <= 0:
            half.pop()
        half.append(point)
    return half[:-1]


@lru_cache(maxsize=256)
def extent(pose: Pose) -> tuple[float, float]:
    """Return how far the drawn figure reaches behind and ahead of its hip, in H (both >= 0)."""
    points = points_of(pose)
    names = (name for name in PARTS if name != "head")
    rounds = [each for name in names for chain in _chains(name, points) for each in chain]
    behind = max(radius - x for x, _, radius in rounds)
    ahead = max(radius + x for x, _, radius in rounds)
    return max(behind, 0.0), max(ahead, points["head"][0] + HEAD_RADIUS)
