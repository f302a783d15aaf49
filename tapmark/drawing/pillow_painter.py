"""Shapes onto a Pillow image, with smooth edges and system fonts.

Pillow's own lines have whole-pixel widths and stair-step edges. Every tile that a shape touches
is therefore drawn SMOOTH times as large and reduced; untouched pixels come back exactly. Text is
smooth already and is drawn at its own size, on top of the shapes before it.
"""

import unicodedata
from collections.abc import Iterator
from functools import lru_cache
from itertools import groupby
from typing import Final

from PIL import Image, ImageColor, ImageDraw, ImageFont

from tapmark.drawing.font_files import FAMILIES, Family, installed, path_of
from tapmark.drawing.raster import Brush, Ink, dashes
from tapmark.drawing.shapes import Area, Label, Line, Ring, Shape, Shapes
from tapmark.errors import TextHasNoGlyph

SMOOTH: Final = 4
TILE_PX: Final = 128
MOST_WIDTHS: Final = 20_000  # remembered widths; a page that is tried in many layouts asks again
WANTED: Final = "éüñàçøåßÉÜÑ±≈×°–−→“”’…½·"  # what a page may print beyond plain letters
PLAIN: Final = {
    "±": "+/-", "≈": "~", "×": "x", "°": " deg", "–": "-", "−": "-", "→": "->", "←": "<-", "“": '"',
    "”": '"', "’": "'", "‘": "'", "…": "...", "½": "1/2", "·": ",", "≤": "<=", "≥": ">=",
    "ß": "ss", "ø": "o", "Ø": "O", "æ": "ae", "Æ": "AE", "ł": "l", "Ł": "L", "đ": "d",
    "\u00a0": " ",
}  # fmt: skip

Font = ImageFont.FreeTypeFont | ImageFont.ImageFont


class Fonts:
    """One family at one resolution: measures text and says which letters it has.

    px_per_unit:  pixels per unit of the shapes (300 / 25.4 for millimetres on paper).
    family:       None takes the best one on this machine, Pillow's own letters when there is none.
    """

    def __init__(self, px_per_unit: float = 1.0, family: Family | None = None) -> None:
        self.px_per_unit = px_per_unit
        self.family = family or next(iter(installed()), None)
        self._widths: dict[tuple[str, float, bool, bool], float] = {}

    @property
    def name(self) -> str:
        """Name of the family, or "plain built-in letters"."""
        return self.family.name if self.family else "plain built-in letters"

    def font(self, size: float, is_bold: bool = False, is_italic: bool = False) -> Font:
        """Return the font for an em of that size (in units of the shapes)."""
        return _load(self.family, round(size * self.px_per_unit, 2), is_bold, is_italic)

    def width(
        self, text: str, size: float, is_bold: bool = False, is_italic: bool = False
    ) -> float:
        """Return how wide the text prints, in units of the shapes.

        A letter that cannot be printed counts as the empty box in its place: HTML is laid out by
        these widths too and shows it in a font of the reader's; only painting refuses it.
        """
        key = text, size, is_bold, is_italic
        if key not in self._widths:
            if len(self._widths) > MOST_WIDTHS:
                self._widths.clear()
            font = self.font(size, is_bold, is_italic)
            try:
                drawn = self.readable(text)
            except TextHasNoGlyph:
                drawn = text
            self._widths[key] = font.getlength(drawn) / self.px_per_unit
        return self._widths[key]

    def has(self, letter: str) -> bool:
        """Return whether the family can print that letter."""
        return letter.isascii() or _has_glyph(self.family, letter)

    def readable(self, text: str) -> str:
        """Return the text with letters that the family lacks put plainly (é -> e, ± -> +/-).

        Raises TextHasNoGlyph for a letter that has no plain form.
        """
        if text.isascii():
            return text
        composed = unicodedata.normalize("NFC", text)
        return "".join(each if self.has(each) else _plain(each, self.name) for each in composed)


@lru_cache(maxsize=128)
def _load(family: Family | None, size_px: float, is_bold: bool, is_italic: bool) -> Font:
    if family is None:
        return ImageFont.load_default(size_px)
    cut = family.cut(is_bold, is_italic)
    path = path_of(cut)
    if path is None:  # a family without an italic: upright is better than another family
        cut = family.cut(is_bold, False)
        path = path_of(cut)
    return ImageFont.truetype(
        str(path), size_px, index=cut.index, layout_engine=ImageFont.Layout.BASIC
    )


@lru_cache(maxsize=4096)
def _has_glyph(family: Family | None, letter: str) -> bool:
    """A font draws every letter it lacks as the same box; U+FFFF is in no font."""
    font = _load(family, 40, False, False)
    if letter.isspace():
        return True
    return bytes(font.getmask(letter)) != bytes(font.getmask("\uffff"))


def _plain(letter: str, family: str) -> str:
    if letter in PLAIN:
        return PLAIN[letter]
    bare = "".join(c for c in unicodedata.normalize("NFKD", letter) if c.isascii())
    if not bare:
        raise TextHasNoGlyph(
            f"No sign for “{letter}” in the font {family}. "
            "Write it with other letters, or install a font that has it."
        )
    return bare


def font_report(family: Family | None = None) -> tuple[str, ...]:
    """Return sentences for the doctor: which font prints, and which letters it lacks."""
    fonts = Fonts(family=family)
    missing = [letter for letter in WANTED if not fonts.has(letter)]
    if fonts.family is None:
        names = ", ".join(dict.fromkeys(each.name for each in FAMILIES))
        return (f"No system font found; pages use {fonts.name}. Install one of: {names}.",)
    if missing:
        return (
            f"Pages are set in {fonts.name}.",
            f"It has no {' '.join(missing)}: they print plainly (é as e). "
            "Install another font from the list to have them.",
        )
    return (f"Pages are set in {fonts.name}; accents and signs are all there.",)


