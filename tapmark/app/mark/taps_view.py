"""The Taps page: one prompt at a time, the frame large, no numbers."""

import math
import tkinter as tk
from collections.abc import Callable
from functools import partial
from tkinter import ttk
from typing import Any

from tapmark.app.mark.taps_actions import (
    SET_WORDS,
    choose_tap_set,
    drag,
    end_drag,
    nearest_tap,
    tap_at,
)
from tapmark.app.shell.stepping import ask_for, check_again, placed
from tapmark.app.shell.why_disabled import waiting_for
from tapmark.app.state.prompts import Prompt, aside, asked, counted, frame_of, tap_of, where
from tapmark.app.state.session import AppState
from tapmark.app.state.titles import travel_words
from tapmark.app.state.viewport import Point, Viewport
from tapmark.app.widgets.bench import LOWER_LEFT, UPPER_LEFT, UPPER_RIGHT, BenchColumn, BenchPage
from tapmark.app.widgets.fields import choice
from tapmark.app.widgets.painting import DONE, HALF, OPEN, Drawing, dots
from tapmark.app.widgets.picture_pane import MARKS, SMOOTH_MS, Hands, Magnifier
from tapmark.app.widgets.pieces import (
    ActionButton,
    Fresh,
    box,
    emptied,
    label,
    mark_chosen,
    put,
    show,
    surface,
    wrapped,
)
from tapmark.app.widgets.theme import Look
from tapmark.marks.points import OPPOSITE_TOUCHDOWN, TAP_SETS
from tapmark.marks.run import Tap
from tapmark.measures.result import MarkingCheck
from tapmark.report.drawing import palette
from tapmark.report.drawing.body_prompt import body_prompt
from tapmark.report.drawing.overlay import LETTERS, tap_shapes
from tapmark.report.drawing.shapes import Line, Shapes

POINT_SETS = {SET_WORDS[tap_set]: tap_set for tap_set in TAP_SETS}
ANSWERS = dict(guess="a guess", hidden="hidden", behind="behind near knee", blurred="blurred")
WHERE_LINES = 3
ABOVE_LISTS = 5.5  # units: titles and gaps
OTHERS = 36  # units: all that stands above and below drawing and magnifier
LEAST, LEAST_SIDE = 14, 8.5  # units: of their side, before rows are closed for them and after that


