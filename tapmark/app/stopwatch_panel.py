"""The question for two readings of a stopwatch, in the place of the other questions."""

import tkinter as tk
from collections.abc import Callable
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.state import AppState
from tapmark.app.stopwatch_deeds import found_rate, take_reading, use_rate
from tapmark.app.style import Look
from tapmark.app.widgets import wrapped
from tapmark.errands.true_rate import rate_words
from tapmark.errors import StopwatchUnusable

ABOUT = (
    "Film a running stopwatch once with each phone, in the slow motion you use. Go to a picture "
    "where it can be read, type what it shows, and take it. Then go on by ten seconds of the "
    "watch or more, and take a second reading."
)


class StopwatchPanel:
    """Two readings, what they say, and the name of the phone that is kept with the squad."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look, width_em: float) -> None:
        self.desk, self._fresh = desk, Fresh()
        width, gap = look.em(width_em), look.em(0.8)
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(1, weight=1)
        title = ttk.Label(self.frame, text="True rate by a stopwatch", style="Head.TLabel")
        title.grid(row=0, column=0, columnspan=3, sticky="w")
        about = wrapped(ttk.Label(self.frame, text=ABOUT, style="Muted.TLabel"), width)
        about.grid(row=1, column=0, columnspan=3, sticky="w", pady=(look.em(0.3), look.em(1.2)))
        self.shown, self.take = self._row(2, "The watch shows", "Take reading", self._take, gap)
        self.taken = wrapped(ttk.Label(self.frame), width)
        self.taken.grid(row=3, column=0, columnspan=3, sticky="w", pady=(gap, gap))
        self.phone, self.use = self._row(4, "Name of the phone", "Use and keep", self._use, gap)
        self.trouble = wrapped(ttk.Label(self.frame, style="Error.TLabel"), width)
        self.trouble.grid(row=5, column=0, columnspan=3, sticky="w", pady=(gap, 0))
        self.leave = ttk.Button(
            self.frame, text="Leave as it was", command=lambda: desk.perform("leave")
        )
        self.leave.grid(row=6, column=2, sticky="e", pady=(look.em(1.6), 0))

    def _row(
        self, row: int, words: str, button: str, deed: Callable[[], None], gap: int
    ) -> tuple[ttk.Entry, ttk.Button]:
        ttk.Label(self.frame, text=words).grid(row=row, column=0, sticky="w", padx=(0, gap))
        entry = ttk.Entry(self.frame, width=10)
        entry.grid(row=row, column=1, sticky="ew")
        entry.bind("<Return>", lambda event: deed())
        made = ttk.Button(self.frame, text=button, command=deed, width=13)
        made.grid(row=row, column=2, sticky="e", padx=(gap, 0))
        return entry, made

    def _take(self) -> None:
        if self._tried(lambda: take_reading(self.desk, self.shown.get()), self.shown):
            self.shown.delete(0, "end")

    def _use(self) -> None:
        if self._tried(lambda: use_rate(self.desk, self.phone.get()), self.phone):
            self.phone.delete(0, "end")

    def _tried(self, deed: Callable[[], None], field: ttk.Entry) -> bool:
        """Do it; what cannot be stands below the fields. Return whether it went well."""
        try:
            deed()
        except StopwatchUnusable as trouble:
            field.state(["invalid"])
            self.trouble.configure(text=str(trouble))
            self.desk.state.tell()
            return False
        self._mend()
        self.desk.attempt(lambda: None)
        return True

    def _mend(self) -> None:
        for field in (self.shown, self.phone):
            field.state(["!invalid"])
        self.trouble.configure(text="")

    def refresh(self, state: AppState) -> None:
        """Show the readings and what they say; take no room when nobody asked."""
        if state.stopwatch is None:
            self.frame.grid_remove()
            self._fresh.forget()
            return
        is_new = not self.frame.winfo_ismapped()
        self.frame.grid()
        if self._fresh.is_new(state.stopwatch):
            self.taken.configure(text=taken_words(self.desk))
            is_whole = state.stopwatch.is_whole
            for widget in (self.phone, self.use):
                widget.state(["!disabled" if is_whole else "disabled"])
        if is_new:
            self._mend()
            self.shown.focus_set()


def taken_words(desk: Desk) -> str:
    """Return the readings taken so far, a line each, and what they say together."""
    readings = desk.state.stopwatch.readings if desk.state.stopwatch else ()
    lines = [f"Picture {each.picture + 1} shows {each.shown_s:.2f} s." for each in readings]
    try:
        found = found_rate(desk)
    except StopwatchUnusable as trouble:
        return "\n".join([*lines, str(trouble)])
    return "\n".join([*lines, rate_words(found)] if found else lines) or "No reading yet."
