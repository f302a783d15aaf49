"""The Season page: one measure over the visits, what was worked on, and the boxes typed back in."""

import tkinter as tk
from datetime import date
from tkinter import ttk
from typing import Any

from PIL import ImageTk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.painting import clear_photo, em_px, photo, window_fonts
from tapmark.app.season_deeds import (
    Shown,
    became_of,
    left_minus_right,
    measure_of,
    visit_of,
)
from tapmark.app.season_drawing import spell_bars
from tapmark.app.style import Look
from tapmark.app.tick_panel import TickPanel
from tapmark.app.titles import day, short_day
from tapmark.app.verdict_rows import number
from tapmark.app.widgets import ActionButton, Side, scrolled, wrapped
from tapmark.checklist.verdict import Band
from tapmark.drawing import palette
from tapmark.drawing.shapes import Shapes, moved
from tapmark.drawing.signs import CHANGES, change_sign
from tapmark.drawing.trend import TrendLook, Visit, trend_shapes
from tapmark.errands.one_measure import SeasonMeasure, trend_visits, trend_words
from tapmark.errands.season import WorkedOn

WORDS_EM = 66
NO_BAND = Band("", "", fine_low=0.0, fine_high=0.0)  # the line of no difference
COLUMNS = (("thing", "worked on", 22), ("done", "did it", 8), ("became", "next visit", 14))


