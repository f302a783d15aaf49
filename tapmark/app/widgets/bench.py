"""The bench: picture, transport and step line that stand still while only the column changes."""

import tkinter as tk
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from tkinter import ttk

from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import (
    box_corners,
    box_runner,
    change_playing,
    corner_near,
    drag_corner,
    drop_corner,
    see_runner,
)
from tapmark.app.state.frames_shown import Gallery
from tapmark.app.state.playback import Due
from tapmark.app.state.session import AppState
from tapmark.app.state.viewport import Point, Viewport
from tapmark.app.widgets.columns import Column
from tapmark.app.widgets.picture_pane import MARKS, Hands, PicturePane
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Panel,
    box,
    label,
    put,
    soon,
    whole,
    window_px,
)
from tapmark.app.widgets.player import Player
from tapmark.app.widgets.scrubber import Transport
from tapmark.app.widgets.step_line import Strip
from tapmark.app.widgets.theme import Look
from tapmark.report.drawing import palette
from tapmark.report.drawing.shapes import Line, Ring, Shapes

COLUMN, WIDE_COLUMN, EDGE = 49.75, 57.5, 1.75  # units: 398 px, 460 px and 14 px at 96 dots an inch
WIDE_WINDOW = 200  # units: from this width of the window on the column is the wide one
MOST_OF_WINDOW = 0.4  # that the column may take, whatever the size of its text
LOW = 60  # units: a column that is less tall has its rows close together
FOOT_ROW, LOW_FOOT_ROW = 4.9, 4.2
COUNT_WIDE = 9  # digits of the count beside a title
COLUMN_MS = 10  # the column follows a blink after the picture, where the eye is
UPPER_LEFT, UPPER_RIGHT, LOWER_LEFT, LOWER_RIGHT = (0, 0), (0, 1), (1, 0), (1, 1)
"""Places of the buttons below a column, (row, column); lower right is the way onward."""


class BenchPage(ABC):
    """One step of the work on the bench; the window sets bench, context and look before `column`.

    counts: the step line says how many points of each key frame are tapped.
    aims: the cross-hair is shown. zooms: wheel and drag change what part of the frame is seen.
    wants_full: marks are set by the pixel here, so the full frame is fetched and one that is not
        read yet shows nothing; elsewhere the last one read stands in for it.
    smooth_ms: how long the overlay waits before it is painted smoothly.
    """

    counts = aims = False
    wants_full = zooms = True
    smooth_ms = 1
    bench: "Bench"
    context: Context
    look: Look

    @abstractmethod
    def column(self, column: "BenchColumn") -> None:
        """Fill the column, once: its title, its body and its four places for buttons."""

    def fit(self, tall: float) -> None:
        """Lay the column's body out for its height, units, so that it need not be scrolled.

        Called when the window has another height, never between two taps.
        """
        return

    @abstractmethod
    def refresh_column(self) -> None:
        """Something changed: show what is new in the column."""

    def hands(self) -> Hands:
        """Return what the pointer does on the picture; zoom and pan are the bench's own."""
        return Hands()

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        """Return what is drawn over the frame, in px of the pane."""
        return ()

    def in_motion(self, state: AppState, view: Viewport, picture: int) -> Shapes:
        """Return what is drawn over a frame while it is played, in px of the pane."""
        return ()

    def still(self, state: AppState, view: Viewport) -> Shapes:
        """Return what does not change from frame to frame, in px of the pane."""
        return ()

    def gallery(self, state: AppState) -> Gallery | None:
        """Return the frames that are shown and played."""
        return state.marking.gallery

    def below(self) -> tk.Widget | None:
        """Return what stands in the step line's place, a child of `bench.large`; None: itself."""
        return None

    def moved(self, state: AppState) -> None:  # noqa: B027 - most pages have nothing to move
        """A frame is shown while it is played: move what goes with it."""

    def cover(self, state: AppState) -> ttk.Frame | None:
        """Return what stands in the picture's place, a child of `bench.place`; None: the frame."""
        return None

    def show(self) -> None:
        """The page comes to the front: the keyboard goes to the picture."""
        self.bench.pane.canvas.focus_set()

    def refresh(self) -> None:
        """Show what is new on the bench."""
        self.bench.refresh()

    def hint(self) -> str:
        """Return what to do now, for the line at the bottom."""
        return ""

    def corner(self) -> str:
        """Return a few words for the bottom right corner."""
        return self.bench.transport.readout or _zoom_words(self.context.state)


