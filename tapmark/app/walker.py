"""Buttons that walk through the pictures, one or ten at a time; held down, they run."""

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Any

from tapmark.app.desk import Desk
from tapmark.app.folding import fold
from tapmark.app.frame_deeds import go_to_picture
from tapmark.app.fresh import Fresh
from tapmark.app.scrubber import Scrubber
from tapmark.app.soon import soon
from tapmark.app.state import AppState
from tapmark.app.step_deeds import LIMB_KEYS
from tapmark.app.style import Look
from tapmark.app.widgets import ActionButton
from tapmark.clip.frames import Clip
from tapmark.marks.points import TURNING_LIMBS

HOLD_MS, RUN_MS = 350, 70
BAR_EM = 24  # of the scrub bar: below that the number of the picture goes under it
WALK = (("ten back", "−10"), ("picture back", "−1"), ("picture on", "+1"), ("ten on", "+10"))
SHORT = {
    "touchdown": "1",
    "mid-stance": "2",
    "toe-off": "3",
    "peak knee lift": "4",
    "opposite touchdown": "5",
    "last contact": "1",
    "most turned": "2",
}


class Walker:
    """The scrub bar with four buttons and the number of the picture."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look) -> None:
        self.desk, self._look, self._fresh = desk, look, Fresh()
        self._timer: Any = None
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(2, weight=1)
        self.scrubber = Scrubber(self.frame, look, lambda i: go_to_picture(desk, i))
        self.scrubber.canvas.grid(row=0, column=2, sticky="ew", padx=look.em(1))
        self.buttons: dict[str, ttk.Button] = {}
        for column, (name, text) in zip((0, 1, 3, 4), WALK, strict=True):
            button = ttk.Button(self.frame, text=text, width=4)
            button.grid(row=0, column=column, sticky="n", padx=look.em(0.3), pady=look.em(0.9))
            button.bind("<ButtonPress-1>", partial(self._hold, name=name))
            button.bind("<ButtonRelease-1>", self._let_go)
            button.configure(command=partial(self._walk, name))
            self.buttons[name] = button
        self.number = ttk.Label(self.frame, style="Muted.TLabel", anchor="e", width=22)
        self._words = ""
        self.stop = ActionButton(self.frame, desk, look, "stop reading", "Stop")
        self.stop.grid(row=0, column=6, sticky="n", padx=(look.em(1), 0), pady=look.em(0.9))
        self._has_run = False
        bar_px = ttk.Frame(self.frame, width=look.em(BAR_EM))  # never shown: what a bar needs
        fold(self.frame, (*self.buttons.values(), bar_px, self.number), look.em(1), self._lay_out)

    def _lay_out(self, is_folded: bool) -> None:
        em = self._look.em
        if is_folded:
            self.number.grid(row=1, column=0, columnspan=6, sticky="e", padx=0, pady=0)
        else:
            self.number.grid(row=0, column=5, columnspan=1, sticky="ne")
            self.number.grid_configure(padx=(em(1), 0), pady=em(1.8))

    def _walk(self, name: str) -> None:
        if not self._has_run:
            self.desk.perform(name)
        self._has_run = False

    def _hold(self, event: Any, name: str) -> None:
        self._has_run = False
        self._timer = soon(self.frame, HOLD_MS, lambda: self._run_on(name))

    def _run_on(self, name: str) -> None:
        self._has_run = True
        self.desk.perform(name)
        self._timer = soon(self.frame, RUN_MS, lambda: self._run_on(name))

    def _let_go(self, event: Any) -> None:
        if self._timer is not None:
            self.frame.winfo_toplevel().after_cancel(self._timer)
            self._timer = None

    def refresh(self, state: AppState) -> None:
        """Show where we are."""
        pictures = state.gallery.pictures if state.gallery else None
        count = len(pictures) if pictures else 0
        expected = pictures.n_expected if isinstance(pictures, Clip) else None
        marks = tuple(
            (frame.picture, SHORT[frame.event], frame.event == state.event)
            for frame in state.step.key_frames
        )
        spans = tuple(
            (mark.first_picture, mark.last_picture, LIMB_KEYS[TURNING_LIMBS.index(mark.limb)])
            for mark in state.step.turning_marks
        )
        self.scrubber.refresh(state.picture, count, expected, marks, spans)
        words = number_words(state.picture, count, expected)
        if words != self._words:
            self._words = words
            self.number.configure(text=words)
        is_reading = expected is not None and expected > count
        if self._fresh.is_new(is_reading, bool(count)):
            self.stop.button.grid() if is_reading else self.stop.button.grid_remove()
            for button in self.buttons.values():
                button.state(["!disabled" if count else "disabled"])


def number_words(picture: int, count: int, expected: int | None) -> str:
    """Return "picture 12 of 240", and how far a clip is read."""
    if not count:
        return ""
    if expected and expected > count:
        return f"picture {picture + 1}, read {100 * count // expected} %"
    return f"picture {picture + 1} of {count}"
