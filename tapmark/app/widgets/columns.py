"""What scrolls: the column of words beside the large part of a page, and lists with their bar."""

import tkinter as tk
from collections.abc import Callable, Mapping
from functools import partial
from tkinter import ttk
from typing import Any

from tapmark.app.shell.context import Context
from tapmark.app.widgets.pieces import box, put, show, surface, when_idle, window_px
from tapmark.app.widgets.theme import Look
from tapmark.report.drawing import palette

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
