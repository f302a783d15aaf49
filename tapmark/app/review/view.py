"""The Review page: the checklist by moment, all measures, and the figure they were read from."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from PIL import ImageTk

from tapmark.app.review.actions import (
    choose_line,
    keep,
    read_again,
    retap_words,
    show_leaf,
    toggle_fold,
)
from tapmark.app.review.priority import PairCard, PriorityPanel, WhyPanel
from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import check_again
from tapmark.app.shell.why_disabled import needs_taps, waiting_for
from tapmark.app.state.checklist_lines import (
    FOLDS,
    CheckLine,
    checklist_lines,
    count_words,
    detail_words,
    fold_counts,
    headline,
)
from tapmark.app.state.measure_lines import later_words, lines_of
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets import pieces
from tapmark.app.widgets.bench import (
    LOWER_LEFT,
    UPPER_LEFT,
    UPPER_RIGHT,
    BenchColumn,
    BenchPage,
    Leaf,
)
from tapmark.app.widgets.columns import browsed
from tapmark.app.widgets.painting import clear_photo, em_px, sign_photos, window_fonts
from tapmark.app.widgets.pieces import ActionButton, label, mark_chosen, put
from tapmark.checklist.verdict import WORDS
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.result import Measured
from tapmark.report.drawing import palette
from tapmark.report.drawing.bands import Dot, band_shapes
from tapmark.report.drawing.overlay import RowShown, row_shapes, tap_shapes
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.shapes import Shapes, moved
from tapmark.report.drawing.signs import verdict_sign
from tapmark.services.visits import VisitReading

LEAVES = (("", "Checklist"), ("draw", "Drawing"), ("beside", "Beside"))


def leaf_row(column: BenchColumn, context: Context, here: str) -> None:
    """Put the row of Review's three leaves on top, with the one at hand chosen."""
    row = column.above_head()

    def turn(leaf: str) -> None:
        if leaf:
            context.perform({"draw": "page drawing", "beside": "compare"}[leaf])
        elif context.state.page == "review":
            context.attempt(lambda: show_leaf(context, ""))
        else:
            context.perform("page review")

    for i, (leaf, text) in enumerate(LEAVES):
        row.columnconfigure(i, weight=1, uniform="leaf")
        do = partial(turn, leaf)
        made = ttk.Button(row, text=text, width=1, style="Leaf.TButton", command=do)
        mark_chosen(put(made, 0, i, "ew"), leaf == here)


LINES, LOW_LINES, TALL_ENOUGH = 5, 2, 52  # lines of the checklist at least; units of a column


class ReviewView(BenchPage):
    """What to work on beside the figure it was read from."""

    def column(self, column: BenchColumn) -> None:
        look, context, body = self.look, self.context, column.body
        self._column, self._card = column, PairCard(look.unit, em_px(body), window_fonts(body))
        column.head.grid_remove()  # the leaves are the head: the list needs the room
        body.rowconfigure(1, weight=1)
        leaf_row(column, context, "")
        self.list = ChecklistPanel(body, context, look, column.width)
        self.measures = MeasuresPanel(body, context, look, column.width)
        self.why = WhyPanel(body, context, look, column.width)
        signs = SignsPanel(body, context, look, column.width)
        self._panels: dict[str, Leaf] = {
            "": self.list,
            "measures": self.measures,
            "why": self.why,
            "signs": signs,
        }
        self.slots, self.table = self.list.priority, self.measures.table
        column.action(UPPER_LEFT, "why this one", "Why", has_key=True)
        column.action(UPPER_RIGHT, "tap more", "Tap more", has_key=True)
        column.action(LOWER_LEFT, "second look", "Second look", has_key=True)

    def fit(self, tall: float) -> None:
        """Show fewer lines of the checklist where priority and cue would else be out of sight."""
        self.list.tree.configure(height=LINES if tall >= TALL_ENOUGH else LOW_LINES)

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        frame, run, unit = state.frame, state.run, self.look.unit
        if run is None or frame is None or frame.picture != state.marking.picture:
            return ()
        row = self._row(state)
        if row is None or frame.event not in catalogue_row(row.key).needs_of(row.leg):
            shapes = tap_shapes(frame, view.to_canvas, unit, view.canvas)
        else:
            shapes = row_shapes(run, frame, row, view.to_canvas, unit, view.canvas)
        return shapes if state.review.leaf else (*self._card.shapes(state, view), *shapes)

    def _row(self, state: AppState) -> RowShown | None:
        """Return what is chosen, in the list or in the table."""
        review = state.review
        if review.reading is None:
            return None
        if review.leaf == "measures":
            lines = lines_of(review.reading)
            line = lines[review.row] if review.row < len(lines) else None
            return RowShown(line.key, line.leg, line.short) if line and line.key else None
        chosen = self.list.chosen(state)
        verdict = chosen.verdict if chosen else None
        if chosen is None or verdict is None or not isinstance(verdict.result, Measured):
            return None
        limits = verdict.band.limits if verdict.band else ()
        limit = limits[-1 if verdict.side == "high" else 0] if limits else None
        result, text = verdict.result, chosen.value.replace("  ≈", "")
        return RowShown(result.key, result.leg, text, result.value, limit)

    def show(self) -> None:
        super().show()
        state = self.context.state
        for panel in self._panels.values():
            panel.fresh.forget()
        if not state.frame and state.step.key_frames:
            state.go_to(state.step.key_frames[0].event)
        elif state.frame:
            state.marking.picture = state.frame.picture

    def refresh_column(self) -> None:
        state = self.context.state
        read_again(self.context)
        keep(self.context)
        check_again(self.context)
        for leaf, panel in self._panels.items():
            pieces.show(panel.frame, leaf == state.review.leaf)
        self._panels[state.review.leaf].refresh(state)
        self._column.onward.lead("page sheet", "See the sheet", short="Sheet")

    def hint(self) -> str:
        state = self.context.state
        why = waiting_for(state) if state.run else ""
        if why:
            return why
        if not state.review.reading:
            return needs_taps(self.context) or "Measuring …"
        if state.review.leaf:
            return "Escape goes back to the checklist."
        return "Up and down choose a line, 1 to 5 a key frame. H explains the signs."


