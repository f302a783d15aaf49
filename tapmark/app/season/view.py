"""The Season page: one measure over the visits, what was worked on, the boxes typed back in."""

import tkinter as tk
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import partial
from tkinter import ttk
from typing import Final

from PIL import ImageTk

from tapmark.app.season.actions import (
    HELP,
    SAW,
    became_of,
    keep_ticks,
    measure_of,
    ticks_from,
    ticks_text,
    ticks_words,
    visit_of,
)
from tapmark.app.shell.context import Context
from tapmark.app.shell.why_disabled import today
from tapmark.app.state.measure_lines import number
from tapmark.app.state.pages import SeasonPage, Shown
from tapmark.app.widgets.columns import Side, browsed
from tapmark.app.widgets.fields import choice, tried, write_in
from tapmark.app.widgets.painting import em_px, photo, sign_photos, trend_photo, window_fonts
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Panel,
    button_row,
    fold,
    label,
    put,
    say,
    show,
    surface,
    when_idle,
    wrap_within,
)
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look
from tapmark.marks.days import long_day, several, short_day
from tapmark.report.drawing import palette
from tapmark.report.drawing.shapes import Label, Line, Ring, Shape, Shapes, TextWidth
from tapmark.report.drawing.signs import CHANGES, change_sign
from tapmark.report.drawing.trend import TrendPoint
from tapmark.services.season import (
    NO_DIFFERENCE,
    WorkedOn,
    sides_of,
    trend_visits,
    trend_words,
)
from tapmark.store.season import Spell

WORDS_EM = 66
LEAST_ROWS, MOST_ROWS = 3, 9  # of the list: a long season scrolls, a short one leaves room below
COLUMNS = (("#0", "visit"), ("thing", "worked on"), ("done", "did it"), ("became", "next visit"))


