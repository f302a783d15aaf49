"""The Frames page: step through the frames and take five key frames, each by its rule."""

import math
import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Any, Final

from PIL import ImageTk

from tapmark.app.mark.frames_actions import LEVELS, answer_of, questions_of, see, wanted
from tapmark.app.shell.context import Context
from tapmark.app.shell.rates import offer_words
from tapmark.app.shell.stepping import LIMB_KEYS, check_again
from tapmark.app.shell.why_disabled import events_of
from tapmark.app.state.following import expected
from tapmark.app.state.session import AppState
from tapmark.app.state.titles import travel_words
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets.bench import (
    LOWER_LEFT,
    UPPER_LEFT,
    UPPER_RIGHT,
    BenchColumn,
    BenchPage,
    box_overlay,
    runner_hands,
)
from tapmark.app.widgets.fields import choice
from tapmark.app.widgets.painting import Drawing, em_px
from tapmark.app.widgets.picture_pane import Hands
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    Panel,
    box,
    emptied,
    fold,
    label,
    mark_chosen,
    put,
    show,
    soon,
    surface,
    wrap_within,
    wrapped,
)
from tapmark.app.widgets.table import cut
from tapmark.app.widgets.theme import Look
from tapmark.errors import ScaleUnusable
from tapmark.geometry.scale import px_per_m
from tapmark.marks.days import several
from tapmark.marks.points import OPPOSITE_TOUCHDOWN, SIDE_EVENTS, TURNING_LIMBS
from tapmark.marks.run import KeyFrame, Run
from tapmark.measures.result import MarkingCheck
from tapmark.report.drawing import palette
from tapmark.report.drawing.body import LEADING
from tapmark.report.drawing.body_prompt import rule_drawing
from tapmark.report.drawing.shapes import Label, Line, Shapes

RULE, LOW_RULE = (14, 13.5), (10, 8.6)  # units: width of the rule's drawing, height of the rule
TALL_ENOUGH = 52  # units: of a column with room for it all
GAPS = 1.7  # units: between rule, list, shoe and the button for more


