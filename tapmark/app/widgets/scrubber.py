"""Walking through the frames: the row below the picture, its bar and its buttons."""

import tkinter as tk
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from tkinter import ttk
from typing import Any

from PIL import ImageTk

from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import change_playing, go_to_picture
from tapmark.app.state.playback import SPEED_WORDS
from tapmark.app.state.session import AppState
from tapmark.app.widgets.columns import bind_wheel
from tapmark.app.widgets.painting import (
    HANDLE,
    Letters,
    clear_photo,
    dots,
    em_px,
    paint,
    window_fonts,
)
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    box,
    mark_chosen,
    needed,
    put,
    show,
    soon,
    surface,
)
from tapmark.app.widgets.theme import Look
from tapmark.clip.frames import Clip
from tapmark.marks.points import EVENTS, TOUCHDOWN
from tapmark.report.drawing import palette
from tapmark.report.drawing.shapes import Area, Label, Line, Shape, Shapes

APART = 1.25  # em from the middle of a numeral to that of the next
TALL, Y = 2.7, 1.1  # of the canvas, and from its top to the bar, em
LANE = 0.1, 0.17  # from the top to the first turning point, and to each one below it, em


class Scrubber:
    """Press or drag to go to a frame. Marks are (frame, short name, is the one at hand)."""

    def __init__(self, parent: tk.Misc, look: Look, go: Callable[[int], None]) -> None:
        self._go, self._em = go, em_px(parent)
        self._letters, self._fresh = Letters(parent), Fresh()
        self._count = 0
        tall, cursor = round(TALL * self._em), "sb_h_double_arrow"
        self.canvas = surface(parent, palette.PAPER, has_focus=False, height=tall, cursor=cursor)
        self._dots = dots(parent, look.u)
        self._handle = self.canvas.create_image(0, 0, image=self._dots[HANDLE])
        self.canvas.bind("<Button-1>", self._pressed)
        self.canvas.bind("<B1-Motion>", self._pressed)
        self._picture = 0
        bind_wheel(self.canvas.bind, lambda event, by: self._step(1 if by > 0 else -1))

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

    def _step(self, by: int) -> None:
        if self._count:
            self._go(self._picture + by)

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
        self.show_place(picture)

    def show_place(self, picture: int) -> None:
        """Move the dot to a frame."""
        self._picture = picture
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
BAR_EM = 17  # units that the bar needs; below that the readout, then the steps of ten give way
SHORT = {e: f"{i}" for events in EVENTS.values() for i, e in enumerate(events, start=1)}


