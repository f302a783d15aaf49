"""A column of words that scrolls when the text is too large for the screen, with a foot that stays.

The one filled button of a page stands in the foot, so it can always be reached.
"""

import tkinter as tk
from functools import partial
from tkinter import ttk
from typing import Any

from tapmark.app.style import Look
from tapmark.drawing import palette


class Column:
    """outer is placed by the page; widgets go into body and foot."""

    def __init__(self, parent: tk.Misc, look: Look, width: int) -> None:
        self.outer = ttk.Frame(parent)
        self.bar = ttk.Scrollbar(self.outer)
        self.rim = (
            self.bar.winfo_reqwidth()
        )  # always kept free, or showing it would shift the words
        self.outer.configure(width=width + self.rim)
        self.outer.grid_propagate(False)
        self.outer.columnconfigure(1, minsize=self.rim)
        self.outer.columnconfigure(0, weight=1)
        self.outer.rowconfigure(0, weight=1)
        self.canvas = tk.Canvas(
            self.outer, background=palette.PAPER, highlightthickness=0, width=1, height=1
        )
        self.canvas.grid(row=0, column=0, sticky="nsew")
        self.bar.configure(command=self.canvas.yview)
        self.canvas.configure(yscrollcommand=self.bar.set)
        self._holder = ttk.Frame(self.canvas)  # as tall as the words or the column: it tells when
        self._holder.columnconfigure(0, weight=1)
        self.body = ttk.Frame(self._holder)
        self.body.grid(row=0, column=0, sticky="nsew")
        self.body.columnconfigure(0, weight=1)
        self._window = self.canvas.create_window(0, 0, anchor="nw", window=self._holder)
        self.foot = ttk.Frame(self.outer)
        self.foot.grid(row=1, column=0, sticky="ew", pady=(look.em(0.8), 0))
        self.foot.columnconfigure(0, weight=1)
        self._holder.bind("<Configure>", self._fit)
        for event in ("<Configure>", "<Map>"):  # what is set before Tk shows it is not drawn
            self.canvas.bind(event, self._fit)
        self._bind_wheel()

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

    def _bind_wheel(self) -> None:
        self._tag = f"Followed{self.body}"  # a tag of our own; the path would share its bindings
        self.outer.bind_class(self._tag, "<FocusIn>", self._show_focused)
        self.outer.bind_class(self._tag, "<ButtonPress-1>", self._pressed)
        self._was_pressed: tk.Misc | None = None
        self.canvas.bindtags((*self.canvas.bindtags(), self._tag))
        for event, by in (("<Button-4>", -2), ("<Button-5>", 2)):
            scroll = partial(self._scroll, by=by)
            self.outer.bind_class(self._tag, event, scroll)
        self.outer.bind_class(
            self._tag,
            "<MouseWheel>",
            lambda event: self._scroll(event, -2 if event.delta > 0 else 2),
        )

    def _pressed(self, event: Any) -> None:
        """Remember what was pressed: it is seen where the pointer is, and stays there."""
        self._was_pressed = event.widget

    def _scroll(self, event: Any, by: int) -> None:
        """Scroll the words, but not where the wheel is over a list that scrolls itself."""
        has_own = event.widget.winfo_class() in ("Treeview", "Listbox", "Text")
        if self.bar.winfo_ismapped() and not has_own:
            self.canvas.yview_scroll(by, "units")

    def follow_keyboard(self) -> None:
        """Scroll to whatever widget gets the keyboard; call it when the column is filled anew."""
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
            self.canvas.after_idle(self._scroll_to, event.widget)

    def _scroll_to(self, widget: tk.Misc) -> None:
        if not widget.winfo_exists() or not widget.winfo_ismapped():
            return  # gone again before it was laid out
        top = widget.winfo_rooty() - self.body.winfo_rooty()
        bottom, whole = top + widget.winfo_height(), self.body.winfo_height()
        if bottom <= self.canvas.winfo_height():
            self.canvas.yview_moveto(0)
            return
        seen_top = self.canvas.canvasy(0)
        seen_bottom = seen_top + self.canvas.winfo_height()
        if top < seen_top:
            self.canvas.yview_moveto(top / whole)
        elif bottom > seen_bottom:
            self.canvas.yview_moveto((bottom - self.canvas.winfo_height()) / whole)


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