class SeasonView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look = desk, look
        self._fresh, self._drawn, self._listed = Fresh(), Fresh(), Fresh()
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(1, weight=1)
        self._build_head(side.large)
        self._build_plot(side.large)
        self._build_words(side.words)
        self._build_foot(side.foot)
        side.column.follow_keyboard()
        return side.frame

    def _build_head(self, parent: ttk.Frame) -> None:
        look = self.look
        head = ttk.Frame(parent)
        head.grid(row=0, column=0, sticky="ew", pady=(0, look.em(1)))
        head.columnconfigure(1, weight=1)
        ttk.Label(head, text="Season", style="Title.TLabel").grid(row=0, column=0)
        self.measure = ttk.Combobox(head, state="readonly", width=38)
        self.measure.grid(row=0, column=1, sticky="e", padx=look.em(1))
        self.measure.bind("<<ComboboxSelected>>", lambda event: self._choose())
        self.sides = ActionButton(head, self.desk, look, "left right", "Left against right")
        self.sides.grid(row=0, column=2)

    def _build_plot(self, parent: ttk.Frame) -> None:
        look = self.look
        white = ttk.Frame(parent, style="White.TFrame")
        white.grid(row=1, column=0, sticky="nsew")
        white.columnconfigure(0, weight=1)
        white.rowconfigure(0, weight=1)
        self.plot = tk.Canvas(
            white,
            background=palette.WHITE,
            highlightthickness=2,
            highlightcolor=palette.ACCENT,
            highlightbackground=palette.WHITE,
            takefocus=1,
            width=1,
            height=1,
        )
        self.plot.grid(row=0, column=0, sticky="nsew")
        self._plot_item = self.plot.create_image(0, 0, anchor="nw")
        self.plot.bind("<Configure>", lambda event: self._draw())
        self.says = ttk.Label(white, style="White.TLabel", justify="left")
        self.says.grid(row=1, column=0, sticky="ew", padx=look.em(2), pady=look.em(0.8))
        self.says.bind("<Configure>", self._wrap)
        ttk.Label(parent, text="Worked on", style="Bold.TLabel").grid(
            row=2, column=0, sticky="w", pady=(look.em(1.2), look.em(0.4))
        )
        self.bars = tk.Canvas(
            parent, background=palette.WHITE, highlightthickness=0, width=1, height=1
        )
        self.bars.grid(row=3, column=0, sticky="ew")
        self._bars_item = self.bars.create_image(0, 0, anchor="nw")
        self._photos: dict[str, ImageTk.PhotoImage] = {}

    def _wrap(self, event: Any) -> None:
        self.says.configure(wraplength=max(1, event.width - 6))

    def _build_words(self, parent: ttk.Frame) -> None:
        look = self.look
        self.notices = wrapped(ttk.Label(parent), look.em(WORDS_EM))
        self.notices.grid(row=0, column=0, columnspan=2, sticky="w")
        self.list = ttk.Treeview(
            parent, columns=[key for key, *_ in COLUMNS], selectmode="browse", height=9
        )
        self.list.heading("#0", text="visit", anchor="w")
        self.list.column("#0", width=look.em(WORDS_EM - 45), stretch=False)
        for key, words, width in COLUMNS:
            self.list.heading(key, text=words, anchor="w")
            self.list.column(key, width=look.em(width), stretch=key == "thing")
        self.list.grid(row=1, column=0, sticky="ew")
        scrolled(self.list, parent, 1)
        self.list.bind("<<TreeviewSelect>>", lambda event: self._selected())
        self.list.bind("<Return>", lambda event: self.desk.perform("open that visit"))
        self._signs = self._make_signs()
        self.ticks = TickPanel(parent, self.desk, look, WORDS_EM)
        self.ticks.frame.grid(row=2, column=0, columnspan=2, sticky="ew", pady=(look.em(1.6), 0))

    def _make_signs(self) -> dict[str, ImageTk.PhotoImage]:
        size = (self.look.em(4.4), self.look.em(2.4))
        return {
            word: clear_photo(
                self.list,
                change_sign(word, (1.0, size[1] / 2), size[1] * 0.62) if word else (),
                size,
                self._fonts,
            )
            for word in (*CHANGES, "")
        }

    def _build_foot(self, foot: ttk.Frame) -> None:
        look = self.look
        box = ttk.Frame(foot)
        box.grid(row=0, column=0, sticky="e")
        names = (("leave", "Back"), ("show trend", "Open as picture"), ("print trend", "Print"))
        self.buttons = [
            ActionButton(box, self.desk, look, name, words, is_primary=name == "print trend").grid(
                row=0, column=i, padx=(look.em(1) if i else 0, 0)
            )
            for i, (name, words) in enumerate(names)
        ]

    def show(self) -> None:
        """Give the keyboard to the list of visits."""
        for fresh in (self._fresh, self._drawn, self._listed):
            fresh.forget()
        self.list.focus_set()

    def refresh(self) -> None:
        """Show what is new."""
        side = self.desk.state.side
        for button in (*self.buttons, self.sides):
            button.refresh()
        if self._listed.is_new(side.season):
            self._show_list(side.season)
        self._draw()
        self.ticks.refresh(visit_of(self.desk))

    def _show_list(self, shown: Shown | None) -> None:
        self.list.delete(*self.list.get_children())
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
        if shown.season.visits:
            last = str(len(shown.season.visits) - 1)
            self.list.selection_set(last)
            self.list.focus(last)
            self.list.see(last)

    def _insert(self, i: int, visit: WorkedOn) -> None:
        word, _ = became_of(visit)
        done, asked = visit.done
        things = ", ".join(name for _, name in visit.items) or "–"
        cells = (things, f"{done} of {asked}" if asked else "–", word)
        self.list.insert(
            "",
            "end",
            str(i),
            text=f" {short_day(visit.dated)}",
            image=self._signs.get(word, self._signs[""]),
            values=cells,
        )

    def _draw(self) -> None:
        """Draw plot and bars anew if anything in them changed."""
        side = self.desk.state.side
        size = (self.plot.winfo_width(), self.plot.winfo_height())
        wide = self.bars.winfo_width()
        if not self._drawn.is_new(side.season, side.i_measure, side.shows_sides, size, wide):
            return
        measure, shown = measure_of(self.desk), side.season
        if shown is None or size[0] < 50:
            return
        if measure is None:
            self.measure.set("")
            self.says.configure(text="Nothing was measured yet: mark a visit first.")
            self._put(self.plot, self._plot_item, "plot", (), size)
        else:
            self.measure.set(shown.name(side.i_measure))
            shapes, says = self._plot(shown, measure, size)
            self.says.configure(text=says)
            self._put(self.plot, self._plot_item, "plot", shapes, size)
        self._draw_bars(shown, wide)

    def _plot(
        self, shown: Shown, measure: SeasonMeasure, size: tuple[int, int]
    ) -> tuple[Shapes, str]:
        if not self.desk.state.side.shows_sides:
            visits = [
                Visit(v.day, _label(v, measure.digits), v.value, v.plus_minus, v.is_about)
                for v in trend_visits(measure)
            ]
            shapes = trend_shapes(visits, measure.band, self._look(size), self._fonts.width)
            return self._padded(shapes), " ".join(trend_words(measure))
        found = list(left_minus_right(shown, measure.key))
        visits = [
            Visit(float(date.fromisoformat(d).toordinal()), short_day(d), difference, plus_minus)
            for d, difference, plus_minus, _ in found
        ]
        shapes = trend_shapes(visits, NO_BAND, self._look(size), self._fonts.width)
        return self._padded(shapes), _sides_words(found)

    def _padded(self, shapes: Shapes) -> Shapes:
        return moved(shapes, 1.2 * self._em, 1.2 * self._em)

    def _look(self, size: tuple[int, int]) -> TrendLook:
        em = self._em
        return TrendLook(
            width=size[0] - 2.4 * em,
            height=size[1] - 2.0 * em,
            text=em,
            line=1.3,
            heavy=0.26 * em,
            dot=0.36 * em,
            ink=palette.INK,
            tint=palette.HOVER,
        )

    def _draw_bars(self, shown: Shown, wide: int) -> None:
        season = shown.season
        dates = [visit.dated for visit in season.visits]
        now = self.desk.now().date().isoformat()
        bars = spell_bars(season.spells, dates, now, wide, self._em, self._fonts.width)
        height = max(1, round(bars.height))
        self.bars.configure(height=height)
        self._put(self.bars, self._bars_item, "bars", bars.shapes, (wide, height))

    def _put(
        self, canvas: tk.Canvas, item: int, name: str, shapes: Shapes, size: tuple[int, int]
    ) -> None:
        self._photos[name] = photo(canvas, shapes, size, self._fonts, palette.WHITE)
        canvas.itemconfigure(item, image=self._photos[name])

    def _choose(self) -> None:
        self.desk.state.side.i_measure = max(0, self.measure.current())
        self.desk.state.tell()

    def _selected(self) -> None:
        chosen = self.list.selection()
        if chosen:
            self.desk.state.side.i_visit = int(chosen[0])
            self.desk.state.tell()

    def hint(self) -> str:
        """What to do now."""
        visit = visit_of(self.desk)
        word, note = became_of(visit) if visit else ("", "")
        if note:
            return note
        if visit and word:
            return f"{day(visit.dated)}: the next visit shows {word}."
        return "Page Up and Down change the measure, L left against right, T types in the boxes."

    def corner(self) -> str:
        """How many visits."""
        shown = self.desk.state.side.season
        return f"{len(shown.season.visits)} visits" if shown else ""


def _label(visit: Visit, digits: int) -> str:
    """Return day and value as they stand below a dot."""
    when = short_day(visit.label).rsplit(" ", 1)[0]
    return f"{when}: {number(visit.value, digits)} ± {number(visit.plus_minus, digits)}"


def _sides_words(found: list[tuple[str, float, float, str]]) -> str:
    if not found:
        return (
            "Left against right needs runs filmed both ways on one day, so that each leg is the "
            "near one once. Film three passes each way."
        )
    reasons = dict.fromkeys(why for *_, why in found if why)
    return " ".join(("Left minus right with its ±; never graded.", *reasons))
