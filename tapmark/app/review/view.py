"""The Review page: what to work on, the checklist by moment, and the figure it was read from."""

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Any

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
from tapmark.app.state.measure_lines import later_words, lines_of
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets import pieces
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
from tapmark.app.widgets.pieces import ActionButton, Fresh, Typed, label, put
from tapmark.app.widgets.theme import Look
from tapmark.checklist.items import WORST_FIRST
from tapmark.checklist.verdict import LIKELY, WORDS, Assessment
from tapmark.checklist.words import Words
from tapmark.measures.catalogue import row as catalogue_row
from tapmark.measures.result import Measured
from tapmark.report.drawing import idea, palette
from tapmark.report.drawing.bands import Dot, band_shapes
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.overlay import RowShown, row_shapes, tap_shapes
from tapmark.report.drawing.painter import Fonts
from tapmark.report.drawing.pose import step_poses
from tapmark.report.drawing.shapes import Area, Shapes, moved
from tapmark.report.drawing.signs import verdict_sign

LEAVES = (("", "Checklist"), ("draw", "Drawing"), ("beside", "Beside"))


def leaf_row(body: ttk.Frame, context: Context, look: Look, here: str) -> ttk.Frame:
    """Return the row of Review's three leaves with the one at hand chosen."""
    row = ttk.Frame(body)
    for style in ("Leaf.TButton", "Leaf.Chosen.TButton"):
        slim = (look.units(0.4), look.units(0.5))
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
        made = ttk.Button(row, text=text, width=1, style=style, command=partial(turn, leaf))
        put(made, 0, i, "ew")
    return row


LINES, LOW_LINES, TALL_ENOUGH = 5, 2, 52  # lines of the checklist at least; units of a column


