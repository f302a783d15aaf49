"""Marks over a picture: taps, the lines between them, references, one angle at a time.

Every line is a light core on a black casing, and every kind of mark has its own shape, so that
none depends on colour. Marks are hollow: lines stop at their rim and the very point stays open.
Near points carry capital letters, far points small ones.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from tapmark.drawing.palette import CASING, OVERLAY, Role
from tapmark.drawing.shapes import Dash, Label, Line, Point, Ring, Shape, Shapes
from tapmark.marks.run import KeyFrame, SetUp

ToPlace = Callable[[Point], Point]

CORE: Final = 2.0  # at 96 dots an inch; the casing adds as much on each side
RIM: Final = 6.5
LETTER: Final = 13.0
NEAR_LEG, TRUNK, FAR, PLUMB, SCALE = (
    "near leg",
    "trunk and arm",
    "far leg",
    "plumb and pole",
    "scale",
)
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


@dataclass(frozen=True)
class Pen:
    """Where picture points lie in the place, and how large a mark's unit is there."""

    to_place: ToPlace
    unit: float = 1.0

    def line(self, start: Point, end: Point, role: Role) -> Line:
        """Return a cased line in the dash of its role."""
        dash: Dash = tuple(length * self.unit for length in role.dash)
        width = CORE * self.unit
        return Line((start, end), role.colour, width, dash, CASING, 3 * width)

    def letter(self, text: str, at: Point, role: Role) -> Label:
        """Return a cased letter around a middle."""
        size = LETTER * self.unit
        baseline = (at[0], at[1] + 0.36 * size)
        return Label(baseline, text, size, role.colour, True, False, "c", CASING, 2 * self.unit)


def tap_shapes(frame: KeyFrame, to_place: ToPlace, unit: float = 1.0) -> Shapes:
    """Return the taps of a key frame, the lines between them and their letters.

    to_place: from picture px to the place that paints. A guess carries "≈" behind its letter.
    """
    pen = Pen(to_place, unit)
    spots = {tap.point: to_place(tap.at_px) for tap in frame.taps if tap.at_px is not None}
    guesses = {tap.point for tap in frame.taps if tap.certainty == "guess"}
    bones = [(spots[a], spots[b], role) for a, b, role in BONES if a in spots and b in spots]
    lines = [
        pen.line(*_between_rims(a, b, RIM * unit), OVERLAY[role])
        for a, b, role in bones
        if math.dist(a, b) > 2.2 * RIM * unit
    ]
    marks = [shape for point, at in spots.items() for shape in mark(pen, at, _role(point))]
    letters: list[Label] = []
    for point, at in spots.items():
        text = LETTERS.get(point, "") + (" ≈" if point in guesses else "")
        others = [spot for name, spot in spots.items() if name != point]
        taken = others + [label.point for label in letters]
        letters.append(pen.letter(text, _free_side(at, bones, taken, unit), OVERLAY[_role(point)]))
    return (*lines, *marks, *letters)


def _role(point: str) -> str:
    if point.startswith("far"):
        return FAR
    return TRUNK if point in _ARM else NEAR_LEG


def mark(pen: Pen, at: Point, role: str) -> Iterator[Shape]:
    """Yield a hollow mark in the shape of its role."""
    look, radius, width = OVERLAY[role], RIM * pen.unit, CORE * pen.unit
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
    share = rim / math.dist(a, b)
    dx, dy = (b[0] - a[0]) * share, (b[1] - a[1]) * share
    return (a[0] + dx, a[1] + dy), (b[0] - dx, b[1] - dy)


def _free_side(
    at: Point, bones: Sequence[tuple[Point, Point, str]], taken: Sequence[Point], unit: float
) -> Point:
    """Return a place for a letter around a mark, as far from lines, marks and letters as can be."""
    reach = 19.0 * unit
    sides = [
        (at[0] + reach * math.cos(math.pi * i / 4), at[1] + reach * math.sin(math.pi * i / 4))
        for i in range(8)
    ]

    def room(side: Point) -> float:
        from_lines = [_distance(side, a, b) for a, b, _ in bones]
        from_spots = [math.dist(side, other) for other in taken]
        return min([*from_lines, *from_spots, 1.5 * reach])

    return max(sides, key=room)


def _distance(point: Point, a: Point, b: Point) -> float:
    (x, y), (xa, ya), (xb, yb) = point, a, b
    length = math.dist(a, b)
    if length == 0.0:
        return math.dist(point, a)
    share = max(0.0, min(1.0, ((x - xa) * (xb - xa) + (y - ya) * (yb - ya)) / length**2))
    return math.dist(point, (xa + share * (xb - xa), ya + share * (yb - ya)))


def reference_shapes(set_up: SetUp, to_place: ToPlace, unit: float = 1.0) -> Shapes:
    """Return the vertical reference and the scale marks, where they are set."""
    pen = Pen(to_place, unit)
    shapes: list[Shape] = []
    for ends, role in ((set_up.upright_px, PLUMB), (set_up.scale_px, SCALE)):
        if ends is None:
            continue
        a, b = to_place(ends[0]), to_place(ends[1])
        rim = 1.8 * RIM * unit
        if math.dist(a, b) > 2.2 * rim:
            shapes.append(pen.line(*_between_rims(a, b, rim), OVERLAY[role]))
        shapes += [shape for at in (a, b) for shape in mark(pen, at, role)]
    if set_up.scale_px and set_up.scale_m:
        (xa, ya), (xb, yb) = map(to_place, set_up.scale_px)
        middle = ((xa + xb) / 2, (ya + yb) / 2 - 14 * unit)
        shapes.append(pen.letter(f"{set_up.scale_m:.2f} m", middle, OVERLAY[SCALE]))
    return tuple(shapes)
