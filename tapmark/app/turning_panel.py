"""Turning marks: four limbs, each with the first and last picture in which it seems still."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.state import AppState
from tapmark.app.step_deeds import LIMB_KEYS
from tapmark.app.style import Look
from tapmark.marks.points import TURNING_LIMBS
from tapmark.marks.run import TurningMark


class TurningPanel:
    """A heading and four buttons; pressed once at the first still picture, once at the last."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look) -> None:
        self.frame = ttk.Frame(parent)
        title = ttk.Label(self.frame, text="Turning marks, if you like", style="Muted.TLabel")
        title.grid(row=0, column=0, columnspan=2, sticky="w", pady=(0, look.em(0.4)))
        self.buttons: dict[str, ttk.Button] = {}
        for i, limb in enumerate(TURNING_LIMBS):
            self.frame.columnconfigure(i % 2, weight=1, uniform="pair")
            button = ttk.Button(
                self.frame,
                command=partial(desk.perform, f"plateau {limb}"),
                style="Slim.TButton",
            )
            pad = (0, look.em(0.5)) if i % 2 == 0 else (look.em(0.5), 0)
            button.grid(row=1 + i // 2, column=i % 2, sticky="ew", padx=pad, pady=(0, look.em(0.4)))
            self.buttons[limb] = button

    def refresh(self, state: AppState) -> None:
        """Show which are marked; they belong to the side view only."""
        if state.run is None or state.run.view != "side":
            self.frame.grid_remove()
            return
        self.frame.grid()
        for key, (limb, button) in zip(LIMB_KEYS, self.buttons.items(), strict=True):
            button.configure(text=f"{key}  {limb}{_said(state.step.turning_mark(limb))}")


def _said(mark: TurningMark | None) -> str:
    if mark is None:
        return ""
    first, last = mark.first_picture + 1, mark.last_picture + 1
    return f" {first}…" if first == last else f" {first}–{last}"
