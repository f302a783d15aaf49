"""The Taps page: one prompt at a time, the frame large, no numbers."""

import tkinter as tk
from collections.abc import Callable
from tkinter import ttk
from typing import Any

from tapmark.app.mark.taps_actions import SET_WORDS, choose_tap_set, drag, nearest_tap, tap_at
from tapmark.app.shell.context import Context
from tapmark.app.shell.stepping import ask_for, check_again, placed
from tapmark.app.shell.why_disabled import waiting_for
from tapmark.app.state.prompts import Prompt, aside, asked, counted, tap_of, where
from tapmark.app.state.session import AppState
from tapmark.app.state.titles import travel_words
from tapmark.app.state.viewport import Point
from tapmark.app.widgets.painting import DONE, HALF, HERE, OPEN, Dots, Drawing
from tapmark.app.widgets.picture_pane import Hands, Magnifier, PicturePane, taps_overlay, zoom_words
from tapmark.app.widgets.pieces import ActionButton, Fresh, Side, fitting, soon, wrapped
from tapmark.app.widgets.step_line import Strip
from tapmark.app.widgets.theme import Look
from tapmark.marks.points import TAP_SETS
from tapmark.marks.run import Tap
from tapmark.measures.result import MarkingCheck
from tapmark.report.drawing import palette
from tapmark.report.drawing.body_prompt import body_prompt

WORDS_EM = 40
WORDS_MS = 10
POINT_SETS = {f"Points: {SET_WORDS[tap_set]}": tap_set for tap_set in TAP_SETS}
SET_WIDTH = 17  # digits wide: the longest of the sets is no wider


