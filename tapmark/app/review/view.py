"""The Review page: what to work on, the checklist by moment, and the figure it was read from."""

import math
import tkinter as tk
from dataclasses import replace
from functools import partial
from tkinter import ttk
from typing import NamedTuple

from PIL import ImageTk

from tapmark.app.review.actions import (
    change_cue,
    change_reason,
    choose_line,
    choose_slot,
    keep,
    read_again,
    retap_words,
    show_leaf,
    toggle_fold,
)
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
from tapmark.app.state.measure_lines import Line as MeasureLine
from tapmark.app.state.measure_lines import later_words, lines_of
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Point, Viewport
from tapmark.app.widgets.bench import LOWER_LEFT, UPPER_LEFT, UPPER_RIGHT, BenchColumn, BenchPage
from tapmark.app.widgets.painting import (
    clear_photo,
    em_px,
    pair_look,
    pair_photo,
    photo,
    sign_photos,
    window_fonts,
)
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Typed,
    broken,
    choice,
    label,
    scrolled,
)
from tapmark.app.widgets.theme import Look
from tapmark.checklist.items import WORST_FIRST
from tapmark.checklist.verdict import LIKELY, WORDS, Assessment
from tapmark.checklist.words import Words
from tapmark.marks.points import PEAK_KNEE_LIFT
from tapmark.marks.run import KeyFrame, Run
from tapmark.measures.catalogue import TRUNK_TOP
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.result import Measured
from tapmark.report.drawing import idea, palette
from tapmark.report.drawing.bands import Dot, band_shapes
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.overlay import angle_shapes, tap_shapes
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.palette import BLACK, CASING, WHITE
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Area, Label, Line, Shape, Shapes, moved
from tapmark.report.drawing.signs import verdict_sign
from tapmark.services.visits import VisitReading

BAND = 10.0  # units: a band is 80 px wide at 96 dots an inch
BAND_MM, LINE_MM = 27.0, 5.0  # what that width is in the unit of the page's bands; height likewise
LINES, LOW_LINES, TALL_ENOUGH = 5, 2, 52  # lines of the checklist at least; units of a column
LEAVES = (("", "Checklist"), ("draw", "Drawing"), ("beside", "Beside"))


def own_taps(frame: KeyFrame, key: str, leg: str) -> KeyFrame:
    """Return a key frame with the taps that a row is read from; all where it names none.

    At peak knee lift the whole figure stays: a lifted thigh alone tells nothing of the runner.
    """
    used = set(catalogue_row(key).needs_of(leg).get(frame.event, ()))
    if TRUNK_TOP in used:
        used |= {"shoulder", "neck base"}
    if not used or frame.event == PEAK_KNEE_LIFT:
        return frame
    return replace(frame, taps=tuple(tap for tap in frame.taps if tap.point in used))


class RowShown(NamedTuple):
    """A row that is drawn on its key frame; text: its value as printed. limit: of its band."""

    key: str
    leg: str
    text: str
    value: float = 0.0
    limit: float | None = None


LENGTHS = {
    "leg_stack": ("leg ankle", "hip", False),
    "ankle_knee": ("leg knee", "leg ankle", True),
    "ankle_hip": ("hip", "leg ankle", True),
    "knee_separation": ("other knee", "leg knee", True),
    "separation_ahead": ("hip", "leg knee", True),
    "separation_behind": ("other knee", "hip", True),
}
"""Rows that are a length: from which point to which, and whether it is taken along the ground."""
LEAST_PX = 6  # of a length on the screen that can carry a limit


