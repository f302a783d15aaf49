"""The page as it will print, and the way to paper."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from PIL import Image, ImageTk

from tapmark.app.review.page_actions import choose_copy, choose_paper, preview
from tapmark.app.shell.context import Context
from tapmark.app.shell.why_disabled import needs_taps
from tapmark.app.state.session import AppState
from tapmark.app.widgets.columns import Side
from tapmark.app.widgets.fields import choice
from tapmark.app.widgets.pieces import Fresh, box, button_row, label, put, surface
from tapmark.app.widgets.theme import Look
from tapmark.report.drawing import palette
from tapmark.services.pages import COPIES
from tapmark.store.choices import PAPERS

WORDS_EM = 40
ABOUT = "One side of paper, black and white. It goes beside the visit, as PDF and as a web page."
NAMES = {
    "a4": "A4",
    "letter": "Letter",
    "athlete": "for the athlete",
    "coach": "for the coach",
    "photo": "with a photo",
}


class SheetView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        self.context, self.look, self._fresh = context, look, Fresh()
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        self.canvas = put(surface(side.large, palette.HAIRLINE, 2), 0, 0, "nsew")
        self._item = self.canvas.create_image(0, 0, anchor="center")
        self._photo: ImageTk.PhotoImage | None = None
        self.canvas.bind("<Configure>", lambda event: context.state.notify())
        words, width = side.words, look.units(WORDS_EM)
        label(words, 0, "The sheet", "Title.TLabel")
        self.about = label(words, 1, wrap=width, pady=(look.units(0.6), look.units(1.4)))
        self.paper = self._choice(words, 2, "Paper", PAPERS, partial(choose_paper, context.state))
        self.copy = self._choice(words, 3, "Copy", COPIES, partial(choose_copy, context.state))
        self.cautions = label(words, 4, style="Muted.TLabel", wrap=width, pady=look.units(1.4))
        names = (("show sheet", "Open"), ("print sheet", "Print"), ("make sheet", ""))
        button_row(side.foot, context, look, names)
        side.column.follow_keyboard()
        return side.frame

    def _choice(
        self, parent: ttk.Frame, row: int, words: str, choices: tuple[str, ...], keep: partial[None]
    ) -> ttk.Combobox:
        line = box(parent, row, grows=1, pady=self.look.units(0.4))
        put(ttk.Label(line, text=words, width=8), sticky="w")
        keys = {NAMES[each]: each for each in choices}

        def chosen(words: str) -> None:
            self.context.attempt(lambda: keep(keys[words]))

        return put(choice(line, chosen, values=[*keys]), 0, 1, "ew")

    def show(self) -> None:
        self.canvas.focus_set()
        self._fresh.forget()

    def refresh(self) -> None:
        preview(self.context)
        state = self.context.state
        self.paper.set(NAMES[self.context.state.paper])
        self.copy.set(NAMES[state.sheet.copy])
        self._refresh_page(state)
        reading, why = state.review.reading, needs_taps(self.context)
        about = f"Nothing to print yet. {why}" if why else "Setting the page …"
        self.about.configure(text=ABOUT if state.sheet.pages else about)
        cautions = reading.assessment.cautions if reading else ()
        self.cautions.configure(text="\n".join(cautions))

    def _refresh_page(self, state: AppState) -> None:
        size = (self.canvas.winfo_width(), self.canvas.winfo_height())
        page = state.sheet.pages[state.sheet.i_page] if state.sheet.pages else None
        if not self._fresh.is_new(id(page), size):
            return
        self.canvas.coords(self._item, size[0] / 2, size[1] / 2)
        if page is None or size[0] < 20:
            self.canvas.itemconfigure(self._item, image="")
            return
        margin = self.look.units(1)
        scale = min((size[0] - 2 * margin) / page.width, (size[1] - 2 * margin) / page.height)
        small = page.resize(
            (max(1, round(page.width * scale)), max(1, round(page.height * scale))),
            Image.Resampling.LANCZOS,
            reducing_gap=3.0,
        )
        self._photo = ImageTk.PhotoImage(small, master=self.canvas)
        self.canvas.itemconfigure(self._item, image=self._photo)

    def hint(self) -> str:
        return "This is the page as it will print. Page Up and Page Down turn the coach's copy."

    def corner(self) -> str:
        n = len(self.context.state.sheet.pages)
        return f"page {self.context.state.sheet.i_page + 1} of {n}" if n else ""
