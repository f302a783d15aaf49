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
from tapmark.report.drawing.shapes import Area, Ring, Shape, Shapes, moved

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
        rounds, is_solid = _rounds(name, points), name in look.solid
        fill = own.get(name, look.tint if name == "trunk" else look.paper)
        lay(rounds, outline * EDGE, look.paper)
        lay(rounds, 0.0, look.ink)
        if not is_solid:
            lay(rounds, -outline, fill)
        if name == "trunk":  # the neck has no outline: two short strokes would read as a collar
            lay([_neck(points)], 0.0, look.ink if is_solid else fill)
    return tuple(shapes)


def _rounds(name: str, points: Points) -> list[list[Round]]:
    if name == "trunk":
        return _trunk(points)
    side, limb = name.split()
    return _leg(points, side) if limb == "leg" else [_arm(points, side)]


def _leg(points: Points, side: str) -> list[list[Round]]:
    hip, knee, ankle = points["hip"], points[f"{side} knee"], points[f"{side} ankle"]
    heel, toe = points[f"{side} heel"], points[f"{side} toe"]
    bones = [
        (*hip, 0.053),
        (*_share(hip, knee, 0.5), 0.0455),
        (*knee, 0.0315),
        (*_calf(knee, ankle), 0.033),
        (*ankle, 0.0175),
    ]
    return [_eased(bones), [(*ankle, 0.0175), (*heel, HEEL[1]), (*toe, TOE[1])]]


def _calf(knee: Point, ankle: Point) -> Point:
    x, y = _share(knee, ankle, 0.3)
    length = math.dist(knee, ankle) or 1.0
    back = -0.008 / length
    return x - (knee[1] - ankle[1]) * -back, y + (ankle[0] - knee[0]) * -back


def _arm(points: Points, side: str) -> list[Round]:
    shoulder, elbow = points["shoulder"], points[f"{side} elbow"]
    wrist = points[f"{side} wrist"]
    fist = _share(elbow, wrist, 1.12)
    arm = [(*shoulder, 0.033), (*elbow, 0.023), (*wrist, 0.015)]
    return [*_eased(arm), (*fist, 0.0215)]


def _trunk(points: Points) -> list[list[Round]]:
    hip, neck = points["hip"], points["neck"]
    spine = [
        (*_share(hip, neck, 0.02), 0.050),
        (*_share(hip, neck, 0.34), 0.050),
        (*_share(hip, neck, 0.74), 0.057),
        (*_share(hip, neck, 0.97), 0.034),
    ]
    return [_eased(spine)]


def _neck(points: Points) -> list[Round]:
    neck, head = points["neck"], points["head"]
    return [(*neck, 0.025), (*_share(neck, head, 0.5), 0.022)]


def _share(a: Point, b: Point, share: float) -> Point:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


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
    if len(rounds) == 2:
        return _around_two(*rounds)
    return _around([point for each in rounds for point in _rim(each, 0, CORNERS)])


def _around_two(a: Round, b: Round) -> list[Point]:
    """Join the outer arcs of two circles; where one holds the other, return its rim."""
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


def _around(points: list[Point]) -> list[Point]:
    """Return the convex outline of points (Andrew's monotone chain)."""
    ordered = sorted(points)
    return _half(ordered) + _half(ordered[::-1])


def _half(ordered: list[Point]) -> list[Point]:
    half: list[Point] = []
    for point in ordered:
        while len(half) > 1 and _turn(half[-2], half[-1], point) <= 0:
            half.pop()
        half.append(point)
    return half[:-1]


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def extent(pose: Pose) -> tuple[float, float]:
    """Return how far the drawn figure reaches behind and ahead of its hip, in H (both >= 0)."""
    points = points_of(pose)
    parts = [*_leg(points, "near"), *_leg(points, "far"), *_trunk(points)]
    parts += [_arm(points, side) for side in ("near", "far")]
    rounds = [each for chain in parts for each in chain]
    behind = max(radius - x for x, _, radius in rounds)
    ahead = max(radius + x for x, _, radius in rounds)
    return max(behind, 0.0), max(ahead, points["head"][0] + HEAD_RADIUS)
