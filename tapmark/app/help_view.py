"""The help page: every key and what it does, made from the action table."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from tapmark.app.actions import help_table
from tapmark.app.shell.context import Context
from tapmark.app.widgets.theme import Look

MOST_COLUMNS = 4
COLUMN_EM = 41  # keys, words and what parts them
MARGINS_EM = 12  # around the columns, with the scroll bar


class HelpView:
    """Builds the page; it never changes."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        outer = ttk.Frame(parent)
        outer.columnconfigure(0, weight=1)
        outer.rowconfigure(0, weight=1)
        self.canvas = tk.Canvas(
            outer, background="#FFFFFF", highlightthickness=0, takefocus=1, width=1, height=1
        )
        bar = ttk.Scrollbar(outer, command=self.canvas.yview)
        self.canvas.configure(yscrollcommand=bar.set)
        self.canvas.grid(row=0, column=0, sticky="nsew", padx=look.units(2), pady=look.units(1.5))
        bar.grid(row=0, column=1, sticky="ns")
        inner = ttk.Frame(self.canvas, style="White.TFrame", padding=look.units(2))
        self.canvas.create_window(0, 0, anchor="nw", window=inner)
        inner.bind(
            "<Configure>",
            lambda event: self.canvas.configure(scrollregion=self.canvas.bbox("all")),
        )
        for key, by in (("<Down>", 2), ("<Up>", -2), ("<Next>", 12), ("<Prior>", -12)):
            self.canvas.bind(key, partial(self._scroll, by=by))
        self._fill(inner)
        return outer

    def _fill(self, inner: ttk.Frame) -> None:
        look = self.look
        window = inner.winfo_toplevel()
        room = window.winfo_width() - look.units(MARGINS_EM)
        count = min(MOST_COLUMNS, max(1, room // look.units(COLUMN_EM)))
        columns = [ttk.Frame(inner, style="White.TFrame") for _ in range(count)]
        for i, column in enumerate(columns):
            column.grid(row=0, column=i, sticky="n", padx=(0, look.units(2)))
        heights = [0] * count
        for group, rows in help_table(look.system).items():
            i = heights.index(min(heights))
            self._group(columns[i], heights[i], group, rows)
            heights[i] += len(rows) + 3

    def _group(self, parent: ttk.Frame, row: int, group: str, rows: list[tuple[str, str]]) -> None:
        look = self.look
        ttk.Label(parent, text=group, style="WhiteHead.TLabel").grid(
            row=row, column=0, columnspan=2, sticky="w", pady=(look.units(1.5), look.units(0.5))
        )
        for i, (keys, words) in enumerate(rows, start=row + 1):
            ttk.Label(parent, text=keys, style="WhiteBold.TLabel").grid(
                row=i, column=0, sticky="nw", padx=(0, look.units(1.5))
            )
            label = ttk.Label(parent, text=words, style="White.TLabel")
            label.configure(wraplength=look.units(20.5), justify="left")
            label.grid(row=i, column=1, sticky="w", pady=look.units(0.15))

    def _scroll(self, event: "tk.Event[tk.Misc]", by: int) -> None:
        self.canvas.yview_scroll(by, "units")

    def show(self) -> None:
        self.canvas.focus_set()

    def refresh(self) -> None:
        """Do nothing: this page never changes."""

    def hint(self) -> str:
        return "F1 or Escape goes back."

    def corner(self) -> str:
        return ""
