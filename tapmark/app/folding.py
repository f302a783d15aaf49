"""Large text on a small screen: what does not fit beside something goes below it."""

import tkinter as tk
from collections.abc import Callable, Sequence
from tkinter import ttk


def needed(widgets: Sequence[tk.Misc], gap: int) -> int:
    """Return the width that widgets ask for beside each other, px."""
    return sum(widget.winfo_reqwidth() + gap for widget in widgets) - gap


def fold(
    frame: ttk.Frame, widgets: Sequence[tk.Misc], gap: int, lay_out: Callable[[bool], None]
) -> None:
    """Call lay_out now and whenever it changes whether the widgets fit beside each other.

    lay_out: gets True where they need more than the frame is wide.
    """
    folded: list[bool] = []

    def look(width: int) -> None:
        is_folded = width > 1 and needed(widgets, gap) > width
        if folded != [is_folded]:
            folded[:] = [is_folded]
            lay_out(is_folded)

    look(1)
    frame.bind("<Configure>", lambda event: look(event.width), add="+")


def fold_second(frame: ttk.Frame, first: tk.Misc, second: tk.Widget, gap: int, drop: int) -> None:
    """Keep the second widget at the right of the first, or below it where both do not fit.

    gap: least px between them, drop: px above the second where it stands below.
    """

    def lay_out(is_folded: bool) -> None:
        if is_folded:
            second.grid(row=1, column=0, columnspan=2, sticky="w", pady=(drop, 0))
        else:
            second.grid(row=0, column=1, columnspan=1, sticky="e", pady=0)

    fold(frame, (first, second), gap, lay_out)


def wrap_within(label: ttk.Label, frame: ttk.Frame, rim: int = 6) -> None:
    """Let a label break its lines at the width of a frame, whatever that becomes."""

    def wrap(event: "tk.Event[tk.Misc]") -> None:
        label.configure(wraplength=max(1, event.width - rim), justify="left")

    frame.bind("<Configure>", wrap, add="+")
