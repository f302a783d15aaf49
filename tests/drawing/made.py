"""Runs of drawn runners, and what tests of drawings ask of shapes."""

from collections.abc import Iterable
from dataclasses import replace
from functools import cache

import numpy as np
from PIL import Image

from tapmark.drawing.pillow_painter import Fonts, paint
from tapmark.drawing.shapes import Label, Line, Shapes
from tapmark.errands.drawn_runs import drawn_run
from tapmark.marks.run import KeyFrame, Run
from tapmark.practice.athletes import OVERSTRIDES, RUNS_WELL
from tapmark.practice.camera import View

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
