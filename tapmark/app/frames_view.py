"""The Frames page: walk through the pictures, take five of them, each by its rule."""

import tkinter as tk
from functools import partial
from tkinter import ttk

from tapmark.app.check_panel import CheckPanel
from tapmark.app.desk import Desk
from tapmark.app.frame_deeds import events_of
from tapmark.app.frame_rules import RULES
from tapmark.app.fresh import Fresh
from tapmark.app.painting import em_px
from tapmark.app.picture_pane import Hands, PicturePane
from tapmark.app.review_deeds import check_again
from tapmark.app.rule_drawing import RuleDrawing
from tapmark.app.seen_panel import SeenPanel
from tapmark.app.square_zone import zone_shapes
from tapmark.app.state import AppState
from tapmark.app.strip import Strip
from tapmark.app.style import Look
from tapmark.app.tap_view import zoom_words
from tapmark.app.titles import travel_words
from tapmark.app.turning_panel import TurningPanel
from tapmark.app.walker import Walker
from tapmark.app.widgets import ActionButton, Side, fitting, wrapped
from tapmark.measures.result import MarkingCheck

WORDS_EM = 40


class FramesView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look, self._fresh = desk, look, Fresh()
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        self.pane = PicturePane(
            side.large,
            look,
            Hands(moved=desk.state.look_through, resized=desk.state.tell),
        )
        self.pane.canvas.grid(row=0, column=0, sticky="nsew")
        self.walker = Walker(side.large, desk, look)
        self.walker.frame.grid(row=1, column=0, sticky="ew", pady=(look.em(1), 0))
        self.strip = Strip(side.large, look, desk.painter, self._to_event)
        self.strip.canvas.grid(row=2, column=0, sticky="ew")
        self._build_words(side.words)
        self.onward = ActionButton(
            side.foot, desk, look, "page taps", "Tap the points", is_primary=True
        ).grid(row=0, column=0, sticky="e")
        side.column.follow_keyboard()
        return side.frame

    def _build_words(self, words: ttk.Frame) -> None:
        look, desk, width = self.look, self.desk, self.look.em(WORDS_EM)
        self.title = ttk.Label(words, style="Title.TLabel")
        self.title.grid(row=0, column=0, sticky="w")
        self.rule = wrapped(ttk.Label(words), width - look.em(1))
        self.rule.grid(row=1, column=0, sticky="ew", pady=(look.em(0.5), look.em(1.2)))
        self.drawing = RuleDrawing(words, width, look.em(12))
        self.drawing.canvas.grid(row=2, column=0, sticky="w", pady=(0, look.em(1.2)))
        self.takers: dict[int, ttk.Button] = {}
        box = ttk.Frame(words)
        box.grid(row=3, column=0, sticky="ew")
        box.columnconfigure(0, weight=1)
        for i in range(5):
            button = ttk.Button(
                box, command=partial(desk.perform, f"key frame {i + 1}"), style="Row.TButton"
            )
            button.grid(row=i, column=0, sticky="ew", pady=(0, look.em(0.4)))
            self.takers[i] = button
        self._build_below(words)

    def _checks(self, state: AppState) -> tuple[MarkingCheck, ...]:
        """Return what may be a slip of a key frame or of the rate; slips of taps are told there."""
        return tuple(check for check in state.checks if not check.point)

    def _build_below(self, words: ttk.Frame) -> None:
        look, desk = self.look, self.desk
        pair = ttk.Frame(words)
        pair.grid(row=4, column=0, sticky="ew", pady=(look.em(0.6), 0))
        for i in (0, 1):
            pair.columnconfigure(i, weight=1, uniform="pair")
        self.unsure = ActionButton(pair, desk, look, "unsure", "Unsure", has_key=True).grid(
            row=0, column=0, sticky="ew", padx=(0, look.em(0.5))
        )
        self.undo = ActionButton(pair, desk, look, "undo").grid(
            row=0, column=1, sticky="ew", padx=(look.em(0.5), 0)
        )
        self.checks = CheckPanel(words, desk, look, look.em(WORDS_EM - 1), 2)
        self.checks.frame.grid(row=5, column=0, sticky="ew", pady=(look.em(1), 0))
        self.turning = TurningPanel(words, desk, look)
        self.turning.frame.grid(row=6, column=0, sticky="ew", pady=(look.em(1), 0))
        self.seen = SeenPanel(words, desk, look, look.em(WORDS_EM))
        self.seen.frame.grid(row=7, column=0, sticky="ew", pady=(look.em(1), 0))

    def show(self) -> None:
        """Give the keyboard to the picture."""
        self.pane.canvas.focus_set()
        self._fresh.forget()

    def refresh(self) -> None:
        """Show the picture, the rule and how far the choosing is."""
        state = self.desk.state
        state.canvas = self.pane.size
        if state.gallery and state.run and len(state.gallery.pictures):
            i = min(state.picture, len(state.gallery.pictures) - 1)  # while a clip is being read
            self.pane.show(state.gallery, i, state.viewport(), state.tone)
            self.pane.draw_still(zone_shapes(state.run, state.viewport(), em_px(self.pane.canvas)))
        else:
            self.pane.clear()
        self.walker.refresh(state)
        self.strip.refresh(state)
        self._refresh_words(state)

    def _refresh_words(self, state: AppState) -> None:
        event = self._wanted(state)
        if self._fresh.is_new(event, state.step, state.run and (state.run.view, state.run.set_up)):
            self._show_rule(state, event)
        check_again(self.desk)
        checks = self._checks(state)
        self.checks.refresh(checks)
        self.drawing.refresh("" if checks else event, state.run.travel_sign if state.run else 1)
        by = state.frame.unsure_by if state.frame else 0
        self.unsure.refresh(f"Unsure by {by} ✓" if by else "")
        self.undo.refresh(fitting(self.undo.button, self.look, travel_words(state, "undo")))
        self.onward.refresh()

    def _show_rule(self, state: AppState, event: str) -> None:
        rule = RULES.get(event)
        self.title.configure(text=event.capitalize())
        self.rule.configure(text=rule.words if rule else "")
        for i, button in self.takers.items():
            events = events_of(state)
            if i >= len(events):
                button.grid_remove()
                continue
            frame = state.step.key_frame(events[i])
            there = f"picture {frame.picture + 1}" if frame else "not set"
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
        return unset[0] if unset else state.event or events[0]

    def hint(self) -> str:
        """What to do now."""
        if not self.desk.state.gallery:
            return "Open a clip or a folder of stills on Film first."
        keys = "1 to 5" if len(events_of(self.desk.state)) > 2 else "1 and 2"
        return (
            f"Arrow keys walk (Shift: 10), {keys} take the picture shown, U: unsure by one, by two."
        )

    def corner(self) -> str:
        """The zoom."""
        return zoom_words(self.desk.state.viewport()) if self.desk.state.gallery else ""

    def _to_event(self, event: str) -> None:
        self.desk.attempt(lambda: self.desk.state.go_to(event))
