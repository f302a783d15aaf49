"""The squad as a table of signs: a row for each code, a column for each item. Plain values, in px.

Rows stand in the order of the codes; nobody is ranked and nothing is added up.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from tapmark.drawing import palette
from tapmark.drawing.palette import INK, WHITE
from tapmark.drawing.shapes import Area, Label, Line, Shape, Shapes
from tapmark.drawing.signs import verdict_sign
from tapmark.drawing.step_line import TextWidth
from tapmark.sheet.group_content import GroupLine

N_ITEMS: Final = 18
SIGN: Final = 0.95  # of the em
SMALLEST_PX: Final = 12.0
NARROWEST: Final = 1.5  # column, em: below that names and signs would touch


@dataclass(frozen=True)
class Grid:
    """Where the cells are: code at the left, items in the middle, last visit at the right.

    width: of the whole table; em: of the text; row: height of a row; all in px.
    """

    width: float
    em: float
    row: float

    @property
    def left(self) -> float:
        """Left edge of the first item."""
        return (10.4 if self.has_days else 9.4) * self.em

    @property
    def has_days(self) -> bool:
        """True where the last visit has room behind the items: signs come first."""
        return self.width - (10.4 + 12.5) * self.em > N_ITEMS * NARROWEST * self.em

    @property
    def right(self) -> float:
        """Right edge of the last item."""
        return self.width - (12.5 if self.has_days else 4.2) * self.em

    @property
    def column(self) -> float:
        """Width of an item's column."""
        return (self.right - self.left) / N_ITEMS

    @property
    def head(self) -> float:
        """Em of the names over the columns, px: as the text, or what fits beside each other."""
        return max(SMALLEST_PX, min(self.em, 0.72 * self.column))

    @property
    def sign(self) -> float:
        """Height of a sign; the widest one is 1.7 times as wide and stays in its column."""
        return min(SIGN * self.em, 0.5 * self.column)

    def middle(self, i_item: int) -> float:
        """Return the middle of an item's column."""
        return self.left + (i_item + 0.5) * self.column

    def cell(self, x: float, y: float, n_lines: int) -> tuple[int, int] | None:
        """Return (line, item) of the cell at a place, or None."""
        i_line = int(y // self.row)
        i_item = int((x - self.left) // self.column)
        if 0 <= i_line < n_lines and 0 <= i_item < N_ITEMS:
            return i_line, i_item
        return None


def rows_shapes(
    lines: Sequence[GroupLine], grid: Grid, days: Sequence[str], text_width: TextWidth
) -> Shapes:
    """Return every row; days: what stands behind each, such as the last visit."""
    shapes: list[Shape] = []
    for i, line in enumerate(lines):
        y = (i + 0.5) * grid.row
        base = y + 0.36 * grid.em
        code = _shortened(line.code, grid.left - 2.2 * grid.em, grid.em, text_width)
        shapes.append(Label((0.8 * grid.em, base), code, grid.em, INK, is_bold=line.is_due))
        for n, word in enumerate(line.words):
            at = (grid.middle(n), y)
            shapes += verdict_sign(word, at, grid.sign, INK, WHITE)
            if n + 1 in line.works_on:
                shapes.append(_bar(at, grid))
        if grid.has_days:
            at = (grid.right + 0.8 * grid.em, base)
            shapes.append(Label(at, days[i], grid.em, palette.MUTED))
    return tuple(shapes)


def lines_between(n_lines: int, grid: Grid) -> Shapes:
    """Return thin lines under every fifth row, to keep the eye in its row."""
    return tuple(
        Line(((0.0, i * grid.row), (grid.width, i * grid.row)), palette.HAIRLINE, 1.0)
        for i in range(5, n_lines, 5)
    )


def cursor(cell: tuple[int, int], grid: Grid) -> Shapes:
    """Return the frame around the cell that is read out."""
    i_line, i_item = cell
    x, y = grid.left + i_item * grid.column, i_line * grid.row
    a, b = (x + 1.5, y + 1.5), (x + grid.column - 1.5, y + grid.row - 1.5)
    return (Area((a, (b[0], a[1]), b, (a[0], b[1])), None, palette.ACCENT, 2.0),)


def _bar(at: tuple[float, float], grid: Grid) -> Line:
    """A heavy bar under a sign: what the athlete works on."""
    y, half = at[1] + 0.42 * grid.row, 0.34 * grid.column
    return Line(((at[0] - half, y), (at[0] + half, y)), INK, 0.26 * grid.em)


def _shortened(text: str, room: float, em: float, text_width: TextWidth) -> str:
    while text_width(text, em, True) > room and len(text) > 2:
        text = text[:-2] + "…"
    return text
