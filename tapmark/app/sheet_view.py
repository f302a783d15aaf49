"""The Sheet page: the page exactly as it will print, and the way to paper."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from PIL import Image, ImageTk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.review_deeds import needs_taps
from tapmark.app.sheet_deeds import choose_copy, choose_paper, preview
from tapmark.app.state import AppState
from tapmark.app.style import Look
from tapmark.app.widgets import Side, button_row, wrapped
from tapmark.drawing import palette
from tapmark.errands.sheets import COPIES
from tapmark.sheet.content import PAPERS

WORDS_EM = 40
NAMES = {
    "a4": "A4",
    "letter": "Letter",
    "athlete": "for the athlete",
    "coach": "for the coach",
    "photo": "with a photo",
}


class SheetView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look, self._fresh = desk, look, Fresh()
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        self.canvas = tk.Canvas(
            side.large,
            background=palette.HAIRLINE,
            highlightthickness=2,
            highlightcolor=palette.ACCENT,
            highlightbackground=palette.HAIRLINE,
            takefocus=1,
            width=1,
            height=1,
        )
        self.canvas.grid(row=0, column=0, sticky="nsew")
        self._item = self.canvas.create_image(0, 0, anchor="center")
        self._photo: ImageTk.PhotoImage | None = None
        self.canvas.bind("<Configure>", lambda event: desk.state.tell())
        self._build_words(side.words)
        self._build_foot(side.foot)
        side.column.follow_keyboard()
        return side.frame

    def _build_words(self, words: ttk.Frame) -> None:
        look, width = self.look, self.look.em(WORDS_EM)
        ttk.Label(words, text="The sheet", style="Title.TLabel").grid(row=0, column=0, sticky="w")
        self.about = wrapped(ttk.Label(words), width)
        self.about.grid(row=1, column=0, sticky="w", pady=(look.em(0.6), look.em(1.4)))
        self.paper = self._choice(words, 2, "Paper", PAPERS, partial(choose_paper, self.desk))
        self.copy = self._choice(words, 3, "Copy", COPIES, partial(choose_copy, self.desk))
        self.cautions = wrapped(ttk.Label(words, style="Muted.TLabel"), width)
        self.cautions.grid(row=4, column=0, sticky="w", pady=look.em(1.4))

    def _build_foot(self, foot: ttk.Frame) -> None:
        names = (("show sheet", "Open"), ("print sheet", "Print"), ("make sheet", ""))
        _, self.buttons = button_row(foot, self.desk, self.look, names)

    def _choice(
        self, parent: ttk.Frame, row: int, words: str, choices: tuple[str, ...], keep: partial[None]
    ) -> ttk.Combobox:
        box = ttk.Frame(parent)
        box.grid(row=row, column=0, sticky="ew", pady=self.look.em(0.4))
        box.columnconfigure(1, weight=1)
        ttk.Label(box, text=words, width=8).grid(row=0, column=0, sticky="w")
        field = ttk.Combobox(box, values=[NAMES[c] for c in choices], state="readonly")
        field.grid(row=0, column=1, sticky="ew")
        keys = {NAMES[choice]: choice for choice in choices}
        field.bind(
            "<<ComboboxSelected>>",
            lambda event: self.desk.attempt(lambda: keep(keys[field.get()])),
        )
        return field

    def show(self) -> None:
        """Give the keyboard to the page."""
        self.canvas.focus_set()
        self._fresh.forget()

    def refresh(self) -> None:
        """Set the page anew if anything changed, and show it."""
        preview(self.desk)
        state = self.desk.state
        for button in self.buttons:
            button.refresh()
        self.paper.set(NAMES[self.desk.paper])
        self.copy.set(NAMES[state.copy])
        self._refresh_page(state)
        reading = state.reading
        self.about.configure(text=_about(state, needs_taps(self.desk)))
        cautions = reading.assessment.cautions if reading else ()
        self.cautions.configure(text="\n".join(cautions))

    def _refresh_page(self, state: AppState) -> None:
        size = (self.canvas.winfo_width(), self.canvas.winfo_height())
        page = state.pages[state.i_page] if state.pages else None
        if not self._fresh.is_new(id(page), size):
            return
        self.canvas.coords(self._item, size[0] / 2, size[1] / 2)
        if page is None or size[0] < 20:
            self.canvas.itemconfigure(self._item, image="")
            return
        margin = self.look.em(1)
        scale = min((size[0] - 2 * margin) / page.width, (size[1] - 2 * margin) / page.height)
        small = page.resize(
            (max(1, round(page.width * scale)), max(1, round(page.height * scale))),
            Image.Resampling.LANCZOS,
            reducing_gap=3.0,
        )
        self._photo = ImageTk.PhotoImage(small, master=self.canvas)
        self.canvas.itemconfigure(self._item, image=self._photo)

    def hint(self) -> str:
        """What to do now."""
        return "This is the page as it will print. Page Up and Page Down turn the coach's copy."

    def corner(self) -> str:
        """Which page of how many."""
        n = len(self.desk.state.pages)
        return f"page {self.desk.state.i_page + 1} of {n}" if n else ""


def _about(state: AppState, hindrance: str) -> str:
    if not state.pages:
        return f"Nothing to print yet. {hindrance}" if hindrance else "Setting the page …"
    return "One side of paper, black and white. It goes beside the visit, as PDF and as a web page."
