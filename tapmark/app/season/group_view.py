"""The Group page: codes × items as signs, who shares a root, and who is due."""

import tkinter as tk
from collections.abc import Iterator, Sequence
from functools import partial
from tkinter import ttk
from typing import Any, Final

from PIL import Image, ImageDraw, ImageTk

from tapmark.app.season.group import N_ITEMS, lines_of, words_of_cell
from tapmark.app.shell.context import Context
from tapmark.app.state.pages import GroupPage
from tapmark.app.widgets.columns import Side, scroll_to, scrolled
from tapmark.app.widgets.painting import em_px, photo, sign_photos, window_fonts
from tapmark.app.widgets.pieces import (
    Fresh,
    button_row,
    emptied,
    fold,
    fold_second,
    label,
    put,
    surface,
)
from tapmark.app.widgets.theme import Look
from tapmark.checklist.verdict import WORDS
from tapmark.marks.days import several, short_day
from tapmark.report.drawing import palette
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Label, Line, Shape, Shapes, TextWidth
from tapmark.report.drawing.signs import verdict_sign
from tapmark.report.pages.content import GroupContent, GroupLine

WORDS_EM = 42
SIGN: Final = 0.95  # of the em
SMALLEST_PX: Final = 12.0
NARROWEST: Final = 1.5  # column, em: below that names and signs would touch
ASLANT = 52  # degrees: readable without turning the head, and narrow enough


