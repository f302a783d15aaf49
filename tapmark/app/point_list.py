"""The points of the key frame at hand: done, asked for, still open. Pressed to go there."""

import tkinter as tk
from collections.abc import Callable
from typing import Any

from tapmark.app.canvas_painter import Letters, paint
from tapmark.app.dots import DONE, HALF, HERE, OPEN, Dots
from tapmark.app.fresh import Fresh
from tapmark.app.painting import em_px
from tapmark.app.prompting import Prompt, asked, tap_of
from tapmark.app.state import AppState
from tapmark.app.style import Look
from tapmark.drawing import palette
from tapmark.drawing.shapes import Label
from tapmark.marks.run import Tap

ROW_EM = 3.2


class PointList:
    """Two columns of names, each with a dot that says how far it is."""

    def __init__(self, parent: tk.Misc, look: Look, chosen: Callable[[Prompt], None]) -> None:
        self.look, self._chosen = look, chosen
        self._em = em_px(parent)
        self._letters = Letters(parent)
        self._dots = Dots(parent, look.u)
        self._fresh = Fresh()
        self._prompts: tuple[Prompt, ...] = ()
        self.canvas = tk.Canvas(
            parent,
            height=look.em(ROW_EM * 4),
            width=1,
            background=palette.PAPER,
            highlightthickness=0,
        )
        self.canvas.bind("<Button-1>", self._pressed)
        self._state: AppState | None = None
        self.canvas.bind("<Configure>", self._resized)

    def refresh(self, state: AppState) -> None:
        """Draw the list anew if anything in it changed."""
        self._state = state
        every = asked(state.run, state.i_step, again=state.is_again) if state.run else ()
        mine = tuple(p for p in every if p.event == state.event)
        taps = tuple(tap_of(state.step, p, again=state.is_again) for p in mine)
        width = self.canvas.winfo_width()
        if not self._fresh.is_new(mine, taps, state.prompt, width):
            return
        self._prompts = mine
        rows = max(3, -(-len(mine) // 2))
        self.canvas.configure(height=self.look.em(ROW_EM * rows))
        names: list[Label] = []
        self.canvas.delete("dots")
        for i, (prompt, tap) in enumerate(zip(mine, taps, strict=True)):
            at, is_here = self._place(i, rows, width), prompt == state.prompt
            names.append(_row(at, prompt, tap, is_here, self._em, self.look.u))
            self.canvas.create_image(*at, image=self._dots[_dot(tap, is_here)], tags="dots")
        paint(self.canvas, tuple(names), self._letters, "rows")

    def _resized(self, event: Any) -> None:
        if self._state:
            self.refresh(self._state)

    def _place(self, i: int, rows: int, width: int) -> tuple[float, float]:
        column, row = divmod(i, rows)
        return column * width / 2 + self.look.em(1.4), self.look.em(ROW_EM * (row + 0.5))

    def _pressed(self, event: Any) -> None:
        rows = max(3, -(-len(self._prompts) // 2))
        column = 0 if event.x < self.canvas.winfo_width() / 2 else 1
        i = column * rows + int(event.y / self.look.em(ROW_EM))
        if i < len(self._prompts):
            self._chosen(self._prompts[i])


def _row(
    at: tuple[float, float], prompt: Prompt, tap: Tap | None, is_here: bool, em: float, u: int
) -> Label:
    x, y = at
    ink = palette.ACCENT if is_here else palette.INK if tap else palette.MUTED
    words = prompt.point
    if tap and tap.certainty != "sure":
        words = f"{words}, {tap.certainty}"
    return Label((x + 2.2 * u, y + 0.36 * em), words, em, ink, is_bold=is_here)


def _dot(tap: Tap | None, is_here: bool) -> str:
    if is_here:
        return HERE
    if tap is None:
        return OPEN
    return HALF if tap.at_px is None or tap.certainty == "guess" else DONE
