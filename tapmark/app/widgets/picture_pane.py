"""The frame on a canvas: zoom, pan, magnifier, and what the pointer does on it.

It knows frames, views and shapes, and nothing of runs. A press near something that can be
grabbed, and moved, drags it; any press and release in one place is a tap; any other drag pans, or
draws a box where the whole frame is seen and a box is asked for. No wheel, second button or double
click is ever needed.
"""

import tkinter as tk
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any

from PIL import Image, ImageTk

from tapmark.app.state.frames_shown import Gallery, Shown
from tapmark.app.state.viewport import Point, Size, Tone, Viewport
from tapmark.app.widgets.columns import bind_wheel
from tapmark.app.widgets.painting import ROOM, Letters, paint, reach_of, window_fonts
from tapmark.app.widgets.pieces import soon, surface
from tapmark.app.widgets.theme import Look
from tapmark.report.drawing import palette
from tapmark.report.drawing.painter import paint as paint_smoothly
from tapmark.report.drawing.shapes import Label, Line, Shape, Shapes, moved

STILL_PX = 4  # at 96 dots an inch: a hand that means a click moves less than this
REACH_PX = 11  # as far from a mark it is grabbed: knees lie close together
WHEEL = 1.25
SMOOTH_MS = 120
SHIFT = 0x1  # the bit of an event that tells that Shift is held
MARKS, MOVES = "crosshair", "fleur"  # pointers, on every system
EDGE = 2  # width of the ring that shows the keyboard's place


def _nothing(*args: Any) -> Any:
    return None


@dataclass
class Hands:
    """What the pane tells: points are in frame px.

    grab(at, reach) says whether something lies there that a drag would move; drop ends the drag.
    box: takes two corners where the whole frame is seen. menu: a second button on that point.
    over: the same as grab, but only looks: the pointer shows what a press would do.
    does: what a press elsewhere does, as the name of a pointer, "" for the usual one.
    """

    tap: Callable[[Point], object] = _nothing
    hover: Callable[[Point | None], object] = _nothing
    grab: Callable[[Point, float], object] = _nothing
    drag: Callable[[Point], object] = _nothing
    drop: Callable[[], object] = _nothing
    over: Callable[[Point, float], object] = _nothing
    does: str = ""
    box: Callable[[Point, Point], object] | None = None
    menu: Callable[[Point, float, tuple[int, int]], object] = _nothing
    moved: Callable[[Viewport], object] = _nothing
    resized: Callable[[], object] = _nothing


@dataclass
class _Press:
    at: Point
    has_grabbed: bool
    last: Point
    has_moved: bool = False
    is_second: bool = False  # of another button than the first


