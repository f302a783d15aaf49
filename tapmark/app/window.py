"""The window around the pages: name and steps above, what to do now below.

The six steps stand on a ground line: ink under what is done, the accent under the page at hand,
nothing under what lies ahead. All can be pressed at any time.
"""

import gc
import tkinter as tk
from collections.abc import Collection, Mapping
from dataclasses import replace
from functools import partial
from tkinter import ttk
from typing import Protocol

from tapmark.app.action import Action
from tapmark.app.bars import StatusBar, TopBar
from tapmark.app.column import to_the_top
from tapmark.app.desk import Desk
from tapmark.app.holding import let_go
from tapmark.app.keys import acts_in, sequences
from tapmark.app.style import Look
from tapmark.app.tidying import Tidying

BARS_MS = 8
WHEELS = ("Wheel", "Touchpad", "Button-4", "Button-5", "Button-6", "Button-7")


class View(Protocol):
    """One page of the window."""

    def build(self, parent: tk.Misc, desk: Desk, look: Look) -> ttk.Frame:
        """Make the widgets, once, and return their frame."""

    def show(self) -> None:
        """The page comes to the front: put the keyboard where it belongs."""

    def refresh(self) -> None:
        """Something changed while the page is in front; redraw what is new."""

    def hint(self) -> str:
        """What to do now, for the line at the bottom."""

    def corner(self) -> str:
        """A few words for the bottom right corner, e.g. the zoom."""


class Window:
    """Shows one page at a time and passes keys to actions."""

    def __init__(self, root: tk.Tk, desk: Desk, look: Look, views: Mapping[str, View]) -> None:
        self.root, self.desk, self.look, self.views = root, desk, look, views
        self._frames: dict[str, ttk.Frame] = {}
        self._shown = ""
        self._whose = desk.state.at_hand()
        self._is_stale = self._bars_are_due = False
        self._build()
        desk.places = self
        desk.state.listen(self._soon)
        self._tidying = Tidying(root.after, root.after_cancel)
        self._soon()

    def _build(self) -> None:
        self.root.title("Tapmark")
        self.root.columnconfigure(0, weight=1)
        self.root.rowconfigure(2, weight=1)
        self.top = TopBar(self.root, self.desk, self.look)
        self.top.frame.grid(row=0, column=0, sticky="ew")
        ttk.Frame(self.root, style="Hair.TFrame", height=1).grid(row=1, column=0, sticky="ew")
        self.body = ttk.Frame(self.root)
        self.body.grid(row=2, column=0, sticky="nsew")
        self.body.columnconfigure(0, weight=1)
        self.body.rowconfigure(0, weight=1)
        ttk.Frame(self.root, style="Hair.TFrame", height=1).grid(row=3, column=0, sticky="ew")
        self.status = StatusBar(self.root, self.desk, self.look)
        self.status.frame.grid(row=4, column=0, sticky="ew")
        self.root.bind_class("TButton", "<Return>", _invoke)
        _let_no_wheel_answer(self.root)
        self.root.protocol("WM_DELETE_WINDOW", lambda: self.desk.perform("close"))

    def bind_keys(self, actions: Collection[Action]) -> None:
        """Let every key of these actions act; those bound before give way to them."""
        system = self.look.system
        for key in {key for action in actions for key in action.keys}:
            for bound in sequences(key, system):
                self.root.bind(bound, partial(self._press, key=key, actions=actions))

    def _press(
        self, event: "tk.Event[tk.Misc]", key: str, actions: Collection[Action]
    ) -> str | None:
        focused = str(event.widget.winfo_class()) if isinstance(event.widget, tk.Misc) else ""
        if not acts_in(key, focused):
            return None
        for action in actions:
            if key in action.keys and action.is_on(self.desk.state.page):
                self.desk.perform(action.name)
                return "break"
        return None

    def _soon(self) -> None:
        """Redraw once in the next idle turn, however much changed before it."""
        if not self._is_stale:
            self._is_stale = True
            self.root.after_idle(self._refresh)

    def _refresh(self) -> None:
        self._is_stale = False
        page = self.desk.state.page
        view = self.views[page]
        if page not in self._frames:
            frame = view.build(self.body, self.desk, self.look)
            frame.grid(row=0, column=0, sticky="nsew")
            self._frames[page] = frame
        if page != self._shown:
            self._shown = page
            for name, frame in self._frames.items():
                if name != page:
                    frame.grid_remove()
            self._frames[page].grid()
            view.show()
        view.refresh()
        self._begin_at_the_top()
        if not self._bars_are_due:
            self._bars_are_due = True
            self.root.after(BARS_MS, self._refresh_bars)

    def _begin_at_the_top(self) -> None:
        """Carry no place in a column or list from one run or athlete to the next."""
        was, now = self._whose, self.desk.state.at_hand()
        self._whose = now
        if now[:3] == was[:3] and was.run in ("", now.run):
            return
        for name, frame in self._frames.items():
            if name != "squad":  # there the list is everybody's
                to_the_top(frame)

    def _refresh_bars(self) -> None:
        """Names above and words below follow a blink after the page, where the eye is."""
        self._bars_are_due = False
        if not self._shown:  # the pages are being built anew
            return
        view = self.views[self._shown]
        self.top.refresh()
        self.status.refresh(self.desk.state, view.hint(), view.corner())

    def next_pane(self) -> None:
        """Move the keyboard on to the next part of the window."""
        now = self.root.focus_get() or self.root
        following = now.tk_focusNext()
        if following is not None:
            following.focus_set()

    def lay_out_again(self) -> None:
        """Build the pages anew: the text size or the handedness changed."""
        self.look.set_text_size(self.desk.settings.text_size)
        for frame in self._frames.values():
            frame.destroy()
        self._frames.clear()
        self._shown = ""
        self._soon()

    def close(self) -> None:
        """End the workers and the window; raise NotSaved, and stay, where marks are not saved."""
        self.desk.refuse_unsaved()
        settings = replace(self.desk.settings, window=self.root.geometry())
        self.desk.remember(settings)
        let_go(self.desk)
        self.desk.jobs.close()
        self.desk.painter.close()
        self._tidying.stop()
        for timer in self.root.tk.splitlist(self.root.tk.call("after", "info")):
            self.root.tk.call("after", "cancel", timer)
        self.root.destroy()
        gc.collect()  # what the window leaves behind goes on this thread


def _let_no_wheel_answer(root: tk.Tk) -> None:
    """Take the wheel from every field that would change what it holds."""
    for kind in ("TCombobox", "TSpinbox", "Spinbox", "TScale", "Scale", "TNotebook"):
        for bound in root.bind_class(kind):
            if any(word in bound for word in WHEELS):
                root.unbind_class(kind, bound)


def _invoke(event: "tk.Event[tk.Misc]") -> None:
    """Return presses a button, as Space does by itself."""
    if isinstance(event.widget, ttk.Button):
        event.widget.invoke()