class Grid:
    """Where the cells are: code at the left, items in the middle, last visit at the right.

    width: of the whole table; unit: of the text; row: height of a row. left, right: edges of the
    items, column: width of one; all in px. The last visit has room behind the items or is left
    out: signs come first.
    """

    def __init__(self, width: float, unit: float, row: float) -> None:
        self.width, self.unit, self.row = width, unit, row
        self.has_days = width - (10.4 + 12.5) * unit > N_ITEMS * NARROWEST * unit
        self.left = (10.4 if self.has_days else 9.4) * unit
        self.right = width - (12.5 if self.has_days else 5.6) * unit
        self.column = (self.right - self.left) / N_ITEMS

    def middle(self, i_item: int) -> float:
        """Return the middle of an item's column."""
        return self.left + (i_item + 0.5) * self.column

    def cell(self, x: float, y: float, n_lines: int) -> tuple[int, int] | None:
        """Return (line, item) of the cell at a place, or None."""
        i_line = int(y // self.row)
        i_item = int((x - self.left) // self.column)
        is_cell = 0 <= i_line < n_lines and 0 <= i_item < N_ITEMS
        return (i_line, i_item) if is_cell else None


def rows_shapes(lines: Sequence[GroupLine], grid: Grid, text_width: TextWidth) -> Shapes:
    """Return every row, and a thin line under every fifth one to keep the eye in its row."""
    shapes: list[Shape] = []
    unit = grid.unit
    sign = min(SIGN * unit, 0.5 * grid.column)  # the widest is 1.7 times as wide
    for i in range(5, len(lines), 5):
        y = i * grid.row
        shapes.append(Line(((0.0, y), (grid.width, y)), palette.HAIRLINE, 1.0))
    for i, line in enumerate(lines):
        y = (i + 0.5) * grid.row
        base, code = y + 0.36 * unit, line.code
        while text_width(code, unit, True) > grid.left - 2.2 * unit and len(code) > 2:
            code = code[:-2] + "…"
        shapes.append(Label((0.8 * unit, base), code, unit, palette.INK, is_bold=line.is_due))
        for n, word in enumerate(line.words):
            x = grid.middle(n)
            shapes += verdict_sign(word, (x, y), sign, palette.INK, palette.WHITE)
            if n + 1 in line.works_on:
                y_bar, half = y + 0.42 * grid.row, 0.34 * grid.column
                ends = (x - half, y_bar), (x + half, y_bar)
                shapes.append(Line(ends, palette.INK, 0.26 * unit))
        if grid.has_days:
            when = short_day(line.dated).rsplit(" ", 1)[0] if line.dated else "–"
            said = ", ".join(filter(None, (when, line.note or ("due" if line.is_due else ""))))
            shapes.append(Label((grid.right + 0.8 * unit, base), said, unit, palette.MUTED))
    return tuple(shapes)


def heads(names: Sequence[str], grid: Grid, fonts: Fonts, below: int, here: int) -> Image.Image:
    """Return the names over their columns, on white, with so many px below the tallest one.

    here: the column that is read out.
    """
    em = max(SMALLEST_PX, min(grid.unit, 0.72 * grid.column))  # as the text, or what fits
    turned = [_turned(name, em, fonts, is_here=i == here) for i, name in enumerate(names)]
    height = max(_turned(name, em, fonts, is_here=True).height for name in names) + below
    image = Image.new("RGB", (max(1, round(grid.width)), height), palette.WHITE)
    for i, each in enumerate(turned):
        image.paste(each, (round(grid.middle(i) - 0.5 * em), height - each.height), each)
    return image


def _turned(name: str, unit: float, fonts: Fonts, *, is_here: bool) -> Image.Image:
    """Return a name aslant on nothing, bold and in another colour where it is read out."""
    size = (round(fonts.width(name, unit, is_here) + 0.4 * unit), round(1.4 * unit))
    flat = Image.new("L", size, 0)
    place, font = (0, 0.05 * unit), fonts.font(unit, is_here)
    ImageDraw.Draw(flat).text(place, name, fill=255, font=font)
    mask = flat.rotate(ASLANT, Image.Resampling.BICUBIC, expand=True)
    turned = Image.new("RGBA", mask.size, palette.ACCENT if is_here else palette.INK)
    turned.putalpha(mask)
    return turned


class GroupView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        self._fresh, self._told = Fresh(), Fresh()
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(2, weight=1)
        self._build_head(side.large)
        large = side.large
        self.heads = put(surface(large, palette.WHITE, has_focus=False), 1, 0, "ew")
        self._heads_item = self.heads.create_image(0, 0, anchor="nw")
        self.table = put(surface(large, palette.WHITE), 2, 0, "nsew")
        self._table_item = self.table.create_image(0, 0, anchor="nw")
        scrolled(self.table, large, 2)
        self.table.bind("<Configure>", lambda event: self._draw())
        self.table.bind("<Button-1>", self._press)
        self.table.bind("<Double-1>", lambda event: context.perform("to athlete"))
        self.words, self.column = side.words, side.column
        names = [("leave", "Back"), ("show group sheet", "Open")]
        names += [("print group sheet", "Print group sheet")]
        button_row(side.foot, context, look, names)
        return side.frame

    def _build_head(self, parent: ttk.Frame) -> None:
        """Build the title and the key to the signs beside it, or below where there is no room."""
        look = self.look
        head = put(ttk.Frame(parent), 0, 0, "ew", columnspan=2, pady=(0, look.units(1)))
        head.columnconfigure(0, weight=1)
        title, key = label(head, 0, "Group overview", "Title.TLabel"), ttk.Frame(head)
        (wide, tall), gap = (look.units(3.4), look.units(2.4)), look.units(1.2)
        sign = partial(verdict_sign, centre=(wide / 2, tall / 2), height=0.72 * tall)
        self._signs = sign_photos(parent, WORDS, (wide, tall), sign)
        labels = [
            ttk.Label(key, text=word, image=self._signs[word], compound="left") for word in WORDS
        ]

        def lay_out(is_folded: bool) -> None:
            in_row = -(-len(labels) // 2) if is_folded else len(labels)
            for i, sign in enumerate(labels):
                put(sign, *divmod(i, in_row), "w", padx=(0, gap))

        fold(head, labels, gap, lay_out)
        fold_second(head, title, key, gap, look.units(0.8))

    def show(self) -> None:
        self._fresh.forget()
        self._told.forget()
        self.table.focus_set()

    def refresh(self) -> None:
        if self._told.is_new(self.page.content, self.page.troubles):
            self._tell(self.page)
        self._draw()

    @property
    def page(self) -> GroupPage:
        return self.context.state.around.group

    def _grid(self) -> Grid:
        return Grid(float(self.table.winfo_width()), self._em, float(self.look.units(3.05)))

    def _draw(self) -> None:
        width, group, (i_line, i_item) = self.table.winfo_width(), self.page.content, self.page.cell
        if width < 100 or group is None:
            self.table.itemconfigure(self._table_item, image="")
            self.heads.itemconfigure(self._heads_item, image="")
            self._fresh.forget()
            return
        grid, n = self._grid(), len(group.lines)
        if self._fresh.is_new(group, width, i_item):
            self._draw_table(group, grid, i_item)
        self.table.delete("cursor")
        if n:
            x, y = grid.left + i_item * grid.column, i_line * grid.row
            corners = (x + 1.5, y + 1.5, x + grid.column - 1.5, y + grid.row - 1.5)
            self.table.create_rectangle(corners, outline=palette.ACCENT, width=2, tags="cursor")
            scroll_to(self.table, y, y + grid.row, grid.row * n)

    def _draw_table(self, group: GroupContent, grid: Grid, here: int) -> None:
        names = [group.words.item(n + 1) for n in range(N_ITEMS)]
        image = heads(names, grid, self._fonts, round(0.4 * self._em), here)
        self._heads_photo = ImageTk.PhotoImage(image, master=self.heads)
        self.heads.configure(height=image.height)
        self.heads.itemconfigure(self._heads_item, image=self._heads_photo)
        size = (round(grid.width), max(1, round(grid.row * len(group.lines))))
        shapes = rows_shapes(group.lines, grid, self._fonts.width)
        self._photo = photo(self.table, shapes, size, self._fonts)
        self.table.itemconfigure(self._table_item, image=self._photo)
        self.table.configure(scrollregion=(0, 0, *size))

    def _press(self, event: Any) -> None:
        self.table.focus_set()
        n_lines = len(lines_of(self.page))
        cell = self._grid().cell(event.x, self.table.canvasy(event.y), n_lines)
        if cell:
            self.page.cell = cell
            self.context.state.notify()

    def _tell(self, page: GroupPage) -> None:
        words, look = emptied(self.words), self.look
        if page.content is None:
            label(words, 0, "Measuring …")
            return
        for i, (title, lines) in enumerate(sections(page.content, page.troubles)):
            pad = (look.units(1.4) if i else 0, look.units(0.3))
            label(words, 2 * i, title, "Bold.TLabel", pady=pad)
            label(words, 2 * i + 1, "\n".join(lines), wrap=look.units(WORDS_EM))
        self.column.follow_keyboard()

    def hint(self) -> str:
        return words_of_cell(self.page) or "Arrows read the signs out. Escape goes back."

    def corner(self) -> str:
        return "coach only"


def sections(
    group: GroupContent, troubles: tuple[str, ...]
) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield headings with their lines, those with nothing to say left out."""
    name = group.words.item
    if not group.lines:
        yield "No athlete is on it yet", ("It shows those who agreed to be filmed and are marked.",)
    if group.common:
        yield "Most often starts with, now", tuple(name(item) for item in group.common)
    if group.groups:
        shared = (f"{name(item)}: {', '.join(codes)}" for item, codes in group.groups)
        yield "Same drills for", tuple(shared)
    if group.evenings:
        nights = [", ".join(codes) for codes in group.evenings]
        if len(nights) > 1:
            nights = [f"Evening {i}: {codes}" for i, codes in enumerate(nights, start=1)]
        yield "Film this week", tuple(nights)
    if group.again:
        yield "Can't tell: mark or film once more", (", ".join(group.again),)
    if group.left_out:
        n = several(len(group.left_out), "athlete")
        yield f"Not on the page: {n}", group.left_out
    if troubles:
        yield "Cannot be read", troubles
