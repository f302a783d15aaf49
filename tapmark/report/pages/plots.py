"""Two runs, and one measure over a season, each as one picture."""

from collections.abc import Sequence
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
from tapmark.report.pages.content import CompareContent
from tapmark.report.pages.pictures import ON_PHONE
from tapmark.report.pages.words import page_words

FIGURE: Final = 9.5  # em from the ground to the top of a head
ROW: Final = 12.6  # em from ground line to ground line


def compare_picture(content: CompareContent) -> Image.Image:
    """Return both runs on white, for a phone; raise NotThere without a common key frame."""
    if not content.events:
        raise NotThere(
            "The two runs have no key frame in common that can be drawn. Tap hip, knee and ankle "
            "on the same key frame of both."
        )
    width, unit, words = ON_PHONE, ON_PHONE / 56, page_words(content.words)
    share, thin = width / len(content.events), width / 56 / 9
    shapes: list[Shape] = []
    for n, half in enumerate((content.first, content.second), 1):
        ground, side = (ROW * n + 0.6) * unit, content.words.in_brackets(half.side)
        heading, at = f"{half.code}, {words.iso_date(half.dated)}{side}", ground - FIGURE * unit
        shapes.append(Label((unit, at - 1.5 * unit), heading, unit, INK, is_bold=True))
        shapes.append(Line(((unit, ground), (width - unit, ground)), INK, thin))
        for i, event in enumerate(content.events):
            pose, place = above_ground(half.poses[event]), ((i + 0.5) * share, ground)
            shapes += figure_shapes(pose, FIGURE * unit, place, FigureLook(min_outline=thin))
    for i, event in enumerate(content.events):
        at_name = (i + 0.5) * share, (2 * ROW + 2.3) * unit
        shapes.append(Label(at_name, content.words.event(event), unit, MUTED, anchor="c"))
    picture = Image.new("RGB", (width, round((2 * ROW + 3.4) * unit)), WHITE)
    paint(picture, tuple(shapes), Fonts(1.0))
    return picture


def trend_picture(
    visits: Sequence[TrendPoint],
    band: Band | None,
    title: str,
    says: Sequence[str],
) -> Image.Image:
    """Return a plot on white.

    title: whose and which measure. says: lines below the plot, such as the change a month.
    """
    unit = ON_PHONE / 56
    fonts = Fonts(1.0)
    tall = 26 * unit
    look = TrendLook(
        width=ON_PHONE - 4 * unit,
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
    picture = Image.new("RGB", (ON_PHONE, height), WHITE)
    paint(picture, shapes, fonts)
    return picture
