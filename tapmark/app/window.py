"""The window around the pages: the steps above them, what to do now and long work below."""

import gc
import tkinter as tk
from collections.abc import Callable, Collection, MutableMapping
from dataclasses import replace
from functools import partial
from tkinter import ttk
from typing import Any, Protocol

from PIL import ImageTk

from tapmark.app.jobs import Task
from tapmark.app.menus import MenuBar
from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.keys import acts_in, sequences
from tapmark.app.shell.run_lock import let_go
from tapmark.app.state.pages import PAGES
from tapmark.app.state.session import AppState
from tapmark.app.state.titles import detail_of, done_pages, step_of, title_of
from tapmark.app.widgets.bench import Bench, BenchPage
from tapmark.app.widgets.columns import bind_wheel, scroll_below, to_the_top
from tapmark.app.widgets.painting import photo, warning_sign, window_fonts
from tapmark.app.widgets.pieces import Fresh, label, put, refresh_buttons
from tapmark.app.widgets.table import cut
from tapmark.app.widgets.theme import Look
from tapmark.report.drawing import palette

BARS_MS = 11  # after the column, whose readout the corner repeats where the bar has no room
WHEELS = ("Wheel", "Touchpad", "Button-4", "Button-5", "Button-6", "Button-7")


ALT = {"x11": 0x20008, "win32": 0x20000}
"""The bits of an event that tell that Alt is held, which with a letter opens a menu."""


