"""Strokes, outlines and discs on a large Pillow image that is reduced afterwards."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from PIL import ImageDraw

from tapmark.drawing.shapes import Point

Ink = int | tuple[int, ...]

FAT: Final = 0.5  # Pillow's polygons reach half a pixel too far on every side
ROUND: Final = 48  # corners of a circle drawn as a line


@dataclass(frozen=True)
class Brush:
    """Draws in units of the shapes: a point (x, y) lies at (scale · x − left, scale · y − top) px.

    Everything goes from units to whole pixels in one step, since a page has many corners.
    """

    draw: ImageDraw.ImageDraw
    scale: float
    left: float = 0.0
    top: float = 0.0

    def stroke(self, points: Iterable[Point], width: float, ink: Ink, is_round: bool) -> None:
        """Draw a polyline with blunt ends, or round ones; corners are always round."""
        corners = list(points)
        fat = FAT / self.scale
        for (xa, ya), (xb, yb) in pairwise(corners):
            length = math.hypot(xb - xa, yb - ya)
            if length > 0:
                ux, uy = (xb - xa) / length, (yb - ya) / length
                nx, ny = -uy * (width / 2 - fat), ux * (width / 2 - fat)
                xa, ya, xb, yb = xa + ux * fat, ya + uy * fat, xb - ux * fat, yb - uy * fat
                ends = ((xa + nx, ya + ny), (xb + nx, yb + ny))
                self._fill((*ends, (xb - nx, yb - ny), (xa - nx, ya - ny)), ink)
        for corner in corners if is_round else corners[1:-1]:
            self.disc(corner, width / 2, ink)

    def polygon(self, points: tuple[Point, ...], ink: Ink) -> None:
        """Fill an outline, drawn in a little so that it does not come out fat."""
        x = sum(point[0] for point in points) / len(points)
        y = sum(point[1] for point in points) / len(points)
        fat = FAT / self.scale
        inner = []
        for px, py in points:
            dx, dy = x - px, y - py
            distance = math.hypot(dx, dy)
            share = fat / distance if distance > fat else 0.0
            inner.append((px + dx * share, py + dy * share))
        self._fill(inner, ink)

    def _fill(self, points: Iterable[Point], ink: Ink) -> None:
        scale, left, top, floor = self.scale, self.left, self.top, math.floor
        whole = [(floor(x * scale - left), floor(y * scale - top)) for x, y in points]
        self.draw.polygon(whole, fill=ink)

    def disc(self, centre: Point, radius: float, ink: Ink) -> None:
        """Fill a circle."""
        x, y = centre[0] * self.scale - self.left, centre[1] * self.scale - self.top
        r = radius * self.scale
        self.draw.ellipse((x - r, y - r, x + r - 1, y + r - 1), fill=ink)

    def circle(self, centre: Point, radius: float, width: float, ink: Ink) -> None:
        """Draw a circle as a line."""
        x, y = centre
        turn = [2 * math.pi * i / ROUND for i in range(ROUND + 2)]
        points = ((x + radius * math.cos(a), y + radius * math.sin(a)) for a in turn)
        self.stroke(points, width, ink, False)


def dashes(points: tuple[Point, ...], dash: tuple[float, ...]) -> Iterator[tuple[Point, ...]]:
    """Yield the drawn pieces of a polyline; dash is lengths on, off, on, … from its start."""
    if not dash:
        yield points
        return
    for a, b in pairwise(points):
        length, at, i = math.dist(a, b), 0.0, 0
        while at < length:
            end = min(at + dash[i % len(dash)], length)
            if i % 2 == 0:
                yield _between(a, b, at / length), _between(a, b, end / length)
            at, i = end, i + 1


def _between(a: Point, b: Point, share: float) -> Point:
    return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
