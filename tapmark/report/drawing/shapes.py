"""What to draw, as plain values. Screen and paper paint the same list.

Coordinates and widths are in the unit of the place that asks (frame px, canvas px or mm);
x right, y down. Colours are "#rrggbb"; None = not drawn. Shapes paint in list order.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cached_property

Point = tuple[float, float]
Dash = tuple[float, ...]
TextWidth = Callable[[str, float, bool], float]  # text, em size, bold -> width, same unit


@dataclass(frozen=True)
class Line:
    """An open polyline with blunt ends, or round ones where asked.

    casing: a wider line in another colour painted under ALL cores.
    """

    points: tuple[Point, ...]
    colour: str
    width: float
    dash: Dash = ()
    casing: str | None = None
    casing_width: float = 0.0
    is_round: bool = False


@dataclass(frozen=True)
class Area:
    """A closed outline, filled and/or edged."""

    points: tuple[Point, ...]
    fill: str | None
    edge: str | None = None
    width: float = 0.0


@dataclass(frozen=True)
class Ring:
    """A circle, filled and/or edged."""

    centre: Point
    radius: float
    fill: str | None = None
    edge: str | None = None
    width: float = 0.0
    casing: str | None = None
    casing_width: float = 0.0


@dataclass(frozen=True)
class Label:
    """A line of text; size is the height of an em in the unit of the place.

    anchor: "w", "c" or "e" (horizontal), text sits on its baseline at point.
    """

    point: Point
    text: str
    size: float
    colour: str
    is_bold: bool = False
    is_italic: bool = False
    anchor: str = "w"
    casing: str | None = None
    casing_width: float = 0.0


Shape = Line | Area | Ring | Label
Shapes = tuple[Shape, ...]


@dataclass(frozen=True)
class Drawing:
    """A drawing with the ground at y = 0 and the left end at x = 0, and the room it takes.

    draw:          makes the shapes, when they are asked for: pages try several sizes.
    above, below:  room above and under the ground.
    alt:           told to who cannot see it.
    """

    draw: Callable[[], Shapes]
    above: float
    below: float
    alt: str = ""

    @cached_property
    def shapes(self) -> Shapes:
        """Everything drawn."""
        return self.draw()

    @property
    def height(self) -> float:
        """Height of the whole."""
        return self.above + self.below


def on_the_way(a: Point, b: Point, share: float) -> Point:
    """Return the point a share of the way from a to b."""
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share


def square(centre: Point, half: float) -> tuple[Point, ...]:
    """Return the corners of an upright square from the upper left one on, clockwise."""
    x, y = centre
    return ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))


def moved(shapes: Shapes, dx: float, dy: float) -> Shapes:
    """Return the shapes shifted by (dx, dy)."""
    result: list[Shape] = []
    for shape in shapes:
        match shape:
            case Area(points, fill, edge, width):  # there are many of them: replace() is slower
                corners = tuple([(x + dx, y + dy) for x, y in points])
                result.append(Area(corners, fill, edge, width))
            case Line(points):
                result.append(replace(shape, points=tuple([(x + dx, y + dy) for x, y in points])))
            case Ring((x, y)):
                result.append(replace(shape, centre=(x + dx, y + dy)))
            case Label((x, y)):
                result.append(replace(shape, point=(x + dx, y + dy)))
    return tuple(result)


def mirrored(shapes: Shapes, width: float) -> Shapes:
    """Return the shapes left for right within 0…width; text is moved, never turned round."""

    def at(point: Point) -> Point:
        return width - point[0], point[1]

    turned = {"w": "e", "c": "c", "e": "w"}
    result: list[Shape] = []
    for shape in shapes:
        match shape:
            case Line() | Area():
                result.append(replace(shape, points=tuple(map(at, shape.points))))
            case Ring():
                result.append(replace(shape, centre=at(shape.centre)))
            case Label():
                anchor = turned[shape.anchor]
                result.append(replace(shape, point=at(shape.point), anchor=anchor))
    return tuple(result)
