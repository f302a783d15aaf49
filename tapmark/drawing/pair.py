"""The pair on one ground line: the two poses of `idea`, their plumb lines and the gap below."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from tapmark.drawing.body import Pose, points_of
from tapmark.drawing.figure import FigureLook, extent, figure_shapes
from tapmark.drawing.idea import Pair
from tapmark.drawing.palette import BLACK, WHITE
from tapmark.drawing.shapes import Line, Point, Ring, Shape, Shapes


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
