"""Shapes as smooth pictures for widgets: painted by Pillow, kept while they are shown."""

import tkinter as tk
from tkinter import font as tkfont

from PIL import Image, ImageTk

from tapmark.drawing import palette
from tapmark.drawing.font_files import installed
from tapmark.drawing.pillow_painter import Fonts, paint
from tapmark.drawing.shapes import Line, Shapes


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


def warning_sign(em: float) -> Shapes:
    """An open triangle with a stroke in it, in a square of 2 em."""
    top, left, right = (em, em * 0.25), (em * 0.15, em * 1.75), (em * 1.85, em * 1.75)
    width = max(1.2, em * 0.18)
    return (
        Line((top, left, right, top, left), palette.ERROR, width),
        Line(((em, em * 0.75), (em, em * 1.25)), palette.ERROR, width),
        Line(((em, em * 1.42), (em, em * 1.58)), palette.ERROR, width),
    )