class FramesView(BenchPage):
    """The five key frames, each with its rule."""

    wants_full = False

    def column(self, column: BenchColumn) -> None:
        look, context, words = self.look, self.context, column.body
        self._column, self._em = column, em_px(words)
        self.title, self.count, self._is_open = column.title, column.count, False
        pad = (look.units(0.4), 0)
        self._slot = box(words, 0, grows=1, pady=pad)
        self._slot.grid_propagate(False)
        self.rule = put(ttk.Label(self._slot), 0, 1, "new", padx=(look.units(1.5), 0))
        self.list = FrameList(words, context, look)
        self.takers = self.list.takers
        self.drawing, self.shoe = Drawing(self._slot, 1, 1), Shoe(words, context, look, (1, 1))
        self.more = ttk.Button(words, text="More", style="Slim.TButton", command=self._open)
        self.fit(TALL_ENOUGH)
        put(self.more, 3, 0, "ew", pady=pad)
        self.checks = CheckPanel(words, context, look, column.width)
        self.turning = TurningPanel(words, context, look)
        self.seen = SeenPanel(words, context, look, column.width)
        self.rest = [each.frame for each in (self.checks, self.turning, self.seen)]
        for row, frame in enumerate(self.rest, start=4):
            put(frame, row, 0, "ew", pady=(look.units(1), 0))
        state, place = self.context.state, partial(column.action, has_key=True)
        self.unsure = place(UPPER_LEFT, "unsure", self._unsure_words, short="Unsure")
        undo = partial(travel_words, state, "undo")
        column.action(UPPER_RIGHT, "undo", undo, short="Undo")
        self.another = column.action(LOWER_LEFT, "another step", "Another step")
        self.again = place(LOWER_LEFT, "look again", "Look again")

    def fit(self, tall: float) -> None:
        """Where there is little height, keep rule, list and shoe small: all three must be seen."""
        look, is_low = self.look, tall < TALL_ENOUGH
        rule = LOW_RULE if is_low else RULE
        self.list.set_rows(LOW_ROW if is_low else ROW_TALL)
        others = self.list.canvas.winfo_reqheight() + self.more.winfo_reqheight()
        spare = look.units(tall - rule[1] - GAPS) - others
        shoe = min(look.units(SHOE_TALL + CAPTION), max(look.units(LEAST_SHOE), spare))
        size = self._column.width, shoe
        if (rule, size) == self._fitted:
            return
        self._fitted = rule, size
        self._slot.configure(height=look.units(rule[1]))
        self.drawing.canvas.destroy()
        self.drawing = Drawing(self._slot, look.units(rule[0]), look.units(rule[1] - 0.4))
        put(self.drawing.canvas, sticky="nw")
        wrapped(self.rule, self._column.width - look.units(rule[0] + 1.5))
        self.shoe.canvas.destroy()
        self.shoe = Shoe(self._column.body, self.context, look, size)
        places = (2, 1) if is_low else (1, 2)  # of shoe and list: what is pressed must be seen
        for row, canvas in zip(places, (self.shoe.canvas, self.list.canvas), strict=True):
            put(canvas, row, 0, "ew", pady=(look.units(0.4), 0))
        self.context.state.notify()

    _fitted: object = None

    def _open(self) -> None:
        self._is_open = not self._is_open
        self.context.state.notify()

    def hands(self) -> Hands:
        """A click is the runner's hip, a drag over the whole frame a box round the runner."""
        return runner_hands(self.context)

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        return box_overlay(state, view, self.look.unit)

    def still(self, state: AppState, view: Viewport) -> Shapes:
        return zone_shapes(state.run, view, self._em) if state.run else ()

    def _checks(self, state: AppState) -> tuple[MarkingCheck, ...]:
        """Return what may be a slip of a key frame or of the rate; slips of taps are told there."""
        return tuple(check for check in state.review.checks if not check.point)

    def refresh_column(self) -> None:
        state = self.context.state
        event, events = wanted(state), events_of(state)
        taken = sum(1 for each in events if state.step.key_frame(each))
        self.title.configure(text=event.capitalize())
        self.count.configure(text=f"{min(taken + 1, len(events))} of {len(events)}")
        self.rule.configure(text=RULES.get(event, ""))
        sign, size = state.run.travel_sign if state.run else 1, self.drawing.size
        if event in SIDE_EVENTS:  # seen from behind there is no drawing
            self.drawing.show((event, sign), lambda: rule_drawing(event, size, sign))
        else:
            self.drawing.clear()
        self.shoe.refresh()
        self.list.refresh()
        check_again(self.context)
        checks, is_behind = self._checks(state), bool(state.run and state.run.view != "side")
        self.checks.refresh(checks)
        self.turning.refresh(state)
        self.seen.refresh(state)
        is_open = self._is_open or is_behind
        found = f", {several(len(checks), 'check')}" if checks else ""
        self.more.configure(text=f"{'Less' if is_open else 'More'} on this step{found}")
        if not is_open:
            for frame in self.rest:
                frame.grid_remove()
        elif checks:
            self.checks.frame.grid()
        mark_chosen(self.unsure, bool(state.frame and state.frame.unsure_by))
        can_look = bool(checks) and self.again.is_available
        show(self.again, can_look)
        show(self.another, not can_look)
        missing = "" if state.marking.gallery else "Open a clip first"
        if taken < len(events):
            self._column.onward.lead("take", f"Take {event}", missing, short="Take")
        else:
            self._column.onward.lead("page taps", "Tap the points", missing, short="Taps")

    def _unsure_words(self) -> str:
        frame = self.context.state.frame
        return f"Unsure by {('one', 'one', 'two')[frame.unsure_by if frame else 0]}"

    def hint(self) -> str:
        if not self.context.state.marking.gallery:
            return "Open a clip or a folder of stills on Film first."
        checks = self._checks(self.context.state)
        if checks:
            return f"May be a slip: {checks[0].words}"
        keys = "1 to 5" if len(events_of(self.context.state)) > 2 else "1 and 2"
        return f"Arrow keys walk (Shift: 10), {keys} take the frame, Space plays."


ROW_TALL, LOW_ROW = 4.5, 3.6  # units: of a line, but never less than its button
BREAK = 0.35  # units: above the break before the other leg


