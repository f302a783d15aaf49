"""The names of the items, written aslant over their columns."""

from collections.abc import Sequence

from PIL import Image, ImageDraw

from tapmark.app.group_drawing import Grid
from tapmark.drawing import palette
from tapmark.drawing.pillow_painter import Fonts

ASLANT = 52  # degrees: readable without turning the head, and narrow enough


def heads(names: Sequence[str], grid: Grid, fonts: Fonts, height: int, here: int) -> Image.Image:
    """Return the names over their columns, on white; here: the column that is read out."""
    image = Image.new("RGB", (max(1, round(grid.width)), height), palette.WHITE)
    for i, name in enumerate(names):
        colour = palette.ACCENT if i == here else palette.INK
        turned = _turned(name, grid.head, fonts, colour, is_bold=i == here)
        at = (round(grid.middle(i) - 0.5 * grid.head), height - turned.height)
        image.paste(turned, at, turned)
    return image


def height_of(names: Sequence[str], grid: Grid, fonts: Fonts) -> int:
    """Return how tall the names stand."""
    return max(_turned(name, grid.head, fonts, palette.INK, is_bold=True).height for name in names)


def _turned(name: str, em: float, fonts: Fonts, colour: str, *, is_bold: bool) -> Image.Image:
    font = fonts.font(em, is_bold)
    size = (round(fonts.width(name, em, is_bold) + 0.4 * em), round(1.4 * em))
    flat = Image.new("L", size, 0)
    ImageDraw.Draw(flat).text((0, 0.05 * em), name, fill=255, font=font)
    mask = flat.rotate(ASLANT, Image.Resampling.BICUBIC, expand=True)
    turned = Image.new("RGBA", mask.size, colour)
    turned.putalpha(mask)
    return turned
