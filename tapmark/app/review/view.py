"""The Review page: what to work on, the checklist by moment, and the figure it was read from."""

import tkinter as tk
from dataclasses import replace
from functools import partial
from tkinter import ttk

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
from tapmark.app.state.measure_lines import Line, later_words, lines_of
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets.bench import LOWER_LEFT, UPPER_LEFT, UPPER_RIGHT, BenchColumn, BenchPage
from tapmark.app.widgets.painting import clear_photo, em_px, photo, window_fonts
from tapmark.app.widgets.pieces import ActionButton, Fresh, Typed, broken, scrolled, wrapped
from tapmark.app.widgets.theme import Look
from tapmark.checklist.items import WORST_FIRST
from tapmark.checklist.verdict import LIKELY, WORDS, Assessment, Chosen, ItemVerdict
from tapmark.checklist.words import Words
from tapmark.marks.points import PEAK_KNEE_LIFT
from tapmark.marks.run import KeyFrame, Run
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.result import Measured
from tapmark.measures.row import TRUNK_TOP
from tapmark.report.drawing import idea, palette
from tapmark.report.drawing.bands import Dot, band_shapes
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.overlay import angle_shapes, tap_shapes
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.palette import BLACK, CASING, WHITE
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Label, Shapes, moved
from tapmark.report.drawing.signs import verdict_sign

BAND = 10.0  # units: a band is 80 px wide at 96 dots an inch
BAND_MM, LINE_MM = 27.0, 5.0  # what that width is in the unit of the page's bands; height likewise
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


def row_shapes(
    run: Run, frame: KeyFrame, row: tuple[str, str, str], view: Viewport, unit: float
) -> Shapes:
    """Return the drawing of one row on its key frame and its value; row: key, leg, value."""
    key, leg, value = row
    own = own_taps(frame, key, leg)
    shapes = tap_shapes(own, view.to_canvas, unit)
    angle = angle_shapes(run, frame, key, leg, value, view.to_canvas, unit)
    if angle or not value:
        return shapes + angle
    spots = [view.to_canvas(tap.at_px) for tap in own.taps if tap.at_px]
    if not spots:
        return shapes
    right = max(x for x, _ in spots) + 34 * unit
    middle = sum(y for _, y in spots) / len(spots)
    words = Label((right, middle), value, 18 * unit, WHITE, True, False, "w", CASING, 2 * unit)
    return (*shapes, words)


