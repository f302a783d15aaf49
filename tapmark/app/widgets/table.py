"""Lists whose texts fit: columns share the width, what is too long ends in “…”."""

from collections.abc import Callable, Sequence
from tkinter import font as tkfont
from tkinter import ttk
from typing import Any

from tapmark.app.widgets.theme import INDENT_EM, Look

CUT = "…"
CELL_PX = 8  # what ttk keeps beside the text of a cell
ENDS = (", left", ", right")  # what tells a name from its neighbour stays
GAP_EM = 0.3  # between the texts of two columns


def shares(needs: Sequence[int], room: int) -> list[int]:
    """Return widths that fill room: all of its need to each, or no more than an equal most.

    needs, room: px. Where there is room to spare every column gets the same of it.
    """
    if not needs:
        return []
    spare = room - sum(needs)
    if spare >= 0:
        each, over = divmod(spare, len(needs))
        return [need + each + (i < over) for i, need in enumerate(needs)]
    most, left, waiting = 0, room, sorted(needs)
    while waiting and waiting[0] <= left // len(waiting):
        left -= waiting.pop(0)
    most = left // len(waiting) if waiting else 0
    return [min(need, most) for need in needs]


def cut(text: str, room: int, measure: Callable[[str], int]) -> str:
    """Return a text that is at most room px wide: itself, or its beginning and “…”."""
    if measure(text) <= room:
        return text
    end = CUT + next((end for end in ENDS if text.endswith(end)), "")
    few, many = 0, len(text)
    while many - few > 1:
        half = (few + many) // 2
        few, many = (half, many) if measure(text[:half] + end) <= room else (few, half)
    return text[:few].rstrip(" ,") + end


class Cells:
    """Fills one list and lays its columns out; fill with insert and change, then lay_out.

    image_px: width of the pictures in front of the first column.
    spare_to: the column that takes what is to spare, "" to share it among all.
    """

    def __init__(
        self, tree: ttk.Treeview, look: Look, *, image_px: int = 0, spare_to: str = ""
    ) -> None:
        self.tree, self._spare_to = tree, spare_to
        self._first_px = look.units(INDENT_EM) + 2 + image_px
        self._gap, self._head_pad = look.units(GAP_EM), look.units(1.1)
        self._fonts: dict[bool, tkfont.Font] = {False: look.font("body"), True: look.font("bold")}
        self._widths: dict[tuple[bool, str], int] = {}
        self._rows: dict[str, tuple[bool, dict[str, str]]] = {}
        tree.bind("<Configure>", lambda event: self.lay_out(), add="+")
        tree.bind(
            "<ButtonRelease-1>", lambda event: tree.winfo_toplevel().after_idle(self._fit), add="+"
        )

    def clear(self) -> None:
        """Take all rows out."""
        self.tree.delete(*self.tree.get_children())
        self._rows.clear()

    def insert(
        self,
        item: str | None,
        values: Sequence[str],
        text: str = "",
        tags: tuple[str, ...] = (),
        **options: Any,
    ) -> None:
        """Add a row at the end; tag "group": in bold."""
        made = self.tree.insert("", "end", item, text=text, values=[*values], tags=tags, **options)
        named = dict(zip(self.tree.cget("columns"), map(str, values), strict=False))
        self._rows[made] = ("group" in tags, {"#0": text, **named})

    def change(self, item: str, values: Sequence[str]) -> None:
        """Give a row other values."""
        is_bold, whole = self._rows[item]
        whole.update(zip(self.tree.cget("columns"), map(str, values), strict=False))
        self._fit_row(item, is_bold, whole)

    def lay_out(self) -> None:
        """Share the width among the columns that are shown, and cut what does not fit."""
        room = self.tree.winfo_width() - 4
        if room < 20:  # not on the screen yet
            return
        columns = self._columns()
        needs = []
        for column in columns:
            heading = self._width(False, str(self.tree.heading(column, "text"))) + self._head_pad
            needs.append(max(self._widest(column), heading + 4))
        if self._spare_to in columns and sum(needs) < room:
            needs[columns.index(self._spare_to)] += room - sum(needs)
        widths = shares(needs, room)
        for i, column in enumerate(columns):  # what is below the heading of a group hangs on it
            widest = max(range(len(widths)), key=lambda k: widths[k])
            lacking = self._widest(column, is_bold=True) - widths[i]
            if 0 < lacking <= widths[widest] // 2 and i != widest:
                widths[i], widths[widest] = widths[i] + lacking, widths[widest] - lacking
        for column, width in zip(columns, widths, strict=True):
            self.tree.column(column, width=width, minwidth=20, stretch=False)
        self._fit()

    def head(self, *columns: tuple[str, str]) -> None:
        """Give the list its columns: (key, heading); "#0" is the one with the pictures."""
        self.tree.configure(columns=[key for key, _ in columns if key != "#0"])
        for key, words in columns:
            self.tree.heading(key, text=words, anchor="w")

    def select(self, item: str) -> None:
        """Select a row and bring it into view."""
        self.tree.selection_set(item)
        self.tree.focus(item)
        self.tree.see(item)

    def cut_words(self) -> str:
        """Return the whole texts of the selected row that are cut, "" where all can be read."""
        item = next(iter(self.tree.selection()), "")
        if item not in self._rows:
            return ""
        is_bold, whole = self._rows[item]
        return "; ".join(
            text.strip()
            for column, text in whole.items()
            if column in self._columns() and self._cut(column, text, is_bold) != text
        )

    def _columns(self) -> list[str]:
        shown = tuple(map(str, self.tree.cget("displaycolumns")))
        named = list(self.tree.cget("columns")) if shown in {("#all",), ()} else list(shown)
        return ["#0", *named] if "tree" in str(self.tree.cget("show")) else named

    def _widest(self, column: str, *, is_bold: bool = False) -> int:
        """Return the width that the texts of a column need, or those in bold."""
        found = (
            self._width(bold, texts[column]) + self._beside(column) + self._gap
            for bold, texts in self._rows.values()
            if texts.get(column) and (bold or not is_bold)
        )
        return max(found, default=0)

    def _width(self, is_bold: bool, text: str) -> int:
        key = (is_bold, text)
        if key not in self._widths:
            self._widths[key] = self._fonts[is_bold].measure(text)
        return self._widths[key]

    def _beside(self, column: str) -> int:
        return self._first_px if column == "#0" else CELL_PX

    def _cut(self, column: str, text: str, is_bold: bool) -> str:
        room = int(self.tree.column(column, "width")) - self._beside(column)
        return cut(text, room, lambda words: self._width(is_bold, words))

    def _fit(self) -> None:
        if not self.tree.winfo_exists():  # the page was built anew meanwhile
            return
        for item, (is_bold, whole) in self._rows.items():
            self._fit_row(item, is_bold, whole)

    def _fit_row(self, item: str, is_bold: bool, whole: dict[str, str]) -> None:
        for column in self._columns():
            text = self._cut(column, whole.get(column, ""), is_bold)
            if column == "#0":
                self.tree.item(item, text=text)
            else:
                self.tree.set(item, column, text)
