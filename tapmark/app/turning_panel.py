"""Turning marks: four limbs, each with the first and last picture in which it seems still.

The pair that the camera sees, near thigh and near hand, stands first.
"""

import tkinter as tk
from functools import partial
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.state import AppState
from tapmark.app.step_deeds import LIMB_KEYS
from tapmark.app.style import Look
from tapmark.marks.points import TURNING_LIMBS
from tapmark.marks.run import TurningMark

SHORT = {
    "rear thigh": "Near thigh stops going back",
    "hand forward": "Near hand stops going forward",
    "lead thigh": "Far, leading thigh stops rising",
    "elbow back": "Far elbow stops going back",
}


class TurningPanel:
    """A heading and four buttons; pressed once at the first still picture, once at the last."""

    def __init__(self, parent: tk.Misc, desk: Desk, look: Look) -> None:
        self.frame = ttk.Frame(parent)
        title = ttk.Label(self.frame, text="Turning marks, if you like", style="Muted.TLabel")
        title.grid(row=0, column=0, sticky="w", pady=(0, look.em(0.4)))
        self.frame.columnconfigure(0, weight=1)
        self.buttons: dict[str, ttk.Button] = {}
        for i, limb in enumerate(TURNING_LIMBS):
            button = ttk.Button(
                self.frame,
                command=partial(desk.perform, f"plateau {limb}"),
                style="Slim.TButton",
            )
            button.grid(row=1 + i, column=0, sticky="ew", pady=(0, look.em(0.2)))
            self.buttons[limb] = button

    def refresh(self, state: AppState) -> None:
        """Show which are marked; they belong to the side view only."""
        if state.run is None or state.run.view != "side":
            self.frame.grid_remove()
            return
        self.frame.grid()
        for key, (limb, button) in zip(LIMB_KEYS, self.buttons.items(), strict=True):
            button.configure(text=f"{key}  {SHORT[limb]}{_said(state.step.turning_mark(limb))}")


def _said(mark: TurningMark | None) -> str:
    if mark is None:
        return ""
    first, last = mark.first_picture + 1, mark.last_picture + 1
    return f" {first}…" if first == last else f" {first}–{last}"
