"""The Season page: one measure over the visits, what was worked on, the boxes typed back in."""

import tkinter as tk
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from tkinter import ttk
from typing import Final

from PIL import ImageTk

from tapmark.app.season.actions import (
    HELP,
    SAW,
    became_of,
    keep_ticks,
    left_minus_right,
    measure_of,
    ticks_from,
    ticks_text,
    ticks_words,
    visit_of,
)
from tapmark.app.shell.context import Context
from tapmark.app.shell.why_disabled import today
from tapmark.app.state.form import FieldTrouble
from tapmark.app.state.measure_lines import number
from tapmark.app.state.session import SeasonPage, Shown
from tapmark.app.widgets.painting import em_px, photo, sign_photos, trend_photo, window_fonts
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Side,
    button_row,
    choice,
    fold,
    label,
    put,
    scrolled,
    surface,
    when_idle,
    wrap_within,
    wrapped,
)
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look
from tapmark.checklist.verdict import Band
from tapmark.errors import TapmarkError
from tapmark.marks.days import long_day, several, short_day
from tapmark.report.drawing import palette
from tapmark.report.drawing.shapes import Label, Line, Ring, Shape, Shapes, TextWidth
from tapmark.report.drawing.signs import CHANGES, change_sign
from tapmark.report.drawing.trend import TrendPoint
from tapmark.services.season import WorkedOn, trend_visits, trend_words
from tapmark.store.season import Spell

WORDS_EM = 66
LEAST_ROWS, MOST_ROWS = 3, 9  # of the list: a long season scrolls, a short one leaves room below
COLUMNS = (("thing", "worked on"), ("done", "did it"), ("became", "next visit"))


class SeasonView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look = context, look
        self._listed = Fresh()
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(1, weight=1)
        self._build_head(side.large)
        self.drawings = SeasonPlot(side.large, context, look)
        self._build_words(side.words, side.width_em)
        self._build_foot(side.foot)
        side.column.follow_keyboard()
        return side.frame

    def _build_head(self, parent: ttk.Frame) -> None:
        look = self.look
        head = put(ttk.Frame(parent), 0, 0, "ew", pady=(0, look.units(1)))
        head.columnconfigure(1, weight=1)
        title = label(head, 0, "Season", "Title.TLabel", sticky="")
        measure = self.measure = choice(head, self._choose, width=38)
        self.sides = ActionButton(head, self.context, look, "left right", "Left against right")
        self.sides.grid(row=0, column=2)

        def lay_out(is_folded: bool) -> None:
            if is_folded:
                pad = (look.units(0.8), 0)
                measure.grid(row=1, column=0, columnspan=3, sticky="ew", padx=0, pady=pad)
            else:
                measure.grid(row=0, column=1, columnspan=1, sticky="e", padx=look.units(1), pady=0)

        fold(head, (title, measure, self.sides.button), look.units(1), lay_out)

    def _build_words(self, parent: ttk.Frame, width_em: float) -> None:
        look = self.look
        self.notices = label(parent, 0, wrap=look.units(width_em), columnspan=2)
        self.list = ttk.Treeview(
            parent, columns=[key for key, _ in COLUMNS], selectmode="browse", height=9
        )
        self.list.heading("#0", text="visit", anchor="w")
        for key, words in COLUMNS:
            self.list.heading(key, text=words, anchor="w")
        self.list.grid(row=1, column=0, sticky="ew")
        scrolled(self.list, parent, 1)
        self.list.bind("<<TreeviewSelect>>", lambda event: self._selected())
        self.list.bind("<Return>", lambda event: self.context.perform("open that visit"))
        wide, tall = look.units(4.4), look.units(2.4)
        self._signs = sign_photos(
            self.list,
            CHANGES,
            (wide, tall),
            lambda word: change_sign(word, (1.0, tall / 2), 0.62 * tall),
        )
        self.cells = Cells(self.list, look, image_px=wide, spare_to="thing")
        self.ticks = TickPanel(parent, self.context, look, width_em)
        self.ticks.frame.grid(row=2, column=0, columnspan=2, sticky="ew", pady=(look.units(1.6), 0))

    def _build_foot(self, foot: ttk.Frame) -> None:
        names = [("leave", "Back"), ("two dates", "Two dates")]
        names += [("show trend", "As picture"), ("print trend", "Print")]
        _, self.buttons = button_row(foot, self.context, self.look, names)

    def show(self) -> None:
        self._listed.forget()
        self.drawings.forget()
        self.list.focus_set()

    def refresh(self) -> None:
        page, shown = self.page, self.page.shown
        for button in self.buttons:
            button.refresh()
        self.sides.refresh("The measure itself" if page.shows_sides else "")
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
        said = [*filter(None, [shown.season.quiet]), *shown.season.notices]
        self.notices.configure(text="\n".join(said))
        self.notices.grid() if said else self.notices.grid_remove()
        self.measure.configure(values=[shown.name(i) for i in range(len(shown.measures))])
        self.list.configure(height=min(MOST_ROWS, max(LEAST_ROWS, len(shown.season.visits))))
        for i, visit in enumerate(shown.season.visits):
            word, _ = became_of(visit)
            done, asked = visit.done
            things = ", ".join(name for _, name in visit.items) or "–"
            cells = (things, f"{done} of {asked}" if asked else "–", word)
            image = self._signs.get(word, self._signs[""])
            self.cells.insert(str(i), cells, f" {short_day(visit.dated)}", image=image)
        self.cells.lay_out()
        if shown.season.visits:
            last = str(len(shown.season.visits) - 1)
            self.list.selection_set(last)
            self.list.focus(last)
            self.list.see(last)

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
        whole = self.cells.cut_words(next(iter(self.list.selection()), ""))
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


