"""Shapes in widgets: painted smoothly by Pillow, or at once by the canvas."""

import tkinter as tk
from collections.abc import Callable, Hashable, Iterable, Sequence
from functools import lru_cache
from itertools import product
from tkinter import font as tkfont
from typing import Any, Literal

from PIL import Image, ImageTk

from tapmark.checklist.verdict import Band
from tapmark.report.drawing import palette
from tapmark.report.drawing.idea import Pair
from tapmark.report.drawing.painter import Fonts, installed
from tapmark.report.drawing.painter import paint as paint_shapes
from tapmark.report.drawing.pair import Caption, PairLook, pair_drawing
from tapmark.report.drawing.shapes import Area, Label, Line, Ring, Shape, Shapes, moved
from tapmark.report.drawing.trend import TrendLook, TrendPoint, trend_shapes

ROOM = 32  # px around the points of an overlay, for marks and letters


def window_fonts(root: tk.Misc) -> Fonts:
    """Return the letters of drawings in the window: its own family where Pillow can have it."""
    font = tkfont.nametofont("TkDefaultFont", root)
    asked = str(font.cget("family"))
    if asked not in _FAMILIES:  # Tk takes its time
        _FAMILIES[asked] = font.actual("family")
    return _fonts_like(_FAMILIES[asked])


_FAMILIES: dict[str, str] = {}
"""The family that a font asks for -> the one it has on this computer."""


@lru_cache(maxsize=8)
def _fonts_like(name: str) -> Fonts:
    """Return the letters of a family; every drawing of a window asks, and they remember widths."""
    return Fonts(1.0, next((each for each in installed() if each.name == name), None))


def em_px(root: tk.Misc) -> float:
    """Return the em of the window's text in px."""
    font = tkfont.nametofont("TkDefaultFont", root)
    size = int(font.cget("size"))  # `Look` has set it
    return float(-size) if size < 0 else size * float(root.tk.call("tk", "scaling"))


def painted(
    shapes: Shapes, size: tuple[int, int], fonts: Fonts, ground: str = palette.WHITE
) -> Image.Image:
    """Return shapes (in px) on an image of that size."""
    image = Image.new("RGB", (max(1, size[0]), max(1, size[1])), ground)
    paint_shapes(image, shapes, fonts)
    return image


def photo(
    root: tk.Misc, shapes: Shapes, size: tuple[int, int], fonts: Fonts, ground: str = palette.WHITE
) -> ImageTk.PhotoImage:
    """Return the same as a picture a widget can show; the caller keeps it."""
    return ImageTk.PhotoImage(painted(shapes, size, fonts, ground), master=root)


def clear_photo(
    root: tk.Misc, shapes: Shapes, size: tuple[int, int], fonts: Fonts
) -> ImageTk.PhotoImage:
    """Return shapes of one ink on nothing, for a ground that changes (a selected row)."""
    return ImageTk.PhotoImage(clear_image(shapes, size, fonts), master=root)


def clear_image(
    shapes: Shapes, size: tuple[int, int], fonts: Fonts, ink: str = palette.INK
) -> Image.Image:
    """Return the same as an image, which any thread may make."""
    dark = painted(shapes, size, fonts).convert("L")
    image = Image.new("RGB", size, ink)
    image.putalpha(dark.point([255 - level for level in range(256)]))
    return image


PAIR_MM = 3.9  # em of 11 pt on paper, for which the pairs were made, in mm


def pair_look(em: float, fonts: Fonts, ground: str) -> PairLook:
    """Return how a pair of figures is drawn in the window, px."""
    tint = palette.tint_of(palette.INK, ground)
    return PairLook(1.3, em, em, fonts.width, palette.INK, ground, tint, em / PAIR_MM)


def pair_photo(
    root: tk.Misc, pair: Pair, caption: Caption, size: tuple[int, int], ground: str
) -> ImageTk.PhotoImage:
    """Return the athlete's pose beside the idea as a picture; size: width and height at most."""
    em, fonts = em_px(root), window_fonts(root)
    drawn = pair_drawing(pair, caption, size[0], size[1], pair_look(em, fonts, ground))
    above = drawn.above + 0.3 * em
    shapes = moved(drawn.shapes, 0.0, above)
    return photo(root, shapes, (size[0], round(above + drawn.below)), fonts, ground)


def trend_photo(
    root: tk.Misc,
    points: Sequence[TrendPoint],
    band: Band | None,
    size: tuple[int, int],
    rim: float,
) -> ImageTk.PhotoImage:
    """Return values over time as a picture of that size with so many px left free around them."""
    em, fonts = em_px(root), window_fonts(root)
    look = TrendLook(
        width=size[0] - 2 * rim,
        height=size[1] - 2 * rim + 0.4 * em * bool(rim),
        text=em,
        line=1.3,
        heavy=0.26 * em,
        dot=0.36 * em,
        ink=palette.INK,
        tint=palette.HOVER,
    )
    shapes = moved(trend_shapes(points, band, look, fonts.width), rim, rim)
    return photo(root, shapes, size, fonts, palette.WHITE)