BAND = 10.0  # units: a band is 80 px wide at 96 dots an inch
BAND_MM, LINE_MM = 27.0, 5.0  # what that width is in the unit of the page's bands; height likewise
LEGEND_WORDS = "Choose a line: the picture shows where it was read. H explains the signs."


class ChecklistPanel(Leaf):
    """Headline, counts or a marking check, the list by moment, its folds, details, the priority."""

    def fill(self, frame: ttk.Frame) -> None:
        context, look, width = self.context, self.look, self.width
        self._lines: tuple[CheckLine, ...] = ()
        self._kept: dict[object, ImageTk.PhotoImage] = {}
        self._band_px = 0
        frame.rowconfigure(3, weight=1)
        words = partial(label, frame, wrap=width, columnspan=2)
        self.headline = words(0, style="Head.TLabel")
        self.second = words(1, style="Muted.TLabel", pady=(look.units(0.2), 0))
        place = partial(put, row=2, column=0, columnspan=2, pady=look.units(0.3))
        button = partial(ActionButton, frame, context, look, has_key=True)
        self.check = place(button("look again"), sticky="w")
        self.rate = place(button("take rate"), sticky="e")
        named, pad = {"value": ""}, (look.units(0.4), 0)
        self.tree = browsed(frame, 3, self._selected, named, show="tree", height=LINES, pady=pad)
        self.tree.column("value", anchor="e", stretch=False, width=1)
        self.tree.tag_configure("moment", font=look.font("bold"))
        for key in ("<Return>", "<Double-1>"):
            self.tree.bind(key, lambda event: self._begin())
        self.tree.bind("<Configure>", lambda event: self._lay_out(event.width))
        row = pieces.box(frame, 4, columnspan=2, pady=look.units(0.3))
        make, names = partial(ttk.Button, row, style="Leaf.TButton"), (*FOLDS, "measures")
        self.folds = {name: make(command=partial(self._fold, name)) for name in names}
        self._fit_folds = pieces.fold_row(row, tuple(self.folds.values()), 0, sticky="ew")
        self.details = words(5, style="Muted.TLabel", pady=(look.units(0.3), 0))
        self.priority = PriorityPanel(frame, context, look, width)
        self.priority.frame.grid(row=6, column=0, columnspan=2, sticky="ew")

    def _fold(self, name: str) -> None:
        turn = show_leaf if name == "measures" else toggle_fold
        self.context.attempt(lambda: turn(self.context, name))

    def chosen(self, state: AppState) -> CheckLine | None:
        return next((line for line in self._lines if line.key == state.review.line), None)

    def _selected(self) -> None:
        for picked in self.tree.selection():
            line = next((line for line in self._lines if line.key == picked), None)
            if line is None:
                self.tree.selection_remove(picked)  # a moment is no line
            elif line.key != self.context.state.review.line:
                choose_line(self.context, line)

    def _begin(self) -> str:
        line = self.chosen(self.context.state)
        if line and line.tap:
            self.context.perform("tap more")
        return "break"

    def refresh(self, state: AppState) -> None:
        reading = state.review.reading
        self.priority.refresh(state)
        if reading is None:
            self.headline.configure(text="")
            return
        lines = checklist_lines(reading, state.review.opened)
        if self.fresh.is_new(lines, state.review.opened, state.at_hand()):
            self._lines = lines
            self.headline.configure(text=headline(reading.assessment))
            self._fill()
            self._name_folds(state, reading)
            self._keep_room(state, reading)
        at = state.review.line
        if at and self.tree.exists(at) and self.tree.selection() != (at,):
            self.tree.selection_set(at)
            self.tree.see(at)
        checks = state.review.checks
        more = f" And {len(checks) - 1} more." if len(checks) > 1 else ""
        words = f"{checks[0].words}{more}" if checks else count_words(reading)
        self.second.configure(text=words, style="TLabel" if checks else "Muted.TLabel")
        for button in (self.check, self.rate):
            pieces.show(button, bool(checks) and button.is_available)
        line = self.chosen(state)
        words = detail_words(line, reading) if line else LEGEND_WORDS
        self.details.configure(text=retap_words(state) if line and line.tap else words)

    def _name_folds(self, state: AppState, reading: VisitReading) -> None:
        """Say on each fold how many lines it holds and whether it is open."""
        counts = fold_counts(reading)
        for name in FOLDS:
            mark = "▾" if name in state.review.opened else "▸"
            self.folds[name].configure(text=f"{mark} {counts[name]} {name}")
        self.folds["measures"].configure(text=f"all {len(reading.assessment.rows)}")
        self._fit_folds()

    def _keep_room(self, state: AppState, reading: VisitReading) -> None:
        """Keep room for the longest details, so that no choice of a line moves a thing."""
        font, units = self.look.font("body"), self.look.units
        told = [detail_words(line, reading) for line in self._lines if not line.tap]
        room = int(str(self.details.cget("wraplength"))) - units(1)
        told += [retap_words(state), LEGEND_WORDS]
        most = max(len(pieces.broken(words, font.measure, room)) for words in told)
        self.inner.rowconfigure(5, minsize=most * font.metrics("linespace") + units(0.9))

    def _fill(self) -> None:
        insert = partial(self.tree.insert, "", "end")
        self.tree.delete(*self.tree.get_children())
        self._kept.clear()  # of lines that are gone
        moment = None
        for line in self._lines:
            if line.moment != moment:
                moment = line.moment
                insert(text=f"{moment[:1].upper()}{moment[1:]}", tags=("moment",))
            image = self._image(line)
            insert(iid=line.key, text=f" {line.name}", values=(line.value,), image=image)
        if self.chosen(self.context.state):
            self.tree.selection_set(self.context.state.review.line)
        self._lay_out(self.tree.winfo_width())

    def _lay_out(self, width: int) -> None:
        """Give the values what they need, the names the rest; bands are left out where narrow."""
        if width < 2 or not self._lines:
            return
        look, measure = self.look, self.look.font("body").measure
        values = max(measure(line.value) for line in self._lines) + look.units(1.4)
        names = max(measure(f" {line.name}") for line in self._lines) + look.units(1.4)
        spare = width - values - names - look.units(3.4)
        band = min(look.units(BAND), spare)
        band = 0 if band < look.units(4) else band
        if band != self._band_px:
            self._band_px = band
            for line in self._lines:
                self.tree.item(line.key, image=self._image(line))
        shows_values = spare >= 0
        self.tree.configure(displaycolumns=("value",) if shows_values else ())
        if shows_values:
            self.tree.column("value", width=values)
        self.tree.column("#0", width=width - (values if shows_values else 0))

    def _image(self, line: CheckLine) -> ImageTk.PhotoImage:
        """Return the sign of a line, and its band where there is room."""
        result = line.verdict.result if line.verdict else None
        measured = result if isinstance(result, Measured) else None
        key = (line.word, line.band, measured, self._band_px)
        if key not in self._kept:
            units, band_px = self.look.units, self._band_px
            tall, per_mm = units(2.4), units(BAND) / BAND_MM
            middle, size = tall / 2 / per_mm, 0.85 * tall / per_mm
            shapes = verdict_sign(line.word, (units(1.7) / per_mm, middle), size, palette.BLACK)
            if line.band and measured and band_px:
                dot = Dot(measured.value, measured.plus_minus, measured.is_about)
                drawn = band_shapes(line.band, (dot,), (band_px - units(0.6)) / per_mm, LINE_MM)
                shapes += moved(drawn, units(3.4) / per_mm, middle)
            fonts = Fonts(per_mm, window_fonts(self.tree).family)
            made = clear_photo(self.tree, shapes, (units(3.4) + band_px, tall), fonts)
            self._kept[key] = made
        return self._kept[key]


