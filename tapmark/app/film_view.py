"""The Film page: the pictures of a run, what the file says, and the questions about filming."""

import tkinter as tk
from tkinter import ttk

from tapmark.app.desk import Desk
from tapmark.app.film_deeds import press
from tapmark.app.overlays import film_overlay
from tapmark.app.part_deeds import LongClip
from tapmark.app.part_panel import PartPanel
from tapmark.app.picture_pane import Hands, PicturePane
from tapmark.app.questions import Questions
from tapmark.app.state import AppState
from tapmark.app.stopwatch_panel import StopwatchPanel
from tapmark.app.style import Look
from tapmark.app.tap_view import zoom_words
from tapmark.app.walker import Walker
from tapmark.app.widgets import ActionButton, Side

WORDS_EM = 52
SAME_PLACE = "Pole and scale are those of the last pass. Mark them again if the camera was moved."


class FilmView:
    """Builds and refreshes the page."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets."""
        self.desk, self.look = desk, look
        side = Side(parent, desk, look, WORDS_EM)
        side.large.rowconfigure(0, weight=1)
        hands = Hands(
            tap=lambda at: desk.attempt(lambda: press(desk, at)),
            moved=desk.state.look_through,
            resized=desk.state.tell,
        )
        self.pane = PicturePane(side.large, look, hands)
        self.pane.canvas.grid(row=0, column=0, sticky="nsew")
        self.walker = Walker(side.large, desk, look)
        self.walker.frame.grid(row=1, column=0, sticky="ew", pady=(look.em(1.2), 0))
        self._build_empty(side.large)
        self.part = PartPanel(side.large, desk, look)
        side.words.rowconfigure(0, weight=1)
        self.questions = Questions(side.words, side.foot, desk, look, WORDS_EM)
        self.questions.frame.grid(row=0, column=0, sticky="nsew")
        self.stopwatch = StopwatchPanel(side.words, desk, look, WORDS_EM)
        self.stopwatch.frame.grid(row=0, column=0, sticky="new")
        side.column.follow_keyboard()
        return side.frame

    def _build_empty(self, parent: ttk.Frame) -> None:
        look = self.look
        self.empty = ttk.Frame(parent)
        self.empty.grid(row=0, column=0, sticky="nw")
        self.empty_words = ttk.Label(self.empty, style="Head.TLabel")
        self.empty_words.grid(row=0, column=0, columnspan=4, sticky="w", pady=(0, look.em(2)))
        self.empty.columnconfigure(3, weight=1)  # or the words would part the buttons
        self.openers = []
        for i, name in enumerate(("open clip", "open folder", "open stills")):
            made = ActionButton(self.empty, self.desk, look, name)
            self.openers.append(made.grid(row=1, column=i, padx=(0, look.em(1))))

    def show(self) -> None:
        """Give the keyboard to the picture."""
        self.pane.canvas.focus_set()

    def refresh(self) -> None:
        """Show the picture, or the way to one, and the answers."""
        state = self.desk.state
        state.canvas = self.pane.size
        self._refresh_picture(state)
        self.walker.refresh(state)
        self.questions.refresh(state)
        self.stopwatch.refresh(state)

    def _refresh_picture(self, state: AppState) -> None:
        for opener in self.openers:
            opener.refresh()
        if state.long_clip:
            self._ask_for_part(state.long_clip)
            return
        self.part.frame.grid_remove()
        if not state.gallery or not len(state.gallery.pictures):
            self.pane.clear()
            self.pane.canvas.grid_remove()
            self.walker.frame.grid_remove()
            words = (
                "Open a clip or a folder of stills."
                if state.run
                else ("Choose an athlete on Squad and start a visit.")
            )
            self.empty_words.configure(text=words)
            self.empty.grid()
            return
        self.empty.grid_remove()
        self.pane.canvas.grid()
        self.walker.frame.grid()
        i = min(state.picture, len(state.gallery.pictures) - 1)  # while a clip is being read
        self.pane.show(state.gallery, i, state.viewport(), state.tone)
        self.pane.draw(film_overlay(state, state.viewport(), self.look.unit), delay_ms=1)

    def _ask_for_part(self, found: LongClip) -> None:
        for frame in (self.pane.canvas, self.walker.frame, self.empty):
            frame.grid_remove()
        self.part.refresh(found)
        self.part.frame.grid(row=0, column=0)

    def hint(self) -> str:
        """What to do now."""
        state = self.desk.state
        if state.long_clip:
            return "The rest of the clip stays where it is; Escape leaves without reading."
        if state.stopwatch:
            return "Arrow keys and the bar go through the pictures; Escape leaves."
        if not state.gallery and state.run and state.run.set_up.upright_px:
            return SAME_PLACE
        if not state.gallery:
            return "Film three passes each way; one is enough to begin."
        return "Answer what you know; “not known” is an answer. Then Frames, F4."

    def corner(self) -> str:
        """The zoom."""
        return zoom_words(self.desk.state.viewport()) if self.desk.state.gallery else ""
