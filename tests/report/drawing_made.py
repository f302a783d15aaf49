"""Runs of drawn runners, and what tests of drawings ask of shapes."""

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

import numpy as np
from PIL import Image

from tapmark.marks.run import KeyFrame, Run
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.shapes import Area, Label, Line, Point, Ring, Shape, Shapes
from tests.drawn_runner.athletes import OVERSTRIDES, RUNS_WELL
from tests.drawn_runner.camera import View
from tests.drawn_runner.runs import drawn_run

FONTS = Fonts(1.0)


@cache
def good_run() -> Run:
    """The runner with nothing to mend, taps at the truth."""
    return drawn_run(RUNS_WELL)


@cache
def poor_run(direction: int = 1) -> Run:
    """The runner who lands far ahead and sits, taps at the truth."""
    return drawn_run(OVERSTRIDES, View(direction=direction))


def with_frames(run: Run, frames: Iterable[KeyFrame]) -> Run:
    """The run with other key frames in its first step."""
    return replace(run, steps=(replace(run.steps[0], key_frames=tuple(frames)),))


def without(run: Run, *events: str) -> Run:
    """The run without some key frames."""
    return with_frames(run, (f for f in run.steps[0].key_frames if f.event not in events))


def untapped(run: Run, *events: str) -> Run:
    """The run with some key frames chosen but not tapped."""
    frames = run.steps[0].key_frames
    return with_frames(run, (replace(f, taps=()) if f.event in events else f for f in frames))


def texts(shapes: Shapes) -> list[str]:
    """Every text that is written."""
    return [shape.text for shape in shapes if isinstance(shape, Label)]


def lines(shapes: Shapes) -> list[Line]:
    """Every line."""
    return [shape for shape in shapes if isinstance(shape, Line)]


def ink(shapes: Shapes, size: tuple[int, int] = (400, 400)) -> float:
    """Black in pixels when the shapes are painted on white."""
    return float((255 - pixels(shapes, size).astype(float)).sum() / 255)


def pixels(shapes: Shapes, size: tuple[int, int] = (400, 400)) -> np.ndarray:
    """Grey values of the painted shapes, shape (height, width)."""
    image = Image.new("L", size, 255)
    paint(image, shapes, FONTS)
    return np.asarray(image)


def mapped(shapes: Shapes, scale: float, dx: float = 0.0, dy: float = 0.0) -> Shapes:
    """Return the shapes scaled about the origin (widths and text too), then shifted."""
    return tuple(_mapped(shape, scale, dx, dy) for shape in shapes)


def _mapped(shape: Shape, scale: float, dx: float, dy: float) -> Shape:
    def at(point: Point) -> Point:
        return point[0] * scale + dx, point[1] * scale + dy

    match shape:
        case Line():
            return replace(
                shape,
                points=tuple(map(at, shape.points)),
                width=shape.width * scale,
                dash=tuple(d * scale for d in shape.dash),
                casing_width=shape.casing_width * scale,
            )
        case Area():
            return replace(shape, points=tuple(map(at, shape.points)), width=shape.width * scale)
        case Ring():
            return replace(
                shape,
                centre=at(shape.centre),
                radius=shape.radius * scale,
                width=shape.width * scale,
                casing_width=shape.casing_width * scale,
            )
        case Label():
            return replace(
                shape,
                point=at(shape.point),
                size=shape.size * scale,
                casing_width=shape.casing_width * scale,
            )