class View(Protocol):
    """One page of the window that fills it; a `BenchPage` shares the bench instead."""

    def build(self, parent: tk.Misc, context: Context, look: Look) -> ttk.Frame:
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

    def __init__(
        self,
        root: tk.Tk,
        context: Context,
        look: Look,
        views: MutableMapping[str, View | BenchPage],
    ) -> None:
        self.root, self.context, self.look, self.views = root, context, look, views
        self._frames: dict[str, ttk.Frame] = {}
        self.bench: Bench | None = None
        self._shown = ""
        self._whose = context.state.at_hand()
        self._is_stale = self._bars_are_due = False
        self._build()
        context.places = self
        context.state.listen(self._soon)
        self._garbage = Garbage(root.after, root.after_cancel)
        self._soon()

    def _build(self) -> None:
        self.root.title("Tapmark")
        self.root.columnconfigure(0, weight=1)
        self.root.rowconfigure(2, weight=1)
        self.menus = MenuBar(self.root, self.context, self.look)
        self.top = TopBar(self.root, self.context, self.look)
        self.top.frame.grid(row=0, column=0, sticky="ew")
        ttk.Frame(self.root, style="Hair.TFrame", height=1).grid(row=1, column=0, sticky="ew")
        self.body = put(ttk.Frame(self.root), 2, 0, "nsew")
        self.body.columnconfigure(0, weight=1)
        self.body.rowconfigure(0, weight=1)
        ttk.Frame(self.root, style="Hair.TFrame", height=1).grid(row=3, column=0, sticky="ew")
        self.status = StatusBar(self.root, self.context, self.look)
        self.status.frame.grid(row=4, column=0, sticky="ew")
        self.root.bind_class("TButton", "<Return>", _invoke)
        _let_no_wheel_answer(self.root)
        _let_go_of_what_is_gone(self.root)
        bind_wheel(self.root.bind_all, scroll_below)
        self.root.protocol("WM_DELETE_WINDOW", lambda: self.context.perform("close"))

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
        is_for_menus = "Alt" not in key and int(event.state) & ALT.get(self.look.system, 0)
        if is_for_menus or not acts_in(key, focused):
            return None
        for action in actions:
            if key in action.keys and action.is_on(self.context.state.page):
                self.context.perform(action.name)
                return "break"
        return None

    def _soon(self) -> None:
        """Redraw once in the next idle turn, however much changed before it."""
        if not self._is_stale:
            self._is_stale = True
            self.root.after_idle(self._refresh)

    def _refresh(self) -> None:
        self._is_stale = False
        page = self.context.state.page
        view = self.views[page]
        frame = self._frame_of(page, view)
        if page != self._shown:
            self._shown = page
            for other in self._frames.values():
                if other is not frame:
                    other.grid_remove()
            frame.grid()
            view.show()
        view.refresh()
        self._begin_at_the_top()
        if not self._bars_are_due:
            self._bars_are_due = True
            self.root.after(BARS_MS, self._refresh_bars)

    def _frame_of(self, page: str, view: View | BenchPage) -> ttk.Frame:
        """Return what shows a page: its own frame, or the bench turned to it."""
        if isinstance(view, BenchPage):
            if self.bench is None:
                self.bench = Bench(self.body, self.context, self.look)
                self._frames["bench"] = self.bench.frame
                self.bench.frame.grid(row=0, column=0, sticky="nsew")
            self.bench.turn_to(view)
            return self.bench.frame
        if page not in self._frames:
            self._frames[page] = put(view.build(self.body, self.context, self.look), 0, 0, "nsew")
        return self._frames[page]

    def _begin_at_the_top(self) -> None:
        """Scroll columns and lists to the top when another run or athlete was opened."""
        was, now = self._whose, self.context.state.at_hand()
        self._whose = now
        if now[:3] == was[:3] and was.run in ("", now.run):
            return
        for name, frame in self._frames.items():
            if name != "squad":  # its list is of all athletes
                to_the_top(frame)

    def _refresh_bars(self) -> None:
        """Refresh both bars and all buttons a moment after the page, which the coach looks at."""
        self._bars_are_due = False
        if not self._shown:  # the pages are being built anew
            return
        view = self.views[self._shown]
        refresh_buttons(self.body)
        self.top.refresh()
        self.status.refresh(self.context.state, view.hint(), view.corner())

    def next_pane(self) -> None:
        """Move the keyboard on to the next part of the window."""
        now = self.root.focus_get() or self.root
        following = now.tk_focusNext()
        if following is not None:
            following.focus_set()

    def lay_out_again(self) -> None:
        """Build the pages anew: the text size or the handedness changed."""
        self.look.set_text_size(self.context.settings.value.text_size)
        self.menus.fit_rows()
        for frame in self._frames.values():
            frame.destroy()
        self.context.fields.clear()  # of the pages that are gone; they would be held for ever
        self._frames.clear()
        self.views.clear()  # each would hold the bench it stood on
        self.bench = None
        self._shown = ""
        self._soon()

    def close(self) -> None:
        """End the workers and the window; raise NotSaved, and stay, where marks are not saved."""
        self.context.saver.refuse_unsaved()
        settings = replace(self.context.settings.value, window=self.root.geometry())
        self.context.settings.change(settings)
        let_go(self.context)
        self.context.jobs.close()
        self.context.painter.close()
        self._garbage.stop()
        for timer in self.root.tk.splitlist(self.root.tk.call("after", "info")):
            self.root.tk.call("after", "cancel", timer)
        self.root.destroy()
        gc.collect()  # what the window leaves behind goes on this thread


def _let_no_wheel_answer(root: tk.Tk) -> None:
    """Keep the mouse wheel from changing the value of a field."""
    for kind in ("TCombobox", "TSpinbox", "Spinbox", "TScale", "Scale", "TNotebook"):
        for bound in root.bind_class(kind):
            if any(word in bound for word in WHEELS):
                root.unbind_class(kind, bound)


def _let_go_of_what_is_gone(root: tk.Tk) -> None:
    """End Tk's own repeats when a bar or a field goes while a button is held down on it."""
    for kind in ("TScrollbar", "TEntry", "TCombobox"):
        root.tk.call("bind", kind, "<Destroy>", "+ttk::CancelRepeat")


def _invoke(event: "tk.Event[tk.Misc]") -> None:
    """Press the button that has the keyboard; Space does so by itself."""
    if isinstance(event.widget, ttk.Button):
        event.widget.invoke()


TITLE_EM = 38  # before the steps, so that they stand in one place on every page
SHORTEST = 6  # letters of a name that have to be read before the detail may stand beside it


