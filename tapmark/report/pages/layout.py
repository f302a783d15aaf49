"""Setting a page in millimetres: paper, margins, columns, sizes of text, lines that fit.

A block is a piece of page with its own top at y = 0; blocks are stacked down the page. All x are
those of the page. Everything is shapes until the very end, so a page can be measured and compared
without painting it.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from PIL import Image

from tapmark.report.drawing.painter import Fonts, paint
from tapmark.report.drawing.palette import BLACK
from tapmark.report.drawing.shapes import Drawing, Label, Line, Shape, Shapes, moved

DPI: Final = 300
PX_PER_MM: Final = DPI / 25.4
PT: Final = 25.4 / 72
MARGIN: Final = 15.0
CONTENT: Final = 52.5  # left edge of the content; headings hang to the left of it
LEFT_WIDTH: Final = 31.0  # for what hands write
HEADING_WIDTH: Final = 35.5
GUTTER: Final = 5.0
TEXT, NAME, LARGE = 11 * PT, 15 * PT, 22 * PT
CUE_SIZES: Final = (26 * PT, 24 * PT, LARGE, 20 * PT)
CUE, SMALL_CUE = CUE_SIZES[0], CUE_SIZES[-1]
SMALL: Final = 9 * PT  # the coach's numerals only
LINE, LIST_LINE, LARGE_LINE = 4.9, 4.6, 8.7
THIN, RULE, HEAVY = 0.43, 0.5, 1.15
BOX: Final = 5.0
DROP: Final = 3.9  # from the top of a line of text to its baseline
TITLE_LINE, TITLE_DROP = 9.0, 6.6  # the same of a page's title
UNDER_HEAD: Final = 1.9  # from the head of a page to the middle of its rule


class Paper:
    """A sheet of paper, upright.

    right:   right edge of the content. content: width of its column.
    second:  left edge of the second half of that column. half: width of either.
    full:    width between the margins. free: height between them.
    """

    def __init__(self, name: str, width: float, height: float) -> None:
        self.name, self.width, self.height = name, width, height
        self.right = width - MARGIN
        self.content = self.right - CONTENT
        self.half = (self.content - GUTTER) / 2
        self.second = CONTENT + self.half + GUTTER
        self.full = self.right - MARGIN
        self.free = height - 2 * MARGIN


PAPERS: Final = {"a4": Paper("a4", 210.0, 297.0), "letter": Paper("letter", 215.9, 279.4)}
Drawn = Shapes | Callable[[], Shapes]
Piece = tuple[Drawn, float, float]


@dataclass(frozen=True)
class Block:
    """Shapes with their top at y = 0, and how tall they stand.

    inner: further shapes, or what makes them, and how far right and down they are moved. They
    are made and moved once, when the page is put together: a page is tried in many layouts.
    """

    own: Shapes
    height: float
    inner: tuple[Piece, ...] = ()

    @property
    def shapes(self) -> Shapes:
        """All shapes in their places."""
        return self.own + tuple(
            shape
            for drawn, dx, dy in self.inner
            for shape in moved(drawn() if callable(drawn) else drawn, dx, dy)
        )

    def shifted(self, dy: float, height: float | None = None) -> "Block":
        """Return the block moved down; height is its own where none is given."""
        pieces: tuple[Piece, ...] = ((self.own, 0.0, 0.0), *self.inner)
        inner = tuple((shapes, x, y + dy) for shapes, x, y in pieces if shapes)
        return Block((), self.height if height is None else height, inner)

    def with_shapes(self, *shapes: Shape) -> "Block":
        """Return the block with more shapes on it."""
        return Block(self.own + shapes, self.height, self.inner)

    def below(self, other: "Block", gap: float = 0.0) -> "Block":
        """Return both as one block, the other one underneath."""
        under = other.shifted(self.height + gap)
        return Block(self.own, self.height + gap + other.height, self.inner + under.inner)

    def beside(self, other: "Block") -> "Block":
        """Return both as one block with the same top."""
        height = max(self.height, other.height)
        return Block(self.own + other.own, height, self.inner + other.inner)


EMPTY: Final = Block((), 0.0)


def of_drawing(drawn: Drawing) -> Block:
    """Return a drawing as a block at the left margin."""
    return Block((), drawn.height, ((drawn.draw, MARGIN, drawn.above),))


def stacked(blocks: Iterable[Block], gap: float = 0.0) -> Block:
    """Return blocks under one another."""
    whole: Block | None = None
    for block in blocks:
        whole = block if whole is None else whole.below(block, gap)
    return whole or EMPTY


@dataclass
class Setter:
    """Sets text on a paper, with the widths of the very font that prints."""

    fonts: Fonts
    paper: Paper

    def width(
        self, text: str, size: float = TEXT, bold: bool = False, italic: bool = False
    ) -> float:
        """Return how wide a line of text is in mm."""
        return self.fonts.width(text, size, bold, italic)

    def label(
        self,
        text: str,
        at: tuple[float, float],
        size: float = TEXT,
        bold: bool = False,
        italic: bool = False,
        anchor: str = "w",
        within: float | None = None,
    ) -> Label:
        """Return one line of text on its baseline, shortened to a width where one is given."""
        text = text if within is None else self.shortened(text, within, size, bold)
        return Label(at, text, size, BLACK, bold, italic, anchor)

    def wrapped(self, text: str, width: float, size: float = TEXT, bold: bool = False) -> list[str]:
        """Break text into lines of at most that width; a word too long is cut, never squeezed."""
        lines: list[str] = []
        for word in text.split():
            for piece in self._pieces(word, width, size, bold):
                longer = f"{lines[-1]} {piece}" if lines else piece
                if lines and self.width(longer, size, bold) <= width:
                    lines[-1] = longer
                else:
                    lines.append(piece)
        return lines

    def _pieces(self, word: str, width: float, size: float, bold: bool) -> list[str]:
        if self.width(word, size, bold) <= width or len(word) < 3:
            return [word]
        n = len(word) - 1
        while n > 2 and self.width(f"{word[:n]}-", size, bold) > width:
            n -= 1
        return [f"{word[:n]}-", *self._pieces(word[n:], width, size, bold)]

    def paragraph(
        self,
        text: str,
        x: float,
        width: float,
        size: float = TEXT,
        bold: bool = False,
        line: float = LINE,
    ) -> Block:
        """Return wrapped text as a block."""
        lines = self.wrapped(text, width, size, bold)
        drop = DROP * size / TEXT
        shapes = tuple(
            self.label(each, (x, drop + i * line), size, bold) for i, each in enumerate(lines)
        )
        return Block(shapes, line * len(lines))

    def shortened(self, text: str, width: float, size: float = TEXT, bold: bool = False) -> str:
        """Return the text, cut with … where it is wider than that.

        A thousandth of a millimetre is given: room made for a text by adding and taking away
        widths may come out a rounding error short of it.
        """
        width += 0.001
        if self.width(text, size, bold) <= width:
            return text
        while text and self.width(f"{text.rstrip()}…", size, bold) > width:
            text = text[:-1]
        return f"{text.rstrip()}…"

    def title(self, text: str) -> Label:
        """Return what a page is headed with, large in the upper left corner."""
        return self.label(text, (MARGIN, TITLE_DROP), LARGE, bold=True)

    def heading(self, text: str) -> Block:
        """Return a heading in the left column."""
        return self.paragraph(text, MARGIN, HEADING_WIDTH, bold=True)

    def wide_heading(self, text: str) -> Block:
        """Return a heading over the full width."""
        return self.paragraph(text, MARGIN, self.paper.full, bold=True)


def painted(shapes: Shapes, paper: str, fonts: Fonts) -> Image.Image:
    """Paint shapes in mm onto a white sheet of paper, grey at 300 dpi."""
    sheet = PAPERS[paper]
    size = round(sheet.width * PX_PER_MM), round(sheet.height * PX_PER_MM)
    page = Image.new("L", size, 255)
    paint(page, shapes, fonts)
    return page


def rule(x: float, y: float, width: float, thick: float = THIN) -> Line:
    """Return a ruled line with its middle at y."""
    return Line(((x, y), (x + width, y)), BLACK, thick)


def ruled_off(head: Block, width: float) -> Block:
    """Return the head of a page with the page's one heavy rule under it."""
    y = head.height + UNDER_HEAD
    return head.with_shapes(rule(MARGIN, y, width, RULE)).beside(Block((), y + RULE / 2))


def ruled(x: float, width: float, n: int, pitch: float) -> Block:
    """Return lines to write on, the last one on the lower edge of the block."""
    lines = tuple(rule(x, (i + 1) * pitch - THIN / 2, width) for i in range(n))
    return Block(lines, n * pitch)


def spread(blocks: Sequence[Block], gaps: Sequence[float] | float) -> Shapes:
    """Place blocks down the page from the upper margin; gaps: between them, or one for all."""
    if isinstance(gaps, float):
        gaps = [gaps] * (len(blocks) - 1)
    shapes: list[Shape] = []
    y = MARGIN
    for block, gap in zip(blocks, [0.0, *gaps], strict=True):
        y += gap
        shapes += block.shifted(y).shapes
        y += block.height
    return tuple(shapes)


def n_fitting(blocks: Sequence[Block], height: float, gap: float = 0.0) -> int:
    """Return how many blocks, with a gap above each, a height holds; one at least."""
    for n, block in enumerate(blocks):
        height -= block.height + gap
        if height < -0.01:
            return max(1, n)
    return len(blocks)