class PicturePane:
    """One canvas with a frame, an overlay and a cross-hair."""

    def __init__(self, parent: tk.Misc, look: Look, hands: Hands) -> None:
        self.look, self.hands = look, hands
        self.canvas = surface(parent, palette.PAPER, EDGE)
        self.canvas.configure(highlightbackground=palette.HAIRLINE)
        self.letters = Letters(parent)
        self.view = Viewport((1, 1), (1, 1))
        self._photo: ImageTk.PhotoImage | None = None
        self._shown: Shown | None = None
        self._fonts = window_fonts(parent)
        self._shapes: Shapes = ()
        self._still: Shapes = ()
        self._smooth: frozenset[Shape] = frozenset()
        self._is_drawn = True  # the shapes lie over the frame, roughly or smoothly
        self._patch: ImageTk.PhotoImage | None = None
        self._timer = ""
        self._press: _Press | None = None
        self._cursor = ""
        self.with_shift = False  # while a button is down
        self._image = self.canvas.create_image(0, 0, anchor="nw")
        self._patch_item = self.canvas.create_image(0, 0, anchor="nw")
        for event, action in (
            ("<Button-1>", self._pressed),
            ("<B1-Motion>", self._dragged),
            ("<ButtonRelease-1>", self._released),
            ("<Motion>", self._hovered),
            ("<Leave>", lambda event: self.hands.hover(None)),
            ("<Button-2>", self._pan_from),
            ("<B2-Motion>", self._panned),
            ("<Button-3>", self._pan_from),
            ("<B3-Motion>", self._panned),
            ("<ButtonRelease-3>", self._asked_for_menu),
            ("<Configure>", lambda event: self.hands.resized()),
        ):
            self.canvas.bind(event, action)
        bind_wheel(self.canvas.bind, lambda event, by: self._zoom_at(event, WHEEL ** (-by / 2)))
        if self.look.system == "aqua":  # the second button is 2 there, or Control with the first
            self.canvas.bind("<ButtonRelease-2>", self._asked_for_menu)
            self.canvas.bind("<Control-Button-1>", self._pan_from)
            self.canvas.bind("<Control-B1-Motion>", self._panned)
            self.canvas.bind("<Control-ButtonRelease-1>", self._asked_for_menu)

    @property
    def size(self) -> Size:
        """Inner size of the canvas in px."""
        return max(1, self.canvas.winfo_width() - 2 * EDGE), max(
            1, self.canvas.winfo_height() - 2 * EDGE
        )

    def show(self, gallery: Gallery, i: int, view: Viewport, tone: Tone) -> None:
        """Show frame i through the view; nothing happens when it is shown already."""
        self.show_kept(gallery.cut(i, view, tone), view)

    def show_kept(self, shown: Shown, view: Viewport) -> None:
        """Show a frame that was cut for that view."""
        self.view = view
        if self._shown and shown.key == self._shown.key:
            return
        self._shown = shown
        self._drop_smooth()
        if self._photo and (self._photo.width(), self._photo.height()) == shown.image.size:
            self._photo.paste(shown.image)
        else:
            self._photo = ImageTk.PhotoImage(shown.image, master=self.canvas)
            self.canvas.itemconfigure(self._image, image=self._photo)
        self.canvas.coords(self._image, shown.at[0] + EDGE, shown.at[1] + EDGE)

    def clear(self) -> None:
        self._photo = self._shown = None
        self._drop_smooth()
        self._shapes = self._still = ()
        self.canvas.delete("still")
        self.canvas.itemconfigure(self._image, image="")
        self.canvas.delete("overlay", "aim")

    def draw_still(self, shapes: Shapes) -> None:
        """Replace what does not change from frame to frame; upright lines need no smoothing."""
        if shapes != self._still:
            self._still = shapes
            self._paint(shapes, "still")

    def draw(self, shapes: Shapes, delay_ms: int = SMOOTH_MS) -> None:
        """Replace the overlay; shapes are in canvas px of the inner area.

        What is new is drawn at once, with the canvas's rough lines, and smoothly a moment later.
        """
        if self._is_drawn and shapes == self._shapes:
            return
        gone = self._smooth - set(shapes)
        if any(not isinstance(shape, Label) for shape in gone):  # a letter may stay a moment
            self._drop_smooth()
        new = tuple(shape for shape in shapes if shape not in self._smooth)
        rough = tuple(shape for shape in new if not isinstance(shape, Label))  # letters are slow
        self._paint(rough, "overlay")
        if new and not self._timer:
            self._timer = soon(self.canvas, delay_ms, self._smoothen)
        self._shapes, self._is_drawn = shapes, True

    @property
    def is_at_rest(self) -> bool:
        """True when everything drawn is drawn smoothly."""
        return not self._timer

    def _paint(self, shapes: Shapes, tag: str) -> None:
        paint(self.canvas, shapes, self.letters, tag)
        self.canvas.move(tag, EDGE, EDGE)

    def _smoothen(self) -> None:
        """Paint the overlay with Pillow over its part of the frame, and show that instead."""
        self._timer = ""
        shown, shapes = self._shown, self._shapes
        if shown is None or not shapes:
            return
        left, top, right, bottom = reach_of(shapes, self.size, round(ROOM * self.look.unit))
        patch = Image.new("RGB", (right - left, bottom - top), palette.PAPER)
        patch.paste(shown.image, (shown.at[0] - left, shown.at[1] - top))
        paint_smoothly(patch, moved(shapes, -left, -top), self._fonts)
        self._patch = ImageTk.PhotoImage(patch, master=self.canvas)
        self.canvas.itemconfigure(self._patch_item, image=self._patch)
        self.canvas.coords(self._patch_item, left + EDGE, top + EDGE)
        self.canvas.delete("overlay")
        self._smooth = frozenset(shapes)

    def _drop_smooth(self) -> None:
        self._smooth, self._is_drawn = frozenset(), False
        self.canvas.itemconfigure(self._patch_item, image="")

    def aim(self, at: Point | None) -> None:
        """Draw the cross-hair at a frame point, or take it away."""
        self.canvas.delete("aim")
        if at is not None:
            self._paint(_cross_hair(self.view.to_canvas(at), self.look.units(1)), "aim")

    def at(self, event: Any) -> Point:
        """Return the frame point of a pointer event."""
        return self.view.to_picture((event.x - EDGE, event.y - EDGE))

    def take(self, hands: Hands) -> None:
        """Work with the hands of another page; a press that began on the last one ends there."""
        press, self._press = self._press, None
        if press and press.has_grabbed and press.has_moved:
            self.hands.drop()
        self.canvas.delete("box")
        self.hands = hands

    def _reach(self) -> float:
        return REACH_PX * self.look.unit / self.view.scale

    def _pressed(self, event: Any) -> None:
        self.canvas.focus_set()
        spot, found = (event.x, event.y), self.hands.grab(self.at(event), self._reach())
        self._press = _Press(spot, bool(found), spot)

    def _point_with(self, cursor: str) -> None:
        if cursor != self._cursor:
            self._cursor = cursor
            self.canvas.configure(cursor=cursor)

    def _dragged(self, event: Any) -> None:
        press, self.with_shift = self._press, bool(int(event.state) & SHIFT)
        if press is None:
            return
        far = abs(event.x - press.at[0]) + abs(event.y - press.at[1])
        press.has_moved = press.has_moved or far >= STILL_PX * self.look.unit
        if press.has_moved:
            if press.has_grabbed:
                self._point_with("none")
                self.hands.drag(self.at(event))
            elif self.view.fits and self.hands.box:
                self._draw_box(press.at, (event.x, event.y))
            elif not self.view.fits:
                self._move_by(event.x - press.last[0], event.y - press.last[1])
            press.last = (event.x, event.y)
        self.hands.hover(self.at(event))

    def _draw_box(self, start: Point, end: Point) -> None:
        self.canvas.delete("box")
        draw = partial(self.canvas.create_rectangle, *start, *end, tags="box")
        draw(outline=palette.CASING, width=4)
        draw(outline=palette.WHITE, width=2, dash=(8, 5))

    def _released(self, event: Any) -> None:
        press, self._press = self._press, None
        self.canvas.delete("box")
        self._point_with(self.hands.does)
        if press is None or press.is_second:
            return
        if press.has_moved and press.has_grabbed:
            self.hands.drag(self.at(event))
            self.hands.drop()
        elif press.has_moved and self.view.fits and self.hands.box:
            start = self.view.to_picture((press.at[0] - EDGE, press.at[1] - EDGE))
            self.hands.box(start, self.at(event))
        elif not press.has_moved or self.view.fits:
            self.hands.tap(self.at(event))

    def _asked_for_menu(self, event: Any) -> None:
        press, self._press = self._press, None
        if press and press.at == (event.x, event.y):
            self.hands.menu(self.at(event), self._reach(), (event.x_root, event.y_root))

    def _hovered(self, event: Any) -> None:
        is_over = self.hands.over(self.at(event), self._reach())
        self._point_with(MOVES if is_over else self.hands.does)
        self.hands.hover(self.at(event))

    def _zoom_at(self, event: Any, factor: float) -> None:
        self.hands.moved(self.view.zoomed(factor, (event.x - EDGE, event.y - EDGE)))

    def _pan_from(self, event: Any) -> None:
        self._press = _Press((event.x, event.y), False, (event.x, event.y), is_second=True)

    def _panned(self, event: Any) -> None:
        if self._press:
            self._move_by(event.x - self._press.last[0], event.y - self._press.last[1])
            self._press.last = (event.x, event.y)

    def _move_by(self, dx: float, dy: float) -> None:
        self.view = self.view.panned(dx, dy)
        self.hands.moved(self.view)