NO_BAND = Band("", "", fine_low=0.0, fine_high=0.0)  # the line of no difference


class SeasonPlot:
    """The plot with its sentences, and the bars below it, in rows 1 to 3 of their parent."""

    def __init__(self, parent: ttk.Frame, context: Context, look: Look) -> None:
        self.context, self.look, self._drawn = context, look, Fresh()
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        self._build_plot(parent)

    def forget(self) -> None:
        """Draw everything anew next time."""
        self._drawn.forget()

    def _build_plot(self, parent: ttk.Frame) -> None:
        look = self.look
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
        self._photos: dict[str, ImageTk.PhotoImage] = {}

    def refresh(self) -> None:
        page, wide = self.context.state.around.season, self.bars.winfo_width()
        size, shown = (self.plot.winfo_width(), self.plot.winfo_height()), page.shown
        if not self._drawn.is_new(shown, page.i_measure, page.shows_sides, size, wide):
            return
        if shown is None or size[0] < 50:
            return
        measure = measure_of(page)
        points: list[TrendPoint] = []
        band, says = None, "Nothing was measured yet: mark a visit first."
        if measure and page.shows_sides:
            found = list(left_minus_right(shown, measure.key))
            points = [
                TrendPoint(_number(dated), _label(dated, by, half, measure.digits), by, half)
                for dated, by, half, _ in found
            ]
            band, says = NO_BAND, _sides_words(found)
        elif measure:
            points = [
                TrendPoint(
                    visit.day,
                    _label(visit.label, visit.value, visit.plus_minus, measure.digits),
                    visit.value,
                    visit.plus_minus,
                    visit.is_about,
                )
                for visit in trend_visits(measure)
            ]
            band, says = measure.band, " ".join(trend_words(measure))
        self.says.configure(text=says)
        if measure:
            self._photos["plot"] = trend_photo(self.plot, points, band, size, 1.2 * self._em)
        self.plot.itemconfigure(self._plot_item, image=self._photos["plot"] if measure else "")
        dates = [visit.dated for visit in shown.season.visits]
        now, width = today(self.context), self._fonts.width
        bars = spell_bars(shown.season.spells, dates, now, wide, self._em, width)
        height = max(1, round(bars.height))
        self.bars.configure(height=height)
        drawn = photo(self.bars, bars.shapes, (wide, height), self._fonts, palette.WHITE)
        self._photos["bars"] = drawn
        self.bars.itemconfigure(self._bars_item, image=drawn)


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


ROW: Final = 1.75  # em from bar to bar
MOST: Final = 7


@dataclass(frozen=True)
class Bars:
    """Shapes in px with their top left corner at (0, 0), and how tall they stand."""

    shapes: Shapes
    height: float


def spell_bars(
    spells: Sequence[tuple[str, Spell]],
    days: Sequence[str],
    today: str,
    width: float,
    unit: float,
    text_width: TextWidth,
) -> Bars:
    """Return a bar for each priority from its first to its last sheet, on one time line.

    spells: (name, spell). days: ISO dates of all visits, marked on the line below the bars.
    """
    shown = spells[-MOST:]
    if not days:
        return Bars((), 0.0)
    left = max((text_width(name, unit, False) for name, _ in shown), default=0.0) + 2.2 * unit
    end = text_width(short_day(days[-1], with_year=False), unit, False) / 2 + 0.3 * unit
    first, right = _number(days[0]), width - max(unit, end)
    span = max(1.0, _number(max(today, days[-1])) - first)

    def x_of(dated: str) -> float:
        return left + (right - left) * (_number(dated) - first) / span

    shapes: list[Shape] = []
    for i, (name, spell) in enumerate(shown):
        y = (i + 0.5) * ROW * unit
        shapes.append(Label((left - unit, y + 0.36 * unit), name, unit, palette.INK, anchor="e"))
        shapes += _bar(x_of(spell.first), x_of(spell.last), y, unit)
    floor = (len(shown) + 0.3) * ROW * unit
    shapes.append(Line(((left, floor), (right, floor)), palette.CONTROL_EDGE, 1.0))
    shapes += _ticks([(x_of(dated), dated) for dated in days], floor, unit, text_width)
    return Bars(tuple(shapes), floor + 2.2 * unit)