class SeasonView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        self._listed = Fresh()
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(1, weight=1)
        self._build_head(side.large)
        self.drawings = SeasonPlot(side.large, context, look)
        words, pad = side.words, (look.units(1.6), 0)
        self.notices = label(words, 0, wrap=look.units(side.width_em), columnspan=2)
        heads = dict(COLUMNS)
        tree = browsed(words, 1, self._selected, heads, sticky="ew", height=MOST_ROWS)
        self.list = tree
        tree.bind("<Return>", lambda event: context.perform("open that visit"))
        wide, tall = look.units(4.4), look.units(2.4)
        sign = partial(change_sign, left=(1.0, tall / 2), height=0.62 * tall)
        self._signs = sign_photos(tree, CHANGES, (wide, tall), sign)
        self.cells = Cells(tree, look, image_px=wide, spare_to="thing")
        self.ticks = TickPanel(words, context, look, look.units(side.width_em - 2))
        put(self.ticks.frame, 2, 0, "ew", columnspan=2, pady=pad)
        names = [("leave", "Back"), ("two dates", "Two dates")]
        names += [("show trend", "As picture"), ("print trend", "Print")]
        button_row(side.foot, context, look, names)
        side.column.follow_keyboard()
        return side.frame

    def _build_head(self, parent: ttk.Frame) -> None:
        look = self.look
        head = put(ttk.Frame(parent), 0, 0, "ew", pady=(0, look.units(1)))
        head.columnconfigure(1, weight=1)
        title = label(head, 0, "Season", "Title.TLabel", sticky="")
        measure = self.measure = choice(head, self._choose, width=38)
        sides = ActionButton(head, self.context, look, "left right", self._sides_words)
        self.sides = put(sides, 0, 2)

        def lay_out(is_folded: bool) -> None:
            if is_folded:
                pad = (look.units(0.8), 0)
                measure.grid(row=1, column=0, columnspan=3, sticky="ew", padx=0, pady=pad)
            else:
                measure.grid(row=0, column=1, columnspan=1, sticky="e", padx=look.units(1), pady=0)

        fold(head, (title, measure, self.sides), look.units(1), lay_out)

    def _sides_words(self) -> str:
        return "The measure itself" if self.page.shows_sides else "Left against right"

    def show(self) -> None:
        self._listed.forget()
        self.drawings.forget()
        self.list.focus_set()

    def refresh(self) -> None:
        page, shown = self.page, self.page.shown
        if self._listed.is_new(shown):
            self._show_list(shown)
        self.drawings.refresh()
        self.measure.set(shown.name(page.i_measure) if shown and shown.measures else "")
        self.ticks.refresh(visit_of(page))

    @property
    def page(self) -> SeasonPage:
        return self.context.state.around.season

    def _show_list(self, shown: Shown | None) -> None:
        self.cells.clear()
        self.measure.configure(values=[])
        if shown is None:
            self.notices.configure(text="Measuring …")
            return
        visits = shown.season.visits
        said = "\n".join(filter(None, (shown.season.quiet, *shown.season.notices)))
        say(self.notices, said)
        self.measure.configure(values=[shown.name(i) for i in range(len(shown.measures))])
        self.list.configure(height=min(MOST_ROWS, max(LEAST_ROWS, len(visits))))
        for i, visit in enumerate(visits):
            (word, _), (done, asked) = became_of(visit), visit.done
            things = ", ".join(name for _, name in visit.items) or "–"
            cells = (things, f"{done} of {asked}" if asked else "–", word)
            image = self._signs.get(word, self._signs[""])
            self.cells.insert(str(i), cells, f" {short_day(visit.dated)}", image=image)
        self.cells.lay_out()
        if visits:
            self.cells.select(str(len(visits) - 1))

    def _choose(self, words: str) -> None:
        self.page.i_measure = max(0, self.measure.current())
        self.context.state.notify()

    def _selected(self) -> None:
        chosen = self.list.selection()
        if chosen and self.context.commit():  # boxes typed belong to the visit they were typed for
            self.page.i_visit = int(chosen[0])
            self.context.state.notify()

    def hint(self) -> str:
        visit = visit_of(self.page)
        word, note = became_of(visit) if visit else ("", "")
        whole = self.cells.cut_words()
        if whole:
            return f"In full: {whole}. {note}"
        if note:
            return note
        if visit and word:
            return f"{long_day(visit.dated)}: the next visit shows {word}."
        return "Page Up and Down change the measure, L left against right, T types in the boxes."

    def corner(self) -> str:
        shown = self.page.shown
        return several(len(shown.season.visits), "visit") if shown else ""


class SeasonPlot:
    """The plot with its sentences, and the bars below it, in rows 1 to 3 of their parent."""

    def __init__(self, parent: ttk.Frame, context: Context, look: Look) -> None:
        self.context, self._drawn = context, Fresh()
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        white = put(ttk.Frame(parent, style="White.TFrame"), 1, 0, "nsew")
        white.columnconfigure(0, weight=1)
        white.rowconfigure(0, weight=1)
        self.plot = put(surface(white, palette.WHITE, 2), 0, 0, "nsew")
        self._plot_item = self.plot.create_image(0, 0, anchor="nw")
        self.plot.bind("<Configure>", lambda event: self.refresh())
        pad = look.units(2), look.units(0.8)
        self.says = label(white, 1, style="White.TLabel", sticky="ew", padx=pad[0], pady=pad[1])
        wrap_within(self.says, white, 2 * pad[0] + 6)
        label(parent, 2, "Worked on", "Bold.TLabel", pady=(look.units(1.2), look.units(0.4)))
        self.bars = put(surface(parent, palette.WHITE, has_focus=False), 3, 0, "ew")
        self._bars_item = self.bars.create_image(0, 0, anchor="nw")
        self._photos: tuple[ImageTk.PhotoImage | None, ...] = ()

    def forget(self) -> None:
        """Draw everything anew next time."""
        self._drawn.forget()

    def refresh(self) -> None:
        page, wide = self.context.state.around.season, self.bars.winfo_width()
        size, shown = (self.plot.winfo_width(), self.plot.winfo_height()), page.shown
        if not self._drawn.is_new(shown, page.i_measure, page.shows_sides, size, wide):
            return
        if shown is None or size[0] < 50:
            return
        measure, image = measure_of(page), None
        says = "Nothing was measured yet: mark a visit first."
        if measure:
            band, says = measure.band, " ".join(trend_words(measure))
            points = list(trend_visits(measure))
            if page.shows_sides:
                band, (points, says) = NO_DIFFERENCE, left_minus_right(shown, measure.key)
            labelled = [replace(p, label=_label(p, measure.digits)) for p in points]
            image = trend_photo(self.plot, labelled, band, size, 1.2 * self._em)
        self.says.configure(text=says)
        self.plot.itemconfigure(self._plot_item, image=image or "")
        dates = [visit.dated for visit in shown.season.visits]
        now, width = today(self.context), self._fonts.width
        shapes, tall = spell_bars(shown.season.spells, dates, now, wide, self._em, width)
        size = wide, max(1, round(tall))
        self.bars.configure(height=size[1])
        drawn = photo(self.bars, shapes, size, self._fonts, palette.WHITE)
        self.bars.itemconfigure(self._bars_item, image=drawn)
        self._photos = image, drawn  # Tk itself keeps no hold of them


