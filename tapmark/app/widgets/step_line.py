"""The step line below the picture."""

import tkinter as tk
from collections.abc import Callable
from typing import Any

from PIL import Image, ImageTk

from tapmark.app.jobs import Jobs, Task
from tapmark.app.state.prompts import counted, shown_run
from tapmark.app.state.session import AppState
from tapmark.app.widgets.painting import em_px, painted, window_fonts
from tapmark.app.widgets.pieces import Fresh, soon, surface
from tapmark.app.widgets.theme import Look
from tapmark.marks.points import SIDE_EVENTS
from tapmark.marks.run import Run
from tapmark.report.drawing import palette
from tapmark.report.drawing.shapes import moved
from tapmark.report.drawing.step_line import StepLine, StepLook, StepWords, step_line

PAUSE_MS = 120  # the line is drawn when the hand pauses: Python's threads share one lock
TALL_EM, GROUND_EM = 7.2, 3.8  # of the canvas, and from its top to the ground
FIGURE_EM = 3.35  # height of a figure


class Strip:
    """A canvas with the step line of the step at hand; it never changes its size.

    chosen: called with the key frame that was pressed.
    """

    def __init__(
        self, parent: tk.Misc, look: Look, painter: Jobs, chosen: Callable[[str], object]
    ) -> None:
        self._painter, self._chosen, self._counts = painter, chosen, False
        self._em, self._fonts, self._fresh = em_px(parent), window_fonts(parent), Fresh()
        self._pad = 0.9 * self._em
        self._photo: ImageTk.PhotoImage | None = None
        self._line: StepLine | None = None
        self._timer = ""
        tall = round(self._em * TALL_EM)
        self.canvas = surface(parent, palette.WHITE, has_focus=False, height=tall)
        self._item = self.canvas.create_image(0, 0, anchor="nw")
        self.canvas.bind("<Button-1>", self._pressed)
        self._state: AppState | None = None
        self.canvas.bind("<Configure>", self._resized)

    def _resized(self, event: Any) -> None:
        if self._state:
            self.refresh(self._state, counts=self._counts)

    def refresh(self, state: AppState, *, counts: bool) -> None:
        """Draw the step line anew if anything in it changed.

        counts: write "3 of 6" behind the names. A pass from behind has no step line.
        """
        self._state, self._counts = state, counts
        size = (self.canvas.winfo_width(), self.canvas.winfo_height())
        is_side = state.run is None or state.run.view == "side"
        if size[0] < 50 or not is_side:
            self.canvas.itemconfigure(self._item, image="")
            self._line = None
            self._fresh.forget()
            return
        i_step, marking, notes = state.marking.i_step, state.marking, dict[str, str]()
        for frame in state.step.key_frames if counts else ():
            done, asked = counted(state.the_run, i_step, frame.event, again=marking.look)
            notes |= {frame.event: f"{done} of {asked}"} if asked else {}
        run = shown_run(state.run, i_step, again=marking.look)
        step = (run.steps[min(i_step, len(run.steps) - 1)], run.set_up, run.view)
        if not self._fresh.is_new(step, size, marking.event, tuple(notes.items())):
            return
        if self._timer:
            self.canvas.winfo_toplevel().after_cancel(self._timer)
        look = StepLook(
            figure=FIGURE_EM * self._em,
            text=self._em,
            thin=1.0,
            heavy=0.25 * self._em,
            leader=1.2,
            ink=palette.INK,
            accent=palette.ACCENT,
            numerals=palette.MUTED,
            min_outline=1.3,
            says_phases=False,
            lists_unset=False,
            current=marking.event,
        )

        def draw(task: Task) -> tuple[StepLine, Image.Image]:
            return self._drawn(run, i_step, look, size, notes)

        def late(drawn: tuple[StepLine, Image.Image]) -> None:
            self._fresh.forget()  # it was drawn for a run that is gone

        def paint_soon() -> None:
            self._timer, channel = "", f"strip {self.canvas}"
            self._painter.run(channel, draw, self._show, by="run", late=late)

        self._timer = soon(self.canvas, PAUSE_MS, paint_soon)

    def _drawn(
        self, run: Run, i_step: int, look: StepLook, size: tuple[int, int], notes: dict[str, str]
    ) -> tuple[StepLine, Image.Image]:
        """Set and paint the line: 30 to 80 ms, so never while a tap waits to be seen.

        Where the names would need a second row, all but the one at hand give way to their numbers.
        """
        wide, below = size[0] - 2 * self._pad, size[1] - GROUND_EM * self._em
        short = {e: str(i) for i, e in enumerate(SIDE_EVENTS, start=1) if e != look.current}
        numbers = StepWords(short)
        for words, behind in ((StepWords(), notes), (numbers, notes), (numbers, {})):
            line = step_line(run, i_step, wide, look, self._fonts.width, words, behind)
            if line.below <= below:
                break
        shapes = moved(line.shapes, self._pad, GROUND_EM * self._em)
        return line, painted(shapes, size, self._fonts)

    def _show(self, drawn: tuple[StepLine, Image.Image]) -> None:
        line, image = drawn
        if not self.canvas.winfo_exists():
            return
        self._photo = ImageTk.PhotoImage(image, master=self.canvas)
        self.canvas.itemconfigure(self._item, image=self._photo)
        self._line = line

    def _pressed(self, event: Any) -> None:
        figures = self._line.figures if self._line else {}
        if figures:
            x = event.x - self._pad
            nearest = min(figures, key=lambda name: abs(figures[name] - x))
            self._chosen(nearest)
