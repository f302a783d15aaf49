"""The Frames page: step through the frames and take five key frames, each by its rule."""

import math
import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Any, Final

from tapmark.app.mark.frames_actions import LEVELS, answer_of, questions_of, see
from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import LIMB_KEYS, check_again
from tapmark.app.shell.why_disabled import events_of
from tapmark.app.state.session import AppState
from tapmark.app.state.titles import travel_words
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets.bench import (
    LOWER_LEFT,
    UPPER_LEFT,
    UPPER_RIGHT,
    BenchColumn,
    BenchPage,
    runner_hands,
)
from tapmark.app.widgets.check_panel import CheckPanel
from tapmark.app.widgets.painting import Drawing, em_px
from tapmark.app.widgets.picture_pane import Hands
from tapmark.app.widgets.pieces import Fresh, fitting, wrapped
from tapmark.app.widgets.theme import Look
from tapmark.errors import ScaleUnusable
from tapmark.geometry.scale import px_per_m
from tapmark.marks.points import SIDE_EVENTS, TURNING_LIMBS
from tapmark.marks.run import Run, TurningMark
from tapmark.measures.result import MarkingCheck
from tapmark.report.drawing import palette
from tapmark.report.drawing.body_prompt import rule_drawing
from tapmark.report.drawing.shapes import Label, Line, Shapes


class FramesView(BenchPage):
    """The five key frames, each with its rule."""

    wants_full = False

    def column(self, column: BenchColumn) -> None:
        """Put rule, list and panels into the column."""
        look, context, words = self.look, self.context, column.body
        self._fresh, self._column, self._em = Fresh(), column, em_px(words)
        self.title = column.title
        self.rule = wrapped(ttk.Label(words), column.width - look.units(1))
        self.rule.grid(row=1, column=0, sticky="ew", pady=(look.units(0.5), look.units(1.2)))
        self.drawing = Drawing(words, column.width, look.units(12))
        self.drawing.canvas.grid(row=2, column=0, sticky="w", pady=(0, look.units(1.2)))
        self.takers: dict[int, ttk.Button] = {}
        box = ttk.Frame(words)
        box.grid(row=3, column=0, sticky="ew")
        box.columnconfigure(0, weight=1)
        for i in range(5):
            button = ttk.Button(
                box, command=partial(context.perform, f"key frame {i + 1}"), style="Row.TButton"
            )
            button.grid(row=i, column=0, sticky="ew", pady=(0, look.units(0.4)))
            self.takers[i] = button
        self.checks = CheckPanel(words, context, look, column.width, 2)
        self.checks.frame.grid(row=5, column=0, sticky="ew", pady=(look.units(1), 0))
        self.turning = TurningPanel(words, context, look)
        self.turning.frame.grid(row=6, column=0, sticky="ew", pady=(look.units(1), 0))
        self.seen = SeenPanel(words, context, look, column.width)
        self.seen.frame.grid(row=7, column=0, sticky="ew", pady=(look.units(1), 0))
        self.unsure = column.action(UPPER_LEFT, "unsure", "Unsure", has_key=True)
        self.undo = column.action(UPPER_RIGHT, "undo")
        self.another = column.action(LOWER_LEFT, "another step", "Another step")

    def hands(self) -> Hands:
        """A click is the runner's hip, a drag over the whole frame a box round the runner."""
        return runner_hands(self.context)

    def still(self, state: AppState, view: Viewport) -> Shapes:
        """Return the side-on zone."""
        return zone_shapes(state.run, view, self._em) if state.run else ()

    def _checks(self, state: AppState) -> tuple[MarkingCheck, ...]:
        """Return what may be a slip of a key frame or of the rate; slips of taps are told there."""
        return tuple(check for check in state.review.checks if not check.point)

    def show(self) -> None:
        """Give the keyboard to the picture."""
        super().show()
        self._fresh.forget()

    def refresh_column(self) -> None:
        """Show the rule and which key frames are chosen."""
        state = self.context.state
        event = self._wanted(state)
        if self._fresh.is_new(event, state.step, state.run and (state.run.view, state.run.set_up)):
            self._show_rule(state, event)
        check_again(self.context)
        checks = self._checks(state)
        self.checks.refresh(checks)
        self._draw_rule("" if checks else event, state.run.travel_sign if state.run else 1)
        by = state.frame.unsure_by if state.frame else 0
        self.unsure.refresh(f"Unsure by {by} ✓" if by else "")
        self.undo.refresh(fitting(self.undo.button, self.look, travel_words(state, "undo")))
        self.another.refresh()
        self._column.onward.refresh("page taps", "Tap the points")

    def _draw_rule(self, event: str, travel_sign: int) -> None:
        """Show the drawing of a key frame; a view from behind has none, and "" takes it away."""
        if event not in SIDE_EVENTS:
            self.drawing.canvas.grid_remove()
            return
        self.drawing.canvas.grid()
        size = self.drawing.size
        self.drawing.show((event, travel_sign), lambda: rule_drawing(event, size, travel_sign))

    def _show_rule(self, state: AppState, event: str) -> None:
        self.title.configure(text=event.capitalize())
        self.rule.configure(text=RULES.get(event, ""))
        for i, button in self.takers.items():
            events = events_of(state)
            if i >= len(events):
                button.grid_remove()
                continue
            frame = state.step.key_frame(events[i])
            there = f"frame {frame.picture + 1}" if frame else "not set"
            if frame and frame.unsure_by:
                there += f", unsure by {frame.unsure_by}"
            button.configure(text=f"{i + 1}  {events[i]}: {there}")
            button.grid()
        self.turning.refresh(state)
        self.seen.refresh(state)

    def _wanted(self, state: AppState) -> str:
        """The key frame whose rule is shown: the first one not chosen, else the one at hand."""
        events = events_of(state)
        unset = [event for event in events if not state.step.key_frame(event)]
        return unset[0] if unset else state.marking.event or events[0]

    def hint(self) -> str:
        """What to do now."""
        if not self.context.state.marking.gallery:
            return "Open a clip or a folder of stills on Film first."
        keys = "1 to 5" if len(events_of(self.context.state)) > 2 else "1 and 2"
        return (
            f"Arrow keys walk (Shift: 10), {keys} take the frame shown, U: unsure by one, by two."
        )


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
    words = Label(
        ((ends[0] + ends[1]) / 2, y - 0.5 * unit),
        "side-on zone",
        unit,
        colour,
        anchor="c",
        casing=casing,
        casing_width=1.5,
    )
    return (*(Line(line, colour, 0.15 * unit, (), casing, 0.38 * unit) for line in lines), words)