SIGN_MEANINGS = {
    "seen": "past the limit, surely (95 %)",
    "likely": "past the limit, probably (80 %)",
    "near the line": "close to the limit, on either side",
    "fine": "inside the band, clear of the limit",
    "can't tell": "the ± is wider than the band: tap or film again",
    "not measured": "with its reason; not “fine”",
}
BAND_MEANS = (
    "The upright stroke is the limit, the dot your value, the line through it its ±. The pale "
    "floor is fine. ≈ stands behind what leans on a guess."
)


def verdict_photos(parent: tk.Misc, size: tuple[int, int]) -> dict[str, ImageTk.PhotoImage]:
    """Return word -> sign of every verdict."""
    at, tall = (size[0] / 2, size[1] / 2), 0.8 * size[1]
    return sign_photos(parent, WORDS, size, lambda w: verdict_sign(w, at, tall, palette.BLACK))


class SignsPanel(Leaf):
    """What each sign means, and the band."""

    title = "What the signs mean"

    def fill(self, frame: ttk.Frame) -> None:
        units = self.look.units
        frame.columnconfigure(0, weight=0)
        frame.columnconfigure(1, weight=1)
        self._photos = verdict_photos(frame, (units(4), units(3)))
        room, pad = self.width - units(4.5), (0, units(0.9))
        for row, word in enumerate(WORDS):
            put(ttk.Label(frame, image=self._photos[word]), 2 * row, 0, "n", rowspan=2)
            label(frame, 2 * row, word, "Bold.TLabel", column=1)
            means = SIGN_MEANINGS[word]
            label(frame, 2 * row + 1, means, "Muted.TLabel", wrap=room, column=1, pady=pad)
        label(frame, 2 * len(WORDS), BAND_MEANS, wrap=self.width, columnspan=2)


