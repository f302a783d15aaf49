"""Shapes onto a Pillow image, with smooth edges and system fonts."""

import math
import os
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import groupby, pairwise
from pathlib import Path
from typing import Any, Final

from PIL import Image, ImageColor, ImageDraw, ImageFont, ImagePath

from tapmark.errors import TextHasNoGlyph
from tapmark.report.drawing.shapes import (
    Area,
    Label,
    Line,
    Point,
    Ring,
    Shape,
    Shapes,
    on_the_way,
)

Cut = tuple[str, int]  # file name (any case) and number inside a collection file


@dataclass(frozen=True)
class Family:
    """A family and its cuts: regular, bold, italic, bold italic."""

    name: str
    cuts: tuple[Cut, ...]

    def cut(self, is_bold: bool, is_italic: bool) -> Cut:
        """Return the cut for a style."""
        return self.cuts[is_bold + 2 * is_italic]


def _files(name: str, pattern: str, styles: str) -> Family:
    """Return a family whose files are named by one pattern, in the order of its cuts."""
    return Family(name, tuple((pattern.replace("*", style), 0) for style in styles.split(",")))


FAMILIES: Final = (
    _files("Liberation Sans", "LiberationSans-*.ttf", "Regular,Bold,Italic,BoldItalic"),
    _files("Arial", "arial*.ttf", ",bd,i,bi"),
    _files("Arial", "Arial*.ttf", ", Bold, Italic, Bold Italic"),
    Family("Helvetica", tuple(("Helvetica.ttc", index) for index in range(4))),
    _files("Nimbus Sans", "NimbusSans-*.otf", "Regular,Bold,Italic,BoldItalic"),
    _files("FreeSans", "FreeSans*.ttf", ",Bold,Oblique,"),
    _files("Segoe UI", "segoeui*.ttf", ",b,i,z"),
    _files("Noto Sans", "NotoSans-*.ttf", "Regular,Bold,Italic,BoldItalic"),
    _files("DejaVu Sans", "DejaVuSans*.ttf", ",-Bold,-Oblique,-BoldOblique"),
    _files("Verdana", "verdana*.ttf", ",b,i,z"),
)
FOLDERS: Final = (
    *("/usr/share/fonts", "/usr/local/share/fonts", "~/.local/share/fonts", "~/.fonts"),
    *("/System/Library/Fonts", "/Library/Fonts", "~/Library/Fonts", "C:/Windows/Fonts"),
    "~/AppData/Local/Microsoft/Windows/Fonts",
)
SUFFIXES: Final = (".ttf", ".otf", ".ttc")


@lru_cache(maxsize=8)
def font_files(folders: tuple[Path | str, ...] = FOLDERS) -> Mapping[str, Path]:
    """Return file name in lower case -> where it lies, for every font file below the folders."""
    found: dict[str, Path] = {}
    for folder in folders:
        with suppress(RuntimeError):  # a system account without a home
            root = Path(folder).expanduser()
            for inside, _, names in os.walk(root):  # no Path for the many files that are no fonts
                fonts = (name for name in names if name.lower().endswith(SUFFIXES))
                found |= {name.lower(): Path(inside, name) for name in fonts}
    return found


def installed(
    families: Iterable[Family] = FAMILIES, folders: tuple[Path | str, ...] = FOLDERS
) -> tuple[Family, ...]:
    """Return the families whose regular and bold cuts are on this machine, best first."""
    found = font_files(folders)
    return tuple(
        family
        for family in families
        if all(family.cut(is_bold, False)[0].lower() in found for is_bold in (False, True))
    )


Ink = int | tuple[int, ...]
FAT: Final = 0.5  # Pillow's polygons reach half a pixel too far on every side
ROUND: Final = 48  # corners of a circle drawn as a line


@dataclass(frozen=True)
class Fill:
    """A polygon, or an ellipse in its box, of one ink, in px of the image at SMOOTH times its size.

    A big shape touches many tiles, so its corners are worked out once and shifted for each.
    """

    box: tuple[float, float, float, float]
    ink: Ink
    outline: Any = None

    def draw(self, draw: ImageDraw.ImageDraw, left: int, top: int) -> None:
        """Draw it on a tile whose left top corner lies there."""
        if self.outline is None:
            x0, y0, x1, y1 = self.box
            draw.ellipse((x0 - left, y0 - top, x1 - left, y1 - top), fill=self.ink)
        else:
            outline = ImagePath.Path(self.outline)
            outline.transform((1, 0, -left, 0, 1, -top))
            draw.polygon(outline, fill=self.ink)


