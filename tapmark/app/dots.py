"""Small smooth pictures that are drawn often: dots of a list, the handle of a bar."""

import tkinter as tk

from PIL import ImageTk

from tapmark.app.painting import photo, window_fonts
from tapmark.drawing import palette
from tapmark.drawing.shapes import Ring, Shapes

OPEN, DONE, HALF, HERE, HANDLE = "open", "done", "half", "here", "handle"


class Dots:
    """The pictures by name, each in a square of 2.4 u on the ground they stand on."""

    def __init__(self, parent: tk.Misc, u: int, ground: str = palette.PAPER) -> None:
        side = round(2.4 * u)
        fonts, centre = window_fonts(parent), (side / 2, side / 2)
        self._made = {
            name: photo(parent, _shapes(name, centre, u), (side, side), fonts, ground)
            for name in (OPEN, DONE, HALF, HERE, HANDLE)
        }

    def __getitem__(self, name: str) -> ImageTk.PhotoImage:
        """Return the picture of that name."""
        return self._made[name]


def _shapes(name: str, at: tuple[float, float], u: int) -> Shapes:
    match name:
        case "here":
            return (
                Ring(at, 0.75 * u, palette.WHITE, palette.ACCENT, 0.26 * u),
                Ring(at, 0.28 * u, palette.ACCENT),
            )
        case "open":
            return (Ring(at, 0.5 * u, palette.WHITE, palette.CONTROL_EDGE, 0.18 * u),)
        case "half":
            return (Ring(at, 0.5 * u, palette.WHITE, palette.INK, 0.26 * u),)
        case "handle":
            return (Ring(at, 0.95 * u, palette.ACCENT, palette.WHITE, 0.25 * u),)
        case _:
            return (Ring(at, 0.58 * u, palette.INK),)