def runner_hands(context: Context) -> Hands:
    """Return hands that show where the runner is: click on the hip, or draw a box and mend it."""
    state, attempt = context.state, context.attempt
    opposite: list[Point] = []

    def grab(at: Point, reach: float) -> bool:
        found = corner_near(state, at, reach)
        opposite[:] = found[1:] if found else ()
        return bool(found)

    return Hands(
        tap=lambda at: attempt(lambda: see_runner(state, at)),
        grab=grab,
        drag=lambda at: attempt(lambda: drag_corner(state, opposite[0], at)),
        drop=lambda: attempt(lambda: drop_corner(state)),
        over=lambda at, reach: corner_near(state, at, reach),
        does=MARKS,
        box=lambda start, end: attempt(lambda: box_runner(state, start, end)),
    )


def box_overlay(state: AppState, view: Viewport, unit: float) -> Shapes:
    """Return the box round the runner with a handle at each corner, in canvas px; () for none."""
    spots = [view.to_canvas(corner) for corner in box_corners(state)]
    if not spots:
        return ()
    dash = (8 * unit, 5 * unit)
    edge = Line((*spots, spots[0]), palette.WHITE, 2 * unit, dash, palette.CASING, 4 * unit)
    return (edge, *(press_ring(spot, unit) for spot in spots))


def press_ring(at: Point, unit: float) -> Ring:
    """Return the ring that marks a press on the frame, in canvas px."""
    return Ring(at, 6 * unit, None, palette.WHITE, 2 * unit, palette.CASING, 5 * unit)


def _zoom_words(state: AppState) -> str:
    """Return the zoom in words for the corner, "" where no frame is shown."""
    if not state.marking.gallery:
        return ""
    view, following = state.viewport(), state.marking.following
    what = (
        "follows the runner" if following.tall_px and not following.is_whole else "0: whole frame"
    )
    return f"Zoom {view.scale * 100:.0f} %, {'whole frame' if view.fits else what}"