def paint(image: Image.Image, shapes: Shapes, fonts: Fonts) -> None:
    """Paint shapes onto an image of mode "L" or "RGB"; all casings first, then cores in order.

    Coordinates are multiplied by fonts.px_per_unit.
    """
    scale = fonts.px_per_unit
    _paint_smooth(image, [casing for shape in shapes for casing in _casing(shape)], scale)
    for is_text, group in groupby(shapes, lambda shape: isinstance(shape, Label)):
        if is_text:
            _write(image, [shape for shape in group if isinstance(shape, Label)], fonts)
        else:
            _paint_smooth(image, list(group), scale)


def _casing(shape: Shape) -> Iterator[Shape]:
    if isinstance(shape, Line) and shape.casing:
        yield Line(shape.points, shape.casing, shape.casing_width, shape.dash)
    if isinstance(shape, Ring) and shape.casing:
        grown = shape.casing_width
        yield Ring(shape.centre, shape.radius, None, shape.casing, grown)


def _write(image: Image.Image, labels: list[Label], fonts: Fonts) -> None:
    """Write labels; all casings first, so that one label's casing never cuts another's core."""
    draw, scale = ImageDraw.Draw(image), fonts.px_per_unit

    def write(label: Label, colour: str, stroke: int = 0) -> None:
        ink = _ink(image, colour)
        draw.text(
            (label.point[0] * scale, label.point[1] * scale),
            fonts.readable(label.text),
            fill=ink,
            font=fonts.font(label.size, label.is_bold, label.is_italic),
            anchor=_ANCHORS[label.anchor],
            stroke_width=stroke,
            stroke_fill=ink,
        )

    for label in labels:
        if label.casing:
            write(label, label.casing, max(1, round(label.casing_width * scale)))
    for label in labels:
        write(label, label.colour)


_ANCHORS: Final = {"w": "ls", "c": "ms", "e": "rs"}


def _paint_smooth(image: Image.Image, shapes: list[Shape], scale: float) -> None:
    """Paint every tile that a shape touches SMOOTH times as large, then reduce it."""
    boxes = [(_box(shape, scale), shape) for shape in shapes]
    for tile in _tiles(image.size, [box for box, _ in boxes]):
        left, top, right, bottom = tile
        size = (right - left) * SMOOTH, (bottom - top) * SMOOTH
        big = image.crop(tile).resize(size, Image.Resampling.NEAREST)
        brush = Brush(ImageDraw.Draw(big), SMOOTH * scale, SMOOTH * left, SMOOTH * top)
        for box, shape in boxes:
            if _touch(box, tile):
                _draw(brush, shape, image)
        image.paste(big.reduce(SMOOTH), tile)


Box = tuple[float, float, float, float]


def _box(shape: Shape, scale: float) -> Box:
    """Return left, top, right and bottom of a shape in px, a little generous."""
    match shape:
        case Ring(centre=(x, y), radius=radius, width=width):
            reach = (radius + width / 2) * scale + 1
            return x * scale - reach, y * scale - reach, x * scale + reach, y * scale + reach
        case Line() | Area():
            xs, ys = zip(*shape.points, strict=True)
            reach = shape.width / 2 * scale + 1
            left, top, right, bottom = (
                each * scale for each in (min(xs), min(ys), max(xs), max(ys))
            )
            return left - reach, top - reach, right + reach, bottom + reach
        case _:
            return 0, 0, 0, 0


def _touch(a: Box, b: tuple[int, int, int, int]) -> bool:
    return a[0] < b[2] and a[2] > b[0] and a[1] < b[3] and a[3] > b[1]


def _tiles(size: tuple[int, int], boxes: list[Box]) -> Iterator[tuple[int, int, int, int]]:
    """Yield the tiles of the image that a box touches, cut to the image."""
    width, height = size
    touched = {
        (i, j)
        for left, top, right, bottom in boxes
        for i in range(int(max(0, left) // TILE_PX), int(min(width - 1, right) // TILE_PX) + 1)
        for j in range(int(max(0, top) // TILE_PX), int(min(height - 1, bottom) // TILE_PX) + 1)
    }
    for i, j in sorted(touched):
        x, y = i * TILE_PX, j * TILE_PX
        yield x, y, min(x + TILE_PX, width), min(y + TILE_PX, height)


def _draw(brush: Brush, shape: Shape, image: Image.Image) -> None:
    match shape:
        case Line():
            ink = _ink(image, shape.colour)
            for piece in dashes(shape.points, shape.dash):
                brush.stroke(piece, shape.width, ink, shape.is_round)
        case Area():
            _draw_area(brush, shape, image)
        case Ring():
            _draw_ring(brush, shape, image)


def _draw_area(brush: Brush, area: Area, image: Image.Image) -> None:
    if area.fill:
        brush.polygon(area.points, _ink(image, area.fill))
    if area.edge:
        closed = (*area.points, *area.points[:2])
        brush.stroke(closed, area.width, _ink(image, area.edge), False)


def _draw_ring(brush: Brush, ring: Ring, image: Image.Image) -> None:
    if ring.fill:
        brush.disc(ring.centre, ring.radius, _ink(image, ring.fill))
    if ring.edge:
        brush.circle(ring.centre, ring.radius, ring.width, _ink(image, ring.edge))


def _ink(image: Image.Image, colour: str) -> Ink:
    return ImageColor.getcolor(colour, image.mode)
