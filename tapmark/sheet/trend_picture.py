"""One measure of a season as a picture to show or print: title, plot over the band, sentences."""

from collections.abc import Sequence
from typing import Final

from PIL import Image

from tapmark.checklist.verdict import Band
from tapmark.drawing.palette import BLACK, WHITE
from tapmark.drawing.pillow_painter import Fonts, paint
from tapmark.drawing.shapes import Label, Shapes, moved
from tapmark.drawing.trend import TrendLook, TrendPoint, trend_shapes

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
    em = width / 56
    fonts = Fonts(1.0)
    tall = 26 * em
    look = TrendLook(
        width=width - 4 * em,
        height=tall,
        text=em,
        line=em / 9,
        heavy=em / 3.4,
        dot=em / 2.6,
    )
    plot = trend_shapes(visits, band, look, fonts.width)
    shapes: Shapes = (Label((2 * em, 2.4 * em), title, 1.4 * em, BLACK, is_bold=True),)
    shapes += moved(plot, 2 * em, 4 * em)
    for i, line in enumerate(says):
        shapes += (Label((2 * em, tall + (6.2 + 1.5 * i) * em), line, em, BLACK),)
    height = round(tall + (7.2 + 1.5 * len(says)) * em)
    picture = Image.new("RGB", (width, height), WHITE)
    paint(picture, shapes, fonts)
    return picture
