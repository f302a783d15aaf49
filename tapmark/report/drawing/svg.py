"""Shapes as an SVG drawing for pages on a screen: same values, no Pillow, crisp at any size.

Ink, paper and tint become classes, so that a page can turn them round for a dark screen. Numbers
are whole hundredths of a unit and outlines are written step by step, which keeps files small.
"""

from collections.abc import Callable
from html import escape
from itertools import groupby, pairwise
from typing import Final

from tapmark.report.drawing.palette import BLACK, TINT, WHITE
from tapmark.report.drawing.shapes import Area, Label, Line, Point, Ring, Shape, Shapes

CLASSES: Final = {BLACK: "ink", WHITE: "paper", TINT: "tint"}
STYLE: Final = (
    ".ink{fill:var(--ink)}.paper{fill:var(--paper)}.tint{fill:var(--tint)}"
    ".s-ink{stroke:var(--ink)}.s-paper{stroke:var(--paper)}.s-tint{stroke:var(--tint)}"
    ".none{fill:none}"
)
FINE: Final = 100
ANCHORS: Final = {"w": "start", "c": "middle", "e": "end"}


TextWidth = Callable[[str, float, bool, bool], float]  # text, em size, bold, italic -> width


def svg(
    shapes: Shapes,
    size: tuple[float, float],
    alt: str,
    text_width: TextWidth | None = None,
) -> str:
    """Return an <svg> element of that size with its alternative text as <title>.

    alt: "" makes it decoration that a screen reader skips.
    text_width: letters are set to this width, so that a reader's wider font cuts nothing off.
    """
    width, height = size
    box = f'viewBox="0 0 {_whole(width)} {_whole(height)}"'
    place = f'{box} width="{width:.2f}mm" height="{height:.2f}mm"'
    role = f'role="img"><title>{escape(alt)}</title>' if alt else 'aria-hidden="true">'
    body = ""
    for fill, group in groupby(shapes, _plain_fill):
        if fill is None:
            body += "".join(_element(shape, text_width) for shape in group)
        else:  # neighbouring areas of one colour become one path
            path = "".join(_outline(each.points) for each in group if isinstance(each, Area))
            body += f'<path {_paint("fill", fill)} d="{path}"/>'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {place} {role}{body}</svg>'


def _plain_fill(shape: Shape) -> str | None:
    return shape.fill if isinstance(shape, Area) and shape.edge is None else None


def _element(shape: Shape, text_width: TextWidth | None) -> str:
    match shape:
        case Line():
            cap = ' stroke-linecap="round"' if shape.is_round else ""
            dash = " ".join(str(_whole(each)) for each in shape.dash)
            dashed = f' stroke-dasharray="{dash}"' if dash else ""
            path = _outline(shape.points).removesuffix("z")
            paint = _stroked(shape.colour, shape.width, None)
            return f'<path {paint}{cap}{dashed} stroke-linejoin="round" d="{path}"/>'
        case Area():
            paint = _stroked(shape.edge, shape.width, shape.fill)
            return f'<path {paint} d="{_outline(shape.points)}"/>'
        case Ring():
            (x, y), paint = shape.centre, _stroked(shape.edge, shape.width, shape.fill)
            return f'<circle {paint} cx="{_whole(x)}" cy="{_whole(y)}" r="{_whole(shape.radius)}"/>'
        case Label():
            return _text(shape, text_width)


def _text(label: Label, text_width: TextWidth | None) -> str:
    x, y = map(_whole, label.point)
    weight = ' font-weight="700"' if label.is_bold else ""
    style = ' font-style="italic"' if label.is_italic else ""
    place = f'x="{x}" y="{y}" font-size="{_whole(label.size)}"'
    anchor = f'text-anchor="{ANCHORS[label.anchor]}"'
    paint = _paint("fill", label.colour)
    if text_width and label.text:
        long = text_width(label.text, label.size, label.is_bold, label.is_italic)
        place += f' textLength="{_whole(long)}" lengthAdjust="spacingAndGlyphs"'
    return f"<text {place} {anchor}{weight}{style} {paint}>{escape(label.text)}</text>"


def _outline(points: tuple[Point, ...]) -> str:
    places = [(round(x * FINE), round(y * FINE)) for x, y in points]
    steps = [f"{xb - xa} {yb - ya}" for (xa, ya), (xb, yb) in pairwise(places)]
    return f"M{places[0][0]} {places[0][1]}l{' '.join(steps)}z"


def _stroked(edge: str | None, width: float, fill: str | None) -> str:
    inside = _paint("fill", fill) if fill else 'class="none"'
    if edge is None:
        return inside
    if edge in CLASSES and (fill is None or fill in CLASSES):
        names = f"{CLASSES[fill] if fill else 'none'} s-{CLASSES[edge]}"
        return f'class="{names}" stroke-width="{_whole(width)}"'
    colour = fill or "none"
    return f'fill="{colour}" stroke="{edge}" stroke-width="{_whole(width)}"'


def _paint(what: str, colour: str) -> str:
    return f'class="{CLASSES[colour]}"' if colour in CLASSES else f'{what}="{colour}"'


def _whole(number: float) -> int:
    return round(number * FINE)
