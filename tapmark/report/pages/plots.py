"""Two runs, and one measure over a season, each as one picture."""

from collections.abc import Iterator, Sequence
from typing import Final

from PIL import Image

from tapmark.checklist.verdict import Band
from tapmark.errors import NotThere
from tapmark.report.drawing.body import above_ground
from tapmark.report.drawing.figure import FigureLook, figure_shapes
from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.palette import BLACK, INK, MUTED, WHITE
from tapmark.report.drawing.shapes import Label, Line, Shape, Shapes, moved
from tapmark.report.drawing.trend import TrendLook, TrendPoint, trend_shapes
from tapmark.report.pages.content import CompareContent, Half
from tapmark.report.pages.pictures import ON_PHONE
from tapmark.report.pages.words import page_words

FIGURE: Final = 9.5  # em from the ground to the top of a head
ROW: Final = 12.6  # em from ground line to ground line


def compare_picture(content: CompareContent, width: int = ON_PHONE) -> Image.Image:
    """Return both runs on white, that many px wide; raise NotThere without a common key frame."""
    if not content.events:
        raise NotThere(
            "The two runs have no key frame in common that can be drawn. Tap hip, knee and ankle "
            "on the same key frame of both."
        )
    unit = width / 56
    halves = (content.first, content.second)
    rows = [each for i, half in enumerate(halves) for each in _row(content, half, i, width, unit)]
    picture = Image.new("RGB", (width, round((2 * ROW + 3.4) * unit)), WHITE)
    paint(picture, (*rows, *_names(content, width, unit)), Fonts(1.0))
    return picture


def _row(content: CompareContent, half: Half, i: int, width: int, unit: float) -> Shapes:
    """Return a heading, a ground line and a figure for each key frame of one run."""
    ground = (ROW * (i + 1) + 0.6) * unit
    shapes: list[Shape] = [
        Label(
            (unit, ground - (FIGURE + 1.5) * unit), _heading(content, half), unit, INK, is_bold=True
        ),
        Line(((unit, ground), (width - unit, ground)), INK, unit / 9),
    ]
    look = FigureLook(min_outline=unit / 9)
    for x, event in _places(content, width):
        pose = above_ground(half.poses[event])
        shapes += figure_shapes(pose, FIGURE * unit, (x, ground), look)
    return tuple(shapes)


def _heading(content: CompareContent, half: Half) -> str:
    words = page_words(content.words)
    return f"{half.code}, {words.iso_date(half.dated)}{content.words.in_brackets(half.side)}"


def _names(content: CompareContent, width: int, unit: float) -> Shapes:
    y = (2 * ROW + 2.3) * unit
    return tuple(
        Label((x, y), content.words.event(event), unit, MUTED, anchor="c")
        for x, event in _places(content, width)
    )


def _places(content: CompareContent, width: int) -> Iterator[tuple[float, str]]:
    share = width / len(content.events)
    for i, event in enumerate(content.events):
        yield (i + 0.5) * share, event


WIDE: Final = 1600


def trend_picture(
    visits: Sequence[TrendPoint],
    band: Band | None,
    title: str,
    says: Sequence[str],
    width: int = WIDE,
) -> Image.Image:
    """Return a plot on white, that many px wide.

    title: whose and which measure. says: lines below the plot, such as the change a month.
    """
    unit = width / 56
    fonts = Fonts(1.0)
    tall = 26 * unit
    look = TrendLook(
        width=width - 4 * unit,
        height=tall,
        text=unit,
        line=unit / 9,
        heavy=unit / 3.4,
        dot=unit / 2.6,
    )
    plot = trend_shapes(visits, band, look, fonts.width)
    shapes: Shapes = (Label((2 * unit, 2.4 * unit), title, 1.4 * unit, BLACK, is_bold=True),)
    shapes += moved(plot, 2 * unit, 4 * unit)
    for i, line in enumerate(says):
        shapes += (Label((2 * unit, tall + (6.2 + 1.5 * i) * unit), line, unit, BLACK),)
    height = round(tall + (7.2 + 1.5 * len(says)) * unit)
    picture = Image.new("RGB", (width, height), WHITE)
    paint(picture, shapes, fonts)
    return picture
