"""The Review page: the figure over each key frame, what was measured, what to work on."""

import tkinter as tk
from tkinter import ttk
from typing import Literal

from PIL import ImageTk

from tapmark.app.cells import Cells
from tapmark.app.check_panel import CheckPanel, RetapPanel
from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.one_later import later_words
from tapmark.app.overlays import review_overlay
from tapmark.app.painting import clear_photo, window_fonts
from tapmark.app.picture_pane import Hands, PicturePane
from tapmark.app.review_deeds import check_again, needs_taps, read_again, retap_words
from tapmark.app.seen import waiting_for
from tapmark.app.slot_panel import SlotPanel
from tapmark.app.state import AppState
from tapmark.app.stills_deeds import keep
from tapmark.app.strip import Strip
from tapmark.app.style import Look
from tapmark.app.tap_view import zoom_words
from tapmark.app.verdict_rows import Line, lines_of
from tapmark.app.widgets import Side, button_row, scrolled
from tapmark.checklist.verdict import WORDS
from tapmark.drawing import palette
from tapmark.drawing.palette import BLACK
from tapmark.drawing.signs import verdict_sign

WORDS_EM = 82
NEEDS_EM = 76  # of the list, for all of its columns
COLUMNS: tuple[tuple[str, str, Literal["w", "e"]], ...] = (
    ("value", "value", "e"),
    ("plus", "±", "e"),
    ("unit", "", "w"),
    ("word", "verdict", "w"),
    ("mostly", "± mostly", "w"),
)


class ReviewView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look, self._fresh = desk, look, Fresh()
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        hands = Hands(moved=desk.state.look_through, resized=desk.state.tell)
        self.pane = PicturePane(side.large, look, hands)
        self.pane.canvas.grid(row=0, column=0, sticky="nsew")
        self.strip = Strip(side.large, look, desk.painter, self._to_event)
        self.strip.canvas.grid(row=1, column=0, sticky="ew", pady=(look.em(1.2), 0))
        self.checks = CheckPanel(side.large, desk, look, look.em(78), 2)
        self.checks.frame.grid(row=2, column=0, sticky="ew", pady=(look.em(1), 0))
        self.retap = RetapPanel(side.large, desk, look, look.em(78))
        self.retap.frame.grid(row=3, column=0, sticky="ew", pady=(look.em(1), 0))
        side.words.rowconfigure(0, weight=1)
        self._build_table(side.words)
        self.slots = SlotPanel(side.words, desk, look, side.width_em)
        self.slots.frame.grid(row=1, column=0, columnspan=2, sticky="ew", pady=(look.em(1.2), 0))
        self._build_buttons(side.foot)
        side.column.follow_keyboard()
        return side.frame

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
        self.cells = Cells(self.table, look, image_px=look.em(3.4), spare_to="mostly")

    def _leave_out(self, event: "tk.Event[tk.Misc]") -> None:
        """Leave out where the ± comes from rather than cut what was measured."""
        keys = [key for key, *_ in COLUMNS]
        is_wide = event.width >= self.look.em(NEEDS_EM)
        self.table.configure(displaycolumns=keys if is_wide else keys[:-1])

    def _make_signs(self) -> dict[str, ImageTk.PhotoImage]:
        fonts, size = window_fonts(self.table), (self.look.em(3.4), self.look.em(2.4))
        return {
            word: clear_photo(
                self.table,
                verdict_sign(word, (size[0] / 2, size[1] / 2), size[1] * 0.85, BLACK),
                size,
                fonts,
            )
            for word in (*WORDS, "")
        }

    def _build_buttons(self, parent: ttk.Frame) -> None:
        names = (("another pass", ""), ("second look", ""), ("page sheet", "See the sheet"))
        _, self.buttons = button_row(parent, self.desk, self.look, names)

    def show(self) -> None:
        """Give the keyboard to the picture; show a key frame that has taps."""
        state = self.desk.state
        self._fresh.forget()
        if not state.frame and state.step.key_frames:
            state.go_to(state.step.key_frames[0].event)
        elif state.frame:
            state.picture = state.frame.picture
        self.pane.canvas.focus_set()

    def refresh(self) -> None:
        """Measure again if anything changed, and show what is known."""
        read_again(self.desk)
        keep(self.desk)
        state = self.desk.state
        state.canvas = self.pane.size
        if state.gallery and state.run and state.picture < len(state.gallery.pictures):
            state.gallery.want_full(state.picture, state.tell)
            self.pane.show(state.gallery, state.picture, state.viewport(), state.tone)
            shapes = review_overlay(state, self._line(state), state.viewport(), self.look.unit)
            self.pane.draw(shapes, delay_ms=1)
        else:
            self.pane.clear()
        self.strip.refresh(state)
        self._refresh_table(state)
        check_again(self.desk)
        self.checks.refresh(state.checks)
        self.retap.refresh(retap_words(self.desk))
        self.slots.refresh(state)
        for button in self.buttons:
            button.refresh()

    def _line(self, state: AppState) -> Line | None:
        lines = lines_of(state.reading) if state.reading else ()
        return lines[state.row] if state.row < len(lines) else None

    def _refresh_table(self, state: AppState) -> None:
        lines = lines_of(state.reading) if state.reading else ()
        if not self._fresh.is_new(lines):
            return
        self.cells.clear()
        for i, line in enumerate(lines):
            self._insert(i, line)
        self.cells.lay_out()

    def _insert(self, i: int, line: Line) -> None:
        self.cells.insert(
            str(i),
            (line.value, line.plus_minus, line.unit, line.said, line.mostly),
            f" {line.name}",
            ("quiet",) if line.is_quiet else (),
            image=self._signs.get(line.word, self._signs[""]),
        )

    def _selected(self, event: "tk.Event[tk.Misc]") -> None:
        chosen = self.table.selection()
        reading = self.desk.state.reading
        if chosen and reading:
            line = lines_of(reading)[int(chosen[0])]
            self.desk.state.row = int(chosen[0])
            later = later_words(reading, line)
            whole = self.cells.cut_words(chosen[0])
            self.desk.state.said = " ".join(filter(None, (whole and f"{whole}.", line.why, later)))
            if line.event and self.desk.state.step.key_frame(line.event):
                self.desk.state.go_to(line.event)
            self.desk.state.tell()

    def hint(self) -> str:
        """What to do now."""
        state = self.desk.state
        why = waiting_for(state) if state.run else ""
        if why:
            return why
        if not state.reading:
            return needs_taps(self.desk) or "Measuring …"
        n = state.reading.results.n_steps
        pooled = f"Values pool {n} steps of this visit. " if n > 1 else ""
        return f"{pooled}Keys 1 to 5 change the key frame. Up and down go through the measures."

    def corner(self) -> str:
        """The zoom."""
        return zoom_words(self.desk.state.viewport()) if self.desk.state.gallery else ""

    def _to_event(self, event: str) -> None:
        self.desk.attempt(lambda: self.desk.state.go_to(event))
