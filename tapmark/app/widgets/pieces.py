"""Small pieces that several pages use: buttons, scrolling columns, redrawing what changed."""

import tkinter as tk
from abc import ABC, abstractmethod
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from tkinter import ttk
from typing import Any, TypeVar

from tapmark.app.shell.context import Action, Context
from tapmark.app.shell.keys import spoken
from tapmark.app.state.form import FieldTrouble
from tapmark.app.widgets.theme import Look
from tapmark.errors import StopwatchUnusable, TapmarkError
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
        context.buttons.add(self)
        self.bind("<Map>", lambda event: self.refresh())
        if short is not None:
            self.bind("<Configure>", lambda event: self._write())

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
        if self._fresh.is_new(self.is_available, self._say()):
            self.configure(state="normal" if self.is_available else "disabled")
            self._write()

    def _write(self) -> None:
        words = self._say() or self.action.label
        texts = [words + self._key, words, *([self._short] if self._short else [])]
        self.configure(text=texts[0] if self._short is None else whole(self, texts))

    def destroy(self) -> None:
        self.context.buttons.discard(self)
        super().destroy()


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


class Typed:
    """A field whose text counts: kept when it is left, on Return, and before any action acts.

    keep: takes the text, as an action; where it cannot be used it raises FieldTrouble, or returns
        why.
    What is being typed is not overwritten by what is read meanwhile; another run empties it.
    """

    def __init__(self, context: Context, entry: ttk.Entry, keep: Callable[[str], object]) -> None:
        self.context, self.entry, self._keep = context, entry, keep
        self._filled, self._whose, self._why = entry.get(), context.state.at_hand(), ""
        for event in ("<FocusOut>", "<Return>"):
            entry.bind(event, lambda event: self.commit())
        context.fields[str(entry)] = self.commit

    @property
    def is_typed(self) -> bool:
        """True when it holds text of the open run that is not kept yet."""
        now, was = self.context.state.at_hand(), self._whose
        is_same = now[:3] == was[:3] and was.run in ("", now.run)
        return is_same and self.entry.get() != self._filled

    def fill(self, text: str) -> None:
        """Show the text as it stands, unless the field is being typed in."""
        if self.is_typed:
            return
        self._whose, self._filled = self.context.state.at_hand(), text
        if self.entry.get() != text:
            write_in(self.entry, text)
        self.entry.state(["!invalid"])

    def commit(self) -> str:
        """Keep what was typed; return why it cannot be used, "" when it can or nothing was."""
        if not self.entry.winfo_exists() or not self.is_typed:
            return ""
        text, before = self.entry.get(), self._filled
        self._filled, self._why, has_acted = text, "", False

        def keep() -> None:
            nonlocal has_acted
            has_acted = True
            try:
                told = self._keep(text)
                self._why = told if isinstance(told, str) else ""
            except FieldTrouble as trouble:
                self._why = str(trouble)

        self.context.attempt(keep)
        if self._why or not has_acted:  # or another field is to be mended first: kept after that
            self._filled = before
        if not has_acted:
            return ""
        self.entry.state(["invalid" if self._why else "!invalid"])
        return self._why


def tried(
    context: Context, action: Callable[[], object], field: ttk.Entry, words: ttk.Label
) -> str:
    """Do what takes a typed text; return why that cannot be used, also told in words, or ""."""
    try:
        action()
    except (FieldTrouble, StopwatchUnusable) as trouble:
        words.configure(text=str(trouble), style="Error.TLabel")
        field.state(["invalid"])
        return str(trouble)
    except TapmarkError as trouble:
        context.failed(trouble)
        return str(trouble)
    return ""


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


MOST_OF_WINDOW = 0.54  # that words may take: large text on a small screen leaves room for frames


class Side:
    """A page of two parts: the large one and a column of words, on the side of the free hand.

    width_em: of the column, as asked for or what the window can spare.
    """

    def __init__(self, parent: tk.Misc, context: Context, look: Look, width_em: float) -> None:
        self.frame = ttk.Frame(parent)
        words, picture = (0, 1) if context.settings.value.left_handed else (1, 0)
        self.frame.columnconfigure(picture, weight=1)
        self.frame.rowconfigure(0, weight=1)
        wide, narrow, pady = look.units(2), look.units(1), look.units(1.5)
        left, right = (wide, narrow), (narrow, wide)
        padx = right if picture else left
        self.large = box(self.frame, 0, picture, "nsew", grows=0, padx=padx, pady=pady)
        self.width_em = min(width_em, MOST_OF_WINDOW * window_px(parent) / narrow)
        self.column = Column(self.frame, look, look.units(self.width_em))
        self.words, self.foot = self.column.body, self.column.foot
        padx = (narrow, max(0, wide - self.column.rim)) if words else left
        put(self.column.outer, 0, words, "nsew", padx=padx, pady=pady)


def window_px(widget: tk.Misc) -> int:
    """Return the width of the window, also before it is shown for the first time."""
    window = widget.winfo_toplevel()
    wide = int(str(window.tk.call("wm", "geometry", window)).split("x")[0])
    return wide if wide > 1 else window.winfo_screenwidth()