def length_shapes(frame: KeyFrame, row: RowShown, view: Viewport, unit: float) -> Shapes:
    """Return the measuring line of a length with its limit as a stroke; nothing for other rows."""
    if row.key not in LENGTHS:
        return ()
    near, far = ("far", "near") if row.leg == "far" else ("near", "far")
    first, last, is_level = LENGTHS[row.key]
    names = (
        name.replace("leg ", f"{near} ").replace("other ", f"{far} ") for name in (first, last)
    )
    spots = [view.to_canvas(at) for name in names if (at := frame.at(name))]
    if len(spots) < 2 or math.dist(*spots) < LEAST_PX * unit:
        return ()
    (xa, ya), (xb, yb) = spots
    if is_level:
        level = max(ya, yb) + 26 * unit
        start, end = (xa, level), (xb, level)
    else:
        aside = max(xa, xb) + 60 * unit - xa
        start, end = (xa + aside, ya), (xb + aside, yb)
    long = math.dist(start, end)
    ux, uy = ((end[0] - start[0]) / long, (end[1] - start[1]) / long) if long else (1.0, 0.0)

    def stroke(at: Point, half: float, width: float) -> Line:
        ends = tuple((at[0] + way * half * -uy, at[1] + way * half * ux) for way in (-1, 1))
        return Line(ends, WHITE, width * unit, (), CASING, 3 * width * unit)

    dots = (2.0 * unit, 4.0 * unit)
    shapes: list[Shape] = [
        Line((at, to), WHITE, unit, dots, CASING, 2 * unit)
        for at, to in zip(spots, (start, end), strict=True)
    ]
    shapes.append(Line((start, end), WHITE, 2 * unit, (), CASING, 6 * unit))
    shapes += [stroke(at, 6 * unit, 2.0) for at in (start, end)]
    if row.limit is not None and abs(row.value) > 1.0:
        share = row.limit / row.value
        at = (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
        shapes.append(stroke(at, 11 * unit, 4.0))
        below = (at[0], at[1] + 28 * unit) if is_level else (at[0] + 18 * unit, at[1] + 4 * unit)
        anchor = "c" if is_level else "w"
        told, dark = f"limit {row.limit:g}", 2 * unit
        shapes.append(Label(below, told, 13 * unit, WHITE, True, False, anchor, CASING, dark))
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    beside = (middle[0], middle[1] - 12 * unit) if is_level else (middle[0] + 18 * unit, middle[1])
    anchor = "c" if is_level else "w"
    told, dark = row.text, 2 * unit
    return (*shapes, Label(beside, told, 18 * unit, WHITE, True, False, anchor, CASING, dark))


def row_shapes(run: Run, frame: KeyFrame, row: RowShown, view: Viewport, unit: float) -> Shapes:
    """Return the drawing of one row on its key frame and its value."""
    own = own_taps(frame, row.key, row.leg)
    shapes = tap_shapes(own, view.to_canvas, unit)
    drawn = angle_shapes(run, frame, row.key, row.leg, row.text, view.to_canvas, unit)
    drawn = drawn or length_shapes(frame, row, view, unit)
    spots = [view.to_canvas(tap.at_px) for tap in own.taps if tap.at_px]
    if drawn or not row.text or not spots:
        return shapes + drawn
    right = max(x for x, _ in spots) + 34 * unit
    middle = sum(y for _, y in spots) / len(spots)
    words = Label((right, middle), row.text, 18 * unit, WHITE, True, False, "w", CASING, 2 * unit)
    return (*shapes, words)


def leaf_row(body: ttk.Frame, context: Context, look: Look, here: str) -> ttk.Frame:
    """Return the row of Review's three leaves with the one at hand chosen."""
    row = ttk.Frame(body)
    slim = (look.units(0.4), look.units(0.5))
    for style in ("Leaf.TButton", "Leaf.Chosen.TButton"):
        look.style.configure(style, padding=slim, font=look.font("body"))

    def turn(leaf: str) -> None:
        if leaf:
            context.perform({"draw": "page drawing", "beside": "compare"}[leaf])
        elif context.state.page == "review":
            context.attempt(lambda: show_leaf(context, ""))
        else:
            context.perform("page review")

    for i, (leaf, text) in enumerate(LEAVES):
        row.columnconfigure(i, weight=1, uniform="leaf")
        style = "Leaf.Chosen.TButton" if leaf == here else "Leaf.TButton"
        button = ttk.Button(row, text=text, width=1, style=style, command=partial(turn, leaf))
        button.grid(row=0, column=i, sticky="ew")
    return row


class ReviewView(BenchPage):
    """What to work on beside the figure it was read from."""

    def column(self, column: BenchColumn) -> None:
        look, context, body = self.look, self.context, column.body
        self._column, self._card = column, PairCard(look.unit, em_px(body), window_fonts(body))
        column.head.grid_remove()  # the leaves are the head: the list needs the room
        body.rowconfigure(1, weight=1)
        leaf_row(body, context, look, "").grid(row=0, column=0, sticky="ew", pady=look.units(0.3))
        self.list = ChecklistPanel(body, context, look, column.width)
        self.measures = MeasuresPanel(body, context, look, column.width)
        self.why = WhyPanel(body, context, look, column.width)
        self.signs = SignsPanel(body, context, look, column.width)
        self._panels: dict[str, Panel] = {
            "": self.list,
            "measures": self.measures,
            "why": self.why,
            "signs": self.signs,
        }
        self.slots, self.table = self.list.priority, self.measures.table
        self.buttons = [
            column.action(UPPER_LEFT, "why this one", "Why", has_key=True),
            column.action(UPPER_RIGHT, "tap more", "Tap more", has_key=True),
            column.action(LOWER_LEFT, "second look", "Second look", has_key=True),
        ]

    def fit(self, tall: float) -> None:
        """Show fewer lines of the checklist where priority and cue would else be out of sight."""
        self.list.tree.configure(height=LINES if tall >= TALL_ENOUGH else LOW_LINES)

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        frame, run = state.frame, state.run
        if run is None or frame is None or frame.picture != state.marking.picture:
            return ()
        row = self._row(state)
        if row is None or frame.event not in catalogue_row(row.key).needs_of(row.leg):
            shapes = tap_shapes(frame, view.to_canvas, self.look.unit)
        else:
            shapes = row_shapes(run, frame, row, view, self.look.unit)
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
        result, band, text = verdict.result, verdict.band, chosen.value.replace("  ≈", "")
        limit = None
        if band:
            edges = [band.limit_high, band.limit_low]
            edges = edges if verdict.side == "high" else edges[::-1]
            limit = next((edge for edge in edges if edge is not None), None)
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
        read_again(self.context)
        keep(self.context)
        state = self.context.state
        check_again(self.context)
        shown = self._panels[state.review.leaf]
        for panel in self._panels.values():
            if panel is not shown:
                panel.frame.grid_remove()
        shown.frame.grid()
        shown.refresh(state)
        for button in self.buttons:
            button.refresh()
        self._column.onward.refresh("page sheet", "See the sheet", short="Sheet")

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


class Panel:
    """One leaf of the column, or a part of one; width: what its words have, px."""

    title = ""

    def __init__(self, parent: ttk.Frame, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self.width, self.fresh = context, look, width, Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.grid(row=1, column=0, sticky="nsew")
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(1, weight=1)
        if self.title:
            label(self.frame, 0, self.title, "Head.TLabel", pady=(0, look.units(0.6)))
        self.inner = ttk.Frame(self.frame)
        self.inner.grid(row=1, column=0, sticky="nsew")
        self.inner.columnconfigure(0, weight=1)
        self.build(self.inner)
        self.frame.grid_remove()

    def build(self, frame: ttk.Frame) -> None:
        """Fill the frame, once."""

    def refresh(self, state: AppState) -> None:
        """Show what is new."""


class ChecklistPanel(Panel):
    """Headline, counts or a marking check, the list by moment, its folds, details, the priority."""

    def build(self, frame: ttk.Frame) -> None:
        context, look, width = self.context, self.look, self.width
        self._lines: tuple[CheckLine, ...] = ()
        self._kept: dict[object, ImageTk.PhotoImage] = {}
        self._band_px = 0
        frame.rowconfigure(3, weight=1)
        self.headline = label(frame, 0, style="Head.TLabel", wrap=width, columnspan=2)
        pad = (look.units(0.2), 0)
        self.second = label(frame, 1, style="Muted.TLabel", wrap=width, pady=pad, columnspan=2)
        self.check = ActionButton(frame, context, look, "look again", has_key=True)
        self.rate = ActionButton(frame, context, look, "take rate", has_key=True)
        self._build_list(frame)
        self._build_folds(frame)
        pad = (look.units(0.3), 0)
        self.details = label(frame, 5, style="Muted.TLabel", wrap=width, pady=pad, columnspan=2)
        self.priority = PriorityPanel(frame, context, look, width)
        self.priority.frame.grid(row=6, column=0, columnspan=2, sticky="ew")

    def _build_list(self, frame: ttk.Frame) -> None:
        self.tree = ttk.Treeview(
            frame, columns="value", show="tree", selectmode="browse", height=LINES
        )
        self.tree.column("value", anchor="e", stretch=False)
        self.tree.tag_configure("moment", font=self.look.font("bold"))
        self.tree.grid(row=3, column=0, sticky="nsew", pady=(self.look.units(0.4), 0))
        scrolled(self.tree, frame, 3)
        self.tree.bind("<<TreeviewSelect>>", self._selected)
        self.tree.bind("<Return>", lambda event: self._begin())
        self.tree.bind("<Double-1>", lambda event: self._begin())
        self.tree.bind("<Configure>", lambda event: self._lay_out(event.width))

    def _build_folds(self, frame: ttk.Frame) -> None:
        self._fold_row, self._fold_rows = ttk.Frame(frame), 0
        self._fold_row.grid(row=4, column=0, columnspan=2, sticky="ew", pady=self.look.units(0.3))
        self.folds = {
            name: ttk.Button(
                self._fold_row, width=1, style="Leaf.TButton", command=partial(self._fold, name)
            )
            for name in (*FOLDS, "measures")
        }
        self._fold_row.bind("<Configure>", lambda event: self._fit_folds(event.width))

    def _fit_folds(self, width: int) -> None:
        """Put the folds into one row, or into two where their words need it."""
        measure, pad = self.look.font("body").measure, self.look.units(1.6)
        needs = [measure(str(made.cget("text"))) + pad for made in self.folds.values()]
        rows = 1 if sum(needs) <= width or width < 2 else 2
        across = len(needs) // rows
        for column in range(len(needs)):
            need = max(needs[column::across]) if column < across else 0
            self._fold_row.columnconfigure(column, weight=int(column < across), minsize=need)
        if rows != self._fold_rows:
            self._fold_rows = rows
            for i, made in enumerate(self.folds.values()):
                made.grid(row=i // across, column=i % across, sticky="ew")

    def _fold(self, name: str) -> None:
        turn = show_leaf if name == "measures" else toggle_fold
        self.context.attempt(lambda: turn(self.context, name))

    def chosen(self, state: AppState) -> CheckLine | None:
        """Return the line that is chosen."""
        return next((line for line in self._lines if line.key == state.review.line), None)

    def _selected(self, event: "tk.Event[tk.Misc]") -> None:
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
            counts = fold_counts(reading)
            for name in FOLDS:
                mark = "▾" if name in state.review.opened else "▸"
                self.folds[name].configure(text=f"{mark} {counts[name]} {name}")
            self.folds["measures"].configure(text=f"all {len(reading.assessment.rows)}")
            self._fit_folds(self._fold_row.winfo_width())
            self._keep_room(state, reading)
        at = state.review.line
        if at and self.tree.exists(at) and self.tree.selection() != (at,):
            self.tree.selection_set(at)
            self.tree.see(at)
        self._show_check(state, count_words(reading))
        line = self.chosen(state)
        words = detail_words(line, reading) if line else LEGEND_WORDS
        self.details.configure(text=retap_words(state) if line and line.tap else words)

    def _keep_room(self, state: AppState, reading: VisitReading) -> None:
        """Keep as many lines free as the longest details take: no choice moves a thing."""
        font = self.look.font("body")
        told = [detail_words(line, reading) for line in self._lines if not line.tap]
        told += [retap_words(state), LEGEND_WORDS]
        room = int(str(self.details.cget("wraplength"))) - self.look.units(1)
        most = max(len(broken(words, font.measure, room)) for words in told)
        self.inner.rowconfigure(5, minsize=most * font.metrics("linespace") + self.look.units(0.9))

    def _show_check(self, state: AppState, counts: str) -> None:
        checks = state.review.checks
        more = f" And {len(checks) - 1} more." if len(checks) > 1 else ""
        words = f"{checks[0].words}{more}" if checks else counts
        self.second.configure(text=words, style="TLabel" if checks else "Muted.TLabel")
        for button, side in ((self.check, "w"), (self.rate, "e")):
            button.refresh()
            if checks and button.action.is_available(self.context):
                button.grid(row=2, column=0, columnspan=2, sticky=side, pady=self.look.units(0.3))
            else:
                button.button.grid_remove()

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
        if key in self._kept:
            return self._kept[key]
        units, band_px = self.look.units, self._band_px
        tall, per_mm = units(2.4), units(BAND) / BAND_MM
        middle = tall / 2 / per_mm
        shapes = verdict_sign(line.word, (units(1.7) / per_mm, middle), 0.85 * tall / per_mm, BLACK)
        if line.band and measured and band_px:
            dot = Dot(measured.value, measured.plus_minus, measured.is_about)
            drawn = band_shapes(line.band, (dot,), (band_px - units(0.6)) / per_mm, LINE_MM)
            shapes += moved(drawn, units(3.4) / per_mm, middle)
        fonts = Fonts(per_mm, window_fonts(self.tree).family)
        self._kept[key] = clear_photo(self.tree, shapes, (units(3.4) + band_px, tall), fonts)
        return self._kept[key]


LEGEND_WORDS = "Choose a line: the picture shows where it was read. H explains the signs."
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
    middle = size[0] / 2, size[1] / 2
    return sign_photos(
        parent, WORDS, size, lambda word: verdict_sign(word, middle, 0.8 * size[1], BLACK)
    )


class SignsPanel(Panel):
    """What each sign means, and the band."""

    title = "What the signs mean"

    def build(self, frame: ttk.Frame) -> None:
        units = self.look.units
        frame.columnconfigure(0, weight=0)
        frame.columnconfigure(1, weight=1)
        self._photos = verdict_photos(frame, (units(4), units(3)))
        for row, word in enumerate(WORDS):
            sign = ttk.Label(frame, image=self._photos[word])
            sign.grid(row=2 * row, column=0, rowspan=2, sticky="n")
            label(frame, 2 * row, word, "Bold.TLabel", column=1)
            room, pad = self.width - units(4.5), (0, units(0.9))
            means = SIGN_MEANINGS[word]
            label(frame, 2 * row + 1, means, "Muted.TLabel", wrap=room, column=1, pady=pad)
        label(frame, 2 * len(WORDS), BAND_MEANS, wrap=self.width, columnspan=2)


class MeasuresPanel(Panel):
    """Every measure in a table that scrolls, and what stands behind the one chosen."""

    title = "All measures"

    def build(self, frame: ttk.Frame) -> None:
        look = self.look
        frame.rowconfigure(0, weight=1)
        self.table = ttk.Treeview(frame, show="tree", selectmode="browse", height=8)
        self.table.tag_configure("quiet", foreground=palette.MUTED)
        self.table.grid(row=0, column=0, sticky="nsew")
        scrolled(self.table, frame, 0)
        self.table.bind("<<TreeviewSelect>>", self._selected)
        self._signs = verdict_photos(self.table, (look.units(3.4), look.units(2.4)))
        frame.rowconfigure(1, minsize=look.units(8.4))
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
            told = " ".join(filter(None, (line.foot, _value(line))))
            text = f" {told}, {line.said}" if told else f" {line.said}"
            sign = self._signs.get(line.word, self._signs[""])
            insert(iid=str(i), text=text, tags=("quiet",) if line.is_quiet else (), image=sign)

    def _selected(self, event: "tk.Event[tk.Misc]") -> None:
        chosen, state = self.table.selection(), self.context.state
        reading = state.review.reading
        if not chosen or not reading or not chosen[0].isdigit():
            return
        line = lines_of(reading)[int(chosen[0])]
        state.review.row = int(chosen[0])
        parts = (_value(line), line.said, line.mostly and f"± mostly {line.mostly}")
        said = ", ".join(filter(None, parts))
        behind = filter(None, (f"{said}." if said else "", line.why, later_words(reading, line)))
        self.details.configure(text=f"{line.name}: {' '.join(behind)}")
        if line.event and state.step.key_frame(line.event):
            state.go_to(line.event)
        state.notify()


def _value(line: MeasureLine) -> str:
    about = " ≈" if line.name.endswith("≈") else ""
    return f"{line.value} {line.plus_minus} {line.unit}{about}" if line.value else ""


NARROW = 47  # units: below, a list has no room for names with their words
BY_RULE = "as the rule chooses"
NONE = "none"


class SlotChoice:
    """A list of the items that may be the first or second priority."""

    def __init__(self, parent: ttk.Frame, context: Context, i_slot: int, is_narrow: bool) -> None:
        self._i_slot, self._is_narrow, self._items = i_slot, is_narrow, dict[str, int | None]()

        def keep(words: str) -> None:
            item = self._items.get(words)
            context.attempt(lambda: choose_slot(context.state, i_slot, item))

        self.box = choice(parent, keep)

    def refresh(self, found: Assessment) -> None:
        """Show what is chosen and what else can be, the telling ones first, with their words."""
        items = sorted(found.items, key=lambda item: (WORST_FIRST.index(item.word), item.number))
        self._items = {BY_RULE: 0, NONE: None}
        for item in items:
            foot = f", {item.feet}" if item.feet else ""
            name = item.name if self._is_narrow else f"{item.name}{foot}: {item.word}"
            self._items |= {} if item.is_result else {name: item.number}
        names = {number: name for name, number in self._items.items()}
        slots = [slot.item.number for slot in found.slots[self._i_slot :]]
        self.box.configure(values=tuple(self._items))
        self.box.set(names.get(slots[0], NONE) if slots else NONE)
        self.box.state(["disabled" if found.most_slots <= self._i_slot else "!disabled"])


class PriorityPanel(Panel):
    """The priority and its cue, and what is missing to be sure of it."""

    def build(self, frame: ttk.Frame) -> None:
        look, context = self.look, self.context
        frame.columnconfigure(0, weight=0)
        frame.columnconfigure(1, weight=1)
        gap, low = (look.units(0.8), 0), (look.units(0.4), 0)
        label(frame, 1, "Priority", "Bold.TLabel")
        self.first = SlotChoice(frame, context, 0, self.width < look.units(NARROW))
        self.first.box.grid(row=1, column=1, sticky="ew", padx=gap)
        label(frame, 2, "Cue")
        self.cue = ttk.Entry(frame)
        self.cue.grid(row=2, column=1, sticky="ew", padx=gap, pady=low)
        self._typed = Typed(context, self.cue, self._keep_cue)
        frame.rowconfigure(3, minsize=look.units(4.4))
        style, pad = "Muted.TLabel", (look.units(0.2), 0)
        self.words = label(
            frame, 3, style=style, wrap=self.width, sticky="nw", columnspan=2, pady=pad
        )

    def _keep_cue(self, text: str) -> str:
        self.context.attempt(lambda: change_cue(self.context.state, text))
        return ""

    def refresh(self, state: AppState) -> None:
        if state.review.reading is None:
            self.frame.grid_remove()
            return
        self.frame.grid()
        found, words = state.review.reading.assessment, state.review.reading.criteria.words
        if not self.fresh.is_new(found, state.visit, state.at_hand()):
            return
        self.first.refresh(found)
        self._typed.fill(found.slots[0].phrase.cue if found.slots else "")
        self.words.configure(text=_missing(found, words))


def _missing(found: Assessment, words: Words) -> str:
    """Return why nothing may be proposed, or what is missing to be sure."""
    if found.blocked:
        return found.blocked
    if found.lacks_reason:
        return "You chose otherwise than the rule. W: write a short reason."
    if not found.slots:
        return "The sheet says what is done well, and “keep this”."
    item = found.slots[0].item
    if item.word == LIKELY:
        return words.say("why.likely", name=item.name)
    if item.once:
        return words.say("why.seen_once", name=item.name)
    return found.reasons[0] if found.reasons else ""


def pair_at_hand(state: AppState) -> idea.Pair | None:
    """Return the athlete's own pose beside the same with the first priority put right."""
    reading, run = state.review.reading, state.run
    if not (reading and run and reading.assessment.slots):
        return None
    item = reading.assessment.slots[0].item
    poses = step_poses(run, state.marking.i_step)
    return idea.pair_of(item.number, poses, item.feet == run.far_side)


class PairCard:
    """The pair of figures on a white card in that upper corner of the picture which is free."""

    def __init__(self, unit: float, em: float, fonts: Fonts) -> None:
        self._unit, self._em, self._fonts, self._fresh = unit, em, fonts, Fresh()
        self._size, self._shapes = (0.0, 0.0), Shapes()

    def shapes(self, state: AppState, view: Viewport) -> Shapes:
        """Return the card in px of the pane; nothing where the runner fills both corners."""
        reading, run, em = state.review.reading, state.run, self._em
        if reading is None or run is None:
            return ()
        if self._fresh.is_new(reading, run, state.marking.i_step):
            pair = pair_at_hand(state)
            self._shapes = self._drawn(pair, reading.criteria.words) if pair else ()
        if not self._shapes:
            return ()
        (wide, tall), gap = self._size, 0.8 * em
        frame = state.frame
        spots = [view.to_canvas(tap.at_px) for tap in frame.taps if tap.at_px] if frame else []
        for left in (view.canvas[0] - wide - gap, gap):
            reach = left - 3 * em, left + wide + 3 * em
            if not any(reach[0] < x < reach[1] and y < tall + 5 * em for x, y in spots):
                return moved(self._shapes, left, gap)
        return ()

    def _drawn(self, pair: idea.Pair, words: Words) -> Shapes:
        em, wide = self._em, 17 * self._em
        look = pair_look(em, self._fonts, palette.WHITE)
        caption = idea.Caption(words.say("page.you"), words.say("page.idea"))
        drawn = idea.pair_drawing(pair, caption, wide, 8 * em, look)
        tall = drawn.above + drawn.below + 0.6 * em
        self._size = wide, tall
        corners = ((0.0, 0.0), (wide, 0.0), (wide, tall), (0.0, tall))
        card = Area(corners, palette.WHITE, palette.HAIRLINE_DARK, self._unit)
        return (card, *moved(drawn.shapes, 0.0, drawn.above + 0.3 * em))


class WhyPanel(Panel):
    """Why this one: you beside the idea, what it starts with, the reasons; a second priority."""

    title = "Why this one"

    def build(self, frame: ttk.Frame) -> None:
        look, context, width = self.look, self.context, self.width
        above, muted = (look.units(0.6), 0), "Muted.TLabel"
        self._em, self._fonts = em_px(frame), window_fonts(frame)
        self.pair = label(frame, 0)
        self.map_title = label(frame, 1, "Probably starts with", muted, pady=above)
        self.map = label(frame, 2)
        self.words = label(frame, 3, wrap=width, pady=look.units(0.8))
        label(frame, 4, "Second priority", muted, pady=above)
        self.second = SlotChoice(frame, context, 1, width < look.units(NARROW))
        self.second.box.grid(row=5, column=0, sticky="ew")
        label(frame, 6, REASON_WORDS, muted, wrap=width, pady=above)
        self.reason = ttk.Entry(frame)
        self.reason.grid(row=7, column=0, sticky="ew")
        self._typed = Typed(context, self.reason, self._keep_reason)

    def _keep_reason(self, text: str) -> str:
        self.context.attempt(lambda: change_reason(self.context.state, text))
        return ""

    def refresh(self, state: AppState) -> None:
        reading, run = state.review.reading, state.run
        if reading is None or run is None:
            return
        found, words = reading.assessment, reading.criteria.words
        if not self.fresh.is_new(found, state.visit, state.at_hand(), run):
            return
        self._draw_pair(state, words)
        self._draw_map(found)
        self.words.configure(text="\n".join(found.reasons) or _missing(found, words))
        self.second.refresh(found)
        self._typed.fill(state.visit.reason if state.visit else "")

    def _draw_pair(self, state: AppState, words: Words) -> None:
        pair = pair_at_hand(state)
        if pair is None:
            self.pair.grid_remove()
            return
        caption = idea.Caption(words.say("page.you"), words.say("page.idea"))
        size = self.width - 6, round(14 * self._em)
        self._pair = pair_photo(self.pair, pair, caption, size, palette.PAPER)
        self.pair.configure(image=self._pair)
        self.pair.grid()

    def _draw_map(self, found: Assessment) -> None:
        """Show what may follow from what; without anything to show it takes no room."""
        em, width = self._em, self.width - 6
        ink, paper = palette.INK, palette.PAPER
        look = MapLook(em, 1.35 * em, 3.0 * em, 1.2, 2.4, ink, paper, palette.ACCENT)
        drawn = chain_map(found, width, look, self._fonts.width)
        if not drawn.shapes or found.blocked:
            self.map_title.grid_remove()
            self.map.grid_remove()
            return
        size = (width, max(1, round(drawn.height)))
        self._photo = photo(self.frame, drawn.shapes, size, self._fonts, paper)
        self.map.configure(image=self._photo)
        self.map_title.grid()
        self.map.grid()


REASON_WORDS = "Reason, where you choose otherwise than the rule"