class TapView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.context, self.look = context, look
        self._fresh, self._fresh_foot = Fresh(), Fresh()
        self._held: Prompt | None = None
        self._words_are_due = False
        side = Side(parent, context, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        hands = Hands(
            tap=lambda at: context.attempt(lambda: tap_at(context, at)),
            hover=self._hover,
            grab=self._grab,
            drag=self._drag,
            moved=context.state.look_through,
            resized=lambda: context.state.notify(),
        )
        self.pane = PicturePane(side.large, look, hands)
        self.pane.canvas.grid(row=0, column=0, sticky="nsew")
        self.strip = Strip(side.large, look, context.painter, self._to_event, counts=True)
        self.strip.canvas.grid(row=1, column=0, sticky="ew", pady=(look.units(1.2), 0))
        self._build_words(side.words)
        self._build_foot(side.foot)
        side.column.follow_keyboard()
        return side.frame

    def _build_words(self, words: ttk.Frame) -> None:
        look, context, width = self.look, self.context, self.look.units(WORDS_EM)
        head = ttk.Frame(words)
        head.grid(row=0, column=0, sticky="ew")
        head.columnconfigure(0, weight=1)
        self.title = ttk.Label(head, style="Title.TLabel")
        self.title.grid(row=0, column=0, sticky="w")
        self.count = ttk.Label(head, style="Muted.TLabel")
        self.count.grid(row=0, column=1, sticky="e")
        self.where = wrapped(ttk.Label(words), width - look.units(1))
        self.where.grid(row=1, column=0, sticky="ew", pady=(look.units(0.5), look.units(1.2)))
        self.pictures = pictures = ttk.Frame(words)
        pictures.grid(row=2, column=0, sticky="ew")
        pictures.columnconfigure(1, weight=1)
        side = look.units(23)
        self.drawing = Drawing(pictures, width - side - look.units(1), side)
        self.drawing.canvas.grid(row=0, column=0, sticky="w")
        self.magnifier = Magnifier(pictures, side)
        self.magnifier.canvas.grid(row=0, column=1, sticky="e")
        self.points = PointList(words, look, self._to_point)
        self.points.canvas.grid(row=3, column=0, sticky="ew", pady=look.units(1.2))
        self.buttons = self._buttons(words, context, look)

    def _build_foot(self, box: ttk.Frame) -> None:
        box.columnconfigure(1, weight=1)
        self.points_asked = ttk.Combobox(
            box, values=tuple(POINT_SETS), state="readonly", width=SET_WIDTH
        )
        self.points_asked.grid(row=0, column=0, sticky="w")
        self.points_asked.bind("<<ComboboxSelected>>", self._choose_set)
        self.onward = ActionButton(
            box, self.context, self.look, "page review", "See Review", is_primary=True
        ).grid(row=0, column=1, sticky="e")
        again = ActionButton(box, self.context, self.look, "look again", "Look again", has_key=True)
        words = ttk.Label(box, text="Numbers on Review.", style="Muted.TLabel")
        self.corners = {"review": self.onward.button, "checks": again.button, "words": words}
        for widget in self.corners.values():
            widget.grid(row=0, column=1, sticky="e")

    def _choose_set(self, event: "tk.Event[tk.Misc]") -> None:
        tap_set = POINT_SETS[self.points_asked.get()]
        self.context.attempt(lambda: choose_tap_set(self.context.state, tap_set))
        self.pane.canvas.focus_set()

    def _buttons(self, words: ttk.Frame, context: Context, look: Look) -> dict[str, ActionButton]:
        box = ttk.Frame(words)
        box.grid(row=4, column=0, sticky="ew")
        made = {}
        for i, name in enumerate(("hidden", "behind", "guess", "blurred", "undo", "redo")):
            row, i_column = divmod(i, 2)
            spare = (0, look.units(0.5)) if i_column == 0 else (look.units(0.5), 0)
            column, span = ((0, 1), (1, 2))[i_column] if row < 2 else ((0, 2), (2, 1))[i_column]
            made[name] = ActionButton(box, context, look, name, has_key=i < 4).grid(
                row=row,
                column=column,
                columnspan=span,
                sticky="ew",
                padx=spare,
                pady=(0, look.units(1 if row != 1 else 1.6)),
            )
        for column, weight in enumerate((3, 1, 4)):  # long words beside short ones, halves below
            box.columnconfigure(column, weight=weight, uniform="part")
        return made

    def show(self) -> None:
        """Give the keyboard to the frame."""
        self.pane.canvas.focus_set()
        self._fresh.forget()
        self._fresh_foot.forget()

    def refresh(self) -> None:
        """Draw what is new: frame and marks first, because the eye is there."""
        state = self.context.state
        state.canvas = self.pane.size
        if not state.run or waiting_for(state):
            self.pane.clear()
        else:
            self._refresh_picture(state)
        if not self._words_are_due:
            self._words_are_due = True
            soon(self.pane.canvas, WORDS_MS, self._words_now)

    def _words_now(self) -> None:
        """The column follows a blink after the frame, where the eye is."""
        self._words_are_due = False
        self._refresh_words(self.context.state)
        self.strip.refresh(self.context.state)

    def _refresh_picture(self, state: AppState) -> None:
        marking = state.marking
        assert marking.gallery
        marking.gallery.want_full(marking.picture, state.notify)
        self.pane.show(marking.gallery, marking.picture, state.viewport(), state.tone)
        self.pane.draw(taps_overlay(state, state.viewport(), self.look.unit))
        self.pane.aim(marking.aim)
        if marking.aim:
            self._magnify(marking.aim)

    def _refresh_words(self, state: AppState) -> None:
        run, prompt, look = state.run, state.marking.prompt, state.marking.look
        done, asked = counted(run, state.marking.i_step, again=look) if run else (0, 0)
        if run is None or not state.step.key_frames:
            self._say("Taps", "Choose the five key frames first.", "")
        elif prompt is None:
            words = "Review shows what it says. Tab goes through again."
            self._say("All tapped", words, f"{done} of {asked}")
        else:
            words = f"{where(prompt.point)}\n{aside(run, prompt)}"
            self._say(_heading(prompt, look), words, f"{min(done + 1, asked)} of {asked}")
        self._draw_prompt(state)
        self.points.refresh(state)
        self._refresh_buttons(state)
        check_again(self.context)
        has_checks = bool(self._checks(state))
        is_done = run is not None and prompt is None and bool(state.step.key_frames)
        corner = "review" if is_done else "checks" if has_checks else "words"
        tap_set = run.tap_set if run else ""
        if self._fresh_foot.is_new(tap_set, corner, prompt is None):
            self._refresh_foot(tap_set, corner, has_prompt=prompt is not None)

    def _draw_prompt(self, state: AppState) -> None:
        prompt, run, size = state.marking.prompt, state.run, self.drawing.size
        if prompt is None or run is None:
            self.drawing.clear()
            return
        event, point, sign = prompt.event, prompt.point, run.travel_sign
        self.drawing.show((event, point, sign), lambda: body_prompt(event, point, size, sign))

    def _checks(self, state: AppState) -> tuple[MarkingCheck, ...]:
        """Return what may be a slip of a tap; what the key frames say belongs to Frames."""
        return tuple(check for check in state.review.checks if check.event and check.point)

    def _refresh_foot(self, tap_set: str, corner: str, *, has_prompt: bool) -> None:
        self.points_asked.set(next((w for w, s in POINT_SETS.items() if s == tap_set), ""))
        self.pictures.grid() if has_prompt else self.pictures.grid_remove()
        for name, widget in self.corners.items():
            widget.grid() if name == corner else widget.grid_remove()

    def _say(self, title: str, words: str, count: str) -> None:
        if self._fresh.is_new(title, words, count):
            self.title.configure(text=title)
            self.where.configure(text=words)
            self.count.configure(text=count)

    def _refresh_buttons(self, state: AppState) -> None:
        tap = placed(state)
        is_guess = (tap.certainty if tap else state.marking.certainty) == "guess"
        texts = {
            "guess": "Guess ✓" if is_guess else "",
            "hidden": "Hidden ✓" if tap and tap.certainty == "hidden" else "",
            "behind": "Behind ✓" if tap and tap.certainty == "behind" else "",
            "blurred": "Blurred ✓" if state.frame and state.frame.is_blurred else "",
            "undo": travel_words(state, "undo"),
            "redo": travel_words(state, "redo"),
        }
        for name, button in self.buttons.items():
            button.refresh(fitting(button.button, self.look, texts[name]))

    def hint(self) -> str:
        """What to do now."""
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
            return "Arrow keys move the cross-hair (Shift: 10 px), Return marks."
        return "Click, or move the cross-hair with the arrow keys (Shift: 10) and press Return."

    def corner(self) -> str:
        """The zoom."""
        return zoom_words(self.context.state)

    def _hover(self, at: Point | None) -> None:
        if at is not None:
            self._magnify(at)

    def _magnify(self, at: Point) -> None:
        state, i = self.context.state, self.context.state.marking.picture
        if state.marking.gallery and i < len(state.marking.gallery.pictures):
            self.magnifier.show(state.marking.gallery, i, at, state.tone)

    def _grab(self, at: Point, reach: float) -> bool:
        self._held = nearest_tap(self.context.state, at, reach)
        return self._held is not None

    def _drag(self, at: Point) -> None:
        held = self._held
        if held:
            self.context.attempt(lambda: drag(self.context, held, at))

    def _to_event(self, event: str) -> None:
        self.context.attempt(lambda: self.context.state.go_to(event))

    def _to_point(self, prompt: Prompt) -> None:
        self.context.attempt(lambda: ask_for(self.context.state, prompt))


def _heading(prompt: Prompt, look: object) -> str:
    name = prompt.point.capitalize()
    if prompt.by:
        return f"{name}, one frame {'before' if prompt.by < 0 else 'after'}"
    return f"{name}, again" if look else name


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
            height=look.units(ROW_EM * 4),
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
        every = (
            asked(state.run, state.marking.i_step, again=state.marking.look) if state.run else ()
        )
        mine = tuple(p for p in every if p.event == state.marking.event)
        taps = tuple(tap_of(state.step, p, again=state.marking.look) for p in mine)
        width = self.canvas.winfo_width()
        if not self._fresh.is_new(mine, taps, state.marking.prompt, width):
            return
        if (mine, width) != (self._prompts, self._width):
            self._prompts, self._width = mine, width
            self._build()
        for row, tap in zip(self._rows, taps, strict=True):
            row.show(tap, row.prompt == state.marking.prompt)

    def _build(self) -> None:
        """Make a dot and a name for each point."""
        self.canvas.delete("all")
        self.canvas.configure(height=self.look.units(ROW_EM * self._n_rows))
        self._rows = [_Row(self, p, self._place(i)) for i, p in enumerate(self._prompts)]

    def _resized(self, event: Any) -> None:
        if self._state:
            self.refresh(self._state)

    @property
    def _n_rows(self) -> int:
        return max(3, -(-len(self._prompts) // 2))

    def _place(self, i: int) -> tuple[float, float]:
        column, row = divmod(i, self._n_rows)
        return column * self._width / 2 + self.look.units(1.4), self.look.units(
            ROW_EM * (row + 0.5)
        )

    def _pressed(self, event: Any) -> None:
        column = 0 if event.x < self.canvas.winfo_width() / 2 else 1
        i = column * self._n_rows + int(event.y / self.look.units(ROW_EM))
        if i < len(self._prompts):
            self._chosen(self._prompts[i])


class _Row:
    """One point: its dot and its name, changed only when they must be."""

    def __init__(self, owner: PointList, prompt: Prompt, at: tuple[float, float]) -> None:
        self.prompt, self._owner, self._fresh = prompt, owner, Fresh()
        self._image = owner.canvas.create_image(*at)
        self._text = owner.canvas.create_text(at[0] + owner.look.units(2.2), at[1], anchor="w")

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
