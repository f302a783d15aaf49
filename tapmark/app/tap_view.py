"""The Taps page: one prompt at a time, the picture large, no numbers."""

import tkinter as tk
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.fresh import Fresh
from tapmark.app.magnifier import Magnifier
from tapmark.app.mark_deeds import ask_for, choose_tap_set, drag, nearest_tap, placed, tap_at
from tapmark.app.overlays import taps_overlay
from tapmark.app.picture_pane import Hands, PicturePane
from tapmark.app.point_list import PointList
from tapmark.app.prompt_drawing import PromptDrawing
from tapmark.app.prompting import Prompt, aside, counted, where
from tapmark.app.review_deeds import check_again
from tapmark.app.seen import waiting_for
from tapmark.app.soon import soon
from tapmark.app.state import AppState
from tapmark.app.strip import Strip
from tapmark.app.style import Look
from tapmark.app.titles import travel_words
from tapmark.app.viewport import Point, Viewport
from tapmark.app.widgets import ActionButton, Side, fitting, wrapped
from tapmark.marks.points import TAP_SETS
from tapmark.measures.result import MarkingCheck

WORDS_EM = 40
WORDS_MS = 10


class TapView:
    """Builds and refreshes the page; every deed goes through the desk."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look = desk, look
        self._fresh, self._fresh_foot = Fresh(), Fresh()
        self._held: Prompt | None = None
        self._words_are_due = False
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        hands = Hands(
            tap=lambda at: desk.attempt(lambda: tap_at(desk, at)),
            hover=self._hover,
            grab=self._grab,
            drag=self._drag,
            drop=self._drag,
            moved=self._moved,
            resized=lambda: desk.state.tell(),
        )
        self.pane = PicturePane(side.large, look, hands)
        self.pane.canvas.grid(row=0, column=0, sticky="nsew")
        self.strip = Strip(side.large, look, desk.painter, self._to_event, counts=True)
        self.strip.canvas.grid(row=1, column=0, sticky="ew", pady=(look.em(1.2), 0))
        self._build_words(side.words)
        self._build_foot(side.foot)
        side.column.follow_keyboard()
        return side.frame

    def _build_words(self, words: ttk.Frame) -> None:
        look, desk, width = self.look, self.desk, self.look.em(WORDS_EM)
        head = ttk.Frame(words)
        head.grid(row=0, column=0, sticky="ew")
        head.columnconfigure(0, weight=1)
        self.title = ttk.Label(head, style="Title.TLabel")
        self.title.grid(row=0, column=0, sticky="w")
        self.count = ttk.Label(head, style="Muted.TLabel")
        self.count.grid(row=0, column=1, sticky="e")
        self.where = wrapped(ttk.Label(words), width - look.em(1))
        self.where.grid(row=1, column=0, sticky="ew", pady=(look.em(0.5), look.em(1.2)))
        self.pictures = pictures = ttk.Frame(words)
        pictures.grid(row=2, column=0, sticky="ew")
        pictures.columnconfigure(1, weight=1)
        side = look.em(23)
        self.drawing = PromptDrawing(pictures, width - side - look.em(1), side)
        self.drawing.canvas.grid(row=0, column=0, sticky="w")
        self.magnifier = Magnifier(pictures, side)
        self.magnifier.canvas.grid(row=0, column=1, sticky="e")
        self.points = PointList(words, look, self._to_point)
        self.points.canvas.grid(row=3, column=0, sticky="ew", pady=look.em(1.2))
        self.buttons = self._buttons(words, desk, look)

    def _build_foot(self, box: ttk.Frame) -> None:
        box.columnconfigure(1, weight=1)
        self.points_asked = ttk.Combobox(box, values=TAP_SETS, state="readonly", width=13)
        self.points_asked.grid(row=0, column=0, sticky="w")
        self.points_asked.bind("<<ComboboxSelected>>", self._choose_set)
        self.onward = ActionButton(
            box, self.desk, self.look, "page review", "See Review", is_primary=True
        ).grid(row=0, column=1, sticky="e")
        again = ActionButton(box, self.desk, self.look, "look again", "Look again", has_key=True)
        words = ttk.Label(box, text="Numbers come in Review.", style="Muted.TLabel")
        self.corners = {"review": self.onward.button, "checks": again.button, "words": words}
        for widget in self.corners.values():
            widget.grid(row=0, column=1, sticky="e")

    def _choose_set(self, event: "tk.Event[tk.Misc]") -> None:
        self.desk.attempt(lambda: choose_tap_set(self.desk, self.points_asked.get()))
        self.pane.canvas.focus_set()

    def _buttons(self, words: ttk.Frame, desk: Desk, look: Look) -> dict[str, ActionButton]:
        box = ttk.Frame(words)
        box.grid(row=4, column=0, sticky="ew")
        made = {}
        for i, name in enumerate(("guess", "hidden", "behind", "blurred", "undo", "redo")):
            row, column = divmod(i, 2)
            box.columnconfigure(column, weight=1, uniform="pair")
            made[name] = ActionButton(box, desk, look, name, has_key=i < 4).grid(
                row=row,
                column=column,
                sticky="ew",
                padx=(0, look.em(0.5)) if column == 0 else (look.em(0.5), 0),
                pady=(0, look.em(1 if row != 1 else 1.6)),
            )
        return made

    def show(self) -> None:
        """Give the keyboard to the picture."""
        self.pane.canvas.focus_set()
        self._fresh.forget()
        self._fresh_foot.forget()

    def refresh(self) -> None:
        """Draw what is new: picture and marks first, because the eye is there."""
        state = self.desk.state
        state.canvas = self.pane.size
        if not state.run or waiting_for(state):
            self.pane.clear()
        else:
            self._refresh_picture(state)
        if not self._words_are_due:
            self._words_are_due = True
            soon(self.pane.canvas, WORDS_MS, self._words_now)

    def _words_now(self) -> None:
        """The column follows a blink after the picture, where the eye is."""
        self._words_are_due = False
        self._refresh_words(self.desk.state)
        self.strip.refresh(self.desk.state)

    def _refresh_picture(self, state: AppState) -> None:
        assert state.gallery and state.run
        state.gallery.want_full(state.picture, state.tell)
        self.pane.show(state.gallery, state.picture, state.viewport(), state.tone)
        self.pane.draw(taps_overlay(state, state.viewport(), self.look.unit))
        self.pane.aim(state.aim)
        if state.aim:
            self._magnify(state.aim)

    def _refresh_words(self, state: AppState) -> None:
        run, prompt = state.run, state.prompt
        if run is None or not state.step.key_frames:
            self._say("Taps", "Choose the five key frames first.", "")
        elif prompt is None:
            done, asked = counted(run, state.i_step, again=state.look)
            self._say(
                "All tapped",
                "Review shows what it says. Tab goes through again.",
                f"{done} of {asked}",
            )
        else:
            done, asked = counted(run, state.i_step, again=state.look)
            words = f"{where(prompt.point)}\n{aside(run, prompt)}"
            self._say(_heading(state, prompt), words, f"{min(done + 1, asked)} of {asked}")
        self.drawing.refresh(state)
        self.points.refresh(state)
        self._refresh_buttons(state)
        check_again(self.desk)
        has_checks = bool(self._checks(state))
        is_done = run is not None and prompt is None and bool(state.step.key_frames)
        corner = "review" if is_done else "checks" if has_checks else "words"
        tap_set = run.tap_set if run else ""
        if self._fresh_foot.is_new(tap_set, corner, prompt is None):
            self._refresh_foot(tap_set, corner, has_prompt=prompt is not None)

    def _checks(self, state: AppState) -> tuple[MarkingCheck, ...]:
        """Return what may be a slip of a tap; what the key frames say belongs to Frames."""
        return tuple(check for check in state.checks if check.event and check.point)

    def _refresh_foot(self, tap_set: str, corner: str, *, has_prompt: bool) -> None:
        self.points_asked.set(tap_set)
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
        is_guess = (tap.certainty if tap else state.certainty) == "guess"
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
        state = self.desk.state
        why = waiting_for(state) if state.run else ""
        if why:
            return why
        checks = self._checks(state)
        if checks:
            return f"May be a slip: {checks[0].words} K goes there."
        if state.run is None or not state.step.key_frames:
            return "Choose the five key frames on Frames first, F4."
        if state.prompt is None:
            return "Tab goes through the points, 1 to 5 through the key frames."
        if state.aim:
            return "Arrow keys move the cross-hair (Shift: 10 px), Return marks."
        return "Click, or move the cross-hair with the arrow keys (Shift: 10) and press Return."

    def corner(self) -> str:
        """The zoom."""
        return zoom_words(self.desk.state.viewport()) if self.desk.state.gallery else ""

    def _hover(self, at: Point | None) -> None:
        if at is not None:
            self._magnify(at)

    def _magnify(self, at: Point) -> None:
        state = self.desk.state
        if state.gallery and state.picture < len(state.gallery.pictures):
            self.magnifier.show(state.gallery, state.picture, at, state.tone)

    def _grab(self, at: Point, reach: float) -> bool:
        self._held = nearest_tap(self.desk.state, at, reach)
        return self._held is not None

    def _drag(self, at: Point) -> None:
        held = self._held
        if held:
            self.desk.attempt(lambda: drag(self.desk, held, at))

    def _moved(self, view: Viewport) -> None:
        self.desk.state.look_through(view)

    def _to_event(self, event: str) -> None:
        self.desk.attempt(lambda: self.desk.state.go_to(event))

    def _to_point(self, prompt: Prompt) -> None:
        self.desk.attempt(lambda: ask_for(self.desk.state, prompt))


def zoom_words(view: Viewport) -> str:
    """Return the zoom in words for the corner."""
    return f"Zoom {view.scale * 100:.0f} %   0 fits"


def _heading(state: AppState, prompt: Prompt) -> str:
    name = prompt.point.capitalize()
    return f"{name}, again" if state.look else name