class Transport:
    """The row below the picture: play, step, the bar, where we are, speed, loop.

    readout: where we are, for the status line, where the row has no room for it.
    """

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.context, self._look, self._fresh = context, look, Fresh()
        self._timer: Any = None
        self._has_run = False
        self._reading: tuple[object, ...] = ()
        self.readout, self._level = "", -1
        self._signs = _signs(parent, look)
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(5, weight=1)
        self.frame.rowconfigure(0, minsize=look.units(4.5))
        gap = (0, look.units(0.5))
        make = partial(ttk.Button, style="Tight.TButton")

        def signed(name: str) -> ttk.Button:
            do = partial(context.perform, name)
            made = make(self.frame, text=name.capitalize(), command=do)
            made.configure(image=self._signs[name], compound="left")
            return made

        self.play = put(signed("play"), padx=gap)
        self.buttons: dict[str, ttk.Button] = {}
        for column, (name, text) in enumerate(WALK, start=1):
            made = make(self.frame, text=text, width=4, command=partial(self._walk, name))
            made.bind("<ButtonPress-1>", partial(self._hold, name=name))
            made.bind("<ButtonRelease-1>", self._let_go)
            self.buttons[name] = put(made, 0, column, padx=gap)
        self.scrubber = Scrubber(self.frame, look, self._go)
        put(self.scrubber.canvas, 0, 5, "ew", padx=look.units(0.3))
        number = ttk.Label(self.frame, style="Muted.TLabel", width=16)
        self.number = put(number, 0, 6, padx=look.units(0.5))
        speeds = box(self.frame, 0, 7, "", padx=(look.units(0.3), look.units(0.8)))
        self.speeds = [
            put(make(speeds, text=words, width=3, command=partial(self._speed, i)), 0, i)
            for i, words in enumerate(SPEED_WORDS)
        ]
        self.loop = put(signed("loop"), 0, 8, "ew")
        named, style = ("stop reading", "Stop"), "Tight.TButton"
        self.stop = put(ActionButton(self.frame, context, look, *named, style=style), 0, 8, "ew")
        self.stop.grid_remove()
        small = needed([*self.buttons.values(), *self.speeds], look.units(0.5))
        small += look.units(BAR_EM) + 4 * look.units(0.5) + 2 * look.units(4.5)
        widths = (each.winfo_reqwidth() for each in (self.number, self.play, self.loop))
        self._needs = small + sum(widths), small  # of all, and without readout and words
        for column, button in ((0, self.play), (8, self.loop)):
            self.frame.columnconfigure(column, minsize=button.winfo_reqwidth())
        self.frame.bind("<Configure>", lambda event: self._fit(event.width))

    def _fit(self, width: int) -> None:
        """Leave out what has no room: first the readout and the words, then the steps of ten."""
        level = sum(width < each for each in self._needs) if width > 1 else 0
        if level == self._level:
            return
        self._level = level
        show(self.number, level == 0)
        for name in ("ten back", "ten on"):
            show(self.buttons[name], level < 2)
        for button in (self.play, self.loop):
            button.configure(compound="left" if level == 0 else "image")
        self.frame.columnconfigure(0, minsize=self.play.winfo_reqwidth())
        self.frame.columnconfigure(8, minsize=self.loop.winfo_reqwidth())
        self._reading = ()

    def _go(self, i: int) -> None:
        if self.context.commit():
            go_to_picture(self.context.state, i)

    def _speed(self, i: int) -> None:
        state = self.context.state
        playing = replace(state.marking.playing, i_speed=i)
        self.context.attempt(lambda: change_playing(state, playing))

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
        """Show where we are and how it is played."""
        pictures, playing = state.pictures, state.marking.playing
        count = len(pictures) if pictures else 0
        expected = pictures.n_expected if isinstance(pictures, Clip) else None
        marks = tuple(
            (frame.picture, SHORT[frame.event], frame.event == state.marking.event)
            for frame in state.step.key_frames
        )
        spans = tuple((mark.first_picture, mark.last_picture) for mark in state.step.turning_marks)
        self.scrubber.refresh(state.marking.picture, count, expected, marks, spans)
        self._show_reading(state, number_words(state.marking.picture, count, expected))
        is_reading = expected is not None and expected > count
        if not self._fresh.is_new(is_reading, bool(count), playing):
            return
        show(self.stop, is_reading)
        show(self.loop, not is_reading)
        for button in (*self.buttons.values(), *self.speeds, self.play, self.loop):
            button.state(["!disabled" if count else "disabled"])
        sign, words = ("hold", "Hold") if playing.is_on else ("play", "Play")
        self.play.configure(image=self._signs[sign], text=words)
        mark_chosen(self.loop, playing.loops)
        for i, button in enumerate(self.speeds):
            mark_chosen(button, i == playing.i_speed)

    def show_place(self, state: AppState) -> None:
        """Show where playing is: the dot and the readout, nothing else."""
        i, count = state.marking.picture, len(state.the_pictures)
        self.scrubber.show_place(i)
        self._show_reading(state, number_words(i, count, None))

    def _show_reading(self, state: AppState, number: str) -> None:
        place, level = time_words(state) if number else "", self._level
        if self._reading == (number, place, level):
            return
        self._reading = (number, place, level)
        self.readout = f"{number}, {place}" if place and level else number if level else ""
        if level == 0:
            self.number.configure(text=f"{number}\n{place}")


def _signs(parent: tk.Misc, look: Look) -> dict[str, ImageTk.PhotoImage]:
    """Return the signs for play, hold and loop, in one ink on nothing."""
    side, fonts = look.units(2), window_fonts(parent)
    a, b, c = 0.15 * side, 0.5 * side, 0.85 * side
    pen = max(1.5, 0.13 * side)
    shapes: dict[str, Shapes] = {
        "play": (Area(((a + pen, a), (c, b), (a + pen, c)), palette.BLACK),),
        "hold": tuple(
            Area(((x, a), (x + 2 * pen, a), (x + 2 * pen, c), (x, c)), palette.BLACK)
            for x in (a + 0.5 * pen, b + 0.5 * pen)
        ),
        "loop": (
            Line(((a, b), (a, c), (c, c), (c, a + pen), (b, a + pen)), palette.BLACK, pen),
            Area(((b + pen / 2, a - pen), (b + pen / 2, a + 3 * pen), (a, a + pen)), palette.BLACK),
        ),
    }
    return {name: clear_photo(parent, drawn, (side, side), fonts) for name, drawn in shapes.items()}


def number_words(picture: int, count: int, expected: int | None) -> str:
    """Return "frame 12 of 240", and how far a clip is read."""
    if not count:
        return ""
    if expected and expected > count:
        return f"frame {picture + 1}, read {100 * count // expected} %"
    return f"frame {picture + 1} of {count}"


def time_words(state: AppState) -> str:
    """Return when the frame shown was taken: after touchdown, or in the clip while that is not set.

    Where the rate is not known it is the file's own time, and says so.
    """
    pictures, i, run = state.pictures, state.marking.picture, state.run
    at = pictures.time_s(i) if pictures is not None and i < len(pictures) else None
    if at is None or run is None or pictures is None:
        return "no times"
    factor, down = run.set_up.slow_factor, state.step.key_frame(TOUCHDOWN)
    if factor is None:
        return f"{at:.3f} s, file’s time"
    zero = pictures.time_s(down.picture) if down and down.picture < len(pictures) else None
    if zero is None:
        return f"{at / factor:.3f} s in the clip"
    return f"{1000 * (at - zero) / factor:.0f} ms".replace("-", "−")
