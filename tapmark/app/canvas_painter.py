"""Shapes onto a Tk canvas, for what must follow the pointer at once.

Canvas lines are not smoothed; drawings that can wait a moment are painted by Pillow instead
(`painting`). All casings come first, then all cores, so that crossings stay readable.
"""

import tkinter as tk
from collections.abc import Callable
from tkinter import font as tkfont
from typing import Any, Literal

from tapmark.drawing.shapes import Area, Label, Line, Ring, Shape, Shapes

FontOf = Callable[[float, bool], tuple[tkfont.Font, int]]
ANCHORS: dict[str, Literal["sw", "s", "se"]] = {"w": "sw", "c": "s", "e": "se"}


class Letters:
    """Fonts of the window's family by height in px, made once each."""

    def __init__(self, root: tk.Misc) -> None:
        self._root = root
        self._made: dict[tuple[int, bool], tuple[tkfont.Font, int]] = {}

    def __call__(self, size_px: float, is_bold: bool = False) -> tuple[tkfont.Font, int]:
        """Return the font whose em is that many px, and how far it reaches below its baseline."""
        key = max(6, round(size_px)), is_bold
        if key not in self._made:
            family = tkfont.nametofont("TkDefaultFont", self._root).actual("family")
            weight: Literal["bold", "normal"] = "bold" if is_bold else "normal"
            font = tkfont.Font(self._root, family=family, size=-key[0], weight=weight)
            self._made[key] = font, font.metrics("descent")
        return self._made[key]


def paint(canvas: tk.Canvas, shapes: Shapes, letters: FontOf, tag: str) -> None:
    """Replace everything with that tag by the shapes; coordinates are canvas px."""
    canvas.delete(tag)
    for shape in shapes:
        _casing(canvas, shape, letters, tag)
    for shape in shapes:
        _core(canvas, shape, letters, tag)


def _casing(canvas: tk.Canvas, shape: Shape, letters: FontOf, tag: str) -> None:
    match shape:
        case Line(casing=str(casing)):
            _line(canvas, shape.points, casing, shape.casing_width, shape.dash, tag)
        case Ring(casing=str(casing)):
            _ring(canvas, shape, None, casing, shape.casing_width, tag)
        case Label(casing=str(casing)):
            reach = max(1, round(shape.casing_width))
            for dx in (-reach, 0, reach):
                for dy in (-reach, 0, reach):
                    _text(canvas, shape, casing, letters, tag, (dx, dy))
        case _:
            pass


def _core(canvas: tk.Canvas, shape: Shape, letters: FontOf, tag: str) -> None:
    match shape:
        case Line():
            _line(canvas, shape.points, shape.colour, shape.width, shape.dash, tag)
        case Ring():
            _ring(canvas, shape, shape.fill, shape.edge, shape.width, tag)
        case Area():
            canvas.create_polygon(
                *(c for point in shape.points for c in point),
                fill=shape.fill or "",
                outline=shape.edge or "",
                width=max(1.0, shape.width) if shape.edge else 0,
                tags=tag,
            )
        case Label():
            _text(canvas, shape, shape.colour, letters, tag, (0, 0))


def _line(
    canvas: tk.Canvas, points: Any, colour: str, width: float, dash: tuple[float, ...], tag: str
) -> None:
    flat = [c for point in points for c in point]
    canvas.create_line(
        *flat,
        fill=colour,
        width=max(1.0, width),
        capstyle="butt",
        dash=tuple(max(1, round(length)) for length in dash),
        tags=tag,
    )


def _ring(
    canvas: tk.Canvas, ring: Ring, fill: str | None, edge: str | None, width: float, tag: str
) -> None:
    (x, y), r = ring.centre, ring.radius
    canvas.create_oval(
        x - r,
        y - r,
        x + r,
        y + r,
        fill=fill or "",
        outline=edge or "",
        width=max(1.0, width) if edge else 0,
        tags=tag,
    )


def _text(
    canvas: tk.Canvas,
    label: Label,
    colour: str,
    letters: FontOf,
    tag: str,
    shift: tuple[int, int],
) -> None:
    font, descent = letters(label.size, label.is_bold)
    x, y = label.point[0] + shift[0], label.point[1] + shift[1]
    canvas.create_text(
        x,
        y + descent,
        text=label.text,
        fill=colour,
        font=font,
        anchor=ANCHORS[label.anchor],
        tags=tag,
    )