@dataclass(frozen=True)
class Brush:
    """Turns shapes into fills; scale: px of the large image a unit of the shapes."""

    scale: float
    fills: list[Fill] = field(default_factory=list)

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
        xs, ys = zip(*points, strict=True)
        x, y = sum(xs) / len(points), sum(ys) / len(points)
        fat = FAT / self.scale
        inner = []
        for px, py in points:
            dx, dy = x - px, y - py
            distance = math.hypot(dx, dy)
            share = fat / distance if distance > fat else 0.0
            inner.append((px + dx * share, py + dy * share))
        self._fill(inner, ink)

    def _fill(self, points: Iterable[Point], ink: Ink) -> None:
        """Everything goes from units to whole px in one step, since a page has many corners."""
        scale, floor = self.scale, math.floor
        outline = ImagePath.Path([floor(c * scale) for point in points for c in point])
        self.fills.append(Fill(outline.getbbox(), ink, outline))

    def disc(self, centre: Point, radius: float, ink: Ink) -> None:
        """Fill a circle."""
        x, y, r = centre[0] * self.scale, centre[1] * self.scale, radius * self.scale
        self.fills.append(Fill((x - r, y - r, x + r - 1, y + r - 1), ink))


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
                yield on_the_way(a, b, at / length), on_the_way(a, b, end / length)
            at, i = end, i + 1


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
    found, (name, index) = font_files(), family.cut(is_bold, is_italic)
    if name.lower() not in found:  # no italic: upright is better than another family
        name, index = family.cut(is_bold, False)
    path = str(found.get(name.lower()))
    return ImageFont.truetype(path, size_px, index=index, layout_engine=ImageFont.Layout.BASIC)


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


def font_report() -> tuple[str, ...]:
    """Return sentences for the doctor: which font prints, and which letters it lacks."""
    fonts = Fonts()
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
    casings: list[Shape] = []
    for shape in shapes:
        if isinstance(shape, Line) and shape.casing:
            casings.append(Line(shape.points, shape.casing, shape.casing_width, shape.dash))
        elif isinstance(shape, Ring) and shape.casing:
            edge = shape.casing, shape.casing_width
            casings.append(Ring(shape.centre, shape.radius, None, *edge))
    _paint_smooth(image, casings, scale)
    for is_text, group in groupby(shapes, lambda shape: isinstance(shape, Label)):
        if is_text:
            _write(image, [shape for shape in group if isinstance(shape, Label)], fonts)
        else:
            _paint_smooth(image, list(group), scale)


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
    """Paint what shapes touch of every tile SMOOTH times as large, then reduce it."""
    brush = Brush(SMOOTH * scale)
    for shape in shapes:
        _draw(brush, shape, image)
    tiles: dict[tuple[int, int], list[Fill]] = {}
    side = TILE_PX * SMOOTH
    right, bottom = SMOOTH * image.width - 1, SMOOTH * image.height - 1
    for fill in brush.fills:  # a px around it is looked at too: what an edge touches depends on it
        x0, y0, x1, y1 = fill.box
        for i in range(int(max(0, x0 - 1) // side), int(min(right, x1 + 1) // side) + 1):
            for j in range(int(max(0, y0 - 1) // side), int(min(bottom, y1 + 1) // side) + 1):
                tiles.setdefault((i, j), []).append(fill)
    for (i, j), fills in tiles.items():
        lefts, tops, rights, bottoms = zip(*[fill.box for fill in fills], strict=True)
        x, y = (
            max(k * TILE_PX, int(min(ends) - 1) // SMOOTH) for k, ends in ((i, lefts), (j, tops))
        )
        past_x, past_y = (
            min((k + 1) * TILE_PX, most, int(max(ends) + 1) // SMOOTH + 1)
            for k, most, ends in ((i, image.width, rights), (j, image.height, bottoms))
        )
        if past_x <= x or past_y <= y:  # all beyond the edge of the image
            continue
        touched = x, y, past_x, past_y
        size = (past_x - x) * SMOOTH, (past_y - y) * SMOOTH
        big = image.crop(touched).resize(size, Image.Resampling.NEAREST)
        draw = ImageDraw.Draw(big)
        for fill in fills:
            fill.draw(draw, x * SMOOTH, y * SMOOTH)
        image.paste(big.reduce(SMOOTH), touched)


def _draw(brush: Brush, shape: Shape, image: Image.Image) -> None:
    match shape:
        case Line():
            ink = _ink(image, shape.colour)
            for piece in dashes(shape.points, shape.dash):
                brush.stroke(piece, shape.width, ink, shape.is_round)
        case Area():
            if shape.fill:
                brush.polygon(shape.points, _ink(image, shape.fill))
            if shape.edge:
                closed = (*shape.points, *shape.points[:2])
                brush.stroke(closed, shape.width, _ink(image, shape.edge), False)
        case Ring((x, y), r):
            if shape.fill:
                brush.disc(shape.centre, r, _ink(image, shape.fill))
            if shape.edge:
                turns = (2 * math.pi * i / ROUND for i in range(ROUND + 2))
                rim = [(x + r * math.cos(a), y + r * math.sin(a)) for a in turns]
                brush.stroke(rim, shape.width, _ink(image, shape.edge), False)


def _ink(image: Image.Image, colour: str) -> Ink:
    return ImageColor.getcolor(colour, image.mode)