def _bar(a: float, b: float, y: float, unit: float) -> Shapes:
    """Return a bar from the first to the last sheet; a ring where it is only one."""
    if b - a < 0.8 * unit:
        return (Ring((a, y), 0.4 * unit, palette.WHITE, palette.INK, 0.18 * unit),)
    ends = (Ring((x, y), 0.28 * unit, palette.INK) for x in (a, b))
    return (Line(((a, y), (b, y)), palette.INK, 0.42 * unit), *ends)


def _ticks(
    days: Sequence[tuple[float, str]], y: float, unit: float, text_width: TextWidth
) -> list[Shape]:
    """Return a mark for each (x, ISO date), and its date where it has room."""
    shapes: list[Shape] = []
    end = float("-inf")
    for x, dated in days:
        label = short_day(dated, with_year=False)
        shapes.append(Line(((x, y), (x, y + 0.5 * unit)), palette.CONTROL_EDGE, 1.0))
        half = text_width(label, unit, False) / 2
        if x - half > end + 0.5 * unit:
            shapes.append(Label((x, y + 1.7 * unit), label, unit, palette.MUTED, anchor="c"))
            end = x + half
    return shapes


def _number(dated: str) -> float:
    return float(date.fromisoformat(dated).toordinal())


class TickPanel:
    """Field, the coach's own box, and what was read."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width_em: float) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self._visit: WorkedOn | None = None
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(1, weight=1)
        self.title = ttk.Label(self.frame, style="Bold.TLabel")
        self.title.grid(row=0, column=0, columnspan=3, sticky="w", pady=(0, look.units(0.6)))
        label(self.frame, 1, "Boxes")
        self.field = ttk.Entry(self.frame)
        self.field.grid(row=1, column=1, sticky="ew", padx=look.units(1), pady=look.units(0.4))
        self.field.bind("<Key>", lambda event: when_idle(self.field, self._read))
        self.field.bind("<Return>", lambda event: self.keep())
        label(self.frame, 2, "I saw it")
        self.saw = ttk.Combobox(self.frame, values=SAW, state="readonly", width=14)
        self.saw.grid(row=2, column=1, sticky="w", padx=look.units(1), pady=look.units(0.4))
        self.button = put(ttk.Button(self.frame, text="Keep the boxes", command=self.keep), 2, 2)
        self._filled = ("", "")
        self._whose: tuple[tuple[str, ...], str] = ((), "")
        context.fields[f"{self.frame} boxes"] = self._commit
        self.words = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), look.units(width_em - 2))
        self.words.grid(row=3, column=0, columnspan=3, sticky="w", pady=(look.units(0.4), 0))

    def refresh(self, visit: WorkedOn | None) -> None:
        page = self.context.state.around.season
        if visit is None:
            self.frame.grid_remove()
            return
        self.frame.grid()
        if self._fresh.is_new(visit):
            self._visit = visit
            sheet = f"sheet {visit.sheet_number}" if visit.sheet_number else "the sheet"
            self.title.configure(text=f"The boxes of {sheet}, {long_day(visit.dated)}")
            self._fill(visit)
        if page.wants_ticks:
            page.wants_ticks = False
            self.field.focus_set()
            self.field.icursor("end")

    def _fill(self, visit: WorkedOn) -> None:
        state = self.context.state
        try:
            ticked = state.the_squad.visit(state.the_athlete.code, visit.dated).ticked
        except TapmarkError:
            ticked = ()  # the list has told it already
        self.field.delete(0, "end")
        self.field.insert(0, ticks_text(ticked))
        self.saw.set(visit.coach_saw if visit.coach_saw in SAW else "")
        self._filled = (self.field.get(), self.saw.get())
        self._whose = (self.context.state.at_hand()[:2], visit.dated)
        self._read()

    def _commit(self) -> str:
        """Keep what was typed before anything else is done; return why it cannot be."""
        if not self.frame.winfo_exists() or self._visit is None:
            return ""
        now = visit_of(self.context.state.around.season)
        is_mine = self._whose == (self.context.state.at_hand()[:2], now.dated if now else "")
        if not is_mine or (self.field.get(), self.saw.get()) == self._filled:
            return ""
        return self.keep()

    def _read(self) -> None:
        """Show in words what was typed."""
        sheet = self._visit.dated if self._visit else ""
        try:
            ticked = ticks_from(self.field.get(), sheet, today(self.context))
        except FieldTrouble as trouble:
            self._tell(str(trouble), is_trouble=True)
            return
        self._tell(ticks_words(ticked) or HELP)

    def _tell(self, words: str, *, is_trouble: bool = False) -> None:
        self.words.configure(text=words, style="Error.TLabel" if is_trouble else "Muted.TLabel")
        self.field.state(["invalid" if is_trouble else "!invalid"])

    def keep(self) -> str:
        """Write the boxes; return why they cannot be read, also shown below, "" when kept."""
        typed = (self.field.get(), self.saw.get())
        try:
            keep_ticks(self.context, *typed)
        except FieldTrouble as trouble:
            self._tell(str(trouble), is_trouble=True)
            return str(trouble)
        except TapmarkError as trouble:
            self.context.failed(trouble)
            return str(trouble)
        self._filled = typed
        return ""
