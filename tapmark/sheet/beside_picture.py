"""Two runs under each other as one picture: drawn figures, key frame below key frame, no photo.

Both run to the right in the scale of their own legs, so that only the movement differs.
"""

from collections.abc import Iterator
from typing import Final

from PIL import Image

from tapmark.drawing.body import above_ground
from tapmark.drawing.figure import FigureLook, figure_shapes
from tapmark.drawing.palette import INK, MUTED, WHITE
from tapmark.drawing.pillow_painter import Fonts, paint
from tapmark.drawing.shapes import Label, Line, Shape, Shapes
from tapmark.errors import NotThere
from tapmark.sheet.beside_content import BesideContent, Half
from tapmark.sheet.page_words import page_words
from tapmark.sheet.pictures import ON_PHONE

FIGURE: Final = 9.5  # em from the ground to the top of a head
ROW: Final = 12.6  # em from ground line to ground line


def beside_picture(content: BesideContent, width: int = ON_PHONE) -> Image.Image:
    """Return both runs on white, that many px wide; raise NotThere without a common key frame."""
    if not content.events:
        raise NotThere(
            "The two runs have no key frame in common that can be drawn. Tap hip, knee and ankle "
            "on the same key frame of both."
        )
    em = width / 56
    halves = (content.first, content.second)
    rows = [each for i, half in enumerate(halves) for each in _row(content, half, i, width, em)]
    picture = Image.new("RGB", (width, round((2 * ROW + 3.4) * em)), WHITE)
    paint(picture, (*rows, *_names(content, width, em)), Fonts(1.0))
    return picture


def _row(content: BesideContent, half: Half, i: int, width: int, em: float) -> Shapes:
    """Return a heading, a ground line and a figure for each key frame of one run."""
    ground = (ROW * (i + 1) + 0.6) * em
    shapes: list[Shape] = [
        Label((em, ground - (FIGURE + 1.5) * em), _heading(content, half), em, INK, is_bold=True),
        Line(((em, ground), (width - em, ground)), INK, em / 9),
    ]
    look = FigureLook(min_outline=em / 9)
    for x, event in _places(content, width):
        pose = above_ground(half.poses[event])
        shapes += figure_shapes(pose, FIGURE * em, (x, ground), look)
    return tuple(shapes)


def _heading(content: BesideContent, half: Half) -> str:
    words = page_words(content.words)
    return f"{half.code}, {words.iso_date(half.dated)}{content.words.in_brackets(half.side)}"


def _names(content: BesideContent, width: int, em: float) -> Shapes:
    y = (2 * ROW + 2.3) * em
    return tuple(
        Label((x, y), content.words.event(event), em, MUTED, anchor="c")
        for x, event in _places(content, width)
    )


def _places(content: BesideContent, width: int) -> Iterator[tuple[float, str]]:
    share = width / len(content.events)
    for i, event in enumerate(content.events):
        yield (i + 0.5) * share, event