class TopBar:
    """Who and which run, and the six steps on their ground line."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.context, self.look, self._fresh = context, look, Fresh()
        self.frame = ttk.Frame(parent, style="White.TFrame")
        self.frame.columnconfigure(len(PAGES) + 1, weight=1)
        self._build_title()
        self._steps = {page: self._build_step(i, page) for i, page in enumerate(PAGES, start=1)}
        self.frame.bind("<Configure>", lambda event: self._fit(event.width))

    def _build_title(self) -> None:
        box = ttk.Frame(self.frame, style="White.TFrame")
        box.grid(
            row=0, column=0, rowspan=2, sticky="w", padx=(self.look.units(2.2), self.look.units(2))
        )
        self._title = ""
        self.title = label(box, 0, style="WhiteTitle.TLabel", sticky="")
        self.detail = ttk.Label(box, style="WhiteMuted.TLabel")
        self.detail.grid(row=0, column=1, padx=(self.look.units(1.7), 0), sticky="s")

    def _build_step(self, column: int, page: str) -> tuple[ttk.Button, ttk.Frame]:
        button = ttk.Button(
            self.frame,
            text=page.capitalize(),
            command=partial(self.context.perform, f"page {page}"),
            style="StepAhead.TButton",
        )
        button.grid(row=0, column=column, sticky="ew", pady=(self.look.units(0.3), 0))
        ground = ttk.Frame(self.frame, height=self.look.units(0.5), style="Ahead.TFrame")
        ground.grid(row=1, column=column, sticky="ew", pady=(self.look.units(0.2), 0))
        return button, ground

    def refresh(self) -> None:
        state = self.context.state
        done = done_pages(state)
        if not self._fresh.is_new(title_of(state), detail_of(state), state.page, done):
            return
        self._title = title_of(state)
        self.detail.configure(text=detail_of(state))
        for page, (button, ground) in self._steps.items():
            styles = ("Step.TButton", "Done.TFrame")
            if page == step_of(state.page):
                styles = ("StepHere.TButton", "Here.TFrame")
            elif page not in done:
                styles = ("StepAhead.TButton", "Ahead.TFrame")
            button.configure(style=styles[0])
            ground.configure(style=styles[1])
        self._fit(self.frame.winfo_width())

    def _fit(self, width: int) -> None:
        """Shorten the name to what the steps leave; they stand still where they can."""
        if width <= 1:
            return
        steps = sum(button.winfo_reqwidth() for button, _ in self._steps.values())
        room = width - steps - self.look.units(4)
        self.frame.columnconfigure(0, minsize=min(self.look.units(TITLE_EM), max(0, room)))
        room -= self.look.units(4.2)
        detail = self.detail.winfo_reqwidth() + self.look.units(1.7)
        font = self.look.font("title")
        has_both = font.measure(self._title[:SHORTEST]) + detail <= room
        self.detail.grid() if has_both else self.detail.grid_remove()
        self.title.configure(
            text=cut(self._title, room - (detail if has_both else 0), font.measure)
        )


CORNER_WIDE = 28  # digits: longer words there must not move the line beside them
ONE_LINE = 155  # units: a window as wide has room for every hint in one line


class StatusBar:
    """When it was saved, what to do now or what went wrong, work under way, and the zoom."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.look, self._fresh = look, Fresh()
        pad = look.units(2.2)
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(2, weight=1)
        self.frame.rowconfigure(0, minsize=look.units(4.4))  # two lines: one more moves nothing
        self.bar = put(ttk.Frame(self.frame, width=look.units(0.4)), 0, 0, "ns")
        self.saved = ttk.Label(self.frame, style="Muted.TLabel", width=16)
        self.saved.grid(
            row=0, column=1, padx=(pad - look.units(0.4), look.units(1)), pady=look.units(0.9)
        )
        self.line = ttk.Label(self.frame, compound="left", anchor="w", justify="left")
        self.line.grid(row=0, column=2, sticky="ew")
        self.work = WorkBar(self.frame, context, look)
        self.work.frame.grid(row=0, column=3)
        self.work.frame.grid_remove()
        self.corner = ttk.Label(self.frame, style="Muted.TLabel", anchor="e", width=CORNER_WIDE)
        self.corner.grid(row=0, column=4, padx=pad)
        self.sign: ImageTk.PhotoImage = photo(
            parent,
            warning_sign(look.u),
            (3 * look.u, 2 * look.u),  # with room before the words
            window_fonts(parent),
            palette.PAPER,
        )
        self.frame.bind("<Configure>", lambda event: self._wrap(event.width))
        for comes in ("<Map>", "<Unmap>"):
            self.work.frame.bind(comes, lambda event: self._wrap(self.frame.winfo_width()))

    def _wrap(self, width: int) -> None:
        """Break the line where the work bar or the corner begins.

        Where a usual hint needs two lines, two are kept free: a longer hint must move nothing.
        """
        n_lines = 1 if width >= self.look.units(ONE_LINE) else 2
        self.frame.rowconfigure(0, minsize=self.look.units(2 * n_lines + 1.2))
        room = width - self.saved.winfo_reqwidth() - self.corner.winfo_reqwidth()
        if self.work.frame.winfo_ismapped():
            room -= self.work.frame.winfo_reqwidth()
        sign = self.sign.width() if str(self.line.cget("image")) else 0
        room -= sign + self.look.units(8)
        self.line.configure(wraplength=max(self.look.units(20), room))

    def refresh(self, state: AppState, hint: str, corner: str) -> None:
        session = state.session
        error = state.error or session.unsaved
        saved = f"Saved {session.saved_at}" if session.saved_at else ""
        saved = "Not saved" if session.unsaved else saved
        if not self._fresh.is_new(saved, corner, error, state.status or hint):
            return
        self.saved.configure(text=saved)
        self.corner.configure(text=corner)
        if error:
            self.bar.configure(style="Error.TFrame")
            self.line.configure(text=error, image=self.sign)
        else:
            self.bar.configure(style="TFrame")
            self.line.configure(text=state.status or hint, image="")
        self._wrap(self.frame.winfo_width())


