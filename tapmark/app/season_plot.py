"""One measure over the visits, and what was worked on when: the drawings of the Season page."""

import tkinter as tk
from datetime import date
from tkinter import ttk
from typing import Any

from PIL import ImageTk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.painting import em_px, photo, window_fonts
from tapmark.app.season_deeds import Shown, left_minus_right, measure_of
from tapmark.app.season_drawing import spell_bars
from tapmark.app.style import Look
from tapmark.app.verdict_rows import number
from tapmark.checklist.verdict import Band
from tapmark.drawing import palette
from tapmark.drawing.shapes import Shapes, moved
from tapmark.drawing.trend import TrendLook, TrendPoint, trend_shapes
from tapmark.errands.one_measure import SeasonMeasure, trend_visits, trend_words
from tapmark.marks.days import short_day

NO_BAND = Band("", "", fine_low=0.0, fine_high=0.0)  # the line of no difference


class SeasonPlot:
    """The plot with its sentences, and the bars below it, in rows 1 to 3 of their parent."""

    def __init__(self, parent: ttk.Frame, desk: Desk, look: Look) -> None:
        self.desk, self.look, self._drawn = desk, look, Fresh()
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        self._build_plot(parent)

    def forget(self) -> None:
        """Draw everything anew next time."""
        self._drawn.forget()

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
        self.plot.bind("<Configure>", lambda event: self.refresh())
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

    def refresh(self) -> None:
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
            self.says.configure(text="Nothing was measured yet: mark a visit first.")
            self._put(self.plot, self._plot_item, "plot", (), size)
        else:
            shapes, says = self._plot(shown, measure, size)
            self.says.configure(text=says)
            self._put(self.plot, self._plot_item, "plot", shapes, size)
        self._draw_bars(shown, wide)

    def _plot(
        self, shown: Shown, measure: SeasonMeasure, size: tuple[int, int]
    ) -> tuple[Shapes, str]:
        if not self.desk.state.side.shows_sides:
            visits = [
                TrendPoint(
                    v.day,
                    _label(v.label, v.value, v.plus_minus, measure.digits),
                    v.value,
                    v.plus_minus,
                    v.is_about,
                )
                for v in trend_visits(measure)
            ]
            shapes = trend_shapes(visits, measure.band, self._look(size), self._fonts.width)
            return self._padded(shapes), " ".join(trend_words(measure))
        found = list(left_minus_right(shown, measure.key))
        visits = [
            TrendPoint(
                _day(dated),
                _label(dated, difference, plus_minus, measure.digits),
                difference,
                plus_minus,
            )
            for dated, difference, plus_minus, _ in found
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


def _day(dated: str) -> float:
    return float(date.fromisoformat(dated).toordinal())


def _label(dated: str, value: float, plus_minus: float, digits: int) -> str:
    """Return day and value as they stand below a dot."""
    when = short_day(dated, with_year=False)
    return f"{when}: {number(value, digits)} ± {number(plus_minus, digits)}"


def _sides_words(found: list[tuple[str, float, float, str]]) -> str:
    if not found:
        return (
            "Left against right needs runs filmed both ways on one day, so that each leg is the "
            "near one once. Film three passes each way."
        )
    reasons = dict.fromkeys(why for *_, why in found if why)
    return " ".join(("Left minus right with its ±; never graded.", *reasons))