class ReviewView(BenchPage):
    """What to work on beside the figure it was read from."""

    def column(self, column: BenchColumn) -> None:
        look, context, body = self.look, self.context, column.body
        self._column, self._card = column, PairCard(look.unit, em_px(body), window_fonts(body))
        column.head.grid_remove()  # the leaves are the head: the list needs the room
        body.rowconfigure(1, weight=1)
        put(leaf_row(body, context, look, ""), sticky="ew", pady=look.units(0.3))
        self.list = ChecklistPanel(body, context, look, column.width)
        self.measures = MeasuresPanel(body, context, look, column.width)
        self.why = WhyPanel(body, context, look, column.width)
        signs = SignsPanel(body, context, look, column.width)
        self._panels: dict[str, Panel] = {
            "": self.list,
            "measures": self.measures,
            "why": self.why,
            "signs": signs,
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
        frame, run, unit = state.frame, state.run, self.look.unit
        if run is None or frame is None or frame.picture != state.marking.picture:
            return ()
        row = self._row(state)
        if row is None or frame.event not in catalogue_row(row.key).needs_of(row.leg):
            shapes = tap_shapes(frame, view.to_canvas, unit)
        else:
            shapes = row_shapes(run, frame, row, view.to_canvas, unit)
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
        edges = verdict.band and [verdict.band.limit_high, verdict.band.limit_low]
        ordered = (edges if verdict.side == "high" else edges[::-1]) if edges else ()
        limit = next((edge for edge in ordered if edge is not None), None)
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
        self.frame = put(ttk.Frame(parent), 1, 0, "nsew")
        self.frame.columnconfigure(0, weight=1)
        self.frame.rowconfigure(1, weight=1)
        if self.title:
            label(self.frame, 0, self.title, "Head.TLabel", pady=(0, look.units(0.6)))
        self.inner = pieces.box(self.frame, 1, 0, "nsew", grows=0)
        self.build(self.inner)
        self.frame.grid_remove()

    def build(self, frame: ttk.Frame) -> None:
        """Fill the frame, once."""

    def refresh(self, state: AppState) -> None:
        """Show what is new."""


BAND = 10.0  # units: a band is 80 px wide at 96 dots an inch
BAND_MM, LINE_MM = 27.0, 5.0  # what that width is in the unit of the page's bands; height likewise
LEGEND_WORDS = "Choose a line: the picture shows where it was read. H explains the signs."


class ChecklistPanel(Panel):
    """Headline, counts or a marking check, the list by moment, its folds, details, the priority."""

    def build(self, frame: ttk.Frame) -> None:
        context, look, width = self.context, self.look, self.width
        self._lines: tuple[CheckLine, ...] = ()
        self._kept: dict[object, ImageTk.PhotoImage] = {}
        self._band_px = 0
        frame.rowconfigure(3, weight=1)
        words = partial(label, frame, wrap=width, columnspan=2)
        self.headline = words(0, style="Head.TLabel")
        self.second = words(1, style="Muted.TLabel", pady=(look.units(0.2), 0))
        self.check = ActionButton(frame, context, look, "look again", has_key=True)
        self.rate = ActionButton(frame, context, look, "take rate", has_key=True)
        named, pad = {"value": ""}, (look.units(0.4), 0)
        self.tree = pieces.browsed(
            frame, 3, self._selected, named, show="tree", height=LINES, pady=pad
        )
        self.tree.column("value", anchor="e", stretch=False, width=1)
        self.tree.tag_configure("moment", font=look.font("bold"))
        for key in ("<Return>", "<Double-1>"):
            self.tree.bind(key, lambda event: self._begin())
        self.tree.bind("<Configure>", lambda event: self._lay_out(event.width))
        self._fold_row, self._fold_rows = ttk.Frame(frame), 0
        put(self._fold_row, 4, 0, "ew", columnspan=2, pady=look.units(0.3))
        make = partial(ttk.Button, self._fold_row, width=1, style="Leaf.TButton")
        names = (*FOLDS, "measures")
        self.folds = {name: make(command=partial(self._fold, name)) for name in names}
        self._fold_row.bind("<Configure>", lambda event: self._fit_folds(event.width))
        self.details = words(5, style="Muted.TLabel", pady=(look.units(0.3), 0))
        self.priority = PriorityPanel(frame, context, look, width)
        self.priority.frame.grid(row=6, column=0, columnspan=2, sticky="ew")

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
                put(made, i // across, i % across, "ew")

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
            counts = fold_counts(reading)
            for name in FOLDS:
                mark = "▾" if name in state.review.opened else "▸"
                self.folds[name].configure(text=f"{mark} {counts[name]} {name}")
            self.folds["measures"].configure(text=f"all {len(reading.assessment.rows)}")
            self._fit_folds(self._fold_row.winfo_width())
            font = self.look.font("body")  # room for the longest details: no choice moves a thing
            told = [detail_words(line, reading) for line in self._lines if not line.tap]
            told += [retap_words(state), LEGEND_WORDS]
            room = int(str(self.details.cget("wraplength"))) - self.look.units(1)
            most = max(len(pieces.broken(words, font.measure, room)) for words in told)
            room = most * font.metrics("linespace") + self.look.units(0.9)
            self.inner.rowconfigure(5, minsize=room)
        at = state.review.line
        if at and self.tree.exists(at) and self.tree.selection() != (at,):
            self.tree.selection_set(at)
            self.tree.see(at)
        checks = state.review.checks
        more = f" And {len(checks) - 1} more." if len(checks) > 1 else ""
        words = f"{checks[0].words}{more}" if checks else count_words(reading)
        self.second.configure(text=words, style="TLabel" if checks else "Muted.TLabel")
        for button, side in ((self.check, "w"), (self.rate, "e")):
            button.refresh()
            if checks and button.action.is_available(self.context):
                button.grid(row=2, column=0, columnspan=2, sticky=side, pady=self.look.units(0.3))
            else:
                button.button.grid_remove()
        line = self.chosen(state)
        words = detail_words(line, reading) if line else LEGEND_WORDS
        self.details.configure(text=retap_words(state) if line and line.tap else words)

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


class SignsPanel(Panel):
    """What each sign means, and the band."""

    title = "What the signs mean"

    def build(self, frame: ttk.Frame) -> None:
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


class MeasuresPanel(Panel):
    """Every measure in a table that scrolls, and what stands behind the one chosen."""

    title = "All measures"

    def build(self, frame: ttk.Frame) -> None:
        units = self.look.units
        frame.rowconfigure(0, weight=1)
        self.table = pieces.browsed(frame, 0, self._selected, show="tree", height=8)
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

        self.box = pieces.choice(parent, keep)

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
        put(self.first.box, 1, 1, "ew", padx=gap)
        label(frame, 2, "Cue")
        self.cue = put(ttk.Entry(frame), 2, 1, "ew", padx=gap, pady=low)
        self._typed = Typed(context, self.cue, partial(change_cue, context.state))
        frame.rowconfigure(3, minsize=look.units(4.4))
        style, pad = "Muted.TLabel", (look.units(0.2), 0)
        self.words = label(
            frame, 3, style=style, wrap=self.width, sticky="nw", columnspan=2, pady=pad
        )

    def refresh(self, state: AppState) -> None:
        pieces.show(self.frame, state.review.reading is not None)
        if state.review.reading is None:
            return
        found, words = state.review.reading.assessment, state.review.reading.criteria.words
        if self.fresh.is_new(found, state.visit, state.at_hand()):
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


def pair_at_hand(state: AppState) -> tuple[idea.Pair, idea.Caption] | None:
    """Return the athlete's own pose beside the same with the first priority put right."""
    reading, run = state.review.reading, state.run
    if not (reading and run and reading.assessment.slots):
        return None
    item, say = reading.assessment.slots[0].item, reading.criteria.words.say
    poses = step_poses(run, state.marking.i_step)
    pair = idea.pair_of(item.number, poses, item.feet == run.far_side)
    return (pair, idea.Caption(say("page.you"), say("page.idea"))) if pair else None


class PairCard:
    """The pair of figures on a white card in that upper corner of the picture which is free."""

    def __init__(self, unit: float, em: float, fonts: Fonts) -> None:
        self._unit, self._em, self._fonts, self._fresh = unit, em, fonts, Fresh()
        self._size, self._shapes = (0.0, 0.0), Shapes()

    def shapes(self, state: AppState, view: Viewport) -> Shapes:
        """Return the card in px of the pane; nothing where the runner fills both corners."""
        if self._fresh.is_new(state.review.reading, state.run, state.marking.i_step):
            self._draw(state)
        if not self._shapes:
            return ()
        (wide, tall), em, frame = self._size, self._em, state.frame
        spots = [view.to_canvas(tap.at_px) for tap in frame.taps if tap.at_px] if frame else []
        for left in (view.canvas[0] - wide - 0.8 * em, 0.8 * em):
            reach = left - 3 * em, left + wide + 3 * em
            if not any(reach[0] < x < reach[1] and y < tall + 5 * em for x, y in spots):
                return moved(self._shapes, left, 0.8 * em)
        return ()

    def _draw(self, state: AppState) -> None:
        pair, em, wide = pair_at_hand(state), self._em, 17 * self._em
        self._shapes = ()
        if pair:
            look = pair_look(em, self._fonts, palette.WHITE)
            drawn = idea.pair_drawing(*pair, wide, 8 * em, look)
            tall = drawn.above + drawn.below + 0.6 * em
            corners = ((0.0, 0.0), (wide, 0.0), (wide, tall), (0.0, tall))
            card = Area(corners, palette.WHITE, palette.HAIRLINE_DARK, self._unit)
            self._size = wide, tall
            self._shapes = (card, *moved(drawn.shapes, 0.0, drawn.above + 0.3 * em))


REASON_WORDS = "Reason, where you choose otherwise than the rule"


class WhyPanel(Panel):
    """Why this one: you beside the idea, what it starts with, the reasons; a second priority."""

    title = "Why this one"

    def build(self, frame: ttk.Frame) -> None:
        look, context, width = self.look, self.context, self.width
        above, muted = (look.units(0.6), 0), "Muted.TLabel"
        self._em, self._fonts = em_px(frame), window_fonts(frame)
        self._photos: dict[str, Any] = {}
        self.pair = label(frame, 0)
        self.map_title = label(frame, 1, "Probably starts with", muted, pady=above)
        self.map = label(frame, 2)
        self.words = label(frame, 3, wrap=width, pady=look.units(0.8))
        label(frame, 4, "Second priority", muted, pady=above)
        self.second = SlotChoice(frame, context, 1, width < look.units(NARROW))
        put(self.second.box, 5, 0, "ew")
        label(frame, 6, REASON_WORDS, muted, wrap=width, pady=above)
        self.reason = put(ttk.Entry(frame), 7, 0, "ew")
        self._typed = Typed(context, self.reason, partial(change_reason, context.state))

    def refresh(self, state: AppState) -> None:
        reading, run = state.review.reading, state.run
        if reading is None or run is None:
            return
        found, words = reading.assessment, reading.criteria.words
        if not self.fresh.is_new(found, state.visit, state.at_hand(), run):
            return
        pair, room = pair_at_hand(state), self.width - 6
        pieces.show(self.pair, pair is not None)
        if pair:
            size = room, round(14 * self._em)
            self._photos["pair"] = pair_photo(self.pair, *pair, size, palette.PAPER)
            self.pair.configure(image=self._photos["pair"])
        em, ink, paper = self._em, palette.INK, palette.PAPER
        look = MapLook(em, 1.35 * em, 3.0 * em, 1.2, 2.4, ink, paper, palette.ACCENT)
        drawn = chain_map(found, room, look, self._fonts.width)
        has_map = bool(drawn.shapes) and not found.blocked
        for widget in (self.map_title, self.map):
            pieces.show(widget, has_map)
        if has_map:
            size = (room, max(1, round(drawn.height)))
            self._photos["map"] = photo(self.frame, drawn.shapes, size, self._fonts, paper)
            self.map.configure(image=self._photos["map"])
        self.words.configure(text="\n".join(found.reasons) or _missing(found, words))
        self.second.refresh(found)
        self._typed.fill(state.visit.reason if state.visit else "")