def sign_photos(
    root: tk.Misc, words: Iterable[str], size: tuple[int, int], draw: Callable[[str], Shapes]
) -> dict[str, ImageTk.PhotoImage]:
    """Return word -> its sign as a picture on nothing, and nothing at all for ""."""
    fonts = window_fonts(root)
    return {
        word: clear_photo(root, draw(word) if word else (), size, fonts) for word in (*words, "")
    }


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


class Drawing:
    """A canvas of the given size, px, for one of a few drawings; each is painted once and kept."""

    def __init__(self, parent: tk.Misc, width: int, height: int) -> None:
        self.size = width, height
        self._fonts = window_fonts(parent)
        self._kept: dict[Hashable, ImageTk.PhotoImage] = {}
        self._shown: Hashable = None
        self.canvas = tk.Canvas(
            parent, width=width, height=height, background=palette.WHITE, highlightthickness=0
        )
        self._item = self.canvas.create_image(0, 0, anchor="nw")

    def show(self, key: Hashable, shapes: Callable[[], Shapes]) -> None:
        """Show the drawing with that key; shapes makes it when it is asked for first."""
        if key == self._shown:
            return
        if key not in self._kept:
            self._kept[key] = photo(self.canvas, shapes(), self.size, self._fonts)
        self._shown = key
        self.canvas.itemconfigure(self._item, image=self._kept[key])

    def clear(self) -> None:
        self._shown = None
        self.canvas.itemconfigure(self._item, image="")


def warning_sign(unit: float) -> Shapes:
    """An open triangle with a stroke in it, in a square of 2 em."""
    top, left, right = (unit, unit * 0.25), (unit * 0.15, unit * 1.75), (unit * 1.85, unit * 1.75)
    width = max(1.2, unit * 0.18)
    return (
        Line((top, left, right, top, left), palette.ERROR, width),
        Line(((unit, unit * 0.75), (unit, unit * 1.25)), palette.ERROR, width),
        Line(((unit, unit * 1.42), (unit, unit * 1.58)), palette.ERROR, width),
    )


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
        match shape:
            case Line(casing=str(casing)):
                _line(canvas, shape, casing, shape.casing_width, tag)
            case Ring(casing=str(casing)):
                _ring(canvas, shape, None, casing, shape.casing_width, tag)
            case Label(casing=str(casing)):
                _text(canvas, shape, casing, letters, tag, max(1, round(shape.casing_width)))
    for shape in shapes:
        match shape:
            case Line():
                _line(canvas, shape, shape.colour, shape.width, tag)
            case Ring():
                _ring(canvas, shape, shape.fill, shape.edge, shape.width, tag)
            case Area():
                flat = [c for point in shape.points for c in point]
                edge, width = shape.edge or "", max(1.0, shape.width) if shape.edge else 0
                fill = shape.fill or ""
                canvas.create_polygon(*flat, fill=fill, outline=edge, width=width, tags=tag)
            case Label():
                _text(canvas, shape, shape.colour, letters, tag)


def _line(canvas: tk.Canvas, line: Line, colour: str, width: float, tag: str) -> None:
    flat = [c for point in line.points for c in point]
    dash: Any = tuple(max(1, round(length)) for length in line.dash)
    canvas.create_line(*flat, fill=colour, width=max(1.0, width), dash=dash, tags=tag)


def _ring(
    canvas: tk.Canvas, ring: Ring, fill: str | None, edge: str | None, width: float, tag: str
) -> None:
    (x, y), r = ring.centre, ring.radius
    box, wide = (x - r, y - r, x + r, y + r), max(1.0, width) if edge else 0
    canvas.create_oval(*box, fill=fill or "", outline=edge or "", width=wide, tags=tag)


def _text(
    canvas: tk.Canvas, label: Label, colour: str, letters: FontOf, tag: str, around: int = 0
) -> None:
    """Write a label, or its casing: eight times around it, so many px away."""
    (font, descent), (x, y) = letters(label.size, label.is_bold), label.point
    anchor = ANCHORS[label.anchor]
    for dx, dy in product((-around, 0, around) if around else (0,), repeat=2):
        at = x + dx, y + dy + descent
        canvas.create_text(*at, text=label.text, fill=colour, font=font, anchor=anchor, tags=tag)


OPEN, DONE, HALF, HANDLE = "open", "done", "half", "handle"


def dots(parent: tk.Misc, u: int) -> dict[str, ImageTk.PhotoImage]:
    """Return the dots by name, each in a square of 2.4 u on paper."""
    side, fonts = round(2.4 * u), window_fonts(parent)
    at = side / 2, side / 2
    rings = {
        OPEN: Ring(at, 0.5 * u, palette.WHITE, palette.CONTROL_EDGE, 0.18 * u),
        HALF: Ring(at, 0.5 * u, palette.WHITE, palette.INK, 0.26 * u),
        DONE: Ring(at, 0.58 * u, palette.INK),
        HANDLE: Ring(at, 0.95 * u, palette.ACCENT, palette.WHITE, 0.25 * u),
    }
    return {
        name: photo(parent, (ring,), (side, side), fonts, palette.PAPER)
        for name, ring in rings.items()
    }