class ReviewView(BenchPage):
    """What to work on beside the figure it was read from."""

    def column(self, column: BenchColumn) -> None:
        """Put the leaves, the checklist, the table, the reasons and the signs into the column."""
        look, context, body = self.look, self.context, column.body
        self._column = column
        body.rowconfigure(1, weight=1)
        self._build_leaves(body)
        self.list = ChecklistPanel(body, context, look, column.width)
        self.measures = MeasuresPanel(body, context, look, column.width)
        self.why = WhyPanel(body, context, look, column.width)
        self.signs = SignsPanel(body, context, look, column.width)
        self._panels: dict[str, ChecklistPanel | MeasuresPanel | WhyPanel | SignsPanel] = {
            "": self.list,
            "measures": self.measures,
            "why": self.why,
            "signs": self.signs,
        }
        for panel in self._panels.values():
            panel.frame.grid(row=1, column=0, sticky="nsew")
            panel.frame.grid_remove()
        self.buttons = [
            column.action(UPPER_LEFT, "why this one", "Why", has_key=True),
            column.action(UPPER_RIGHT, "tap more", "Tap more", has_key=True),
            column.action(LOWER_LEFT, "second look", "Second look", has_key=True),
        ]

    def _build_leaves(self, body: ttk.Frame) -> None:
        row = ttk.Frame(body)
        row.grid(row=0, column=0, sticky="ew", pady=(0, self.look.units(0.6)))
        slim = (self.look.units(0.4), self.look.units(0.5))
        for style in ("Leaf.TButton", "Leaf.Chosen.TButton"):
            self.look.style.configure(style, padding=slim, font=self.look.font("body"))
        self.leaves = {}
        for i, (leaf, text) in enumerate(LEAVES):
            row.columnconfigure(i, weight=1, uniform="leaf")
            self.leaves[leaf] = ttk.Button(
                row, text=text, width=1, style="Leaf.TButton", command=partial(self._turn, leaf)
            )
            self.leaves[leaf].grid(row=0, column=i, sticky="ew")
        self.leaves[""].configure(style="Leaf.Chosen.TButton")

    def _turn(self, leaf: str) -> None:
        context = self.context
        if leaf:
            context.perform({"draw": "page drawing", "beside": "compare"}[leaf])
        else:
            context.attempt(lambda: show_leaf(context, ""))

    @property
    def slots(self) -> "PriorityPanel":
        """The fields of the priority and its cue."""
        return self.list.priority

    @property
    def table(self) -> ttk.Treeview:
        """The table of all measures."""
        return self.measures.table

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        """Return the drawing of the line that is chosen, else the taps of the key frame."""
        frame, run = state.frame, state.run
        if run is None or frame is None or frame.picture != state.marking.picture:
            return ()
        row = self._row(state)
        if row is None or frame.event not in catalogue_row(row[0]).needs_of(row[1]):
            return tap_shapes(frame, view.to_canvas, self.look.unit)
        return row_shapes(run, frame, row, view, self.look.unit)

    def _row(self, state: AppState) -> tuple[str, str, str] | None:
        """Return catalogue row, leg and value of what is chosen."""
        review = state.review
        if review.reading is None:
            return None
        if review.leaf == "measures":
            lines = lines_of(review.reading)
            line = lines[review.row] if review.row < len(lines) else None
            return (line.key, line.leg, line.short) if line and line.key else None
        chosen = self.list.chosen(state)
        verdict = chosen.verdict if chosen else None
        if chosen is None or verdict is None or not isinstance(verdict.result, Measured):
            return None
        return verdict.result.key, verdict.result.leg, chosen.value.replace("  ≈", "")

    def show(self) -> None:
        """Give the keyboard to the frame; show a key frame that has taps."""
        super().show()
        state = self.context.state
        for panel in self._panels.values():
            panel.fresh.forget()
        if not state.frame and state.step.key_frames:
            state.go_to(state.step.key_frames[0].event)
        elif state.frame:
            state.marking.picture = state.frame.picture

    def refresh_column(self) -> None:
        """Measure again if anything changed, and show what is known."""
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
        titles = {"": "Review", "measures": "All measures", "why": "Why this one"}
        self._column.title.configure(text=titles.get(state.review.leaf, "What the signs mean"))
        self._column.onward.refresh("page sheet", "See the sheet", short="Sheet")

    def hint(self) -> str:
        """What to do now."""
        state = self.context.state
        why = waiting_for(state) if state.run else ""
        if why:
            return why
        if not state.review.reading:
            return needs_taps(self.context) or "Measuring …"
        if state.review.leaf:
            return "Escape goes back to the checklist."
        return "Up and down choose a line, 1 to 5 a key frame. H explains the signs."


