"""Walking through the frames: the row below the picture, its bar and its buttons."""

import tkinter as tk
from collections.abc import Callable, Sequence
from functools import partial
from tkinter import ttk
from typing import Any

from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import go_to_picture
from tapmark.app.state.session import AppState
from tapmark.app.widgets.painting import HANDLE, Dots, Letters, em_px, paint
from tapmark.app.widgets.pieces import ActionButton, Fresh, soon
from tapmark.app.widgets.theme import Look
from tapmark.clip.frames import Clip
from tapmark.report.drawing import palette
from tapmark.report.drawing.shapes import Area, Label, Line, Shape, Shapes

APART = 0.95  # em from the middle of a numeral to that of the next
TALL, Y = 2.7, 1.1  # of the canvas, and from its top to the bar, em
LANE = 0.1, 0.17  # from the top to the first turning point, and to each one below it, em


class Scrubber:
    """Press or drag to go to a frame. Marks are (frame, short name, is the one at hand)."""

    def __init__(self, parent: tk.Misc, look: Look, go: Callable[[int], None]) -> None:
        self._go, self._em = go, em_px(parent)
        self._letters, self._fresh = Letters(parent), Fresh()
        self._count = 0
        self.canvas = tk.Canvas(
            parent,
            height=round(TALL * self._em),
            width=1,
            background=palette.PAPER,
            highlightthickness=0,
            cursor="sb_h_double_arrow",
        )
        self._dots = Dots(parent, look.u)
        self._handle = self.canvas.create_image(0, 0, image=self._dots[HANDLE])
        self.canvas.bind("<Button-1>", self._pressed)
        self.canvas.bind("<B1-Motion>", self._pressed)

    @property
    def _ends(self) -> tuple[float, float]:
        return 0.9 * self._em, max(1.0, self.canvas.winfo_width() - 0.9 * self._em)

    def _x(self, picture: int) -> float:
        left, right = self._ends
        return left + (right - left) * picture / max(1, self._count - 1)

    def _pressed(self, event: Any) -> None:
        left, right = self._ends
        if self._count:
            share = (event.x - left) / max(1.0, right - left)
            self._go(round(min(max(share, 0.0), 1.0) * (self._count - 1)))

    def refresh(
        self,
        picture: int,
        count: int,
        expected: int | None,
        marks: tuple[tuple[int, str, bool], ...] = (),
        spans: tuple[tuple[int, int], ...] = (),
    ) -> None:
        """Draw the bar anew if anything changed.

        expected: frames of a clip that is still being read. spans: (first, last) of the turning
        points, in lanes of their own above the bar: thighs and arms turn almost together.
        """
        size = (self.canvas.winfo_width(), self.canvas.winfo_height())
        self._count = max(count, expected or 0)
        if self._fresh.is_new(count, expected, marks, spans, size):
            shapes = (*self._shapes(count, marks), *self._lane(spans))
            paint(self.canvas, shapes, self._letters, "bar")
            self.canvas.itemconfigure(self._handle, state="normal" if count else "hidden")
            self.canvas.tag_raise(self._handle)
        self.canvas.coords(self._handle, self._x(picture), Y * self._em)

    def _shapes(self, count: int, marks: tuple[tuple[int, str, bool], ...]) -> Shapes:
        left, right = self._ends
        y, half = Y * self._em, 0.22 * self._em
        shapes: list[Shape] = [_bar(left, right, y, half, palette.HAIRLINE)]
        if count:
            shapes.append(_bar(left, self._x(count - 1), y, half, palette.HAIRLINE_DARK))
        ordered = sorted(marks)
        apart = spread([self._x(at) for at, _, _ in ordered], APART * self._em, left, right)
        for (at, name, is_here), name_x in zip(ordered, apart, strict=True):
            ink = palette.ACCENT if is_here else palette.INK
            x = self._x(at)
            shapes.append(
                Line(((x, y - 0.5 * self._em), (x, y + 0.55 * self._em)), ink, 0.15 * self._em)
            )
            spot = (name_x, y + 1.5 * self._em)
            shapes.append(Label(spot, name, 0.95 * self._em, ink, is_bold=is_here, anchor="c"))
        return tuple(shapes)

    def _lane(self, spans: tuple[tuple[int, int], ...]) -> Shapes:
        shapes: list[Shape] = []
        for i, (first, last) in enumerate(sorted(spans, key=sum)):
            left, right, y = self._x(first), self._x(last), (LANE[0] + i * LANE[1]) * self._em
            shapes.append(
                Line(((left, y), (max(right, left + 2), y)), palette.INK, 0.12 * self._em)
            )
        return tuple(shapes)


