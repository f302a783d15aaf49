"""The Season page: one measure over the visits, what was worked on, and the boxes typed back in."""

import tkinter as tk
from tkinter import ttk

from PIL import ImageTk

from tapmark.app.cells import Cells
from tapmark.app.desk import Desk
from tapmark.app.folding import fold
from tapmark.app.fresh import Fresh
from tapmark.app.painting import clear_photo, window_fonts
from tapmark.app.season_deeds import (
    Shown,
    became_of,
    visit_of,
)
from tapmark.app.season_plot import SeasonPlot
from tapmark.app.style import Look
from tapmark.app.tick_panel import TickPanel
from tapmark.app.widgets import ActionButton, Side, button_row, scrolled, wrapped
from tapmark.drawing.signs import CHANGES, change_sign
from tapmark.errands.season import WorkedOn
from tapmark.marks.days import long_day, short_day

WORDS_EM = 66
COLUMNS = (("thing", "worked on"), ("done", "did it"), ("became", "next visit"))


class SeasonView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look = desk, look
        self._listed = Fresh()
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(1, weight=1)
        self._build_head(side.large)
        self.drawings = SeasonPlot(side.large, desk, look)
        self._build_words(side.words, side.width_em)
        self._build_foot(side.foot)
        side.column.follow_keyboard()
        return side.frame

    def _build_head(self, parent: ttk.Frame) -> None:
        look = self.look
        head = ttk.Frame(parent)
        head.grid(row=0, column=0, sticky="ew", pady=(0, look.em(1)))
        head.columnconfigure(1, weight=1)
        title = ttk.Label(head, text="Season", style="Title.TLabel")
        title.grid(row=0, column=0)
        measure = self.measure = ttk.Combobox(head, state="readonly", width=38)
        measure.bind("<<ComboboxSelected>>", lambda event: self._choose())
        self.sides = ActionButton(head, self.desk, look, "left right", "Left against right")
        self.sides.grid(row=0, column=2)

        def lay_out(is_folded: bool) -> None:
            if is_folded:
                pad = (look.em(0.8), 0)
                measure.grid(row=1, column=0, columnspan=3, sticky="ew", padx=0, pady=pad)
            else:
                measure.grid(row=0, column=1, columnspan=1, sticky="e", padx=look.em(1), pady=0)

        fold(head, (title, measure, self.sides.button), look.em(1), lay_out)

    def _build_words(self, parent: ttk.Frame, width_em: float) -> None:
        look = self.look
        self.notices = wrapped(ttk.Label(parent), look.em(width_em))
        self.notices.grid(row=0, column=0, columnspan=2, sticky="w")
        self.list = ttk.Treeview(
            parent, columns=[key for key, _ in COLUMNS], selectmode="browse", height=9
        )
        self.list.heading("#0", text="visit", anchor="w")
        for key, words in COLUMNS:
            self.list.heading(key, text=words, anchor="w")
        self.list.grid(row=1, column=0, sticky="ew")
        scrolled(self.list, parent, 1)
        self.list.bind("<<TreeviewSelect>>", lambda event: self._selected())
        self.list.bind("<Return>", lambda event: self.desk.perform("open that visit"))
        self._signs = self._make_signs()
        self.cells = Cells(self.list, look, image_px=look.em(4.4), spare_to="thing")
        self.ticks = TickPanel(parent, self.desk, look, width_em)
        self.ticks.frame.grid(row=2, column=0, columnspan=2, sticky="ew", pady=(look.em(1.6), 0))

    def _make_signs(self) -> dict[str, ImageTk.PhotoImage]:
        size = (self.look.em(4.4), self.look.em(2.4))
        return {
            word: clear_photo(
                self.list,
                change_sign(word, (1.0, size[1] / 2), size[1] * 0.62) if word else (),
                size,
                window_fonts(self.list),
            )
            for word in (*CHANGES, "")
        }

    def _build_foot(self, foot: ttk.Frame) -> None:
        names = (
            ("leave", "Back"),
            ("two dates", "Two dates"),
            ("show trend", "As picture"),
            ("print trend", "Print"),
        )
        _, self.buttons = button_row(foot, self.desk, self.look, names)

    def show(self) -> None:
        """Give the keyboard to the list of visits."""
        self._listed.forget()
        self.drawings.forget()
        self.list.focus_set()

    def refresh(self) -> None:
        """Show what is new."""
        side = self.desk.state.side
        for button in self.buttons:
            button.refresh()
        self.sides.refresh("The measure itself" if side.shows_sides else "")
        if self._listed.is_new(side.season):
            self._show_list(side.season)
        self.drawings.refresh()
        self._show_choice(side.season, side.i_measure)
        self.ticks.refresh(visit_of(self.desk))

    def _show_list(self, shown: Shown | None) -> None:
        self.cells.clear()
        self.measure.configure(values=[])
        if shown is None:
            self.notices.configure(text="Measuring …")
            return
        said = [*filter(None, [shown.season.quiet]), *shown.season.notices]
        self.notices.configure(text="\n".join(said))
        self.notices.grid() if said else self.notices.grid_remove()
        self.measure.configure(values=[shown.name(i) for i in range(len(shown.measures))])
        for i, visit in enumerate(shown.season.visits):
            self._insert(i, visit)
        self.cells.lay_out()
        if shown.season.visits:
            last = str(len(shown.season.visits) - 1)
            self.list.selection_set(last)
            self.list.focus(last)
            self.list.see(last)

    def _show_choice(self, shown: Shown | None, i: int) -> None:
        self.measure.set(shown.name(i) if shown and shown.measures else "")

    def _insert(self, i: int, visit: WorkedOn) -> None:
        word, _ = became_of(visit)
        done, asked = visit.done
        things = ", ".join(name for _, name in visit.items) or "–"
        cells = (things, f"{done} of {asked}" if asked else "–", word)
        image = self._signs.get(word, self._signs[""])
        self.cells.insert(str(i), cells, f" {short_day(visit.dated)}", image=image)

    def _choose(self) -> None:
        self.desk.state.side.i_measure = max(0, self.measure.current())
        self.desk.state.tell()

    def _selected(self) -> None:
        chosen = self.list.selection()
        if chosen and self.desk.commit():  # boxes typed belong to the visit they were typed for
            self.desk.state.side.i_visit = int(chosen[0])
            self.desk.state.tell()

    def hint(self) -> str:
        """What to do now."""
        visit = visit_of(self.desk)
        word, note = became_of(visit) if visit else ("", "")
        whole = self.cells.cut_words(next(iter(self.list.selection()), ""))
        if whole:
            return f"In full: {whole}. {note}"
        if note:
            return note
        if visit and word:
            return f"{long_day(visit.dated)}: the next visit shows {word}."
        return "Page Up and Down change the measure, L left against right, T types in the boxes."

    def corner(self) -> str:
        """How many visits."""
        shown = self.desk.state.side.season
        return f"{len(shown.season.visits)} visits" if shown else ""