class ChecklistPanel:
    """Headline, counts or a marking check, the list by moment, its folds, details, the priority."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self.fresh = context, look, Fresh()
        self._lines: tuple[CheckLine, ...] = ()
        self._kept: dict[object, ImageTk.PhotoImage] = {}
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(3, weight=1)
        self.headline = wrapped(ttk.Label(self.frame, style="Head.TLabel"), width)
        self.headline.grid(row=0, column=0, columnspan=2, sticky="w")
        self.second = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), width)
        self.second.grid(row=1, column=0, columnspan=2, sticky="w", pady=(look.units(0.2), 0))
        self.check = ActionButton(self.frame, context, look, "look again", has_key=True)
        self.check.grid(row=2, column=0, sticky="w", pady=look.units(0.3))
        self.rate = ActionButton(self.frame, context, look, "take rate", has_key=True)
        self._build_list()
        self._build_folds()
        self._build_details(width)
        self.priority = PriorityPanel(self.frame, context, look, width)
        self.priority.frame.grid(row=6, column=0, columnspan=2, sticky="ew")

    def _build_list(self) -> None:
        look = self.look
        self.tree = ttk.Treeview(
            self.frame, columns=("value",), show="tree", selectmode="browse", height=5
        )
        self.tree.column("value", anchor="e", stretch=False)
        self.tree.tag_configure("moment", font=look.font("bold"))
        self.tree.grid(row=3, column=0, sticky="nsew", pady=(look.units(0.4), 0))
        scrolled(self.tree, self.frame, 3)
        self.tree.bind("<<TreeviewSelect>>", self._selected)
        self.tree.bind("<Return>", lambda event: self._begin())
        self.tree.bind("<Double-1>", lambda event: self._begin())
        self.tree.bind("<Configure>", lambda event: self._lay_out(event.width))

    def _build_folds(self) -> None:
        self._fold_row = ttk.Frame(self.frame)
        self._fold_row.grid(row=4, column=0, columnspan=2, sticky="ew", pady=self.look.units(0.3))
        self._fold_rows = 0
        self.folds: dict[str, ttk.Button] = {}
        for name in (*FOLDS, "measures"):
            command = partial(self._fold, name)
            self.folds[name] = ttk.Button(
                self._fold_row, width=1, style="Leaf.TButton", command=command
            )
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

    def _build_details(self, width: int) -> None:
        look = self.look
        self.details = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), width)
        self.details.grid(row=5, column=0, columnspan=2, sticky="nw", pady=(look.units(0.3), 0))

    def _fold(self, name: str) -> None:
        context = self.context
        if name == "measures":
            context.attempt(lambda: show_leaf(context, "measures"))
        else:
            context.attempt(lambda: toggle_fold(context, name))

    def chosen(self, state: AppState) -> CheckLine | None:
        """Return the line that is chosen."""
        return next((line for line in self._lines if line.key == state.review.line), None)

    def _selected(self, event: "tk.Event[tk.Misc]") -> None:
        picked = self.tree.selection()
        state = self.context.state
        line = next((line for line in self._lines if picked and line.key == picked[0]), None)
        if line is None or line.key == state.review.line:
            if picked and line is None:
                self.tree.selection_remove(picked[0])  # a moment is no line
            return
        choose_line(self.context, line)

    def _begin(self) -> str:
        line = self.chosen(self.context.state)
        if line and line.tap:
            self.context.perform("tap more")
        return "break"

    def refresh(self, state: AppState) -> None:
        """Show the visit as it is judged now."""
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
            self._keep_room(state)
        at = state.review.line
        if at and self.tree.exists(at) and self.tree.selection() != (at,):
            self.tree.selection_set(at)
            self.tree.see(at)
        self._show_check(state, count_words(reading))
        self.check.refresh()
        self.rate.refresh()
        line = self.chosen(state)
        words = detail_words(line, reading) if line else LEGEND_WORDS
        self.details.configure(text=retap_words(state) if line and line.tap else words)

    def _keep_room(self, state: AppState) -> None:
        """Keep as many lines free as the longest details take: no choice moves a thing."""
        font, reading = self.look.font("body"), state.review.reading
        assert reading
        told = [detail_words(line, reading) for line in self._lines if not line.tap]
        told += [retap_words(state), LEGEND_WORDS]
        room = int(str(self.details.cget("wraplength"))) - self.look.units(1)
        most = max(len(broken(words, font.measure, room)) for words in told)
        self.frame.rowconfigure(5, minsize=most * font.metrics("linespace") + self.look.units(0.9))

    def _show_check(self, state: AppState, counts: str) -> None:
        checks = state.review.checks
        more = f" And {len(checks) - 1} more." if len(checks) > 1 else ""
        words = f"{checks[0].words}{more}" if checks else counts
        self.second.configure(text=words, style="TLabel" if checks else "Muted.TLabel")
        for button in (self.check, self.rate):
            is_there = bool(checks) and button.action.is_available(self.context)
            at = {
                "row": 2,
                "column": 0,
                "columnspan": 2,
                "sticky": "w" if button is self.check else "e",
            }
            button.grid(**at) if is_there else button.button.grid_remove()

    def _fill(self) -> None:
        self.tree.delete(*self.tree.get_children())
        moment = None
        for line in self._lines:
            if line.moment != moment:
                moment = line.moment
                self.tree.insert(
                    "", "end", text=f"{moment[:1].upper()}{moment[1:]}", tags=("moment",)
                )
            self.tree.insert(
                "",
                "end",
                iid=line.key,
                text=f" {line.name}",
                values=(line.value,),
                image=self._image(line),
            )
        if self.context.state.review.line in {line.key for line in self._lines}:
            self.tree.selection_set(self.context.state.review.line)
        self._lay_out(self.tree.winfo_width())

    _band_px = 0

    def _lay_out(self, width: int) -> None:
        """Give the values what they need, the names the rest; bands are left out where narrow."""
        if width < 2 or not self._lines:
            return
        look, measure = self.look, self.look.font("body").measure
        pad = look.units(1.4)
        values = max(measure(line.value) for line in self._lines) + pad
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
        result = line.verdict.result if line.verdict else None
        measured = result if isinstance(result, Measured) else None
        key = (line.word, line.band, measured, self._band_px)
        if key not in self._kept:
            self._kept[key] = self._painted(line, measured)
        return self._kept[key]

    def _painted(self, line: CheckLine, measured: Measured | None) -> ImageTk.PhotoImage:
        look, band_px = self.look, self._band_px
        wide, tall = look.units(3.4) + band_px, look.units(2.4)
        per_mm = look.units(BAND) / BAND_MM
        middle = tall / 2 / per_mm
        sign = verdict_sign(
            line.word, (look.units(1.7) / per_mm, middle), 0.85 * tall / per_mm, BLACK
        )
        shapes: Shapes = sign
        if line.band and measured and band_px:
            dot = Dot(measured.value, measured.plus_minus, measured.is_about)
            drawn = band_shapes(line.band, (dot,), (band_px - look.units(0.6)) / per_mm, LINE_MM)
            shapes += moved(drawn, look.units(3.4) / per_mm, middle)
        fonts = Fonts(per_mm, window_fonts(self.tree).family)
        return clear_photo(self.tree, shapes, (wide, tall), fonts)


LEGEND_WORDS = "Choose a line: the picture shows where it was read. H explains the signs."
SIGN_MEANINGS = {
    "seen": "past the limit, surely (95 %)",
    "likely": "past the limit, probably (80 %)",
    "near the line": "close to the limit, on either side",
    "fine": "inside the band, clear of the limit",
    "can't tell": "the ± is wider than the band: tap or film again",
    "not measured": "with its reason; not “fine”",
}


class SignsPanel:
    """What each sign means, and the band."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.fresh = Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(1, weight=1)
        fonts, size = window_fonts(parent), (look.units(4), look.units(3))
        self._photos = [
            clear_photo(
                parent,
                verdict_sign(word, (size[0] / 2, size[1] / 2), size[1] * 0.8, BLACK),
                size,
                fonts,
            )
            for word in WORDS
        ]
        for row, (word, made) in enumerate(zip(WORDS, self._photos, strict=True)):
            ttk.Label(self.frame, image=made).grid(row=2 * row, column=0, rowspan=2, sticky="n")
            ttk.Label(self.frame, text=word, style="Bold.TLabel").grid(
                row=2 * row, column=1, sticky="w"
            )
            words = wrapped(
                ttk.Label(self.frame, text=SIGN_MEANINGS[word], style="Muted.TLabel"),
                width - look.units(4.5),
            )
            words.grid(row=2 * row + 1, column=1, sticky="w", pady=(0, look.units(0.9)))
        rest = wrapped(
            ttk.Label(
                self.frame,
                text="The upright stroke is the limit, the dot your value, the line through it its "
                "±. The pale floor is fine. ≈ stands behind what leans on a guess.",
            ),
            width,
        )
        rest.grid(row=2 * len(WORDS), column=0, columnspan=2, sticky="w")

    def refresh(self, state: AppState) -> None:
        """Nothing changes."""


