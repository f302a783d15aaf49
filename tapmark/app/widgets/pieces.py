"""Small pieces that several pages use: placing, words, buttons, what is new and what is due."""

import tkinter as tk
from abc import ABC, abstractmethod
from collections.abc import Callable, Sequence
from functools import partial
from tkinter import ttk
from typing import Any, TypeVar

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.keys import spoken
from tapmark.app.widgets.theme import Look
from tapmark.report.drawing import palette


class ActionButton(ttk.Button):
    """A button for one action, with its key in the label; the window refreshes it while it is seen.

    text: its words, or what gives them, which may change; "" for the action's own.
    short: the words where its place, not its text, says how wide it is.
    """

    def __init__(
        self,
        parent: tk.Misc,
        context: Context,
        look: Look,
        name: str,
        text: str | Callable[[], str] = "",
        *,
        style: str = "TButton",
        is_primary: bool = False,
        has_key: bool = False,
        short: str | None = None,
    ) -> None:
        command = partial(context.perform, name)
        super().__init__(parent, command=command, style="Primary.TButton" if is_primary else style)
        self.context, self.name, self._short, self._fresh = context, name, short, Fresh()
        self._say = text if callable(text) else lambda: text
        keys = self.action.keys if has_key else ()
        self._key = f"  {spoken(keys[0], look.system)}" if keys else ""
        self._write()
        self.bind("<Map>", lambda event: self.refresh())
        for event in ("<Configure>", "<<Chosen>>") if short is not None else ():
            self.bind(event, lambda event: self._write())

    @property
    def action(self) -> Action:
        """What the button does; looked up late, since the window stands before all is read."""
        return self.context.actions[self.name]

    @property
    def is_available(self) -> bool:
        """Say whether what it does can be done now."""
        return self.action.is_available(self.context)

    def refresh(self) -> None:
        """Grey out or wake up, and renew the words."""
        is_available = self.is_available
        if self._fresh.is_new(is_available, self._say()):
            self.configure(state="normal" if is_available else "disabled")
            self._write()

    def _write(self) -> None:
        words = self._say() or self.action.label
        texts = [words + self._key, words, *([self._short] if self._short else [])]
        self.configure(text=texts[0] if self._short is None else whole(self, texts))


def refresh_buttons(page: tk.Misc) -> None:
    """Let every button of an action that is seen on a page follow the state."""
    for child in page.children.values():
        if not isinstance(child, ActionButton):
            refresh_buttons(child)
        elif child.winfo_ismapped():
            child.refresh()


class Panel(ABC):
    """A part of a page in a frame of its own: built once, then refreshed as the state changes.

    The page places the frame; its column `grows` takes what is to spare. width: of its words, px.
    fresh: what it shows.
    """

    grows = 0

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width: int = 0) -> None:
        self.context, self.look, self.width, self.fresh = context, look, width, Fresh()
        self.frame = ttk.Frame(parent)
        self.frame.columnconfigure(self.grows, weight=1)
        self.build(self.frame)

    @abstractmethod
    def build(self, frame: ttk.Frame) -> None:
        """Fill the frame, once."""


def button_row(
    foot: ttk.Frame, context: Context, look: Look, named: Sequence[tuple[str, str]]
) -> None:
    """Put buttons at the right end of a foot.

    named: (action, text or "" for the action's own); the last one is the page's primary button.
    """
    row, last, gap = box(foot, 0, 0, "e"), len(named) - 1, look.units(1)
    for i, (name, text) in enumerate(named):
        made = ActionButton(row, context, look, name, text, is_primary=i == last)
        put(made, 0, i, padx=(gap if i else 0, 0))


def window_px(widget: tk.Misc) -> int:
    """Return the width of the window, also before it is shown for the first time."""
    window = widget.winfo_toplevel()
    wide = int(str(window.tk.call("wm", "geometry", window)).split("x")[0])
    return wide if wide > 1 else window.winfo_screenwidth()


BORDER_PX = 2  # at each side of a button


def whole(button: ttk.Button, texts: Sequence[str]) -> str:
    """Return the first text that a button as wide as it is now shows whole, else the last."""
    style, name = ttk.Style(button), str(button.cget("style")) or "TButton"
    wide = partial(button.tk.call, "font", "measure", style.lookup(name, "font", button.state()))
    side = button.winfo_pixels(str(button.tk.splitlist(style.lookup(name, "padding"))[0]))
    room = button.winfo_width() - 2 * (side + BORDER_PX)
    if button.winfo_width() <= 1:  # not laid out yet
        return texts[0]
    return next((text for text in texts if int(wide(text)) <= room), texts[-1])