BORDER_PX = 2  # at each side of a button


def whole(button: ttk.Button, texts: Sequence[str]) -> str:
    """Return the first text that a button as wide as it is now shows whole, else the last."""
    style, name = ttk.Style(button), str(button.cget("style")) or "TButton"
    wide = partial(button.tk.call, "font", "measure", style.lookup(name, "font"))
    side = button.winfo_pixels(str(button.tk.splitlist(style.lookup(name, "padding"))[0]))
    room = button.winfo_width() - 2 * (side + BORDER_PX)
    if button.winfo_width() <= 1:  # not laid out yet
        return texts[0]
    return next((text for text in texts if int(wide(text)) <= room), texts[-1])


def scrolled(
    shown: ttk.Treeview | tk.Canvas,
    parent: tk.Misc,
    row: int,
    moved: Callable[[], object] = lambda: None,
) -> ttk.Scrollbar:
    """Give what stands in column 0 a bar in column 1 that shows only when it is needed.

    moved: called when another part is seen.
    """
    bar = put(ttk.Scrollbar(parent, command=shown.yview, takefocus=0), row, 1, "ns")

    def set_bar(first: float, last: float) -> None:
        bar.set(first, last)
        show(bar, float(first) > 0 or float(last) < 1)  # they come as text
        moved()

    shown.configure(yscrollcommand=set_bar)
    return bar


def browsed(
    parent: tk.Misc,
    row: int,
    chosen: Callable[[], object],
    headings: Mapping[str, str] | None = None,
    *,
    sticky: str = "nsew",
    pady: int | tuple[int, int] = 0,
    **options: Any,
) -> ttk.Treeview:
    """Place a list to choose a row from, with its bar; chosen: called when another one is.

    headings: column -> its words; "#0" is the one that pictures stand in.
    """
    named = headings or {}
    tree = ttk.Treeview(
        parent, selectmode="browse", columns=[key for key in named if key != "#0"], **options
    )
    for key, words in named.items():
        tree.heading(key, text=words, anchor="w")
    tree.tag_configure("quiet", foreground=palette.MUTED)
    tree.bind("<<TreeviewSelect>>", lambda event: chosen())
    put(tree, row, 0, sticky, pady=pady)
    scrolled(tree, parent, row)
    return tree


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
    button.state(["selected" if is_chosen else "!selected"])


def emptied(widget: W) -> W:
    """Destroy all that lies in a widget and return it."""
    for child in widget.winfo_children():
        child.destroy()
    return widget


def write_in(entry: ttk.Entry, text: str) -> None:
    """Put a text into a field in place of what stands in it."""
    entry.delete(0, "end")
    entry.insert(0, text)


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


def choice(parent: tk.Misc, keep: Callable[[str], object], **options: Any) -> ttk.Combobox:
    """Return a list to choose from; keep gets the words that were chosen."""
    box = ttk.Combobox(parent, state="readonly", **options)
    box.bind("<<ComboboxSelected>>", lambda event: keep(box.get()))
    return box


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


TOUCHED_PX = 8  # of a touchpad's way that are one unit


def bind_wheel(
    bind: Callable[[str, Callable[[Any], object]], object], scroll: Callable[[Any, int], object]
) -> None:
    """Bind the wheel and the touchpad; scroll gets the event and by how many units, down is +.

    X11 has buttons 4 and 5 for the wheel, every other system <MouseWheel>, and Tk 9 tells a
    touchpad apart: there the lower half of the delta is how far, in px, and many small ways make
    one unit.
    """
    rest_px = 0

    def touched(event: Any) -> None:
        nonlocal rest_px
        down = (event.delta & 0xFFFF) - (0x10000 if event.delta & 0x8000 else 0)
        rest_px -= down
        by = int(rest_px / TOUCHED_PX)
        rest_px -= by * TOUCHED_PX
        if by:
            scroll(event, by)

    for event, by in (("<Button-4>", -2), ("<Button-5>", 2)):
        bind(event, lambda event, by=by: scroll(event, by))  # type: ignore[misc]
    bind("<MouseWheel>", lambda event: scroll(event, -2 if event.delta > 0 else 2))
    if tk.TkVersion >= 9:
        bind("<TouchpadScroll>", touched)


def scroll_below(event: Any, by: int) -> None:
    """Scroll the nearest list or column around the pointer that has more than it shows.

    A list has Tk's own binding for it; a field below the pointer keeps its answer.
    """
    widget = event.widget
    while isinstance(widget, tk.Misc):
        is_list = widget.winfo_class() in ("Treeview", "Listbox", "Text")
        if (is_list or widget.winfo_class() == "Canvas") and widget.cget("yscrollcommand"):
            first, last = (
                float(end) for end in widget.tk.splitlist(widget.tk.call(widget, "yview"))
            )
            if first > 0 or last < 1:
                if not is_list:
                    widget.tk.call(widget, "yview", "scroll", by, "units")
                return
        widget = widget.master