class MeasuresPanel:
    """Every measure in a table that scrolls, and what stands behind the one chosen."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self.fresh = context, look, Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(0, weight=1)
        self._build_table()
        self.frame.rowconfigure(1, minsize=look.units(8.4))
        self.details = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), width)
        self.details.grid(row=1, column=0, columnspan=2, sticky="nw")

    def _build_table(self) -> None:
        self.table = ttk.Treeview(self.frame, show="tree", selectmode="browse", height=8)
        self.table.tag_configure("quiet", foreground=palette.MUTED)
        self.table.grid(row=0, column=0, sticky="nsew")
        scrolled(self.table, self.frame, 0)
        self.table.bind("<<TreeviewSelect>>", self._selected)
        self._signs = self._make_signs()

    def _make_signs(self) -> dict[str, ImageTk.PhotoImage]:
        fonts, size = window_fonts(self.table), (self.look.units(3.4), self.look.units(2.4))
        return {
            word: clear_photo(
                self.table,
                verdict_sign(word, (size[0] / 2, size[1] / 2), size[1] * 0.85, BLACK),
                size,
                fonts,
            )
            for word in (*WORDS, "")
        }

    def _lines(self, state: AppState) -> tuple[Line, ...]:
        return lines_of(state.review.reading) if state.review.reading else ()

    def refresh(self, state: AppState) -> None:
        """Show every measure as it stands."""
        lines = self._lines(state)
        if not self.fresh.is_new(lines):
            return
        self.table.delete(*self.table.get_children())
        measure = ""
        for i, line in enumerate(lines):
            quiet = ("quiet",) if line.is_quiet else ()
            if line.measure != measure:
                measure = line.measure
                self.table.insert("", "end", text=measure)
            told = " ".join(filter(None, (line.foot, _value(line))))
            self.table.insert(
                "",
                "end",
                iid=str(i),
                text=f" {told}, {line.said}" if told else f" {line.said}",
                tags=quiet,
                image=self._signs.get(line.word, self._signs[""]),
            )

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


def _value(line: Line) -> str:
    about = " ≈" if line.name.endswith("≈") else ""
    return f"{line.value} {line.plus_minus} {line.unit}{about}" if line.value else ""


NARROW = 47  # units: below, a list has no room for names with their words
BY_RULE = "as the rule chooses"
NONE = "none"


class PriorityPanel:
    """The priority and its cue, and what is missing to be sure of it."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(1, weight=1)
        self._items: dict[str, int | None] = {}
        gap = look.units(0.8)
        self._is_narrow = width < look.units(NARROW)
        ttk.Label(self.frame, text="Priority", style="Bold.TLabel").grid(
            row=0, column=0, sticky="w"
        )
        self.first = choice_of(self.frame, context, 0, self._items)
        self.first.grid(row=0, column=1, sticky="ew", padx=(gap, 0))
        ttk.Label(self.frame, text="Cue").grid(row=1, column=0, sticky="w")
        self.cue = ttk.Entry(self.frame)
        self.cue.grid(row=1, column=1, sticky="ew", padx=(gap, 0), pady=(look.units(0.4), 0))
        self._typed = Typed(context, self.cue, self._keep_cue)
        self.frame.rowconfigure(2, minsize=look.units(4.4))
        self.words = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), width)
        self.words.grid(row=2, column=0, columnspan=2, sticky="nw", pady=(look.units(0.2), 0))

    def _keep_cue(self, text: str) -> str:
        self.context.attempt(lambda: change_cue(self.context.state, text))
        return ""

    def refresh(self, state: AppState) -> None:
        """Show the choice as it stands."""
        if state.review.reading is None:
            self.frame.grid_remove()
            return
        self.frame.grid()
        found = state.review.reading.assessment
        if not self._fresh.is_new(found, state.visit, state.at_hand()):
            return
        fill_choice(self.first, self._items, found, 0, self._is_narrow)
        self._typed.fill(found.slots[0].phrase.cue if found.slots else "")
        self.words.configure(text=_missing(found, state.review.reading.criteria.words))


