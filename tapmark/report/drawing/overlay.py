"""Marks over a frame: taps, lines, references, one angle with its value, own lines and paths."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final, NamedTuple

from tapmark.marks.points import PEAK_KNEE_LIFT
from tapmark.marks.run import ANGLE, LINE, NOTE, FreeMark, KeyFrame, Run, SetUp
from tapmark.measures.catalogue import TRUNK_TOP
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.report.drawing.palette import CASING, OVERLAY, WHITE, Role
from tapmark.report.drawing.shapes import (
    Area,
    Label,
    Line,
    Point,
    Ring,
    Shape,
    Shapes,
    on_the_way,
    square,
)

ToPlace = Callable[[Point], Point]
CORE: Final = 2.0  # at 96 dots an inch; the casing adds as much on each side
RIM: Final = 6.5
LETTER: Final = 13.0
NEAR_LEG, TRUNK, FAR = "near leg", "trunk and arm", "far leg"
PLUMB, SCALE = "plumb and pole", "scale"
BONES: Final = (
    ("hip", "near knee", NEAR_LEG),
    ("near knee", "near ankle", NEAR_LEG),
    ("near ankle", "near toe", NEAR_LEG),
    ("near ankle", "near heel", NEAR_LEG),
    ("shoulder", "hip", TRUNK),
    ("neck base", "hip", TRUNK),
    ("shoulder", "elbow", TRUNK),
    ("elbow", "near wrist", TRUNK),
    ("hip", "far knee", FAR),
    ("far knee", "far ankle", FAR),
    ("far ankle", "far toe", FAR),
    ("far ankle", "far heel", FAR),
    ("far shoulder", "far elbow", FAR),
    ("heel centre", "forefoot centre", NEAR_LEG),
)
LETTERS: Final = {
    "shoulder": "S",
    "neck base": "N",
    "elbow": "E",
    "near wrist": "W",
    "hip": "H",
    "near knee": "K",
    "near ankle": "A",
    "near toe": "T",
    "near heel": "C",
    "far shoulder": "s",
    "far elbow": "e",
    "far knee": "k",
    "far ankle": "a",
    "far toe": "t",
    "far heel": "c",
    "heel centre": "H",
    "forefoot centre": "F",
}
_ARM: Final = ("shoulder", "neck base", "elbow", "near wrist")


def _cased(start: Point, end: Point, role: Role, unit: float) -> Line:
    """Return a cased line in the dash of its role."""
    dash, width = tuple(length * unit for length in role.dash), CORE * unit
    return Line((start, end), role.colour, width, dash, CASING, 3 * width)


def _letter(text: str, at: Point, role: Role, unit: float) -> Label:
    """Return a cased letter around a middle."""
    size = LETTER * unit
    baseline = (at[0], at[1] + 0.36 * size)
    return Label(baseline, text, size, role.colour, True, False, "c", CASING, 2 * unit)


def tap_shapes(
    frame: KeyFrame, to_place: ToPlace, unit: float = 1.0, size: Point | None = None
) -> Shapes:
    """Return the taps of a key frame, the lines between them and their letters.

    to_place: from frame px to the place that paints. A guess carries "≈" behind its letter.
    size:     of that place, which cuts what lies beyond: letters of marks in it stay in it.
    """
    spots = {tap.point: to_place(tap.at_px) for tap in frame.taps if tap.at_px is not None}
    guesses = {tap.point for tap in frame.taps if tap.certainty == "guess"}
    bones = [(spots[a], spots[b], role) for a, b, role in BONES if a in spots and b in spots]
    lines = [
        _cased(*_between_rims(a, b, RIM * unit), OVERLAY[role], unit)
        for a, b, role in bones
        if math.dist(a, b) > 2.2 * RIM * unit
    ]
    marks = [shape for point, at in spots.items() for shape in _mark(at, _role(point), unit)]
    letters: list[Label] = []
    for point, at in spots.items():
        text = LETTERS.get(point, "") + (" ≈" if point in guesses else "")
        others = [spot for name, spot in spots.items() if name != point]
        taken = others + [label.point for label in letters]
        place = _free_side(at, bones, taken, unit, size)
        letters.append(_letter(text, place, OVERLAY[_role(point)], unit))
    return (*lines, *marks, *letters)


def _role(point: str) -> str:
    if point.startswith("far"):
        return FAR
    return TRUNK if point in _ARM else NEAR_LEG


def _mark(at: Point, role: str, unit: float) -> Iterator[Shape]:
    """Yield a hollow mark in the shape of its role."""
    look, radius, width = OVERLAY[role], RIM * unit, CORE * unit
    x, y = at
    if look.shape == "ring":
        yield Ring(at, radius, None, look.colour, width, CASING, 3 * width)
    elif look.shape == "diamond":
        r = 1.25 * radius
        corners = ((x, y - r), (x + r, y), (x, y + r), (x - r, y), (x, y - r), (x + r, y))
        yield Line(corners, look.colour, width, (), CASING, 3 * width)
    else:
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
            near, far = 0.45 * radius, 1.6 * radius
            ends = ((x + dx * near, y + dy * near), (x + dx * far, y + dy * far))
            yield Line(ends, look.colour, width, (), CASING, 3 * width)


def _between_rims(a: Point, b: Point, rim: float) -> tuple[Point, Point]:
    share = rim / (math.dist(a, b) or 1.0)
    dx, dy = (b[0] - a[0]) * share, (b[1] - a[1]) * share
    return (a[0] + dx, a[1] + dy), (b[0] - dx, b[1] - dy)


def _free_side(
    at: Point,
    bones: Sequence[tuple[Point, Point, str]],
    taken: Sequence[Point],
    unit: float,
    size: Point | None,
) -> Point:
    """Return a place for a letter around a mark, as far from lines, marks and letters as can be."""
    reach = 19.0 * unit
    sides = [
        (at[0] + reach * math.cos(math.pi * i / 4), at[1] + reach * math.sin(math.pi * i / 4))
        for i in range(8)
    ]

    def room(side: Point) -> float:
        rooms = [1.5 * reach, *(math.dist(side, other) for other in taken)]
        for a, b, _ in bones:
            dx, dy, length = b[0] - a[0], b[1] - a[1], math.dist(a, b)
            along = (side[0] - a[0]) * dx + (side[1] - a[1]) * dy
            share = max(0.0, min(1.0, along / length**2)) if length else 0.0
            rooms.append(math.dist(side, on_the_way(a, b, share)))
        return min(rooms)

    if size:
        half = 0.6 * LETTER * unit
        inside = [s for s in sides if all(half <= s[i] <= size[i] - half for i in (0, 1))]
        is_seen = 0 <= at[0] <= size[0] and 0 <= at[1] <= size[1]
        sides = inside if is_seen and inside else sides
    return max(sides, key=room)


def reference_shapes(set_up: SetUp, to_place: ToPlace, unit: float = 1.0) -> Shapes:
    """Return the vertical reference and the scale marks, where they are set."""
    shapes: list[Shape] = []
    for ends, role in ((set_up.upright_px, PLUMB), (set_up.scale_px, SCALE)):
        if ends is None:
            continue
        a, b = to_place(ends[0]), to_place(ends[1])
        rim = 1.8 * RIM * unit
        if math.dist(a, b) > 2.2 * rim:
            shapes.append(_cased(*_between_rims(a, b, rim), OVERLAY[role], unit))
        shapes += [shape for at in (a, b) for shape in _mark(at, role, unit)]
    if set_up.scale_px and set_up.scale_m:
        (xa, ya), (xb, yb) = map(to_place, set_up.scale_px)
        middle = ((xa + xb) / 2, (ya + yb) / 2 - 14 * unit)
        shapes.append(_letter(f"{set_up.scale_m:.2f} m", middle, OVERLAY[SCALE], unit))
    return tuple(shapes)


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
    if row not in SHOWN:
        return ()
    vertex, end, start = shown_points(row, leg)
    at, other = frame.at(vertex), frame.at(end)
    if end == "shoulder":
        other = other or frame.at("neck base")
    if at is None or other is None:
        return ()
    is_plumb = start in ("down", "up")
    from_ = frame.at(start)
    if is_plumb:  # the end of a plumb line from the vertex, along the vertical reference
        (xb, yb), (xt, yt) = ends = run.set_up.upright_px or ((0.0, 1.0), (0.0, 0.0))
        long = PLUMB_LONG * math.dist(at, other) / (math.dist(*ends) or 1.0)
        long = long if start == "up" else -long
        from_ = at[0] + long * (xt - xb), at[1] + long * (yt - yb)
    if from_ is None:
        return ()
    at, from_, other = map(to_place, (at, from_, other))
    return _angle(at, from_, other, text, is_plumb, unit)


def shown_points(row: str, leg: str) -> tuple[str, str, str]:
    """Return the points of a row of SHOWN for a leg: vertex, end of the limb, other arm or way."""
    vertex, end, start = _of_leg(SHOWN[row], leg)
    return vertex, end, start


def _of_leg(names: Sequence[str], leg: str) -> tuple[str, ...]:
    near, far = ("far", "near") if leg == "far" else ("near", "far")
    return tuple(name.replace("leg ", f"{near} ").replace("other ", f"{far} ") for name in names)


def _angle(at: Point, start: Point, end: Point, text: str, is_plumb: bool, unit: float) -> Shapes:
    """Return the arc, and the value where the angle opens, or beside a limb that is too near."""
    white = OVERLAY[NEAR_LEG].colour
    a, b = (math.atan2(p[1] - at[1], p[0] - at[0]) for p in (start, end))
    turn = (b - a + math.pi) % (2 * math.pi) - math.pi
    radius = min(ARC * unit, 0.8 * math.dist(at, end))
    n = max(2, round(abs(turn) * 16))

    def away(heading: float, far: float = radius) -> Point:
        return at[0] + far * math.cos(heading), at[1] + far * math.sin(heading)

    arc = tuple(away(a + turn * i / n) for i in range(n + 1))
    shapes: list[Shape] = [Line(arc, white, 1.5 * unit, (), CASING, 4.5 * unit)]
    if is_plumb:
        rim, _ = _between_rims(at, start, RIM * unit)
        shapes.append(_cased(rim, start, OVERLAY[PLUMB], unit))
    heading = b + math.copysign(0.5, turn) if abs(turn) < 0.9 else a + turn / 2
    size = 1.4 * LETTER * unit
    x, y = away(heading, radius + 12 * unit)
    anchor = "w" if math.cos(heading) > -0.2 else "e"
    place = x, y + 0.36 * size
    return (*shapes, Label(place, text, size, white, True, False, anchor, CASING, 2 * unit))


class RowShown(NamedTuple):
    """A row that is drawn on its key frame. text: its value as printed; limit: of its band."""

    key: str
    leg: str
    text: str
    value: float = 0.0
    limit: float | None = None


def row_shapes(
    run: Run,
    frame: KeyFrame,
    row: RowShown,
    to_place: ToPlace,
    unit: float = 1.0,
    size: Point | None = None,
) -> Shapes:
    """Return one row on its key frame: its taps, its angle or length, and its value beside it."""
    own = own_taps(frame, row.key, row.leg)
    drawn = angle_shapes(run, frame, row.key, row.leg, row.text, to_place, unit)
    drawn = drawn or _length(frame, row, to_place, unit)
    spots = [to_place(tap.at_px) for tap in own.taps if tap.at_px]
    if not drawn and row.text and spots:
        right, middle = max(x for x, _ in spots), sum(y for _, y in spots) / len(spots)
        drawn = (_value(row.text, (right + 34 * unit, middle), 18, unit),)
    return tap_shapes(own, to_place, unit, size) + drawn


def own_taps(frame: KeyFrame, key: str, leg: str) -> KeyFrame:
    """Return a key frame with the taps that a row is read from; all where it names none.

    At peak knee lift the whole figure stays: a lifted thigh alone tells nothing of the runner.
    """
    used = set(catalogue_row(key).needs_of(leg).get(frame.event, ()))
    if TRUNK_TOP in used:
        used |= {"shoulder", "neck base"}
    if not used or frame.event == PEAK_KNEE_LIFT:
        return frame
    return replace(frame, taps=tuple(tap for tap in frame.taps if tap.point in used))


LENGTHS: Final = {
    "leg_stack": ("leg ankle", "hip", False),
    "ankle_knee": ("leg knee", "leg ankle", True),
    "ankle_hip": ("hip", "leg ankle", True),
    "knee_separation": ("other knee", "leg knee", True),
    "separation_ahead": ("hip", "leg knee", True),
    "separation_behind": ("other knee", "hip", True),
}
"""Rows that are a length: from which point to which, and whether it is taken along the ground."""
LEAST_PX: Final = 6  # of a length on the screen that can carry a limit


def _length(frame: KeyFrame, row: RowShown, to_place: ToPlace, unit: float) -> Shapes:
    """Return the measuring line of a length with its limit as a stroke; nothing for other rows."""
    if row.key not in LENGTHS:
        return ()
    first, last, is_level = LENGTHS[row.key]
    names = _of_leg((first, last), row.leg)
    spots = [to_place(at) for name in names if (at := frame.at(name))]
    if len(spots) < 2 or math.dist(*spots) < LEAST_PX * unit:
        return ()
    (xa, ya), (xb, yb) = spots
    if is_level:
        level, anchor = max(ya, yb) + 26 * unit, "c"
        start, end = (xa, level), (xb, level)
    else:
        aside, anchor = max(xa, xb) + 60 * unit - xa, "w"
        start, end = (xa + aside, ya), (xb + aside, yb)
    dx, dy, long = end[0] - start[0], end[1] - start[1], math.dist(start, end)
    ux, uy = (dx / long, dy / long) if long else (1.0, 0.0)

    def line(ends: Sequence[Point], width: float) -> Line:
        return Line(tuple(ends), WHITE, width * unit, (), CASING, 3 * width * unit)

    def stroke(at: Point, half: float, width: float) -> Line:
        by_x, by_y = half * unit * -uy, half * unit * ux
        return line([(at[0] - by_x, at[1] - by_y), (at[0] + by_x, at[1] + by_y)], width)

    dots = (2.0 * unit, 4.0 * unit)
    shapes: list[Shape] = [
        Line((at, to), WHITE, unit, dots, CASING, 2 * unit)
        for at, to in zip(spots, (start, end), strict=True)
    ]
    shapes += [line((start, end), 2.0), *(stroke(at, 6, 2.0) for at in (start, end))]
    if row.limit is not None and abs(row.value) > 1.0:
        x, y = (c + row.limit / row.value * d for c, d in zip(start, (dx, dy), strict=True))
        below = (x, y + 28 * unit) if is_level else (x + 18 * unit, y + 4 * unit)
        told = _value(f"limit {row.limit:g}", below, 13, unit, anchor)
        shapes += [stroke((x, y), 11, 4.0), told]
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    beside = (x, y - 12 * unit) if is_level else (x + 18 * unit, y)
    return (*shapes, _value(row.text, beside, 18, unit, anchor))


def _value(text: str, at: Point, size: float, unit: float, anchor: str = "w") -> Label:
    return Label(at, text, size * unit, WHITE, True, False, anchor, CASING, 2 * unit)


def mark_shapes(
    mark: FreeMark, to_place: Callable[[Point], Point], unit: float = 1.0, text: str = ""
) -> Shapes:
    """Return a line, an angle or a note of the coach's own: white on black, square ends.

    text: its value as it is printed; a note shows its words.
    """
    places = [to_place(each) for each in mark.at_px]
    joint, *ends = places
    shapes: list[Shape] = [
        Line((joint, end), WHITE, 2.0 * unit, (), CASING, 6.0 * unit) for end in ends
    ]
    for place in places:
        for half, fill in ((7, CASING), (5, WHITE), (3, CASING)):
            shapes.append(Area(square(place, half * unit), fill))
    shown = mark.words if mark.kind == NOTE else text
    x, y = joint
    if mark.kind == LINE:
        (xb, yb), is_steep = ends[0], abs(ends[0][1] - y) > abs(ends[0][0] - x)
        at = (x + xb) / 2 - 46 * unit * is_steep, (y + yb) / 2 - 10 * unit
    elif mark.kind == ANGLE:
        dx, dy = (sum(end[i] for end in ends) - 2 * joint[i] for i in (0, 1))
        far = 70 * unit / (math.hypot(dx, dy) or 1.0)
        at = x + far * dx, y + far * dy
    else:
        at = x, y - 16 * unit
    if shown:
        shapes.append(Label(at, shown, 18.0 * unit, WHITE, True, False, "c", CASING, 2 * unit))
    return tuple(shapes)


def trail_dot(at: Point, point: str, *, is_past: bool, unit: float = 1.0) -> Shape:
    """Return one place of a path: the hip round, others square; solid once passed, else hollow."""
    fill = WHITE if is_past else CASING
    if point == "hip":
        return Ring(at, 3.5 * unit, fill, WHITE, 1.5 * unit, CASING, 4.5 * unit)
    edge = CASING if is_past else WHITE
    return Area(square(at, 3.5 * unit), fill, edge, 1.5 * unit)