def _cross_hair(at: Point, unit: int) -> Shapes:
    """Four arms with the very point left open: white on black, seen on anything."""
    (x, y), width, edge = at, max(2.0, unit / 4), 1.5

    def arm(dx: int, dy: int, colour: str, line: float, longer: float) -> Line:
        near, far = unit - longer, 4.5 * unit + longer
        ends = (x + dx * near, y + dy * near), (x + dx * far, y + dy * far)
        return Line(ends, colour, line)

    return tuple(
        arm(dx, dy, *look)
        for look in ((palette.CASING, width + 2 * edge, edge), (palette.WHITE, width, 0.0))
        for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1))
    )


PIXELS = 31  # across; odd, so that one pixel is the middle one


class Magnifier:
    """A square canvas of at most the given side, px, where that is 93 or more."""

    def __init__(self, parent: tk.Misc, side: int) -> None:
        self.side = max(PIXELS * 3, side - side % PIXELS)
        size = {"width": self.side, "height": self.side}
        self.canvas = surface(parent, palette.HAIRLINE, has_focus=False, **size)
        self._photo = ImageTk.PhotoImage("RGB", (self.side, self.side), master=parent)
        self._item = self.canvas.create_image(0, 0, anchor="nw", state="hidden", image=self._photo)
        middle, gap = self.side / 2, 1.5 * self.side / PIXELS
        for colour, width in ((palette.CASING, 4), (palette.WHITE, 2)):
            draw = partial(self.canvas.create_line, fill=colour, width=width, tags="cross")
            for a, b in ((0.0, middle - gap), (middle + gap, float(self.side))):
                draw(a, middle, b, middle)
                draw(middle, a, middle, b)
        self.canvas.itemconfigure("cross", state="hidden")

    def show(self, gallery: Gallery, i: int, at: Point, tone: Tone) -> None:
        """Show the pixels around a frame point."""
        self._photo.paste(gallery.near(i, at, PIXELS, self.side, tone))
        self.canvas.itemconfigure("all", state="normal")
