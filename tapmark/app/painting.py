"""Shapes as smooth pictures for widgets: painted by Pillow, kept while they are shown."""

import tkinter as tk
from collections.abc import Iterable
from tkinter import font as tkfont

from PIL import Image, ImageTk

from tapmark.drawing import palette
from tapmark.drawing.font_files import installed
from tapmark.drawing.pillow_painter import Fonts, paint
from tapmark.drawing.shapes import Label, Line, Ring, Shape, Shapes

ROOM = 32  # px around the points of an overlay, for marks and letters


def window_fonts(root: tk.Misc) -> Fonts:
    """Return the letters of drawings in the window: its own family where Pillow can have it."""
    name = tkfont.nametofont("TkDefaultFont", root).actual("family")
    family = next((each for each in installed() if each.name == name), None)
    return Fonts(1.0, family)


def em_px(root: tk.Misc) -> float:
    """Return the em of the window's text in px."""
    font = tkfont.nametofont("TkDefaultFont", root)
    size = font.actual("size")
    return float(-size) if size < 0 else size * float(root.tk.call("tk", "scaling"))


def painted(
    shapes: Shapes, size: tuple[int, int], fonts: Fonts, ground: str = palette.WHITE
) -> Image.Image:
    """Return shapes (in px) on an image of that size."""
    image = Image.new("RGB", (max(1, size[0]), max(1, size[1])), ground)
    paint(image, shapes, fonts)
    return image


def photo(
    root: tk.Misc,
    shapes: Shapes,
    size: tuple[int, int],
    fonts: Fonts,
    ground: str = palette.WHITE,
) -> ImageTk.PhotoImage:
    """Return the same as a picture a widget can show; the caller keeps it."""
    return ImageTk.PhotoImage(painted(shapes, size, fonts, ground), master=root)


def clear_photo(
    root: tk.Misc, shapes: Shapes, size: tuple[int, int], fonts: Fonts, ink: str = palette.INK
) -> ImageTk.PhotoImage:
    """Return shapes of one ink on nothing, for a ground that changes (a selected row)."""
    dark = painted(shapes, size, fonts).convert("L")
    image = Image.new("RGB", size, ink)
    image.putalpha(dark.point([255 - level for level in range(256)]))
    return ImageTk.PhotoImage(image, master=root)


def reach_of(shapes: Shapes, size: tuple[int, int], room: int = ROOM) -> tuple[int, int, int, int]:
    """Return left, top, right, bottom of shapes in px, with room for letters, within a size."""
    points = [point for shape in shapes for point in _points(shape)]
    xs, ys = [x for x, _ in points], [y for _, y in points]
    left, top = max(0, int(min(xs)) - room), max(0, int(min(ys)) - room)
    right, bottom = min(size[0], int(max(xs)) + room), min(size[1], int(max(ys)) + room)
    return left, top, max(left + 1, right), max(top + 1, bottom)


def _points(shape: Shape) -> Iterable[tuple[float, float]]:
    match shape:
        case Ring():
            return (shape.centre,)
        case Label():
            wide = {"w": (0.0, 1.0), "c": (-0.5, 0.5), "e": (-1.0, 0.0)}[shape.anchor]
            length = 0.75 * shape.size * len(shape.text)
            return tuple((shape.point[0] + share * length, shape.point[1]) for share in wide)
        case _:
            return shape.points


def warning_sign(em: float) -> Shapes:
    """An open triangle with a stroke in it, in a square of 2 em."""
    top, left, right = (em, em * 0.25), (em * 0.15, em * 1.75), (em * 1.85, em * 1.75)
    width = max(1.2, em * 0.18)
    return (
        Line((top, left, right, top, left), palette.ERROR, width),
        Line(((em, em * 0.75), (em, em * 1.25)), palette.ERROR, width),
        Line(((em, em * 1.42), (em, em * 1.58)), palette.ERROR, width),
    )