def left_minus_right(shown: Shown, key: str) -> tuple[list[TrendPoint], str]:
    """Return left − right of one measure over the visits, and what there is to say about it."""
    rows = [
        (visit.dated, row)
        for visit in map(sides_of, shown.readings)
        for row in visit.rows
        if row.key == key
    ]
    if not rows:
        return [], (
            "Left against right needs runs filmed both ways on one day, so that each leg is the "
            "near one once. Film three passes each way."
        )
    says = ("Left minus right with its ±; never graded.", *(row.why for _, row in rows))
    points = [TrendPoint(_number(day), day, row.difference, row.plus_minus) for day, row in rows]
    return points, " ".join(filter(None, dict.fromkeys(says)))


def _label(point: TrendPoint, digits: int) -> str:
    """Return day and value as they stand below a dot."""
    when = short_day(point.label, with_year=False)
    return f"{when}: {number(point.value, digits)} ± {number(point.plus_minus, digits)}"


ROW: Final = 1.75  # em from bar to bar
MOST: Final = 7


def spell_bars(
    spells: Sequence[tuple[str, Spell]],
    days: Sequence[str],
    today: str,
    width: float,
    unit: float,
    text_width: TextWidth,
) -> tuple[Shapes, float]:
    """Return a bar for each priority from its first to its last sheet, and how tall they stand.

    spells: (name, spell). days: ISO dates of all visits, marked on the line below the bars, with
    the date where it has room. All in px, the top left corner at (0, 0).
    """
    shown = spells[-MOST:]
    if not days:
        return (), 0.0
    left = max((text_width(name, unit, False) for name, _ in shown), default=0.0) + 2.2 * unit
    end = text_width(short_day(days[-1], with_year=False), unit, False) / 2 + 0.3 * unit
    first, right = _number(days[0]), width - max(unit, end)
    span = max(1.0, _number(max(today, days[-1])) - first)

    def x_of(dated: str) -> float:
        return left + (right - left) * (_number(dated) - first) / span

    shapes: list[Shape] = []
    for i, (name, spell) in enumerate(shown):
        y, ends = (i + 0.5) * ROW * unit, (x_of(spell.first), x_of(spell.last))
        shapes.append(Label((left - unit, y + 0.36 * unit), name, unit, palette.INK, anchor="e"))
        if ends[1] - ends[0] < 0.8 * unit:  # a single sheet
            shapes.append(Ring((ends[0], y), 0.4 * unit, palette.WHITE, palette.INK, 0.18 * unit))
            continue
        shapes.append(Line(tuple((x, y) for x in ends), palette.INK, 0.42 * unit))
        shapes += (Ring((x, y), 0.28 * unit, palette.INK) for x in ends)
    floor = (len(shown) + 0.3) * ROW * unit
    shapes.append(Line(((left, floor), (right, floor)), palette.CONTROL_EDGE, 1.0))
    free = float("-inf")
    for dated in days:
        x, words = x_of(dated), short_day(dated, with_year=False)
        half = text_width(words, unit, False) / 2
        shapes.append(Line(((x, floor), (x, floor + 0.5 * unit)), palette.CONTROL_EDGE, 1.0))
        if x - half > free + 0.5 * unit:
            at = x, floor + 1.7 * unit
            shapes.append(Label(at, words, unit, palette.MUTED, anchor="c"))
            free = x + half
    return tuple(shapes), floor + 2.2 * unit


