"""What can be done on the Group page, and the table of signs as plain values in px."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.squads import choose_athlete
from tapmark.app.shell.why_disabled import needs_squad, unless
from tapmark.app.state.session import GroupPage
from tapmark.errors import StoreError
from tapmark.report.drawing import palette
from tapmark.report.drawing.palette import INK, WHITE
from tapmark.report.drawing.shapes import Label, Line, Shape, Shapes, TextWidth
from tapmark.report.drawing.signs import verdict_sign
from tapmark.report.pages.content import GroupContent, GroupLine
from tapmark.services.consent import hand_over
from tapmark.services.group import group_of, write_group
from tapmark.store.squad import open_squad

PAGE = "group"
ROWS_A_PAGE = 15


def open_group(context: Context) -> None:
    """Show the signs of the whole squad; they are measured in a job."""
    state, folder = context.state, context.state.the_squad.folder
    now, paper = context.now().date(), context.state.paper
    troubles: list[StoreError] = []

    def done(content: GroupContent) -> None:
        told = tuple(dict.fromkeys(map(str, troubles)))
        state.around.group = GroupPage(content, told)
        state.notify()

    state.back, state.around.group = "squad", GroupPage()
    context.jobs.run(
        "group",
        lambda task: group_of(open_squad(folder, []), now, paper, troubles),
        done,
        context.failed,
        by="squad",
    )
    context.go(PAGE)


def move(context: Context, rows: int, items: int) -> None:
    """Read out another cell."""
    page = context.state.around.group
    if page.content and page.content.lines:
        i_line = min(max(0, page.cell[0] + rows), len(page.content.lines) - 1)
        page.cell = (i_line, min(max(0, page.cell[1] + items), N_ITEMS - 1))


def words_of_cell(page: GroupPage) -> str:
    """Return the cell in words: whose, which item, which verdict, whether it is worked on."""
    if page.content is None or not page.content.lines:
        return ""
    line, number = page.content.lines[page.cell[0]], page.cell[1] + 1
    name = page.content.words.item(number)
    if not line.words:
        return f"{line.code}: no visit to read yet."
    word = page.content.words.verdict(line.words[number - 1])
    works = ", works on it" if number in line.works_on else ""
    note = f" {line.note[:1].upper()}{line.note[1:]}." if line.note else ""
    return f"{line.code}, {name}: {word}{works}.{note}"


def to_athlete(context: Context) -> None:
    """Go to the athlete of the cell."""
    page = context.state.around.group
    if page.content and page.content.lines:
        choose_athlete(context, page.content.lines[page.cell[0]].code)
        context.go("squad")


def make_sheet(context: Context, *, prints: bool) -> None:
    """Write the group sheet into the squad and hand it over."""
    squad = open_squad(context.state.the_squad.folder, [])
    now, paper = context.now().date(), context.state.paper
    context.state.status = "Setting the group sheet …"

    def hand(path: Path) -> None:
        checked = hand_over(context.state.the_squad, path, context.now().date())
        (context.print_file if prints else context.open_file)(checked)
        context.state.status = f"Group sheet: {path}. For the coach only: do not pin it up."

    context.jobs.run(
        "group sheet",
        lambda task: write_group(squad, now, paper),
        lambda written: context.attempt(lambda: hand(written[0])),
        context.failed,
        by="squad",
    )


_MOVES = (
    ("up", "Up", -1, 0),
    ("down", "Down", 1, 0),
    ("left", "Left", 0, -1),
    ("right", "Right", 0, 1),
    ("a page up", "PageUp", -ROWS_A_PAGE, 0),
    ("a page down", "PageDown", ROWS_A_PAGE, 0),
)
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
    unit: float
    row: float

    @property
    def left(self) -> float:
        """Left edge of the first item."""
        return (10.4 if self.has_days else 9.4) * self.unit

    @property
    def has_days(self) -> bool:
        """True where the last visit has room behind the items: signs come first."""
        return self.width - (10.4 + 12.5) * self.unit > N_ITEMS * NARROWEST * self.unit

    @property
    def right(self) -> float:
        """Right edge of the last item."""
        return self.width - (12.5 if self.has_days else 5.6) * self.unit

    @property
    def column(self) -> float:
        """Width of an item's column."""
        return (self.right - self.left) / N_ITEMS

    @property
    def head(self) -> float:
        """Em of the names over the columns, px: as the text, or what fits beside each other."""
        return max(SMALLEST_PX, min(self.unit, 0.72 * self.column))

    @property
    def sign(self) -> float:
        """Height of a sign; the widest one is 1.7 times as wide and stays in its column."""
        return min(SIGN * self.unit, 0.5 * self.column)

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
        base = y + 0.36 * grid.unit
        code = _shortened(line.code, grid.left - 2.2 * grid.unit, grid.unit, text_width)
        shapes.append(Label((0.8 * grid.unit, base), code, grid.unit, INK, is_bold=line.is_due))
        for n, word in enumerate(line.words):
            at = (grid.middle(n), y)
            shapes += verdict_sign(word, at, grid.sign, INK, WHITE)
            if n + 1 in line.works_on:
                y_bar, half = y + 0.42 * grid.row, 0.34 * grid.column
                ends = ((at[0] - half, y_bar), (at[0] + half, y_bar))
                shapes.append(Line(ends, INK, 0.26 * grid.unit))  # what the athlete works on
        if grid.has_days:
            at = (grid.right + 0.8 * grid.unit, base)
            shapes.append(Label(at, days[i], grid.unit, palette.MUTED))
    return tuple(shapes)


def lines_between(n_lines: int, grid: Grid) -> Shapes:
    """Return thin lines under every fifth row, to keep the eye in its row."""
    return tuple(
        Line(((0.0, i * grid.row), (grid.width, i * grid.row)), palette.HAIRLINE, 1.0)
        for i in range(5, n_lines, 5)
    )


def _shortened(text: str, room: float, unit: float, text_width: TextWidth) -> str:
    while text_width(text, unit, True) > room and len(text) > 2:
        text = text[:-2] + "…"
    return text


_on_group = partial(Action, pages=(PAGE,), group="Group")
_of_lines = partial(
    _on_group,
    why_disabled=unless(
        "No athlete can be on it yet: marks and consent come first.",
        lambda c: c.state.around.group.content and c.state.around.group.content.lines,
    ),
)
ACTIONS = (
    Action("group", "Group overview", open_group, ("Mod+G",), ("squad",), "Squad", needs_squad),
    *(
        _on_group(
            f"cell {where}",
            f"Read the sign {where}",
            partial(move, rows=rows, items=items),
            (key,),
            in_menu=False,
        )
        for where, key, rows, items in _MOVES
    ),
    _of_lines("to athlete", "Go to that athlete", to_athlete, ("Return",)),
    _of_lines(
        "show group sheet", "Open the group sheet", partial(make_sheet, prints=False), ("Mod+E",)
    ),
    _of_lines(
        "print group sheet", "Print the group sheet", partial(make_sheet, prints=True), ("Mod+P",)
    ),
)