class Column:
    """outer is placed by the page; widgets go into body and foot."""

    def __init__(self, parent: tk.Misc, look: Look, width: int) -> None:
        self.outer = ttk.Frame(parent)
        self.bar = ttk.Scrollbar(self.outer)
        self.rim = self.bar.winfo_reqwidth()  # kept free, or showing it would shift the words
        self.outer.configure(width=width + self.rim)
        self.outer.grid_propagate(False)
        self.outer.columnconfigure(1, minsize=self.rim)
        self.outer.columnconfigure(0, weight=1)
        self.outer.rowconfigure(0, weight=1)
        self.canvas = put(surface(self.outer, palette.PAPER, has_focus=False), sticky="nsew")
        self.bar.configure(command=self.canvas.yview)
        self.canvas.configure(yscrollcommand=self.bar.set)
        self._holder = ttk.Frame(self.canvas)  # as tall as the words or the column: it tells when
        self._holder.columnconfigure(0, weight=1)
        self.body = box(self._holder, 0, 0, "nsew", grows=0)
        self._window = self.canvas.create_window(0, 0, anchor="nw", window=self._holder)
        self.foot = box(self.outer, 1, grows=0, pady=(look.units(0.8), 0))
        self._holder.bind("<Configure>", self._fit)
        for event in ("<Configure>", "<Map>"):  # what is set before Tk shows it is not drawn
            self.canvas.bind(event, self._fit)
        self._was_pressed: tk.Misc | None = None
        self._tag = f"Followed{self.body}"  # a tag of our own; the path would share its bindings
        window, tag = self.outer.winfo_toplevel(), self._tag
        commands = [
            window.bind_class(tag, "<FocusIn>", self._show_focused),
            window.bind_class(tag, "<ButtonPress-1>", self._pressed),
        ]

        def let_go(event: Any) -> None:  # what is bound to a tag would hold the column for ever
            for bound in window.bind_class(tag):
                window.unbind_class(tag, bound)
            for command in commands:
                window.deletecommand(command)

        self.outer.bind("<Destroy>", let_go)

    def _fit(self, event: Any) -> None:
        """Fill the column, or show a bar where the words need more than there is."""
        width, height = self.canvas.winfo_width(), self.canvas.winfo_height()
        needed = self.body.winfo_reqheight()
        self.canvas.itemconfigure(self._window, width=width)
        self._holder.rowconfigure(0, weight=1, minsize=height)
        self.canvas.configure(scrollregion=(0, 0, width, max(needed, height)))
        if needed > height:
            self.bar.grid(row=0, column=1, sticky="ns")
        else:
            self.bar.grid_remove()
            self.canvas.yview_moveto(0)

    def _pressed(self, event: Any) -> None:
        """Remember what was pressed: it is seen where the pointer is, and stays there."""
        self._was_pressed = event.widget

    def follow_keyboard(self) -> None:
        """Scroll to the widget that gets the keyboard; call it when the column is filled anew."""
        for widget in (self.body, *_below(self.body)):
            if self._tag not in widget.bindtags():
                widget.bindtags((self._tag, *widget.bindtags()))

    def _show_focused(self, event: Any) -> None:
        """Show what got the keyboard once it has its place: a form may have been filled just now.

        What can be seen from the beginning is: the heading says whose column this is. What got it
        by a press stays: between press and release nothing may move below the pointer.
        """
        if str(event.widget) != str(self.canvas.tk.call("focus")):
            return  # what it lies in is told as well
        if event.widget is not self._was_pressed:
            self._was_pressed = None
            when_idle(self.canvas, partial(self._scroll_to, event.widget))

    def _scroll_to(self, widget: tk.Misc) -> None:
        if not widget.winfo_exists() or not widget.winfo_ismapped():
            return  # gone again before it was laid out
        top = widget.winfo_rooty() - self.body.winfo_rooty()
        bottom = top + widget.winfo_height()
        if bottom <= self.canvas.winfo_height():
            self.canvas.yview_moveto(0)
        else:
            scroll_to(self.canvas, top, bottom, self.body.winfo_height())


def scroll_to(canvas: tk.Canvas, top: float, bottom: float, whole: float) -> None:
    """Scroll a canvas just so far that a part of it is seen; whole: how tall all of it is, px."""
    first, shown = canvas.canvasy(0), canvas.winfo_height()
    if top < first:
        canvas.yview_moveto(top / whole)
    elif bottom > first + shown:
        canvas.yview_moveto((bottom - shown) / whole)


def to_the_top(page: tk.Misc) -> None:
    """Scroll every column and list of a page to its beginning."""
    for widget in _below(page):
        if isinstance(widget, (tk.Canvas, ttk.Treeview)) and widget.cget("yscrollcommand"):
            widget.yview_moveto(0)


def _below(widget: tk.Misc) -> list[tk.Misc]:
    found: list[tk.Misc] = []
    for child in widget.winfo_children():
        found += [child, *_below(child)]
    return found


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