SHORT = {
    "rear thigh": "Near thigh stops going back",
    "hand forward": "Near hand stops going forward",
    "lead thigh": "Far thigh stops rising",
    "elbow back": "Far elbow stops going back",
}


class TurningPanel:
    """A heading and four buttons; pressed once at the first still frame, once at the last."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.frame = ttk.Frame(parent)
        title = ttk.Label(self.frame, text="Turning points, if you like", style="Muted.TLabel")
        title.grid(row=0, column=0, sticky="w", pady=(0, look.units(0.4)))
        self.frame.columnconfigure(0, weight=1)
        self.buttons: dict[str, ttk.Button] = {}
        for i, limb in enumerate(TURNING_LIMBS):
            button = ttk.Button(
                self.frame,
                command=partial(context.perform, f"plateau {limb}"),
                style="Slim.TButton",
            )
            button.grid(row=1 + i, column=0, sticky="ew", pady=(0, look.units(0.2)))
            self.buttons[limb] = button

    def refresh(self, state: AppState) -> None:
        """Show which are marked; they belong to the side view only."""
        if state.run is None or state.run.view != "side":
            self.frame.grid_remove()
            return
        self.frame.grid()
        for key, (limb, button) in zip(LIMB_KEYS, self.buttons.items(), strict=True):
            button.configure(text=f"{key}  {SHORT[limb]}{_said(state.step.turning_mark(limb))}")


def _said(mark: TurningMark | None) -> str:
    if mark is None:
        return ""
    first, last = mark.first_picture + 1, mark.last_picture + 1
    return f" {first}…" if first == last else f" {first}–{last}"


class SeenPanel:
    """A heading and a row for each question of the view; it is built anew for another view."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int) -> None:
        self.context, self.look, self.width = context, look, width
        self._built, self._fresh = Fresh(), Fresh()
        self.boxes: dict[str, ttk.Combobox] = {}
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(0, weight=1)

    def refresh(self, state: AppState) -> None:
        """Show the questions of this view and their answers."""
        view = state.run.view if state.run else ""
        if self._built.is_new(view):
            self._build(view)
        if self._fresh.is_new(view, state.step.ticks):
            for name, box in self.boxes.items():
                box.set(answer_of(state, name))

    def _build(self, view: str) -> None:
        look = self.look
        for child in self.frame.winfo_children():
            child.destroy()
        self.boxes = {}
        if not questions_of(view):
            return
        title = ttk.Label(self.frame, text="Seen, not measured", style="Muted.TLabel")
        title.grid(row=0, column=0, columnspan=2, sticky="w", pady=(0, look.units(0.4)))
        for row, (name, words) in enumerate(questions_of(view).items(), start=1):
            label = wrapped(ttk.Label(self.frame, text=words), self.width - look.units(15))
            label.grid(row=row, column=0, sticky="w")
            box = ttk.Combobox(self.frame, values=LEVELS, state="readonly", width=11)
            box.grid(row=row, column=1, sticky="e", pady=look.units(0.3))
            box.bind("<<ComboboxSelected>>", partial(self._keep, name=name))
            self.boxes[name] = box

    def _keep(self, event: Any, name: str) -> None:
        self.context.attempt(lambda: see(self.context.state, name, self.boxes[name].get()))