WIDE_EM = 11
ROUND_S = 2.0
"""How long the bar takes to run across once where the amount of work is not known."""


class WorkBar:
    """Shows how far the work is that the coach waits for; takes no room when there is none."""

    def __init__(self, parent: tk.Misc, context: Context, look: Look) -> None:
        self.context, self._fresh = context, Fresh()
        self.frame = ttk.Frame(parent)
        self.bar = ttk.Progressbar(self.frame, length=look.units(WIDE_EM), maximum=100)
        self.bar.grid(row=0, column=0, padx=(look.units(1), 0))
        self.stop = ttk.Button(self.frame, text="Stop", command=self._stop)
        self.stop.grid(row=0, column=1, padx=(look.units(1), 0))
        context.jobs.looked = self.refresh

    def refresh(self) -> None:
        task = self.context.jobs.waited_for()
        is_counted, percent = self._place(task)
        if not self._fresh.is_new(task, is_counted, percent):
            return
        if task is None:
            self.frame.grid_remove()
            return
        self.bar.configure(mode="determinate" if is_counted else "indeterminate", value=percent)
        self.stop.grid() if task.stopped else self.stop.grid_remove()
        self.frame.grid()

    def _place(self, task: Task | None) -> tuple[bool, int]:
        """Return whether the end is known, and where the bar stands, in percent."""
        if task is None:
            return True, 0
        done, of = task.so_far
        if of:
            return True, min(100, 100 * done // of)
        waited_s = self.context.jobs.clock() - task.began_s
        return False, round(100 * waited_s / ROUND_S) % 100

    def _stop(self) -> None:
        stopped = self.context.jobs.stop()
        if stopped:
            self.context.state.status = stopped
            self.context.state.notify()
        self.refresh()


EVERY_MS = 4_000
ALL_EVERY = 15  # every so many turns the old objects are looked through as well


class Garbage:
    """Collects garbage in idle moments until stopped; after, after_cancel: of the event loop."""

    def __init__(
        self, after: Callable[[int, Callable[[], None]], Any], after_cancel: Callable[[Any], None]
    ) -> None:
        self._after, self._after_cancel = after, after_cancel
        self._turns = 0
        self._was_on = gc.isenabled()
        gc.disable()
        self._timer = after(EVERY_MS, self._collect)

    def _collect(self) -> None:
        self._turns += 1
        gc.collect(2 if self._turns % ALL_EVERY == 0 else 1)
        self._timer = self._after(EVERY_MS, self._collect)

    def stop(self) -> None:
        """Let Python collect by itself again."""
        self._after_cancel(self._timer)
        if self._was_on:
            gc.enable()
