"""The Review page: the figure over each key frame, what was measured, what to work on."""

import tkinter as tk
from collections.abc import Callable
from tkinter import ttk
from typing import Literal

from PIL import ImageTk

from tapmark.app.review.actions import (
    change_cue,
    change_reason,
    choose_slot,
    keep,
    read_again,
    retap_words,
)
from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import check_again
from tapmark.app.shell.why_disabled import needs_taps, waiting_for
from tapmark.app.state.measure_lines import Line, later_words, lines_of
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets.bench import LOWER_LEFT, UPPER_LEFT, UPPER_RIGHT, BenchColumn, BenchPage
from tapmark.app.widgets.check_panel import CheckPanel, RetapPanel
from tapmark.app.widgets.painting import clear_photo, em_px, photo, window_fonts
from tapmark.app.widgets.picture_pane import review_overlay
from tapmark.app.widgets.pieces import Fresh, Typed, scrolled, wrapped
from tapmark.app.widgets.table import Cells
from tapmark.app.widgets.theme import Look
from tapmark.checklist.items import WORST_FIRST
from tapmark.checklist.verdict import WORDS, Assessment, ItemVerdict
from tapmark.report.drawing import palette
from tapmark.report.drawing.chain_map import MapLook, chain_map
from tapmark.report.drawing.palette import BLACK
from tapmark.report.drawing.shapes import Shapes
from tapmark.report.drawing.signs import verdict_sign

NEEDS_EM = 76  # of the list, for all of its columns
COLUMNS: tuple[tuple[str, str, Literal["w", "e"]], ...] = (
    ("value", "value ±", "w"),
    ("word", "verdict", "w"),
    ("mostly", "± mostly", "w"),
)