def choice_of(
    parent: ttk.Frame, context: Context, i_slot: int, items: dict[str, int | None]
) -> ttk.Combobox:
    """Return a list of the items that may be the first or second priority."""
    box = ttk.Combobox(parent, state="readonly")
    box.bind(
        "<<ComboboxSelected>>",
        lambda event: context.attempt(
            lambda: choose_slot(context.state, i_slot, items.get(box.get()))
        ),
    )
    return box


def fill_choice(
    box: ttk.Combobox,
    items: dict[str, int | None],
    found: Assessment,
    i_slot: int,
    is_narrow: bool,
) -> None:
    """Show which item is chosen and which others can be; their words too where there is room."""
    items.clear()
    items.update({BY_RULE: 0, NONE: None, **_choices(found, is_narrow)})
    names = {number: name for name, number in items.items()}
    taken = found.slots[i_slot].item.number if i_slot < len(found.slots) else None
    box.configure(values=tuple(items))
    box.set(names.get(taken, NONE))
    box.state(["disabled" if found.most_slots <= i_slot else "!disabled"])


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


class WhyPanel:
    """Why this one: you beside the idea, what it starts with, the reasons; a second priority."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self.fresh = context, look, Fresh()
        self._width, self._items = width, dict[str, int | None]()
        self._photos: list[ImageTk.PhotoImage] = []
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, weight=1)
        self.pair = ttk.Label(self.frame)
        self.pair.grid(row=0, column=0, sticky="w")
        self.map_title = ttk.Label(self.frame, text="Probably starts with", style="Muted.TLabel")
        self.map_title.grid(row=1, column=0, sticky="w", pady=(look.units(0.6), 0))
        self.map = ttk.Label(self.frame)
        self.map.grid(row=2, column=0, sticky="w")
        self.words = wrapped(ttk.Label(self.frame), width)
        self.words.grid(row=3, column=0, sticky="w", pady=look.units(0.8))
        self._label("Second priority", 4)
        self.second = choice_of(self.frame, context, 1, self._items)
        self.second.grid(row=5, column=0, sticky="ew")
        self._label("Reason, where you choose otherwise than the rule", 6)
        self.reason = ttk.Entry(self.frame)
        self.reason.grid(row=7, column=0, sticky="ew")
        self._typed = Typed(context, self.reason, self._keep_reason)

    def _label(self, words: str, row: int) -> None:
        made = wrapped(ttk.Label(self.frame, text=words, style="Muted.TLabel"), self._width)
        made.grid(row=row, column=0, sticky="w", pady=(self.look.units(0.6), 0))

    def _keep_reason(self, text: str) -> str:
        self.context.attempt(lambda: change_reason(self.context.state, text))
        return ""

    def refresh(self, state: AppState) -> None:
        """Show what stands behind the choice."""
        reading, run = state.review.reading, state.run
        if reading is None or run is None:
            return
        found = reading.assessment
        if not self.fresh.is_new(found, state.visit, state.at_hand(), run):
            return
        self._photos = []
        self._draw_pair(run, state.marking.i_step, found, reading.criteria.words)
        self._draw_map(found)
        self.words.configure(
            text="\n".join(found.reasons) or _missing(found, reading.criteria.words)
        )
        fill_choice(self.second, self._items, found, 1, self._width < self.look.units(NARROW))
        self._typed.fill(state.visit.reason if state.visit else "")

    def _draw_pair(self, run: Run, i_step: int, found: Assessment, words: Words) -> None:
        pair = _pair_of(run, i_step, found.slots[0]) if found.slots else None
        if pair is None:
            self.pair.grid_remove()
            return
        unit = self._em / 4.2
        look = idea.PairLook(
            0.35 * unit,
            self._em,
            self._em,
            self._fonts.width,
            palette.INK,
            palette.PAPER,
            unit=unit,
        )
        caption = idea.Caption(words.say("page.you"), words.say("page.idea"))
        drawn = idea.pair_drawing(pair, caption, self._width - 6, 14 * self._em, look)
        size = (self._width - 6, round(drawn.above + drawn.below))
        shapes = moved(drawn.shapes, 0, drawn.above)
        self._show(self.pair, photo(self.frame, shapes, size, self._fonts, palette.PAPER))

    def _draw_map(self, found: Assessment) -> None:
        width = self._width - 6
        drawn = chain_map(found, width, _map_look(self._em), self._fonts.width)
        if not drawn.shapes or found.blocked:
            self.map_title.grid_remove()
            self.map.grid_remove()
            return
        size = (width, max(1, round(drawn.height)))
        self.map_title.grid()
        self._show(self.map, photo(self.frame, drawn.shapes, size, self._fonts, palette.PAPER))

    def _show(self, label: ttk.Label, made: ImageTk.PhotoImage) -> None:
        self._photos.append(made)
        label.configure(image=made)
        label.grid()


def _pair_of(run: Run, i_step: int, chosen: Chosen) -> idea.Pair | None:
    """Return the athlete's own pose beside the same with one thing put right."""
    is_far = chosen.item.feet == run.far_side
    return idea.pair_of(chosen.item.number, step_poses(run, i_step), is_far)


def _map_look(unit: float) -> MapLook:
    return MapLook(
        text=unit,
        sign=1.35 * unit,
        row=3.0 * unit,
        light=1.2,
        heavy=2.4,
        ink=palette.INK,
        paper=palette.PAPER,
        accent=palette.ACCENT,
    )


def _choices(found: Assessment, is_narrow: bool) -> dict[str, int | None]:
    """Return name -> number of every item that may take a slot, the telling ones first."""
    items = sorted(found.items, key=lambda item: (WORST_FIRST.index(item.word), item.number))
    told = (item for item in items if not item.is_result)
    return {item.name if is_narrow else _name(item): item.number for item in told}


def _name(item: ItemVerdict) -> str:
    foot = f", {item.feet}" if item.feet else ""
    return f"{item.name}{foot}: {item.word}"