class Bench:
    """Built once by the window; `turn_to` puts another page's column beside the picture.

    place: where the picture stands. pane, transport, strip: what is in it and below it.
    """

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.context, self.look = context, look
        self.page: BenchPage | None = None
        self._columns: dict[BenchPage, BenchColumn] = {}
        self._column_is_due = False
        self._cover: ttk.Frame | None = None
        self.frame = ttk.Frame(parent)
        self.frame.rowconfigure(0, weight=1)
        self._words_at, picture = (0, 1) if context.settings.value.left_handed else (1, 0)
        self.frame.columnconfigure(picture, weight=1)
        pad, above = look.units(1.5), (look.units(0.75), 0)
        large = self.large = box(self.frame, 0, picture, "nsew", grows=0, padx=pad, pady=above)
        large.rowconfigure(0, weight=1)
        self.place = box(large, 0, 0, "nsew", grows=0)
        self.place.grid_propagate(False)
        self.place.rowconfigure(0, weight=1)
        self.pane = PicturePane(self.place, look, Hands())
        put(self.pane.canvas, sticky="nsew")
        self.transport = Transport(large, context, look)
        put(self.transport.frame, 1, 0, "ew")
        to_event = context.state.go_to
        self.strip = Strip(
            large, look, context.painter, lambda event: context.attempt(lambda: to_event(event))
        )
        put(self.strip.canvas, 2, 0, "ew")
        self.player = Player(self.frame, context, self._show_due, self._play_no_more, self._gallery)
        self._below: tk.Widget = self.strip.canvas
        self.frame.bind("<Configure>", lambda event: self._fit(event.width))

    @property
    def column(self) -> "BenchColumn":
        """The column of the page at hand."""
        assert self.page
        return self._columns[self.page]

    def turn_to(self, page: BenchPage) -> None:
        """Put a page's column beside the picture and its hands on it."""
        if page is self.page:
            return
        if self.page:
            self.column.outer.grid_remove()
        self.page = page
        if page not in self._columns:
            page.bench, page.context, page.look = self, self.context, self.look
            self._columns[page] = BenchColumn(self)
            page.column(self.column)
            self.column.canvas.bind("<Configure>", partial(self._fit_page, page), add="+")
            self.column.follow_keyboard()
        rim, above = self.look.units(1.5), (self.look.units(0.75), 0)
        padx = (0, rim) if self._words_at else (rim, 0)
        put(self.column.outer, 0, self._words_at, "nsew", padx=padx, pady=above)
        self._fit(self.frame.winfo_width())
        hands, state = page.hands(), self.context.state
        hands.resized = state.notify
        if page.zooms:
            hands.moved = state.look_through
        below = page.below() or self.strip.canvas
        if below is not self._below:
            self._below.grid_remove()
            self._below = put(below, 2, 0, "ew")
        hands.tap = partial(self._tap, hands.tap)
        self.pane.take(hands)

    def _tap(self, tap: Callable[[Point], object], at: Point) -> None:
        """A first tap stops playing; it marks nothing, because nobody hits a moving picture."""
        if self.player.is_on:
            self._play_no_more()
        else:
            tap(at)

    def column_px(self, window: int) -> int:
        """Return how wide the column is in a window of that width, px."""
        is_wide = window >= self.look.units(WIDE_WINDOW)
        wanted = self.look.units(WIDE_COLUMN if is_wide else COLUMN)
        return min(wanted, round(MOST_OF_WINDOW * window))

    def _fit(self, window: int) -> None:
        if window > 1 and self.page:
            self.column.set_width(self.column_px(window))

    def _fit_page(self, page: BenchPage, event: "tk.Event[tk.Misc]") -> None:
        page.fit(event.height / self.look.units(100) * 100)

    def refresh(self) -> None:
        """Show the frame and what is over it at once, everything else a blink later."""
        state = self.context.state
        state.canvas = self.pane.size
        self.player.follow(state)
        if not self.player.is_on:
            self._refresh_picture(state)
        if not self._column_is_due:
            self._column_is_due = True
            soon(self.frame, COLUMN_MS, self._refresh_rest)

    def _refresh_picture(self, state: AppState) -> None:
        page, marking = self.page, state.marking
        assert page
        self._cover_with(page.cover(state))
        gallery, i = page.gallery(state), marking.picture
        n_read = len(gallery.pictures) if gallery else 0  # grows while a clip is being read
        if not page.wants_full:
            i = min(i, n_read - 1)
        if self._cover or not gallery or not state.run or not 0 <= i < n_read:
            self.pane.clear()
            return
        if page.wants_full:
            gallery.want_full(i, state.notify)
        view = state.viewport()
        self.pane.show(gallery, i, view, state.tone)
        self.pane.draw_still(page.still(state, view))
        self.pane.draw(page.overlay(state, view), page.smooth_ms)
        self.pane.aim(marking.aim if page.aims else None)

    def _cover_with(self, cover: ttk.Frame | None) -> None:
        if cover is self._cover:
            return
        if self._cover:
            self._cover.grid_remove()
        self._cover = cover
        if cover:
            self.pane.canvas.grid_remove()
            put(cover)
        else:
            self.pane.canvas.grid()

    def _refresh_rest(self) -> None:
        self._column_is_due = False
        state, page = self.context.state, self.page
        assert page
        page.refresh_column()
        self.transport.refresh(state)
        if self._below is self.strip.canvas:
            self.strip.refresh(state, counts=page.counts)

    def _show_due(self, due: Due) -> None:
        """Show a frame that is played; the figure stands over it where it is held."""
        state, page = self.context.state, self.page
        gallery, view = self._gallery(state), state.viewport()
        assert page and gallery
        self.pane.show_kept(gallery.kept(due.picture, view, state.tone), view)
        shapes = page.in_motion(state, view, due.picture)
        if due.is_held:
            events = [f.event for f in state.step.key_frames if f.picture == due.picture]
            state.marking.event = events[0]
            shapes = page.overlay(state, view)
        self.pane.draw(shapes, page.smooth_ms)
        self.pane.aim(None)
        self.transport.show_place(state)
        page.moved(state)

    def _gallery(self, state: AppState) -> Gallery | None:
        return self.page.gallery(state) if self.page else None

    def _play_no_more(self) -> None:
        state = self.context.state
        change_playing(state, replace(state.marking.playing, is_on=False))


class Onward(ttk.Button):
    """The button at the lower right: the way onward, or what is missing before it can be gone."""

    def __init__(self, parent: tk.Misc, context: Context) -> None:
        super().__init__(parent, style="Primary.TButton", state="disabled")  # till a page leads on
        self._fresh, self._name = Fresh(), ""
        self._texts: tuple[str, ...] = ("",)
        self.configure(command=lambda: context.perform(self._name))
        self.bind("<Configure>", lambda event: self._write())

    def lead(self, name: str, text: str, missing: str = "", *, short: str = "") -> None:
        """Lead to an action under that text; missing stands there instead while it cannot.

        short: the text where there is no room for all of it.
        """
        self._name = name
        if self._fresh.is_new(text, missing):
            self._texts = (missing,) if missing else (text, short or text)
            self.configure(state="disabled" if missing else "normal")
            self._write()

    def _write(self) -> None:
        self.configure(text=whole(self, self._texts))


