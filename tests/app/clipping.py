"""Finding text that does not fit: asked-for sizes against given ones, for every widget."""

import tkinter as tk
from collections.abc import Iterator
from tkinter import font as tkfont
from tkinter import ttk

TEXT = (ttk.Label, ttk.Button, ttk.Checkbutton, ttk.Menubutton)


def mapped(widget: tk.Misc) -> Iterator[tk.Misc]:
    """Yield a widget and all below it that are on the screen."""
    for child in widget.winfo_children():
        if child.winfo_ismapped():
            yield child
            yield from mapped(child)


def clipped(root: tk.Misc) -> list[str]:
    """Return a sentence for every widget with less room than its text needs."""
    return [*_too_small(root), *_outside(root)]


def _name(widget: tk.Misc) -> str:
    text = ""
    if isinstance(widget, TEXT):
        text = str(widget.cget("text"))[:40]
    if isinstance(widget, ttk.Combobox):
        text = widget.get()
    return f"{widget.winfo_class()} “{text}”"


def _too_small(root: tk.Misc) -> Iterator[str]:
    for widget in mapped(root):
        if isinstance(widget, TEXT):
            needs = widget.winfo_reqwidth(), widget.winfo_reqheight()
            has = widget.winfo_width(), widget.winfo_height()
            if needs[0] > has[0] + 1 or needs[1] > has[1] + 1:
                yield f"{_name(widget)} needs {needs}, has {has}"
        if isinstance(widget, ttk.Combobox):
            font = tkfont.nametofont("TkTextFont", root)
            needed = font.measure(widget.get())
            if needed + widget.winfo_height() > widget.winfo_width() + 4:
                yield f"{_name(widget)} needs {needed} px and an arrow, has {widget.winfo_width()}"


def _outside(root: tk.Misc) -> Iterator[str]:
    for widget in mapped(root):
        parent = widget.nametowidget(widget.winfo_parent())
        if isinstance(parent, tk.Canvas | tk.Toplevel | tk.Menu) or isinstance(widget, tk.Menu):
            continue  # a canvas scrolls what is in it
        right = widget.winfo_x() + widget.winfo_width()
        bottom = widget.winfo_y() + widget.winfo_height()
        if right > parent.winfo_width() + 1 or bottom > parent.winfo_height() + 1:
            yield f"{_name(widget)} reaches out of its frame by " + str(
                (right - parent.winfo_width(), bottom - parent.winfo_height())
            )
