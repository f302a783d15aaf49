"""The small drawing beside the rule that chooses a key frame."""

import tkinter as tk

from PIL import ImageTk

from tapmark.app.fresh import Fresh
from tapmark.app.painting import photo, window_fonts
from tapmark.drawing import palette
from tapmark.drawing.body_prompt import rule_drawing
from tapmark.marks.points import SIDE_EVENTS


class RuleDrawing:
    """A canvas of the given size, px; the few drawings are kept."""

    def __init__(self, parent: tk.Misc, width: int, height: int) -> None:
        self.size = width, height
        self._fonts = window_fonts(parent)
        self._fresh = Fresh()
        self._kept: dict[tuple[str, int], ImageTk.PhotoImage] = {}
        self.canvas = tk.Canvas(
            parent, width=width, height=height, background=palette.WHITE, highlightthickness=0
        )
        self._item = self.canvas.create_image(0, 0, anchor="nw")

    def refresh(self, event: str, travel_sign: int) -> None:
        """Show the drawing of a key frame; a view from behind has none, and "" takes it away."""
        key = (event, travel_sign)
        if not self._fresh.is_new(key):
            return
        if event not in SIDE_EVENTS:
            self.canvas.grid_remove()
            return
        self.canvas.grid()
        if key not in self._kept:
            shapes = rule_drawing(event, self.size, travel_sign)
            self._kept[key] = photo(self.canvas, shapes, self.size, self._fonts)
        self.canvas.itemconfigure(self._item, image=self._kept[key])
