"""Strokes, outlines and discs on a large Pillow image that is reduced afterwards."""

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Final

from PIL import ImageDraw

from tapmark.drawing.shapes import Point

Ink = int | tuple[int, ...]

FAT: Final = 0.5  # Pillow's polygons reach half a pixel too far on every side
ROUND: Final = 48  # corners of a circle drawn as a line


def stroke(
    draw: ImageDraw.ImageDraw, points: Iterable[Point], width: float, ink: Ink, is_round: bool
) -> None:
    """Draw a polyline with blunt ends, or round ones; corners are always round."""
    corners = list(points)
    for (xa, ya), (xb, yb) in pairwise(corners):
        length = math.hypot(xb - xa, yb - ya)
        if length > 0:
            ux, uy = (xb - xa) / length, (yb - ya) / length
            nx, ny = -uy * (width / 2 - FAT), ux * (width / 2 - FAT)
            xa, ya, xb, yb = xa + ux * FAT, ya + uy * FAT, xb - ux * FAT, yb - uy * FAT
            quad = ((xa + nx, ya + ny), (xb + nx, yb + ny), (xb - nx, yb - ny), (xa - nx, ya - ny))
            fill(draw, quad, ink)
    for corner in corners if is_round else corners[1:-1]:
        disc(draw, corner, width / 2, ink)


def polygon(draw: ImageDraw.ImageDraw, points: tuple[Point, ...], ink: Ink) -> None:
    """Fill an outline, drawn in a little so that it does not come out fat."""
    x = sum(point[0] for point in points) / len(points)
    y = sum(point[1] for point in points) / len(points)
    fill(draw, [_nearer(point, (x, y)) for point in points], ink)


def _nearer(point: Point, centre: Point) -> Point:
    distance = math.dist(point, centre)
    return _between(point, centre, FAT / distance) if distance > FAT else point


def fill(draw: ImageDraw.ImageDraw, points: Iterable[Point], ink: Ink) -> None:
    """Fill the pixels inside an outline and on it, as Pillow does."""
    draw.polygon([(math.floor(x), math.floor(y)) for x, y in points], fill=ink)


def disc(draw: ImageDraw.ImageDraw, centre: Point, radius: float, ink: Ink) -> None:
    """Fill a circle."""
    x, y = centre
    box = (x - radius, y - radius, x + radius - 1, y + radius - 1)
    draw.ellipse(box, fill=ink)


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
