"""The points of the key frame at hand: done, asked for, still open. Pressed to go there."""

import tkinter as tk
from collections.abc import Callable
from typing import Any

from tapmark.app.dots import DONE, HALF, HERE, OPEN, Dots
from tapmark.app.fresh import Fresh
from tapmark.app.prompting import Prompt, asked, tap_of
from tapmark.app.state import AppState
from tapmark.app.style import Look
from tapmark.drawing import palette
from tapmark.marks.run import Tap

ROW_EM = 3.2


class PointList:
    """Two columns of names, each with a dot that says how far it is."""

    def __init__(self, parent: tk.Misc, look: Look, chosen: Callable[[Prompt], None]) -> None:
        self.look, self._chosen = look, chosen
        self.dots = Dots(parent, look.u)
        self._fresh = Fresh()
        self._prompts: tuple[Prompt, ...] = ()
        self._rows: list[_Row] = []
        self._width = 0
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
        every = asked(state.run, state.i_step, again=state.look) if state.run else ()
        mine = tuple(p for p in every if p.event == state.event)
        taps = tuple(tap_of(state.step, p, again=state.look) for p in mine)
        width = self.canvas.winfo_width()
        if not self._fresh.is_new(mine, taps, state.prompt, width):
            return
        if (mine, width) != (self._prompts, self._width):
            self._prompts, self._width = mine, width
            self._build()
        for row, tap in zip(self._rows, taps, strict=True):
            row.show(tap, row.prompt == state.prompt)

    def _build(self) -> None:
        """Make a dot and a name for each point."""
        self.canvas.delete("all")
        rows = max(3, -(-len(self._prompts) // 2))
        self.canvas.configure(height=self.look.em(ROW_EM * rows))
        self._rows = [
            _Row(self, prompt, self._place(i, rows, self._width))
            for i, prompt in enumerate(self._prompts)
        ]

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


class _Row:
    """One point: its dot and its name, changed only when they must be."""

    def __init__(self, owner: PointList, prompt: Prompt, at: tuple[float, float]) -> None:
        self.prompt, self._owner, self._fresh = prompt, owner, Fresh()
        self._image = owner.canvas.create_image(*at)
        self._text = owner.canvas.create_text(at[0] + owner.look.em(2.2), at[1], anchor="w")

    def show(self, tap: Tap | None, is_here: bool) -> None:
        """Show how far the point is."""
        if not self._fresh.is_new(tap, is_here):
            return
        owner, words = self._owner, self.prompt.point
        if tap and tap.certainty != "sure":
            words = f"{words}, {tap.certainty}"
        owner.canvas.itemconfigure(self._image, image=owner.dots[_dot(tap, is_here)])
        owner.canvas.itemconfigure(
            self._text,
            text=words,
            font=owner.look.font("bold" if is_here else "body"),
            fill=palette.ACCENT if is_here else palette.INK if tap else palette.MUTED,
        )


def _dot(tap: Tap | None, is_here: bool) -> str:
    if is_here:
        return HERE
    if tap is None:
        return OPEN
    return HALF if tap.at_px is None or tap.certainty == "guess" else DONE