class TapView(BenchPage):
    """One point at a time, the frame large."""

    counts = aims = True
    smooth_ms = SMOOTH_MS

    def column(self, column: BenchColumn) -> None:
        look, words, width = self.look, column.body, column.width
        self._fresh, self._column = Fresh(), column
        self._held: Prompt | None = None
        self.title, self.count = column.title, column.count
        slot = box(words, 0, grows=0)
        slot.configure(height=look.units(2 * WHERE_LINES + 0.5))
        slot.grid_propagate(False)  # a longer sentence must move nothing
        slot.rowconfigure(0, weight=1)
        self.where = put(wrapped(ttk.Label(slot, anchor="nw"), width), 0, 0, "nsew")
        self._pictures = box(words, 1, grows=(0, 1), pady=(look.units(0.6), 0))
        self._side, self._is_low = 0, False
        self._show_pictures(look.units(LEAST))
        below = box(words, 2, grows=(0, 1), pady=(look.units(0.8), 0))
        self.of = label(below, 0, "", "Bold.TLabel", sticky="ew")
        self.points = PointList(below, look, self.context.state, self._to_point)
        put(self.points.canvas, 1, 0, "new", pady=(look.units(0.4), 0))
        self.answers = self._answers(below)
        self._menu = tk.Menu(self.bench.pane.canvas, tearoff=False)
        for place, name in ((UPPER_LEFT, "undo"), (UPPER_RIGHT, "redo")):
            said = partial(travel_words, self.context.state, name)
            column.action(place, name, said, short=name.capitalize())
        self.next = column.action(LOWER_LEFT, "next point", "Next point", has_key=True)
        self.again = column.action(LOWER_LEFT, "look again", "Look again", has_key=True)

    def _show_pictures(self, side: int) -> None:
        """Put drawing and magnifier beside each other, each so many px wide."""
        if side == self._side:
            return
        self._side = side
        emptied(self._pictures)
        self.drawing = Drawing(self._pictures, side, side)
        self.magnifier = Magnifier(self._pictures, side)
        put(self.drawing.canvas, 0, 0, "w")
        put(self.magnifier.canvas, 0, 1, "e")

    def fit(self, tall: float) -> None:
        """Give drawing and magnifier what the words leave; where that is little, close the rows."""
        look, is_low = self.look, tall < OTHERS + LEAST
        self.points.set_rows(LOW_ROW_EM if is_low else ROW_EM)
        self._is_low, gap = is_low, look.units(0.1 if is_low else 0.4)
        wide_gap = gap if is_low else look.units(0.8)
        answers = self.answers.values()
        for button in answers:
            button.grid_configure(pady=(gap, 0))
        show(self._frame_is, not is_low)
        self._of_points.grid_configure(pady=(wide_gap, 0))
        answers_px = sum(button.winfo_reqheight() + gap for button in answers)
        answers_px += 0 if is_low else self._frame_is.winfo_reqheight() + wide_gap
        answers_px += self.points_asked.winfo_reqheight() + wide_gap
        below_px = max(answers_px, self.points.canvas.winfo_reqheight())
        spare = look.units(tall - 2 * WHERE_LINES - ABOVE_LISTS) - below_px
        half = (self._column.width - look.units(1.2)) // 2
        self._show_pictures(min(half, max(look.units(LEAST_SIDE), spare)))
        self.context.state.notify()

    def _answers(self, below: ttk.Frame) -> dict[str, ActionButton]:
        """Put what can be said of the point and of the frame beside the list of points."""
        look, made = self.look, {}
        beside = (look.units(0.6), 0)
        label(below, 0, "This point is", "Bold.TLabel", column=1, padx=beside)
        here = box(below, 1, 1, "new", grows=0, padx=beside)
        for row, (name, words) in enumerate(ANSWERS.items()):
            if name == "blurred":
                pad = (look.units(0.8), 0)
                self._frame_is = label(here, row, "This frame is", "Bold.TLabel", pady=pad)
            made[name] = ActionButton(
                here,
                self.context,
                look,
                name,
                self._blurred_words if name == "blurred" else words,
                style="Tight.TButton",
                has_key=True,
                short="behind knee" if name == "behind" else "",
            )
            made[name].configure(width=1)
            at, pad = row + (name == "blurred"), (look.units(0.4), 0)
            put(made[name], at, 0, "ew", pady=pad)
        self._of_points = box(here, 9, grows=1, pady=(look.units(0.8), 0))
        label(self._of_points, 0, "Points", padx=(0, look.units(0.5)))
        asked = choice(self._of_points, self._choose_set, values=tuple(POINT_SETS), width=1)
        self.points_asked = put(asked, 0, 1, "ew")
        return made

    def _blurred_words(self) -> str:
        return "blurred frame" if self._is_low else ANSWERS["blurred"]

    def _choose_set(self, words: str) -> None:
        self.context.attempt(lambda: choose_tap_set(self.context.state, POINT_SETS[words]))
        self.bench.pane.canvas.focus_set()

    def hands(self) -> Hands:
        return Hands(
            tap=lambda at: self.context.attempt(lambda: tap_at(self.context, at)),
            hover=lambda at: self._magnify(at) if at else None,
            grab=self._grab,
            over=lambda at, reach: nearest_tap(self.context.state, at, reach),
            does=MARKS,
            drag=self._drag,
            drop=lambda: end_drag(self.context.state),
            menu=self._show_menu,
        )

    def overlay(self, state: AppState, view: Viewport) -> Shapes:
        if state.marking.aim:
            self._magnify(state.marking.aim)
        return taps_shapes(state, view, self.look.unit)

    def show(self) -> None:
        super().show()
        self._fresh.forget()

    def refresh_column(self) -> None:
        state = self.context.state
        run, prompt, look = state.run, state.marking.prompt, state.marking.look
        done, asked = counted(run, state.marking.i_step, again=look) if run else (0, 0)
        if run is None or not state.step.key_frames:
            self._say("Taps", "Choose the five key frames first.", "")
        elif state.marking.dragged:
            words = "Let go: it stays here.\nEscape: back to where it was."
            self._say(state.marking.dragged[0].point.capitalize(), words, "")
        elif state.is_pausing and prompt:
            self._say(*_break(state, prompt), f"{done} of {asked}")
        elif prompt is None:
            words = "Review shows what it says. Tab goes through again."
            self._say("All tapped", words, f"{done} of {asked}")
        else:
            words = f"{where(prompt.point)}\n{aside(run, prompt)}"
            self._say(_heading(prompt, look), words, f"{min(done + 1, asked)} of {asked}")
        if prompt is None or run is None:
            self.drawing.clear()
        else:
            asks, size, sign = (prompt.event, prompt.point), self.drawing.size, run.travel_sign
            self.drawing.show((*asks, sign), lambda: body_prompt(*asks, size, sign))
        self.points.refresh()
        event = state.marking.event
        self.of.configure(text=event.capitalize() if state.frame else "Points")
        tap = placed(state)
        certainty = tap.certainty if tap else state.marking.certainty
        said = {certainty, "blurred" if state.frame and state.frame.is_blurred else ""}
        for name, button in self.answers.items():
            mark_chosen(button, name in said)
        check_again(self.context)
        has_checks = bool(self._checks(state))
        show(self.again, has_checks)
        show(self.next, not has_checks)
        tap_set = run.tap_set if run else ""
        self.points_asked.set(next((w for w, s in POINT_SETS.items() if s == tap_set), ""))
        left = f"{asked - done} to go" if asked > done else ""
        self._column.onward.lead("page review", "See Review", left, short="Review")

    def _checks(self, state: AppState) -> tuple[MarkingCheck, ...]:
        """Return what may be a slip of a tap; what the key frames say belongs to Frames."""
        return tuple(check for check in state.review.checks if check.event and check.point)

    def _say(self, title: str, words: str, count: str) -> None:
        if self._fresh.is_new(title, words, count):
            self.title.configure(text=title)
            self.where.configure(text=words)
            self.count.configure(text=count)

    def hint(self) -> str:
        state = self.context.state
        why = waiting_for(state) if state.run else ""
        if why:
            return why
        checks = self._checks(state)
        if checks:
            return f"May be a slip: {checks[0].words} K goes there."
        if state.run is None or not state.step.key_frames:
            return "Choose the five key frames on Frames first, F4."
        if state.marking.prompt is None:
            return "Tab goes through the points, 1 to 5 through the key frames."
        if state.marking.aim:
            return "Arrow keys move the cross-hair (Shift: 10), Return marks."
        return "Click the point, or arrow keys (Shift: 10) and Return."

    def _magnify(self, at: Point) -> None:
        state, i = self.context.state, self.context.state.marking.picture
        if state.marking.gallery and i < len(state.marking.gallery.pictures):
            self.magnifier.show(state.marking.gallery, i, at, state.tone)

    def _grab(self, at: Point, reach: float) -> bool:
        self._held = nearest_tap(self.context.state, at, reach)
        self._has_moved = False
        return self._held is not None

    def _drag(self, at: Point) -> None:
        held, dragged = self._held, self.context.state.marking.dragged
        if held and (dragged or not self._has_moved):  # else Escape has put it back
            self._has_moved = True
            self.context.attempt(lambda: drag(self.context, held, at))

    def _show_menu(self, at: Point, reach: float, where: tuple[int, int]) -> None:
        """Offer what can be said of a mark; every line has its key as well."""
        prompt = nearest_tap(self.context.state, at, reach)
        if prompt is None:
            return
        menu = self._menu
        menu.delete(0, "end")
        for name, words in (("guess", "Guess"), ("hidden", "Hidden"), ("remove tap", "Remove")):
            label = f"{prompt.point.capitalize()}: {words}"
            menu.add_command(label=label, command=partial(self._say_of, prompt, name))
        menu.tk_popup(*where)

    def _say_of(self, prompt: Prompt, name: str) -> None:
        if self.context.attempt(lambda: ask_for(self.context.state, prompt)):
            self.context.perform(name)

    def _to_point(self, prompt: Prompt) -> None:
        self.context.attempt(lambda: ask_for(self.context.state, prompt))


