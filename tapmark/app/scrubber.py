"""A long bar for walking through the pictures, with the chosen key frames on it."""

import tkinter as tk
from collections.abc import Callable, Sequence
from typing import Any

from tapmark.app.canvas_painter import Letters, paint
from tapmark.app.dots import HANDLE, Dots
from tapmark.app.fresh import Fresh
from tapmark.app.painting import em_px
from tapmark.app.style import Look
from tapmark.drawing import palette
from tapmark.drawing.shapes import Area, Label, Line, Shape, Shapes

APART = 0.85  # em from the middle of a numeral to that of the next
Y = 2.6  # height of the bar below the top of the canvas, em
LANE = 1.05, 0.28  # height of the first turning mark, and of each one below it, em


class Scrubber:
    """Press or drag to go to a picture. Marks are (picture, short name, is the one at hand)."""

    def __init__(self, parent: tk.Misc, look: Look, go: Callable[[int], None]) -> None:
        self._go, self._em = go, em_px(parent)
        self._letters, self._fresh = Letters(parent), Fresh()
        self._count = 0
        self.canvas = tk.Canvas(
            parent,
            height=round(5.1 * self._em),
            width=1,
            background=palette.PAPER,
            highlightthickness=0,
            cursor="sb_h_double_arrow",
        )
        self._dots = Dots(parent, look.u)
        self._handle = self.canvas.create_image(0, 0, image=self._dots[HANDLE])
        self.canvas.bind("<Button-1>", self._pressed)
        self.canvas.bind("<B1-Motion>", self._pressed)

    @property
    def _ends(self) -> tuple[float, float]:
        return 0.9 * self._em, max(1.0, self.canvas.winfo_width() - 0.9 * self._em)

    def _x(self, picture: int) -> float:
        left, right = self._ends
        return left + (right - left) * picture / max(1, self._count - 1)

    def _pressed(self, event: Any) -> None:
        left, right = self._ends
        if self._count:
            share = (event.x - left) / max(1.0, right - left)
            self._go(round(min(max(share, 0.0), 1.0) * (self._count - 1)))

    def refresh(
        self,
        picture: int,
        count: int,
        expected: int | None,
        marks: tuple[tuple[int, str, bool], ...] = (),
        spans: tuple[tuple[int, int, str], ...] = (),
    ) -> None:
        """Draw the bar anew if anything changed.

        expected: pictures of a clip that is still being read. spans: (first, last, letter) of the
        turning marks, in lanes of their own above the bar: thighs and arms turn almost together.
        """
        size = (self.canvas.winfo_width(), self.canvas.winfo_height())
        self._count = max(count, expected or 0)
        if self._fresh.is_new(count, expected, marks, spans, size):
            shapes = (*self._shapes(count, marks), *self._lane(spans))
            paint(self.canvas, shapes, self._letters, "bar")
            self.canvas.itemconfigure(self._handle, state="normal" if count else "hidden")
            self.canvas.tag_raise(self._handle)
        self.canvas.coords(self._handle, self._x(picture), Y * self._em)

    def _shapes(self, count: int, marks: tuple[tuple[int, str, bool], ...]) -> Shapes:
        left, right = self._ends
        y, half = Y * self._em, 0.22 * self._em
        shapes: list[Shape] = [_bar(left, right, y, half, palette.HAIRLINE)]
        if count:
            shapes.append(_bar(left, self._x(count - 1), y, half, palette.HAIRLINE_DARK))
        ordered = sorted(marks)
        apart = spread([self._x(at) for at, _, _ in ordered], APART * self._em, left, right)
        for (at, name, is_here), name_x in zip(ordered, apart, strict=True):
            ink = palette.ACCENT if is_here else palette.INK
            x = self._x(at)
            shapes.append(
                Line(((x, y - 0.6 * self._em), (x, y + 0.9 * self._em)), ink, 0.15 * self._em)
            )
            spot = (name_x, y + 1.9 * self._em)
            shapes.append(Label(spot, name, self._em, ink, is_bold=is_here, anchor="c"))
        return tuple(shapes)

    def _lane(self, spans: tuple[tuple[int, int, str], ...]) -> Shapes:
        shapes: list[Shape] = []
        ordered = sorted(spans, key=lambda span: span[0] + span[1])
        middles = [(self._x(first) + self._x(last)) / 2 for first, last, _ in ordered]
        apart = spread(middles, APART * self._em, *self._ends)
        for i, ((first, last, letter), x) in enumerate(zip(ordered, apart, strict=True)):
            left, right, y = self._x(first), self._x(last), (LANE[0] + i * LANE[1]) * self._em
            shapes.append(
                Line(((left, y), (max(right, left + 2), y)), palette.INK, 0.18 * self._em)
            )
            at = (x, 0.75 * self._em)
            shapes.append(Label(at, letter, 0.9 * self._em, palette.INK, anchor="c"))
        return tuple(shapes)


def spread(wanted: Sequence[float], apart: float, left: float, right: float) -> list[float]:
    """Return places at least `apart` from each other, each near the one wanted, in their order.

    wanted: px from left to right. Neighbours that would touch stand about their common middle;
    where all of them need more than there is, they share it.
    """
    if not wanted:
        return []
    step = min(apart, (right - left) / max(1, len(wanted) - 1))
    groups: list[list[float]] = []
    for x in wanted:
        groups.append([x])
        while len(groups) > 1 and _first(groups[-1], step) - _last(groups[-2], step) < step:
            groups[-2:] = [groups[-2] + groups[-1]]
    found = [_first(group, step) + i * step for group in groups for i in range(len(group))]
    n = len(found)
    held = [min(x, right - (n - 1 - i) * step) for i, x in enumerate(found)]
    return [max(x, left + i * step) for i, x in enumerate(held)]


def _first(group: list[float], step: float) -> float:
    return sum(group) / len(group) - step * (len(group) - 1) / 2


def _last(group: list[float], step: float) -> float:
    return _first(group, step) + step * (len(group) - 1)


def _bar(left: float, right: float, y: float, half: float, fill: str) -> Area:
    return Area(((left, y - half), (right, y - half), (right, y + half), (left, y + half)), fill)