def _number(dated: str) -> float:
    return float(date.fromisoformat(dated).toordinal())


class TickPanel(Panel):
    """Field, the coach's own box, and what was read."""

    grows = 1

    def build(self, frame: ttk.Frame) -> None:
        self._visit: WorkedOn | None = None
        near, gap = self.look.units(0.4), self.look.units(1)
        pad = 0, self.look.units(0.6)
        self.title = label(frame, 0, style="Bold.TLabel", columnspan=3, pady=pad)
        label(frame, 1, "Boxes")
        self.field = put(ttk.Entry(frame), 1, 1, "ew", padx=gap, pady=near)
        self.field.bind("<Key>", lambda event: when_idle(self.field, self._read))
        self.field.bind("<Return>", lambda event: self.keep())
        label(frame, 2, "I saw it")
        saw = ttk.Combobox(frame, values=SAW, state="readonly", width=14)
        self.saw = put(saw, 2, 1, "w", padx=gap, pady=near)
        self.button = put(ttk.Button(frame, text="Keep the boxes", command=self.keep), 2, 2)
        wrap, pad = self.width, (near, 0)
        self.words = label(frame, 3, style="Muted.TLabel", wrap=wrap, columnspan=3, pady=pad)
        self._filled = ("", "")
        self._whose: tuple[tuple[str, ...], str] = ((), "")
        self.context.fields[f"{frame} boxes"] = self._commit

    def refresh(self, visit: WorkedOn | None) -> None:
        page = self.context.state.around.season
        show(self.frame, visit is not None)
        if visit is None:
            return
        if self.fresh.is_new(visit):
            self._visit = visit
            sheet = f"sheet {visit.sheet_number}" if visit.sheet_number else "the sheet"
            self.title.configure(text=f"The boxes of {sheet}, {long_day(visit.dated)}")
            self._fill(visit)
        if page.wants_ticks:
            page.wants_ticks = False
            self.field.focus_set()
            self.field.icursor("end")

    def _fill(self, visit: WorkedOn) -> None:
        write_in(self.field, ticks_text(visit.ticked))
        self.saw.set(visit.coach_saw if visit.coach_saw in SAW else "")
        self._filled = self._typed
        self._whose = (self.context.state.at_hand()[:2], visit.dated)
        self._read()

    @property
    def _typed(self) -> tuple[str, str]:
        return self.field.get(), self.saw.get()

    def _commit(self) -> str:
        """Keep what was typed before anything else is done; return why it cannot be."""
        if not self.frame.winfo_exists() or self._visit is None:
            return ""
        now = visit_of(self.context.state.around.season)
        is_mine = self._whose == (self.context.state.at_hand()[:2], now.dated if now else "")
        return self.keep() if is_mine and self._typed != self._filled else ""

    def _read(self) -> None:
        """Show in words what was typed."""
        sheet, typed, words = self._visit.dated if self._visit else "", self.field.get(), self.words

        def tell() -> None:
            said = ticks_words(ticks_from(typed, sheet, today(self.context))) or HELP
            words.configure(text=said, style="Muted.TLabel")
            self.field.state(["!invalid"])

        tried(self.context, tell, self.field, words)

    def keep(self) -> str:
        """Write the boxes; return why they cannot be read, also shown below, "" when kept."""
        typed = self._typed
        why = tried(self.context, lambda: keep_ticks(self.context, *typed), self.field, self.words)
        self._filled = self._filled if why else typed
        return why