def taps_shapes(state: AppState, view: Viewport, unit: float) -> Shapes:
    """Return the taps of the key frame at hand with thin lines between them, in canvas px.

    During the second look only its own taps are shown, never the first ones.
    """
    by = state.marking.prompt.by if state.marking.prompt else 0
    frame = frame_of(state.step, state.marking.event, again=state.marking.look, by=by)
    if frame is None or frame.picture != state.marking.picture:
        return ()
    shapes = tap_shapes(frame, view.to_canvas, unit, view.canvas)
    dragged = state.marking.dragged
    at = frame.at(dragged[0].point) if dragged else None
    if dragged is None or at is None:
        return shapes
    # a broken ring where the mark was, and dots from there to where it is now
    (x, y), radius, width = view.to_canvas(dragged[1]), 6.5 * unit, 2 * unit
    turns = [k * math.tau / 24 for k in range(25)]
    ring = tuple((x + radius * math.cos(a), y + radius * math.sin(a)) for a in turns)
    return shapes + tuple(
        Line(points, palette.WHITE, width, (2 * unit, 4 * unit), palette.CASING, 2 * width)
        for points in (ring, ((x, y), view.to_canvas(at)))
    )


def _break(state: AppState, prompt: Prompt) -> tuple[str, str]:
    """Return title and words while the finished figure of a key frame stands there."""
    is_other_leg = prompt.event == OPPOSITE_TOUCHDOWN and state.run and not state.marking.look
    if is_other_leg and state.run:
        far = state.run.far_side
        return "Now the other leg", f"The far foot lands next, the {far} one: its knee comes first."
    return f"{state.marking.event.capitalize()} is done", f"Next: {prompt.event}. Any key goes on."