def broken(text: str, measure: Callable[[str], int], room: int) -> list[str]:
    """Return a text as lines of whole words, each no wider than the room in px where it can be."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and measure(longer) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines


def wrapped(label: ttk.Label, width: int) -> ttk.Label:
    """Let a label break its lines at a width in px, and return it."""
    label.configure(wraplength=max(1, width - 6), justify="left")  # ttk keeps a rim
    return label


W = TypeVar("W", bound=tk.Widget)


def put(widget: W, row: int = 0, column: int = 0, sticky: str = "", **options: Any) -> W:
    """Place a widget in the grid of its parent and return it."""
    widget.grid(row=row, column=column, sticky=sticky, **options)
    return widget


def show(widget: tk.Widget, is_shown: bool) -> None:
    """Show a widget in its place in the grid, or let it take no room."""
    widget.grid() if is_shown else widget.grid_remove()


def mark_chosen(button: ttk.Button, is_chosen: bool) -> None:
    """Let a button look like the one that is chosen, or like the others."""
    if button.state(["selected" if is_chosen else "!selected"]):
        button.configure(style=button.cget("style"))  # asks for room: its letters are bold then
        button.event_generate("<<Chosen>>")


def emptied(widget: W) -> W:
    """Destroy all that lies in a widget and return it."""
    for child in widget.winfo_children():
        child.destroy()
    return widget


def box(
    parent: tk.Misc,
    row: int,
    column: int = 0,
    sticky: str = "ew",
    *,
    grows: int | Sequence[int] = (),
    style: str = "TFrame",
    **options: Any,
) -> ttk.Frame:
    """Place a frame in the grid of its parent.

    grows: its column that takes what is to spare, or several of one width that share all.
    """
    made = ttk.Frame(parent, style=style)
    if isinstance(grows, int):
        made.columnconfigure(grows, weight=1)
    elif grows:
        made.columnconfigure(tuple(grows), weight=1, uniform="share")
    return put(made, row, column, sticky, **options)


def label(
    parent: tk.Misc,
    row: int,
    text: str = "",
    style: str = "TLabel",
    *,
    wrap: int = 0,
    column: int = 0,
    sticky: str = "w",
    **options: Any,
) -> ttk.Label:
    """Place words in the grid of their parent; wrap: break their lines at a width in px."""
    made = ttk.Label(parent, text=text, style=style)
    return put(wrapped(made, wrap) if wrap else made, row, column, sticky, **options)


def say(label: ttk.Label, text: str) -> None:
    """Show a text; an empty one takes no room."""
    label.configure(text=text)
    label.grid() if text else label.grid_remove()


def surface(
    parent: tk.Misc, ground: str, rim: int = 0, *, has_focus: bool = True, **options: Any
) -> tk.Canvas:
    """Return a canvas to draw on; a rim of so many px shows where the keyboard is."""
    return tk.Canvas(
        parent,
        background=ground,
        highlightthickness=rim,
        highlightcolor=palette.ACCENT,
        highlightbackground=ground,
        takefocus=has_focus,
        **{"width": 1, "height": 1, **options},
    )


def needed(widgets: Sequence[tk.Misc], gap: int) -> int:
    """Return the width that widgets ask for beside each other, px."""
    return sum(widget.winfo_reqwidth() + gap for widget in widgets) - gap


def fold(
    frame: ttk.Frame, widgets: Sequence[tk.Misc], gap: int, lay_out: Callable[[bool], None]
) -> Callable[[], None]:
    """Call lay_out now and whenever it changes whether the widgets fit beside each other.

    lay_out: gets True where they need more than the frame is wide. Return what to call when
    what they need has changed.
    """
    folded: list[bool] = []

    def look(width: int) -> None:
        is_folded = width > 1 and needed(widgets, gap) > width
        if folded != [is_folded]:
            folded[:] = [is_folded]
            lay_out(is_folded)

    look(1)
    frame.bind("<Configure>", lambda event: look(event.width), add="+")
    return lambda: look(frame.winfo_width())


def fold_row(
    frame: ttk.Frame, widgets: Sequence[tk.Widget], gap: int, **options: Any
) -> Callable[[], None]:
    """Let widgets share the width beside each other, or in two rows where they do not fit."""

    def lay_out(is_folded: bool) -> None:
        across = -(-len(widgets) // 2) if is_folded else len(widgets)
        for i, widget in enumerate(widgets):
            frame.columnconfigure(i, weight=int(i < across))
            put(widget, *divmod(i, across), **options)

    return fold(frame, widgets, gap, lay_out)


def fold_second(frame: ttk.Frame, first: tk.Misc, second: tk.Widget, gap: int, drop: int) -> None:
    """Keep the second widget at the right of the first, or below it where both do not fit.

    gap: least px between them, drop: px above the second where it stands below.
    """

    def lay_out(is_folded: bool) -> None:
        if is_folded:
            second.grid(row=1, column=0, columnspan=2, sticky="w", pady=(drop, 0))
        else:
            second.grid(row=0, column=1, columnspan=1, sticky="e", pady=0)

    fold(frame, (first, second), gap, lay_out)


def wrap_within(label: ttk.Label, place: ttk.Widget, rim: int = 6) -> None:
    """Let a label break its lines at the width of a frame, or its own, also when that changes."""

    def wrap(event: "tk.Event[tk.Misc]") -> None:
        label.configure(wraplength=max(1, event.width - rim), justify="left")

    place.bind("<Configure>", wrap, add="+")


def soon(widget: tk.Misc, ms: int, action: Callable[[], object]) -> str:
    """Do an action after so many ms, unless the widget has gone; after_cancel takes it back.

    The window waits, because it outlives its pages.
    """
    return widget.winfo_toplevel().after(ms, lambda: action() if widget.winfo_exists() else None)


def when_idle(widget: tk.Misc, action: Callable[[], object]) -> None:
    """Do an action once the events at hand are through, unless the widget has gone by then."""
    widget.winfo_toplevel().after_idle(lambda: action() if widget.winfo_exists() else None)


class Fresh:
    """Remembers the values of the last drawing."""

    def __init__(self) -> None:
        self._last: tuple[Any, ...] | None = None

    def is_new(self, *values: Any) -> bool:
        """Say whether any value differs from the last call, and remember them."""
        if self._last is not None and self._last == values:
            return False
        self._last = values
        return True

    def forget(self) -> None:
        """Make the next call new."""
        self._last = None
