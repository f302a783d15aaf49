"""Small drawings beside a question: which point to tap, and which frame to choose.

The body is the stand-in of the moment, the same for everybody; the limb asked for is tinted and
the point carries a target.
"""

from collections.abc import Iterator
from typing import Final

from tapmark.marks.points import (
    MID_STANCE,
    OPPOSITE_TOUCHDOWN,
    PEAK_KNEE_LIFT,
    SHOE,
    TOE_OFF,
    TOUCHDOWN,
)
from tapmark.report.drawing.body import (
    LEADING,
    STAND_IN,
    TOE,
    Point,
    Pose,
    points_of,
    sole_outline,
    turned,
)
from tapmark.report.drawing.figure import FigureLook, extent, figure_shapes
from tapmark.report.drawing.palette import ACCENT, HAIRLINE_DARK, OUTLINE, WHITE
from tapmark.report.drawing.shapes import Area, Line, Ring, Shape, Shapes, mirrored
from tapmark.report.drawing.signs import arrow

Size = tuple[float, float]
LIMB_OF: Final = {
    "shoulder": "near arm",
    "neck base": "trunk",
    "elbow": "near arm",
    "hip": "near leg",
    "near wrist": "near arm",
    "far shoulder": "far arm",
    "far elbow": "far arm",
}
SPOT_OF: Final = {"neck base": "neck", "elbow": "near elbow", "far shoulder": "shoulder"}


def body_prompt(event: str, point: str, size: Size, travel_sign: int = 1) -> Shapes:
    """Return the body at that moment with the asked point in a target, filling that size.

    travel_sign: +1 draws it moving right, −1 left, as the athlete moves in the frame.
    """
    width, _ = size
    shapes = _shoe(size, point) if point in SHOE else _body(event, point, size)
    return shapes if travel_sign > 0 else mirrored(shapes, width)


def _body(event: str, point: str, size: Size) -> Shapes:
    pose = STAND_IN.get(event, STAND_IN[TOUCHDOWN])
    height, at = _fitted(pose, size)
    limb = LIMB_OF.get(point, f"{point.split()[0]} leg")
    figure = FigureLook(OUTLINE, WHITE, WHITE, 1.3, frozenset())
    shapes = figure_shapes(pose, height, at, figure, {limb: HAIRLINE_DARK})
    x, y = points_of(pose)[SPOT_OF.get(point, point)]
    return (*shapes, *_target((at[0] + x * height, at[1] - y * height), 0.052 * height))


def _fitted(pose: Pose, size: Size) -> tuple[float, Point]:
    """Return the height of the body and where its hip stands, centred in that size."""
    width, tall = size
    behind, ahead = extent(pose)
    top = points_of(pose)["head"][1] + 0.07
    height = min(0.84 * width / (behind + ahead), 0.9 * tall / top)
    x = (width - (ahead - behind) * height) / 2
    return height, (x, (tall + top * height) / 2)


def _target(at: Point, radius: float) -> Shapes:
    return (
        Ring(at, radius * 1.25, WHITE),
        Ring(at, radius, None, ACCENT, 0.26 * radius),
        Ring(at, 0.2 * radius, ACCENT),
    )


def _shoe(size: Size, point: str) -> Shapes:
    """The sole of a shoe that turns a little outward; the camera stands below the drawing."""
    width, tall = size
    unit = min(width / 6, tall / 10)
    centre = (width / 2, tall / 2)
    outline = tuple(turned(centre, x * unit, -y * unit, -12.0) for x, y in sole_outline())
    heel, front = (turned(centre, 0.0, y * unit, -12.0) for y in (2.5, -1.7))
    line = max(1.3, 0.1 * unit)
    return (
        Area(outline, WHITE, OUTLINE, line),
        Line((heel, front), OUTLINE, line, (0.4 * unit, 0.3 * unit)),
        *_target(heel if point == SHOE[0] else front, 0.62 * unit),
    )


def rule_drawing(event: str, size: Size, travel_sign: int = 1) -> Shapes:
    """Return the small drawing of the rule that chooses a key frame of the side view."""
    pose = STAND_IN[event]
    height, at = _fitted(pose, (size[0], 0.9 * size[1]))
    figure = FigureLook(OUTLINE, WHITE, WHITE, 1.3, frozenset({f"{LEADING[event]} leg"}))
    ground = Line(((0.0, at[1]), (size[0], at[1])), OUTLINE, 1.3)
    shapes = (*figure_shapes(pose, height, at, figure), ground, *_hint(event, pose, height, at))
    return shapes if travel_sign > 0 else mirrored(shapes, size[0])


def _hint(event: str, pose: Pose, height: float, at: Point) -> Iterator[Shape]:
    """Yield what the eye should look for, in the accent colour."""
    points = points_of(pose)

    def place(name: str, dx: float = 0.0, dy: float = 0.0) -> Point:
        x, y = points[name]
        return at[0] + (x + dx) * height, at[1] - (y + dy) * height

    line = max(1.8, 0.014 * height)
    if event in (TOUCHDOWN, OPPOSITE_TOUCHDOWN):
        side = "near" if event == TOUCHDOWN else "far"
        yield Ring(place(f"{side} ankle", 0.03, -0.03), 0.1 * height, None, ACCENT, line)
    elif event == MID_STANCE:
        yield Line((place("hip"), place("near ankle", 0.0, -0.039)), ACCENT, line)
        yield from (Ring(place(name), 0.02 * height, ACCENT) for name in ("hip", "near ankle"))
    elif event == TOE_OFF:
        yield Ring(place("near toe", 0.0, -TOE[1]), 0.06 * height, None, ACCENT, line)
    elif event == PEAK_KNEE_LIFT:
        yield from arrow(
            place("far knee", 0.1, -0.16), place("far knee", 0.1, 0.08), ACCENT, line, 6 * line
        )
