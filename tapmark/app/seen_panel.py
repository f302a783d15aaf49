"""Questions about what was seen and not measured, each with its answer, on the Frames page."""

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Any

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.seen_deeds import LEVELS, answer_of, questions_of, see
from tapmark.app.state import AppState
from tapmark.app.style import Look
from tapmark.app.widgets import wrapped


class SeenPanel:
    """A heading and a row for each question of the view; it is built anew for another view."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look, width: int) -> None:
        self.desk, self.look, self.width = desk, look, width
        self._built, self._fresh = Fresh(), Fresh()
        self.boxes: dict[str, ttk.Combobox] = {}
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, weight=1)

    def refresh(self, state: AppState) -> None:
        """Show the questions of this view and their answers."""
        view = state.run.view if state.run else ""
        if self._built.is_new(view):
            self._build(view)
        if self._fresh.is_new(view, state.step.ticks):
            for name, box in self.boxes.items():
                box.set(answer_of(self.desk, name))

    def _build(self, view: str) -> None:
        look = self.look
        for child in self.frame.winfo_children():
            child.destroy()
        self.boxes = {}
        if not questions_of(view):
            return
        title = ttk.Label(self.frame, text="Seen, not measured", style="Muted.TLabel")
        title.grid(row=0, column=0, columnspan=2, sticky="w", pady=(0, look.em(0.4)))
        for row, (name, words) in enumerate(questions_of(view).items(), start=1):
            label = wrapped(ttk.Label(self.frame, text=words), self.width - look.em(15))
            label.grid(row=row, column=0, sticky="w")
            box = ttk.Combobox(self.frame, values=LEVELS, state="readonly", width=11)
            box.grid(row=row, column=1, sticky="e", pady=look.em(0.3))
            box.bind("<<ComboboxSelected>>", partial(self._keep, name=name))
            self.boxes[name] = box

    def _keep(self, event: Any, name: str) -> None:
        self.desk.attempt(lambda: see(self.desk, name, self.boxes[name].get()))