def _heading(prompt: Prompt, look: object) -> str:
    name = prompt.point.capitalize()
    if prompt.by:
        return f"{name}, 1 {'before' if prompt.by < 0 else 'after'}"
    return f"{name}, again" if look else name


ROW_EM, LOW_ROW_EM, PLACES = 3.4, 2.6, 7


class PointList:
    """Seven places for the points of a key frame: a dot that says how far, name, letter.

    Of more points those around the one at hand are shown; places that are not needed stay empty.
    """

    def __init__(
        self, parent: tk.Misc, look: Look, state: AppState, chosen: Callable[[Prompt], None]
    ) -> None:
        self.look, self._state, self._chosen, self._row_em = look, state, chosen, ROW_EM
        self.dots, self._fresh = dots(parent, look.u), Fresh()
        self._shown: tuple[Prompt, ...] = ()
        tall = look.units(ROW_EM * PLACES)
        self.canvas = surface(parent, palette.PAPER, has_focus=False, height=tall)
        self.canvas.bind("<Button-1>", self._pressed)
        self.canvas.bind("<Configure>", lambda event: self.refresh())

    def set_rows(self, row_em: float) -> None:
        """Make the rows so many units tall."""
        if row_em != self._row_em:
            self._row_em = row_em
            self.canvas.configure(height=self.look.units(row_em * PLACES))
            self._fresh.forget()

    def refresh(self) -> None:
        """Draw the list anew if anything in it changed."""
        state, marking = self._state, self._state.marking
        every = asked(state.run, marking.i_step, again=marking.look) if state.run else ()
        mine = tuple(p for p in every if p.event == marking.event)
        taps = tuple(tap_of(state.step, p, again=marking.look) for p in mine)
        if not self._fresh.is_new(mine, taps, marking.prompt, self.canvas.winfo_width()):
            return
        here = mine.index(marking.prompt) if marking.prompt in mine else 0
        first = min(max(0, here - PLACES // 2), max(0, len(mine) - PLACES))
        self._shown = mine[first : first + PLACES]
        self.canvas.delete("all")
        look, canvas, wide = self.look, self.canvas, self.canvas.winfo_width()
        for row, (prompt, tap) in enumerate(zip(self._shown, taps[first:], strict=False)):
            is_here = prompt == marking.prompt
            y, tall = look.units(self._row_em * (row + 0.5)), look.units(self._row_em)
            if is_here:
                ground = (0, y - tall // 2, wide, y + tall // 2)
                canvas.create_rectangle(*ground, fill=palette.SELECTED_ROW, width=0)
                x, outer, inner = look.units(1.4), look.units(0.9), look.units(0.35)
                ring = (x - outer, y - outer, x + outer, y + outer)
                canvas.create_oval(*ring, fill=palette.WHITE, outline=palette.ACCENT, width=2)
                dot = (x - inner, y - inner, x + inner, y + inner)
                canvas.create_oval(*dot, fill=palette.ACCENT, width=0)
            else:
                canvas.create_image(look.units(1.4), y, image=self.dots[_dot(tap)])
            said = tap.certainty if tap and tap.certainty != "sure" else ""
            font = look.font("bold" if is_here else "body")
            ink = palette.ACCENT if is_here else palette.INK if tap else palette.MUTED
            canvas.create_text(look.units(3), y, anchor="w", text=prompt.point, font=font, fill=ink)
            end = "≈" if said == "guess" else said or LETTERS.get(prompt.point, "")
            at, font = wide - look.units(0.6), look.font("body")
            canvas.create_text(at, y, anchor="e", text=end, font=font, fill=palette.MUTED)

    def _pressed(self, event: Any) -> None:
        i = int(event.y / self.look.units(self._row_em))
        if i < len(self._shown):
            self._chosen(self._shown[i])


def _dot(tap: Tap | None) -> str:
    if tap is None:
        return OPEN
    return HALF if tap.at_px is None or tap.certainty == "guess" else DONE