def spread(wanted: Sequence[float], apart: float, left: float, right: float) -> list[float]:
    """Return places at least `apart` from each other, each near the one wanted, in their order.

    wanted: px from left to right. Neighbours that would touch stand about their common middle;
    where all of them need more than there is, they share it.
    """
    if not wanted:
        return []
    step = min(apart, (right - left) / max(1, len(wanted) - 1))
    groups: list[list[float]] = []
    for x in wanted:
        groups.append([x])
        while len(groups) > 1 and _first(groups[-1], step) - _last(groups[-2], step) < step:
            groups[-2:] = [groups[-2] + groups[-1]]
    found = [_first(group, step) + i * step for group in groups for i in range(len(group))]
    n = len(found)
    held = [min(x, right - (n - 1 - i) * step) for i, x in enumerate(found)]
    return [max(x, left + i * step) for i, x in enumerate(held)]


def _first(group: list[float], step: float) -> float:
    return sum(group) / len(group) - step * (len(group) - 1) / 2


def _last(group: list[float], step: float) -> float:
    return _first(group, step) + step * (len(group) - 1)


def _bar(left: float, right: float, y: float, half: float, fill: str) -> Area:
    return Area(((left, y - half), (right, y - half), (right, y + half), (left, y + half)), fill)


HOLD_MS, RUN_MS = 350, 70
WALK = (("ten back", "−10"), ("picture back", "−1"), ("picture on", "+1"), ("ten on", "+10"))
SHORT = {
    "touchdown": "1",
    "mid-stance": "2",
    "toe-off": "3",
    "peak knee lift": "4",
    "opposite touchdown": "5",
    "last contact": "1",
    "most turned": "2",
}


class Transport:
    """The row below the picture: step back and on, the bar, and where we are."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.context, self._look, self._fresh = context, look, Fresh()
        self._timer: Any = None
        self._has_run = False
        self._words = ""
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(4, weight=1)
        self.frame.rowconfigure(0, minsize=look.units(4.5))
        self.scrubber = Scrubber(self.frame, look, lambda i: go_to_picture(context.state, i))
        self.scrubber.canvas.grid(row=0, column=4, sticky="ew", padx=look.units(0.5))
        self.buttons: dict[str, ttk.Button] = {}
        for column, (name, text) in enumerate(WALK):
            button = ttk.Button(self.frame, text=text, width=4)
            button.grid(row=0, column=column, padx=(0, look.units(0.5)))
            button.bind("<ButtonPress-1>", partial(self._hold, name=name))
            button.bind("<ButtonRelease-1>", self._let_go)
            button.configure(command=partial(self._walk, name))
            self.buttons[name] = button
        self.number = ttk.Label(self.frame, style="Muted.TLabel", anchor="e", width=19)
        self.number.grid(row=0, column=5)
        self.stop = ActionButton(self.frame, context, look, "stop reading", "Stop")
        self.stop.grid(row=0, column=6, padx=(look.units(1), 0))

    def _walk(self, name: str) -> None:
        if not self._has_run:
            self.context.perform(name)
        self._has_run = False

    def _hold(self, event: Any, name: str) -> None:
        self._has_run = False
        self._timer = soon(self.frame, HOLD_MS, lambda: self._run_on(name))

    def _run_on(self, name: str) -> None:
        self._has_run = True
        self.context.perform(name)
        self._timer = soon(self.frame, RUN_MS, lambda: self._run_on(name))

    def _let_go(self, event: Any) -> None:
        if self._timer is not None:
            self.frame.winfo_toplevel().after_cancel(self._timer)
            self._timer = None

    def refresh(self, state: AppState) -> None:
        """Show where we are."""
        pictures = state.pictures
        count = len(pictures) if pictures else 0
        expected = pictures.n_expected if isinstance(pictures, Clip) else None
        marks = tuple(
            (frame.picture, SHORT[frame.event], frame.event == state.marking.event)
            for frame in state.step.key_frames
        )
        spans = tuple((mark.first_picture, mark.last_picture) for mark in state.step.turning_marks)
        self.scrubber.refresh(state.marking.picture, count, expected, marks, spans)
        words = number_words(state.marking.picture, count, expected)
        if words != self._words:
            self._words = words
            self.number.configure(text=words)
        is_reading = expected is not None and expected > count
        if self._fresh.is_new(is_reading, bool(count)):
            self.stop.button.grid() if is_reading else self.stop.button.grid_remove()
            for button in self.buttons.values():
                button.state(["!disabled" if count else "disabled"])


def number_words(picture: int, count: int, expected: int | None) -> str:
    """Return "frame 12 of 240", and how far a clip is read."""
    if not count:
        return ""
    if expected and expected > count:
        return f"frame {picture + 1}, read {100 * count // expected} %"
    return f"frame {picture + 1} of {count}"