class BenchColumn:
    """Head (title left, count right), a body that scrolls when too tall, four places for buttons.

    Above the head is room for a row that pages of one step share. Widgets go into body; width is
    what they have, px. Nothing in it moves when its words change.
    """

    def __init__(self, bench: Bench) -> None:
        self._context, self.look = bench.context, bench.look
        look, edge = bench.look, bench.look.units(EDGE)
        self.outer = ttk.Frame(bench.frame)
        self.outer.grid_propagate(False)
        self.outer.columnconfigure(0, weight=1)
        self.outer.rowconfigure(2, weight=1)
        above = (look.units(0.5), 0)
        head = self.head = box(self.outer, 1, grows=0, padx=edge, pady=above)
        self.title = label(head, 0, style="Title.TLabel", sticky="ew")
        count = ttk.Label(head, style="Muted.TLabel", width=COUNT_WIDE, anchor="e")
        self.count = put(count, 0, 1, "e")
        self._scrolled = Column(self.outer, look, 1)
        put(self._scrolled.outer, 2, 0, "nsew", padx=(edge, 0))
        self.body, self.canvas = self._scrolled.body, self._scrolled.canvas
        self.follow_keyboard = self._scrolled.follow_keyboard
        self.foot = box(self.outer, 3, grows=(0, 1), padx=edge, pady=above)
        self.foot.rowconfigure((0, 1), minsize=look.units(FOOT_ROW))
        self.outer.bind("<Configure>", self._fit_foot)
        self.onward = Onward(self.foot, bench.context)
        self.put(self.onward, LOWER_RIGHT)
        self._px = bench.column_px(window_px(bench.frame))
        self.outer.configure(width=self._px)

    @property
    def width(self) -> int:
        """What widgets in the body have, px."""
        return self._px - self.look.units(EDGE) - max(self.look.units(EDGE), self._scrolled.rim)

    def above_head(self) -> ttk.Frame:
        """Return a row above the head, which stays where it is whatever else the column holds."""
        units = self.look.units
        return box(self.outer, 0, padx=units(EDGE), pady=(units(0.5), units(0.3)))

    def _fit_foot(self, event: "tk.Event[tk.Misc]") -> None:
        """Move the rows of buttons together where there is little height."""
        row = FOOT_ROW if event.height >= self.look.units(LOW) else LOW_FOOT_ROW
        self.foot.rowconfigure((0, 1), minsize=self.look.units(row))

    def put(self, button: ttk.Button, place: tuple[int, int]) -> None:
        """Put a button into one of the four places; one that is there already stays below it."""
        row, column = place
        gap = self.look.units(0.6)
        pad = (0, gap) if column == 0 else (gap, 0)
        button.grid(row=row, column=column, sticky="ew", padx=pad)
        button.configure(width=1)  # its place says how wide it is, not its text

    def action(
        self,
        place: tuple[int, int],
        name: str,
        text: str | Callable[[], str] = "",
        *,
        has_key: bool = False,
        short: str = "",
    ) -> ActionButton:
        """Put the button of an action into one of the four places and return it.

        short: the text where there is no room for all of it.
        """
        context, look = self._context, self.look
        made = ActionButton(self.foot, context, look, name, text, has_key=has_key, short=short)
        self.put(made, place)
        return made

    def set_width(self, px: int) -> None:
        """Take another width; labels that break their lines do so at the new one."""
        if px == self._px:
            return
        more, self._px = px - self._px, px
        self.outer.configure(width=px)
        for each in _labels(self.body):
            at = int(str(each.cget("wraplength") or 0))
            if at:
                each.configure(wraplength=max(1, at + more))


class Leaf(Panel):
    """One leaf of the column under its title, or a part of one; hidden till its page shows it."""

    title = ""

    def build(self, frame: ttk.Frame) -> None:
        put(frame, 1, 0, "nsew").rowconfigure(1, weight=1)
        if self.title:
            label(frame, 0, self.title, "Head.TLabel", pady=(0, self.look.units(0.6)))
        self.inner = box(frame, 1, 0, "nsew", grows=0)
        self.fill(self.inner)
        frame.grid_remove()

    @abstractmethod
    def fill(self, inner: ttk.Frame) -> None:
        """Fill the leaf, once."""

    def refresh(self, state: AppState) -> None:
        """Show what is new."""


def _labels(widget: tk.Misc) -> list[ttk.Label]:
    found = []
    for child in widget.winfo_children():
        found += [child] if isinstance(child, ttk.Label) else _labels(child)
    return found