class FrameList:
    """A line for each key frame: pressed it is gone to; its button takes the frame shown."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self._events: tuple[str, ...] = ()
        self._row_px = 0
        self.canvas = surface(parent, palette.PAPER, has_focus=False)
        self.takers: dict[int, ttk.Button] = {}
        self._windows: dict[int, int] = {}
        make = partial(ttk.Button, self.canvas, style="Tight.TButton")
        place = partial(self.canvas.create_window, 0, 0, anchor="e", width=look.units(9.5))
        for i in range(5):
            take = partial(context.perform, f"key frame {i + 1}")
            self.takers[i] = make(text=f"Take  {i + 1}", command=take)
            self._windows[i] = place(window=self.takers[i])
        self.set_rows(ROW_TALL)
        self.canvas.bind("<Button-1>", self._pressed)
        self.canvas.bind("<Configure>", lambda event: self.refresh())

    def set_rows(self, tall: float) -> None:
        """Make the lines so many units tall, but no less than their buttons."""
        row_px = max(self.look.units(tall), self.takers[0].winfo_reqheight() + 1)
        if row_px != self._row_px:
            self._row_px = row_px
            self.canvas.configure(height=5 * row_px + self.look.units(BREAK))
            self._fresh.forget()

    def _y(self, row: int) -> int:
        return round(self._row_px * (row + 0.5)) + (self.look.units(BREAK) if row == 4 else 0)

    def refresh(self) -> None:
        """Show which are taken, where and when, and which one is looked for."""
        state = self.context.state
        here, self._events = wanted(state), events_of(state)
        wide, sure = self.canvas.winfo_width(), state.marking.sure
        set_up = state.run.set_up if state.run else None
        if not self._fresh.is_new(wide, sure, here, state.step, set_up, self._events):
            return
        self.canvas.delete("row")
        for i, button in self.takers.items():
            has_row = i < len(self._events)
            self.canvas.itemconfigure(self._windows[i], state="normal" if has_row else "hidden")
            self.canvas.coords(self._windows[i], wide - 1, self._y(i))
            is_sure = has_row and sure is not None and sure[0] == self._events[i]
            button.configure(text=f"{'Sure?' if is_sure else 'Take'}  {i + 1}")
            if has_row:
                self._draw(state, i, self._events[i], is_here=self._events[i] == here)

    def _draw(self, state: AppState, i: int, event: str, *, is_here: bool) -> None:
        look, units, wide, y = self.look, self.look.units, self.canvas.winfo_width(), self._y(i)
        half, frame = self._row_px // 2, state.step.key_frame(event)
        line = partial(self.canvas.create_line, tags="row")
        if is_here:
            ground = (0, y - half, wide, y + half)
            self.canvas.create_rectangle(*ground, fill=palette.SELECTED_ROW, width=0, tags="row")
            self.canvas.tag_lower("row")
        bold, plain = look.font("bold"), look.font("body")
        ink, font = (palette.ACCENT, bold) if is_here else (palette.INK, plain)
        self._text(units(1.2), y, str(i + 1), bold, ink, "center")
        if frame or is_here:
            at = y + units(1.25)
            line(units(0.2), at, units(2.2), at, fill=ink, width=units(0.3))
        if event == OPPOSITE_TOUCHDOWN:  # the break: from here on the other leg
            top = y - half - units(BREAK / 2)
            line(0, top, wide, top, fill=palette.CONTROL_EDGE, dash=(4, 3))
        (number, when), end = _place_of(state, event), wide - units(10.5)
        name = cut(event, max(end - plain.measure(when) - units(5), units(6)), font.measure)
        self._text(units(4), y, name, font, ink if frame or is_here else palette.MUTED, "w")
        self._text(end, y, when, plain, palette.MUTED, "e")
        left = end - units(7.5) - plain.measure(number)
        if frame and left >= units(5) + font.measure(name):  # else the status line says the frame
            self._text(end - units(7.5), y, number, plain, palette.INK, "e")

    def _text(self, x: int, y: int, words: str, font: Any, ink: str, anchor: Any) -> None:
        self.canvas.create_text(x, y, text=words, font=font, fill=ink, anchor=anchor, tags="row")

    def _pressed(self, event: Any) -> None:
        i = int(event.y / self._row_px)
        if i < len(self._events):
            state = self.context.state
            state.marking.sure = None
            self.context.attempt(lambda: state.go_to(self._events[i]))


def _place_of(state: AppState, event: str) -> tuple[str, str]:
    """Return the frame of a key frame and its ms after the first one, as words."""
    frame, run = state.step.key_frame(event), state.run
    if frame is None or run is None:
        return "", "not set"
    unsure = f" ±{frame.unsure_by}" if frame.unsure_by else ""
    first = state.step.key_frame(events_of(state)[0])
    start = run.true_time_s(first.time_s) if first else None
    at = run.true_time_s(frame.time_s)
    when = f"{1000 * (at - start):.0f} ms" if at is not None and start is not None else ""
    return f"{frame.picture + 1}{unsure}", when.replace("-", "−")


SHOE_MS = 120  # the shoe is shown when the hand pauses: two more frames are read for it
SHOE_WIDE = 0.3  # body heights that each of the three shows
SHOE_TALL, CAPTION = 9.0, 2.2  # units
LEAST_SHOE = 4.0  # units: with so little there are no captions; the frame shown has a blue edge
NO_SHOE = "Click the runner’s hip in the picture:\nthe shoe is shown here, frame by frame."


class Shoe:
    """The shoe that lands or leaves, one frame before, in this and one after; a drag shifts it."""

    def __init__(
        self, parent: tk.Misc, context: Context, look: Look, size: tuple[int, int]
    ) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        (width, height), gap = size, look.units(0.7)
        caption = look.units(CAPTION) if height >= look.units(5 + CAPTION) else 0
        wide, tall = self._size = max(1, (width - 2 * gap) // 3), max(1, height - caption)
        self._shift, self._grabbed, self._whose = (0.0, 0.0), (0, 0), context.state.at_hand()
        self._is_due = False
        self.canvas = surface(
            parent, palette.PAPER, has_focus=False, width=width, height=height, cursor="fleur"
        )
        self._photos = [ImageTk.PhotoImage("RGB", self._size, master=parent) for _ in range(3)]
        bold, body, write = look.font("bold"), look.font("body"), self.canvas.create_text
        for k, words in enumerate(("one before", "this frame", "one after")):
            x, photo = k * (wide + gap), self._photos[k]
            self.canvas.create_image(x, 0, image=photo, anchor="nw", tags="shoe")
            font, ink = (bold, palette.INK) if k == 1 else (body, palette.MUTED)
            if caption:
                at = x + wide / 2, tall + caption / 2
                write(*at, text=words, font=font, fill=ink, tags="shoe")
        edge = (wide + gap, 1, 2 * wide + gap, tall - 1)
        self.canvas.create_rectangle(*edge, outline=palette.ACCENT, width=2, tags="shoe")
        self._words = write(0, tall / 2, anchor="w", text=NO_SHOE, font=body, fill=palette.MUTED)
        self.canvas.itemconfigure("shoe", state="hidden")
        self.canvas.bind("<Button-1>", self._grab)
        self.canvas.bind("<B1-Motion>", self._drag)

    def refresh(self) -> None:
        """Show the shoe once the hand pauses; nothing while nobody knows where the runner is."""
        state = self.context.state
        if self._whose != state.at_hand():
            self._whose, self._shift = state.at_hand(), (0.0, 0.0)
        is_known = self._centre(state) is not None
        self.canvas.itemconfigure("shoe", state="normal" if is_known else "hidden")
        self.canvas.itemconfigure(self._words, state="hidden" if is_known else "normal")
        if is_known and not self._is_due and not state.marking.playing.is_on:
            self._is_due = True
            soon(self.canvas, SHOE_MS, self._draw)

    def _centre(self, state: AppState) -> tuple[float, float] | None:
        """Return where the shoe is in the frame shown, px, as far as anybody knows."""
        runner, run, event = state.runner(), state.run, wanted(state)
        if runner is None or run is None or not state.marking.gallery or event not in LEADING:
            return None
        frame, sign = KeyFrame(event, state.marking.picture), run.travel_sign
        ends = (f"{LEADING[event]} {end}" for end in ("heel", "toe"))
        heel, toe = (expected(runner, sign, frame, point) for point in ends)
        return (heel[0] + toe[0]) / 2, (heel[1] + toe[1]) / 2

    def _draw(self) -> None:
        self._is_due = False
        state = self.context.state
        centre, runner, gallery = self._centre(state), state.runner(), state.marking.gallery
        if centre is None or runner is None or gallery is None:
            return
        i, n = state.marking.picture, len(gallery.pictures)
        if not self._fresh.is_new(i, centre, self._shift, runner.tall_px, state.tone, n > i + 1):
            return
        wide = SHOE_WIDE * runner.tall_px
        tall = wide * self._size[1] / self._size[0]
        x, y = (c + s * runner.tall_px for c, s in zip(centre, self._shift, strict=True))
        box = (x - wide / 2, y - tall * 0.6, x + wide / 2, y + tall * 0.4)
        for k, photo in enumerate(self._photos):
            at = min(max(0, i + k - 1), n - 1)
            photo.paste(gallery.part(at, box, self._size, state.tone))

    def _grab(self, event: Any) -> None:
        self._grabbed = event.x, event.y

    def _drag(self, event: Any) -> None:
        per_px = SHOE_WIDE / self._size[0]
        dx, dy = (event.x - self._grabbed[0]) * per_px, (event.y - self._grabbed[1]) * per_px
        self._grabbed = event.x, event.y
        self._shift = self._shift[0] - dx, self._shift[1] - dy
        self._draw()


RULES: Final = {
    "touchdown": (
        "The first frame in which any part of the near shoe is on the ground. "
        "If the shoe is lower in the next frame, take the next."
    ),
    "mid-stance": (
        "The frame in which the hip is straight above the near ankle bone. "
        "Of two equally good ones, take the earlier."
    ),
    "toe-off": (
        "The last frame in which the tip of the near shoe still touches the ground. "
        "If it is blurred, take the earlier."
    ),
    "peak knee lift": (
        "The frame in which the far knee is highest, near toe-off. "
        "Where it seems still for a while, take the middle."
    ),
    "opposite touchdown": (
        "The first frame in which any part of the far shoe is on the ground. "
        "If the shoe is lower in the next frame, take the next."
    ),
    "last contact": (
        "The last frame in which the shoe still touches the ground. "
        "If it is blurred, take the earlier."
    ),
    "most turned": (
        "The frame in which the heel is turned most, within a few frames after. "
        "Where it seems still, take the middle."
    ),
}
"""Key frame -> which frame to take, and what to do in doubt."""
SIDE_ON_DEG = 5.0


def zone_px(run: Run) -> tuple[float, float] | None:
    """Return left and right of the side-on zone, frame px; None where it is not known."""
    set_up, width = run.set_up, run.source.size_px[0]
    if set_up.camera_distance_m is None or set_up.scale_px is None or set_up.scale_m is None:
        return None
    if not set_up.is_static or run.view != "side":
        return None
    try:
        px = px_per_m(set_up.scale_px, set_up.scale_m)
    except ScaleUnusable:
        return None
    half = math.tan(math.radians(SIDE_ON_DEG)) * set_up.camera_distance_m * px
    return width / 2 - half, width / 2 + half


def zone_shapes(run: Run, view: Viewport, unit: float) -> Shapes:
    """Return the bar and its words in canvas px; nothing where the zone is not known."""
    zone = zone_px(run)
    if zone is None:
        return ()
    left, _, right, bottom = view.placed
    y = bottom - 1.1 * unit
    ends = [min(max(view.to_canvas((x, 0.0))[0], left), right) for x in zone]
    if ends[1] - ends[0] < unit:
        return ()
    colour, casing = palette.WHITE, palette.CASING
    lines = [((ends[0], y), (ends[1], y))]
    lines += [((x, y - 0.5 * unit), (x, y + 0.5 * unit)) for x in ends if left < x < right]
    at = sum(ends) / 2, y - 0.5 * unit
    words = Label(at, "side-on zone", unit, colour, False, False, "c", casing, 1.5)
    return (*(Line(line, colour, 0.15 * unit, (), casing, 0.38 * unit) for line in lines), words)


SHORT = {
    "rear thigh": "Near thigh stops going back",
    "hand forward": "Near hand stops going forward",
    "lead thigh": "Far thigh stops rising",
    "elbow back": "Far elbow stops going back",
}


MOST_CHECKS = 2


class CheckPanel(Panel):
    """What may be a slip: plain sentences, a button to go there, one to take the rate that fits.

    It takes no room when there is nothing to say.
    """

    def build(self, frame: ttk.Frame) -> None:
        context, look = self.context, self.look
        self.title = label(frame, 0, style="Bold.TLabel")
        again = "look again", "Look again"
        self.button = ActionButton(frame, context, look, *again, has_key=True)
        pad = (look.units(0.3), 0)
        self.words = label(frame, 1, wrap=self.width, columnspan=2, pady=pad)
        wrap_within(self.words, frame)
        words = partial(offer_words, context.state)
        offer = ActionButton(frame, context, look, "take rate", words, has_key=True)
        self.offer = put(offer, 3, 0, "w", columnspan=2, pady=(look.units(0.5), 0))

        def lay_out(is_folded: bool) -> None:
            put(self.button, *((2, 0, "w") if is_folded else (0, 1, "e")))

        fold(frame, (self.title, self.button), look.units(1), lay_out)

    def refresh(self, checks: tuple[MarkingCheck, ...]) -> None:
        """Show the first few, and how many more there are."""
        offer = offer_words(self.context.state)
        if not self.fresh.is_new(checks, offer):
            return
        show(self.frame, bool(checks))
        if checks:
            more = len(checks) - MOST_CHECKS
            self.title.configure(text="Marking check" if len(checks) == 1 else "Marking checks")
            words = [check.words for check in checks[:MOST_CHECKS]]
            words += [f"and {more} more"] if more > 0 else []
            self.words.configure(text="\n".join(words))
            show(self.button, self.button.is_available)
            show(self.offer, bool(offer))


class TurningPanel(Panel):
    """A heading and four buttons; pressed once at the first still frame, once at the last."""

    def build(self, frame: ttk.Frame) -> None:
        context, look = self.context, self.look
        label(frame, 0, "Turning points, if you like", "Muted.TLabel", pady=(0, look.units(0.4)))
        self.buttons: dict[str, ttk.Button] = {}
        for i, limb in enumerate(TURNING_LIMBS):
            do = partial(context.perform, f"plateau {limb}")
            made = ttk.Button(frame, command=do, style="Slim.TButton")
            self.buttons[limb] = put(made, 1 + i, 0, "ew", pady=(0, look.units(0.2)))

    def refresh(self, state: AppState) -> None:
        """Show which are marked; they belong to the side view only."""
        show(self.frame, bool(state.run and state.run.view == "side"))
        for key, (limb, button) in zip(LIMB_KEYS, self.buttons.items(), strict=True):
            mark = state.step.turning_mark(limb)
            first, last = (mark.first_picture, mark.last_picture) if mark else (0, 0)
            until = f" {first + 1}…" if first == last else f" {first + 1}–{last + 1}"
            button.configure(text=f"{key}  {SHORT[limb]}{until if mark else ''}")


class SeenPanel(Panel):
    """A heading and a row for each question of the view; it is built anew for another view."""

    def build(self, frame: ttk.Frame) -> None:
        self._built, self.boxes = Fresh(), dict[str, ttk.Combobox]()

    def refresh(self, state: AppState) -> None:
        """Show the questions of this view and their answers."""
        view = state.run.view if state.run else ""
        if self._built.is_new(view):
            self._ask(view)
        if self.fresh.is_new(view, state.step.ticks):
            for name, field in self.boxes.items():
                field.set(answer_of(state, name))

    def _ask(self, view: str) -> None:
        look = self.look
        emptied(self.frame)
        self.boxes = {}
        if not questions_of(view):
            return
        pad = (0, look.units(0.4))
        label(self.frame, 0, "Seen, not measured", "Muted.TLabel", columnspan=2, pady=pad)
        for row, (name, words) in enumerate(questions_of(view).items(), start=1):
            label(self.frame, row, words, wrap=self.width - look.units(15))
            made = choice(self.frame, partial(self._keep, name), values=LEVELS, width=11)
            self.boxes[name] = put(made, row, 1, "e", pady=look.units(0.3))

    def _keep(self, name: str, level: str) -> None:
        self.context.attempt(lambda: see(self.context.state, name, level))