class ReviewView(BenchPage):
    """What was measured beside the figure it was measured on."""

    def column(self, column: BenchColumn) -> None:
        """Put the list, what may be a slip and the priorities into the column."""
        look, context, words = self.look, self.context, column.body
        self._fresh, self._column = Fresh(), column
        words.rowconfigure(0, weight=1)
        self._build_table(words)
        self.checks = CheckPanel(words, context, look, column.width, 2)
        self.retap = RetapPanel(words, context, look, column.width)
        self.slots = SlotPanel(words, context, look, column.width)
        panels = (self.checks.frame, self.retap.frame, self.slots.frame)
        for row, panel in enumerate(panels, start=1):
            panel.grid(row=row, column=0, columnspan=2, sticky="ew", pady=(look.units(1), 0))
        self.buttons = [
            column.action(UPPER_LEFT, "page drawing", "Draw", has_key=True),
            column.action(UPPER_RIGHT, "second look", "Second look", has_key=True),
            column.action(LOWER_LEFT, "another pass", "Another pass"),
        ]

    def _build_table(self, parent: ttk.Frame) -> None:
        look = self.look
        self.table = ttk.Treeview(
            parent, columns=[key for key, *_ in COLUMNS], selectmode="browse", height=6
        )
        self.table.heading("#0", text="measure", anchor="w")
        for key, words, anchor in COLUMNS:
            self.table.heading(key, text=words, anchor=anchor)
            self.table.column(key, anchor=anchor)
        self.table.tag_configure("quiet", foreground=palette.MUTED)
        self.table.grid(row=0, column=0, sticky="nsew")
        scrolled(self.table, parent, 0)
        self.table.bind("<Configure>", self._leave_out)
        self.table.bind("<<TreeviewSelect>>", self._selected)
        self._signs = self._make_signs()
        self.cells = Cells(self.table, look, image_px=look.units(3.4), spare_to="mostly")

    def _leave_out(self, event: "tk.Event[tk.Misc]") -> None:
        """Leave out what the sign says, and where the ± comes from, rather than cut a name."""
        keys = [key for key, *_ in COLUMNS]
        is_wide = event.width >= self.look.units(NEEDS_EM)
        self.table.configure(displaycolumns=keys if is_wide else keys[:1])

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

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        """Return the taps and the angle of the line looked at."""
        return review_overlay(state, self._line(state), view, self.look.unit)

    def show(self) -> None:
        """Give the keyboard to the frame; show a key frame that has taps."""
        super().show()
        state = self.context.state
        self._fresh.forget()
        if not state.frame and state.step.key_frames:
            state.go_to(state.step.key_frames[0].event)
        elif state.frame:
            state.marking.picture = state.frame.picture

    def refresh_column(self) -> None:
        """Measure again if anything changed, and show what is known."""
        read_again(self.context)
        keep(self.context)
        state = self.context.state
        self._refresh_table(state)
        check_again(self.context)
        self.checks.refresh(state.review.checks)
        self.retap.refresh(retap_words(state))
        self.slots.refresh(state)
        for button in self.buttons:
            button.refresh()
        self._column.title.configure(text="Review")
        self._column.onward.refresh("page sheet", "See the sheet")

    def _line(self, state: AppState) -> Line | None:
        lines = lines_of(state.review.reading) if state.review.reading else ()
        return lines[state.review.row] if state.review.row < len(lines) else None

    def _refresh_table(self, state: AppState) -> None:
        lines = lines_of(state.review.reading) if state.review.reading else ()
        if not self._fresh.is_new(lines):
            return
        self.cells.clear()
        for i, line in enumerate(lines):
            self._insert(i, line)
        self.cells.lay_out()

    def _insert(self, i: int, line: Line) -> None:
        self.cells.insert(
            str(i),
            (f"{line.value} {line.plus_minus} {line.unit}".strip(), line.said, line.mostly),
            f" {line.name}",
            ("quiet",) if line.is_quiet else (),
            image=self._signs.get(line.word, self._signs[""]),
        )

    def _selected(self, event: "tk.Event[tk.Misc]") -> None:
        chosen = self.table.selection()
        reading = self.context.state.review.reading
        if chosen and reading:
            line = lines_of(reading)[int(chosen[0])]
            self.context.state.review.row = int(chosen[0])
            later = later_words(reading, line)
            whole = self.cells.cut_words(chosen[0])
            self.context.state.status = " ".join(
                filter(None, (whole and f"{whole}.", line.why, later))
            )
            if line.event and self.context.state.step.key_frame(line.event):
                self.context.state.go_to(line.event)
            self.context.state.notify()

    def hint(self) -> str:
        """What to do now."""
        state = self.context.state
        why = waiting_for(state) if state.run else ""
        if why:
            return why
        if not state.review.reading:
            return needs_taps(self.context) or "Measuring …"
        n = state.review.reading.results.n_steps
        pooled = f"Values pool {n} steps of this visit. " if n > 1 else ""
        return f"{pooled}Keys 1 to 5 change the key frame. Up and down go through the measures."


BY_RULE = "as the rule chooses"
NONE = "none"


