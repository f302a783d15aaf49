"""The small drawn body that shows which point is asked for."""

import tkinter as tk

from PIL import ImageTk

from tapmark.app.fresh import Fresh
from tapmark.app.painting import painted, window_fonts
from tapmark.app.state import AppState
from tapmark.drawing import palette
from tapmark.drawing.body_prompt import body_prompt


class PromptDrawing:
    """A canvas of the given size, px; drawings are kept, there are few."""

    def __init__(self, parent: tk.Misc, width: int, height: int) -> None:
        self.size = width, height
        self._fonts = window_fonts(parent)
        self._fresh = Fresh()
        self._kept: dict[tuple[str, str, int], ImageTk.PhotoImage] = {}
        self.canvas = tk.Canvas(
            parent, width=width, height=height, background=palette.WHITE, highlightthickness=0
        )
        self._item = self.canvas.create_image(0, 0, anchor="nw")

    def refresh(self, state: AppState) -> None:
        """Show the drawing for the prompt at hand."""
        prompt, run = state.prompt, state.run
        if prompt is None or run is None:
            self.canvas.itemconfigure(self._item, image="")
            self._fresh.forget()
            return
        key = (prompt.event, prompt.point, run.travel_sign)
        if not self._fresh.is_new(key):
            return
        if key not in self._kept:
            shapes = body_prompt(prompt.event, prompt.point, self.size, run.travel_sign)
            self._kept[key] = ImageTk.PhotoImage(
                painted(shapes, self.size, self._fonts), master=self.canvas
            )
        self.canvas.itemconfigure(self._item, image=self._kept[key])
