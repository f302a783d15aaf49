"""One angle drawn over a picture: a plumb line where it is measured from, a thin arc, one value."""

import math
from typing import Final

from tapmark.drawing.overlay import LETTER, NEAR_LEG, PLUMB, RIM, Pen, ToPlace
from tapmark.drawing.palette import CASING, OVERLAY
from tapmark.drawing.shapes import Label, Line, Point, Shape, Shapes
from tapmark.marks.run import KeyFrame, Run

ARC: Final = 46.0  # radius in units
PLUMB_LONG: Final = 1.25  # a plumb line in lengths of the limb beside it
# row -> (vertex, the limb's other end, "down" or "up" or the point of the other arm)
SHOWN: Final = {
    "reach": ("leg knee", "leg ankle", "down"),
    "knee_touchdown": ("leg knee", "leg ankle", "hip"),
    "thigh_touchdown": ("hip", "leg knee", "down"),
    "knee_mid_stance": ("leg knee", "leg ankle", "hip"),
    "knee_toe_off": ("leg knee", "leg ankle", "hip"),
    "swing_thigh": ("hip", "other knee", "down"),
    "trunk_lean": ("hip", "shoulder", "up"),
    "thigh_toe_off": ("hip", "leg knee", "down"),
    "drive_angle": ("leg toe", "hip", "up"),
    "fold": ("other knee", "other ankle", "hip"),
    "peak_thigh": ("hip", "far knee", "down"),
}


def angle_shapes(
    run: Run, frame: KeyFrame, row: str, leg: str, text: str, to_place: ToPlace, unit: float = 1.0
) -> Shapes:
    """Return arc, plumb line and value of a row on its key frame; nothing where it has none.

    text: the value as it is printed, e.g. "19 ± 3°". leg: "near" or "far", "" counts as near.
    """
    names = SHOWN.get(row)
    if names is None:
        return ()
    vertex, end, start = (_point(name, leg or "near") for name in names)
    at, other = frame.at(vertex), _tapped(frame, end)
    from_ = _upright(run, frame, vertex, end, start) if start in ("down", "up") else frame.at(start)
    if at is None or other is None or from_ is None:
        return ()
    places = to_place(at), to_place(from_), to_place(other)
    return _angle(Pen(to_place, unit), *places, text, start in ("down", "up"))


def _point(name: str, leg: str) -> str:
    other = "far" if leg == "near" else "near"
    return name.replace("leg ", f"{leg} ").replace("other ", f"{other} ")


def _tapped(frame: KeyFrame, point: str) -> Point | None:
    if point == "shoulder":
        return frame.at("shoulder") or frame.at("neck base")
    return frame.at(point)


def _upright(run: Run, frame: KeyFrame, vertex: str, end: str, way: str) -> Point | None:
    """Return the end of a plumb line from the vertex, along the vertical reference."""
    at, other = frame.at(vertex), _tapped(frame, end)
    if at is None or other is None:
        return None
    length = PLUMB_LONG * math.dist(at, other)
    ends = run.set_up.upright_px or ((0.0, 1.0), (0.0, 0.0))
    (xb, yb), (xt, yt) = ends
    tall = math.dist(*ends) or 1.0
    sign = 1.0 if way == "up" else -1.0
    return at[0] + sign * length * (xt - xb) / tall, at[1] + sign * length * (yt - yb) / tall


def _angle(pen: Pen, at: Point, start: Point, end: Point, text: str, is_plumb: bool) -> Shapes:
    unit = pen.unit
    a, b = (math.atan2(p[1] - at[1], p[0] - at[0]) for p in (start, end))
    turn = (b - a + math.pi) % (2 * math.pi) - math.pi
    radius = min(ARC * unit, 0.8 * math.dist(at, end))
    n = max(2, round(abs(turn) * 16))
    arc = tuple(
        (at[0] + radius * math.cos(a + turn * i / n), at[1] + radius * math.sin(a + turn * i / n))
        for i in range(n + 1)
    )
    white = OVERLAY[NEAR_LEG].colour
    shapes: list[Shape] = [Line(arc, white, 1.5 * unit, (), CASING, 4.5 * unit)]
    if is_plumb:
        share = RIM * unit / (math.dist(at, start) or 1.0)
        rim = (at[0] + (start[0] - at[0]) * share, at[1] + (start[1] - at[1]) * share)
        shapes.append(pen.line(rim, start, OVERLAY[PLUMB]))
    beyond = b + math.copysign(0.5, turn) if abs(turn) < 0.9 else a + turn / 2
    shapes.append(_value(at, beyond, radius, text, unit, white))
    return tuple(shapes)


def _value(at: Point, heading: float, radius: float, text: str, unit: float, ink: str) -> Label:
    """Write the value where the angle opens, or beside the limb where it is too narrow."""
    size = 1.4 * LETTER * unit
    x = at[0] + (radius + 12 * unit) * math.cos(heading)
    y = at[1] + (radius + 12 * unit) * math.sin(heading) + 0.36 * size
    anchor = "w" if math.cos(heading) > -0.2 else "e"
    return Label((x, y), text, size, ink, True, False, anchor, CASING, 2 * unit)