class SlotPanel:
    """Three fields and the sentences that belong to them."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, weight=1)
        self._width = width
        self._items: dict[str, int | None] = {}
        self._typed: dict[str, Typed] = {}
        self.first = self._choice(0, "One thing", "Head.TLabel", 0)
        self.second = self._choice(2, "Second", "Muted.TLabel", 1)
        self.cue = self._field(4, "Cue", lambda text: change_cue(context.state, text))
        self.reason = self._field(6, "Reason", lambda text: change_reason(context.state, text))
        self.reason_label = self._label
        self._em, self._fonts = em_px(parent), window_fonts(parent)
        self._photo: ImageTk.PhotoImage | None = None
        self.map_title = ttk.Label(self.frame, text="Probably starts with", style="Muted.TLabel")
        self.map_title.grid(row=9, column=0, sticky="w", pady=(look.units(0.8), 0))
        self.map = ttk.Label(self.frame)
        self.map.grid(row=10, column=0, sticky="w")
        self.words = wrapped(ttk.Label(self.frame, style="Muted.TLabel"), width - look.units(2))
        self.words.grid(row=8, column=0, sticky="w", pady=(look.units(0.8), 0))

    def _choice(self, row: int, words: str, style: str, i_slot: int) -> ttk.Combobox:
        look = self.look
        ttk.Label(self.frame, text=words, style=style).grid(row=row, column=0, sticky="w")
        box = ttk.Combobox(self.frame, state="readonly")
        box.grid(row=row + 1, column=0, sticky="ew", pady=look.units(0.4))
        box.bind("<<ComboboxSelected>>", lambda event: self._chosen(box, i_slot))
        return box

    def _field(self, row: int, words: str, keep: Callable[[str], None]) -> ttk.Entry:
        look = self.look
        self._label = ttk.Label(self.frame, text=words, style="Muted.TLabel")
        self._label.grid(row=row, column=0, sticky="w")
        entry = ttk.Entry(self.frame)
        entry.grid(row=row + 1, column=0, sticky="ew", pady=look.units(0.4))
        self._typed[words] = Typed(self.context, entry, lambda text: self._kept(keep, text))
        return entry

    def _kept(self, keep: Callable[[str], None], text: str) -> str:
        self.context.attempt(lambda: keep(text))
        return ""

    def _chosen(self, box: ttk.Combobox, i_slot: int) -> None:
        item = self._items.get(box.get())
        self.context.attempt(lambda: choose_slot(self.context.state, i_slot, item))

    def refresh(self, state: AppState) -> None:
        """Show the choice as it stands."""
        if state.review.reading is None:
            self.frame.grid_remove()
            return
        self.frame.grid()
        assessment = state.review.reading.assessment
        if self._fresh.is_new(assessment, state.visit, state.at_hand()):
            self._show(assessment, state.visit.reason if state.visit else "")

    def _show(self, found: Assessment, reason: str) -> None:
        self._items = {BY_RULE: 0, NONE: None, **_choices(found)}
        names = tuple(self._items)
        names_of = {number: name for name, number in self._items.items()}
        taken = [names_of.get(c.item.number, NONE) for c in found.slots] + [NONE, NONE]
        for box, name in zip((self.first, self.second), taken, strict=False):
            box.configure(values=names)
            box.set(name)
        self.first.state(["disabled" if found.most_slots < 1 else "!disabled"])
        self.second.state(["disabled" if found.most_slots < 2 else "!disabled"])
        self._typed["Cue"].fill(found.slots[0].phrase.cue if found.slots else "")
        self._typed["Reason"].fill(reason)
        is_other = bool(reason) or found.lacks_reason
        for widget in (self.reason, self.reason_label):
            widget.grid() if is_other else widget.grid_remove()
        self.words.configure(text=_sentences(found))
        self._draw_map(found)

    def _draw_map(self, found: Assessment) -> None:
        unit, width = self._em, self._width - 6
        drawn = chain_map(found, width, _map_look(unit), self._fonts.width)
        if not drawn.shapes or found.blocked:
            self.map_title.grid_remove()
            self.map.grid_remove()
            return
        size = (width, max(1, round(drawn.height)))
        self._photo = photo(self.frame, drawn.shapes, size, self._fonts, palette.PAPER)
        self.map.configure(image=self._photo)
        self.map_title.grid()
        self.map.grid()


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


def _choices(found: Assessment) -> dict[str, int | None]:
    """Return name -> number of every item that may take a slot, the telling ones first."""
    items = sorted(found.items, key=lambda item: (WORST_FIRST.index(item.word), item.number))
    return {_name(item): item.number for item in items if not item.is_result}


def _name(item: ItemVerdict) -> str:
    foot = f", {item.feet}" if item.feet else ""
    return f"{item.name}{foot}: {item.word}"


def _sentences(found: Assessment) -> str:
    if found.blocked:
        return found.blocked
    if found.lacks_reason:
        return "You chose otherwise than the rule. Write a short reason for the coach's copy."
    if not found.slots:
        return "Nothing is seen or likely: the sheet says what is done well, and “keep this”."
    return " ".join(found.reasons[:2])
