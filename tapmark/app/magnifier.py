"""The magnifier: the pixels under the pointer, each a square, beside the picture.

It stands in the column of words, so it never covers the limb that is looked at.
"""

import tkinter as tk

from PIL import ImageTk

from tapmark.app.gallery import Gallery
from tapmark.app.tone import Tone
from tapmark.app.viewport import Point
from tapmark.drawing import palette

PIXELS = 31  # across; odd, so that one pixel is the middle one


class Magnifier:
    """A square canvas of the given side, px."""

    def __init__(self, parent: tk.Misc, side: int) -> None:
        self.side = side - side % PIXELS + (PIXELS if side % PIXELS > PIXELS / 2 else 0)
        self.side = max(PIXELS * 3, self.side)
        self.canvas = tk.Canvas(
            parent,
            width=self.side,
            height=self.side,
            background=palette.HAIRLINE,
            highlightthickness=0,
        )
        self._photo = ImageTk.PhotoImage("RGB", (self.side, self.side), master=parent)
        self._item = self.canvas.create_image(0, 0, anchor="nw", state="hidden", image=self._photo)
        self._cross()

    def _cross(self) -> None:
        middle, cell = self.side / 2, self.side / PIXELS
        gap = cell * 1.5
        for colour, width in ((palette.CASING, 4), (palette.WHITE, 2)):
            for a, b in ((0.0, middle - gap), (middle + gap, float(self.side))):
                self.canvas.create_line(
                    a, middle, b, middle, fill=colour, width=width, tags="cross"
                )
                self.canvas.create_line(
                    middle, a, middle, b, fill=colour, width=width, tags="cross"
                )
        self.canvas.itemconfigure("cross", state="hidden")

    def show(self, gallery: Gallery, i: int, at: Point, tone: Tone) -> None:
        """Show the pixels around a picture point."""
        self._photo.paste(gallery.near(i, at, PIXELS, self.side, tone))
        self.canvas.itemconfigure("all", state="normal")
