"""The Group page: codes × items as signs, who shares a root, who is due."""

import tkinter as tk
from collections.abc import Iterator, Sequence
from tkinter import ttk
from typing import Any

from PIL import Image, ImageDraw, ImageTk

from tapmark.app.season.group_actions import (
    N_ITEMS,
    Grid,
    lines_between,
    rows_shapes,
    words_of_cell,
)
from tapmark.app.shell.context import Context
from tapmark.app.state.session import GroupPage
from tapmark.app.state.titles import several
from tapmark.app.widgets.painting import em_px, photo, sign_photos, window_fonts
from tapmark.app.widgets.pieces import (
    Fresh,
    Side,
    button_row,
    fold,
    fold_second,
    label,
    put,
    surface,
)
from tapmark.app.widgets.theme import Look
from tapmark.checklist.verdict import WORDS
from tapmark.marks.days import short_day
from tapmark.report.drawing import palette
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.signs import verdict_sign
from tapmark.report.pages.content import GroupContent, GroupLine

WORDS_EM = 42


class GroupView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        self._fresh, self._told = Fresh(), Fresh()
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(2, weight=1)
        self._build_head(side.large)
        self._build_table(side.large)
        self.words, self.column = side.words, side.column
        self._build_foot(side.foot)
        return side.frame

    def _build_head(self, parent: ttk.Frame) -> None:
        look = self.look
        head = put(ttk.Frame(parent), 0, 0, "ew", columnspan=2, pady=(0, look.units(1)))
        head.columnconfigure(0, weight=1)
        title, key = ttk.Label(head, text="Group overview", style="Title.TLabel"), ttk.Frame(head)
        title.grid(row=0, column=0, sticky="w")
        (wide, tall), gap = (look.units(3.4), look.units(2.4)), look.units(1.2)
        self._signs = sign_photos(
            parent,
            WORDS,
            (wide, tall),
            lambda word: verdict_sign(word, (wide / 2, tall / 2), 0.72 * tall),
        )
        labels = [
            ttk.Label(key, text=word, image=self._signs[word], compound="left") for word in WORDS
        ]

        def lay_out(is_folded: bool) -> None:
            in_row = -(-len(labels) // 2) if is_folded else len(labels)
            for i, sign in enumerate(labels):
                sign.grid(row=i // in_row, column=i % in_row, sticky="w", padx=(0, gap))

        fold(head, labels, gap, lay_out)
        fold_second(head, title, key, gap, look.units(0.8))

    def _build_table(self, parent: ttk.Frame) -> None:
        self.heads = put(surface(parent, palette.WHITE, has_focus=False), 1, 0, "ew")
        self._heads_item = self.heads.create_image(0, 0, anchor="nw")
        self.table = put(surface(parent, palette.WHITE), 2, 0, "nsew")
        self._table_item = self.table.create_image(0, 0, anchor="nw")
        self.bar = put(ttk.Scrollbar(parent, command=self.table.yview, takefocus=0), 2, 1, "ns")
        self.table.configure(yscrollcommand=self.bar.set)
        self.table.bind("<Configure>", lambda event: self._draw())
        self.table.bind("<Button-1>", self._press)
        self.table.bind("<Double-1>", lambda event: self.context.perform("to athlete"))

    def _build_foot(self, foot: ttk.Frame) -> None:
        names = [("leave", "Back"), ("show group sheet", "Open")]
        names += [("print group sheet", "Print group sheet")]
        _, self.buttons = button_row(foot, self.context, self.look, names)

    def show(self) -> None:
        self._fresh.forget()
        self._told.forget()
        self.table.focus_set()

    def refresh(self) -> None:
        for button in self.buttons:
            button.refresh()
        if self._told.is_new(self.page.content, self.page.troubles):
            self._tell(self.page)
        self._draw()

    @property
    def page(self) -> GroupPage:
        return self.context.state.around.group

    def _grid(self) -> Grid:
        return Grid(float(self.table.winfo_width()), self._em, float(self.look.units(3.05)))

    def _draw(self) -> None:
        width, group, cell = self.table.winfo_width(), self.page.content, self.page.cell
        if width < 100 or group is None:
            self.table.itemconfigure(self._table_item, image="")
            self.heads.itemconfigure(self._heads_item, image="")
            self._fresh.forget()
            return
        grid = self._grid()
        if self._fresh.is_new(group, width, cell[1]):
            self._draw_table(group, grid, cell[1])
        self._draw_cursor(group, grid, cell)

    def _draw_table(self, group: GroupContent, grid: Grid, here: int) -> None:
        names = [group.words.item(n + 1) for n in range(N_ITEMS)]
        height = height_of(names, grid, self._fonts) + round(0.4 * self._em)
        image = heads(names, grid, self._fonts, height, here)
        self._heads_photo = ImageTk.PhotoImage(image, master=self.heads)
        self.heads.configure(height=height)
        self.heads.itemconfigure(self._heads_item, image=self._heads_photo)
        size = (round(grid.width), max(1, round(grid.row * len(group.lines))))
        days = [_behind(line) for line in group.lines]
        shapes = lines_between(len(group.lines), grid)
        shapes += rows_shapes(group.lines, grid, days, self._fonts.width)
        self._photo = photo(self.table, shapes, size, self._fonts)
        self.table.itemconfigure(self._table_item, image=self._photo)
        self.table.configure(scrollregion=(0, 0, *size))
        is_whole = size[1] <= self.table.winfo_height()
        self.bar.grid_remove() if is_whole else self.bar.grid()

    def _draw_cursor(self, group: GroupContent, grid: Grid, cell: tuple[int, int]) -> None:
        self.table.delete("cursor")
        if not group.lines:
            return
        x, y = grid.left + cell[1] * grid.column, cell[0] * grid.row
        corners = (x + 1.5, y + 1.5, x + grid.column - 1.5, y + grid.row - 1.5)
        self.table.create_rectangle(corners, outline=palette.ACCENT, width=2, tags="cursor")
        top, whole = cell[0] * grid.row, max(1.0, grid.row * len(group.lines))
        seen = self.table.canvasy(0), self.table.canvasy(0) + self.table.winfo_height()
        if top < seen[0]:
            self.table.yview_moveto(top / whole)
        elif top + grid.row > seen[1]:
            self.table.yview_moveto((top + grid.row - self.table.winfo_height()) / whole)

    def _press(self, event: Any) -> None:
        self.table.focus_set()
        n_lines = len(self.page.content.lines) if self.page.content else 0
        cell = self._grid().cell(event.x, self.table.canvasy(event.y), n_lines)
        if cell:
            self.page.cell = cell
            self.context.state.notify()

    def _tell(self, page: GroupPage) -> None:
        look, group = self.look, page.content
        for child in self.words.winfo_children():
            child.destroy()
        if group is None:
            label(self.words, 0, "Measuring …")
            return
        row = 0
        for title, lines in sections(group, page.troubles):
            ttk.Label(self.words, text=title, style="Bold.TLabel").grid(
                row=row, column=0, sticky="w", pady=(look.units(1.4) if row else 0, look.units(0.3))
            )
            label(self.words, row + 1, "\n".join(lines), wrap=look.units(WORDS_EM))
            row += 2
        self.column.follow_keyboard()

    def hint(self) -> str:
        return words_of_cell(self.page) or "Arrows read the signs out. Escape goes back."

    def corner(self) -> str:
        return "coach only"


def _behind(line: GroupLine) -> str:
    when = short_day(line.dated).rsplit(" ", 1)[0] if line.dated else "–"
    return f"{when}, {line.note}" if line.note else f"{when}, due" if line.is_due else when


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


def _turned(name: str, unit: float, fonts: Fonts, colour: str, *, is_bold: bool) -> Image.Image:
    font = fonts.font(unit, is_bold)
    size = (round(fonts.width(name, unit, is_bold) + 0.4 * unit), round(1.4 * unit))
    flat = Image.new("L", size, 0)
    ImageDraw.Draw(flat).text((0, 0.05 * unit), name, fill=255, font=font)
    mask = flat.rotate(ASLANT, Image.Resampling.BICUBIC, expand=True)
    turned = Image.new("RGBA", mask.size, colour)
    turned.putalpha(mask)
    return turned


Section = tuple[str, tuple[str, ...]]
"""Heading and lines."""


def sections(group: GroupContent, troubles: tuple[str, ...]) -> Iterator[Section]:
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
        many = len(group.evenings) > 1
        nights = (
            f"Evening {i}: {', '.join(codes)}" if many else ", ".join(codes)
            for i, codes in enumerate(group.evenings, start=1)
        )
        yield "Film this week", tuple(nights)
    if group.again:
        yield "Can't tell: mark or film once more", (", ".join(group.again),)
    if group.left_out:
        n = several(len(group.left_out), "athlete")
        yield f"Not on the page: {n}", group.left_out
    if troubles:
        yield "Cannot be read", troubles