class MeasuresPanel(Leaf):
    """Every measure in a table that scrolls, and what stands behind the one chosen."""

    title = "All measures"

    def fill(self, frame: ttk.Frame) -> None:
        units = self.look.units
        frame.rowconfigure(0, weight=1)
        self.table = browsed(frame, 0, self._selected, show="tree", height=8)
        self._signs = verdict_photos(self.table, (units(3.4), units(2.4)))
        frame.rowconfigure(1, minsize=units(8.4))
        style, room = "Muted.TLabel", self.width
        self.details = label(frame, 1, style=style, wrap=room, columnspan=2, sticky="nw")

    def refresh(self, state: AppState) -> None:
        lines = lines_of(state.review.reading) if state.review.reading else ()
        if not self.fresh.is_new(lines):
            return
        insert = partial(self.table.insert, "", "end")
        self.table.delete(*self.table.get_children())
        measure = ""
        for i, line in enumerate(lines):
            if line.measure != measure:
                measure = line.measure
                insert(text=measure)
            told = " ".join(filter(None, (line.foot, line.printed)))
            text = f" {told}, {line.said}" if told else f" {line.said}"
            sign = self._signs.get(line.word, self._signs[""])
            insert(iid=str(i), text=text, tags=("quiet",) if line.is_quiet else (), image=sign)

    def _selected(self) -> None:
        chosen, state = self.table.selection(), self.context.state
        reading = state.review.reading
        if not chosen or not reading or not chosen[0].isdigit():
            return
        line = lines_of(reading)[int(chosen[0])]
        state.review.row = int(chosen[0])
        parts = (line.printed, line.said, line.mostly and f"± mostly {line.mostly}")
        said = ", ".join(filter(None, parts))
        behind = filter(None, (f"{said}." if said else "", line.why, later_words(reading, line)))
        self.details.configure(text=f"{line.name}: {' '.join(behind)}")
        if line.event and state.step.key_frame(line.event):
            state.go_to(line.event)
        state.notify()
