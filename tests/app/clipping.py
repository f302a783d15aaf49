"""Finding text that does not fit: asked-for sizes against given ones, for every widget.

A list and a field ask for no size that fits their text, so theirs is measured: each cell and each
heading with its own font against its column, each field's text and choices against its inside.
"""

import tkinter as tk
from collections.abc import Iterator
from tkinter import ttk
from typing import Any

TEXT = (ttk.Label, ttk.Button, ttk.Checkbutton, ttk.Menubutton, ttk.Radiobutton)
EDGE = 2  # of a field
TYPED = 40  # letters: what is longer was typed by somebody and is scrolled by the keyboard
INDICATOR = 18  # room kept for the sign that opens a branch, with its margins


def mapped(widget: tk.Misc) -> Iterator[tk.Misc]:
    """Yield a widget and all below it that are on the screen."""
    for child in widget.winfo_children():
        if child.winfo_ismapped():
            yield child
            yield from mapped(child)


def clipped(root: tk.Misc) -> list[str]:
    """Return a sentence for every widget with less room than its text needs."""
    return [
        *_too_small(root),
        *cut_buttons(root),
        *_cut_labels(root),
        *_outside(root),
        *_beside_canvas(root),
        *_without_bar(root),
        *_cut_cells(root),
        *_cut_fields(root),
    ]


class Letters:
    """Measures text in a named font; a `tkfont.Font` would be made anew for every cell."""

    def __init__(self, widget: tk.Misc, name: Any) -> None:
        self._widget, self._name = widget, str(name) or "TkDefaultFont"

    def measure(self, text: str) -> int:
        """Return how wide a text is, px."""
        tk_ = self._widget.tk
        return tk_.getint(tk_.call("font", "measure", self._name, text))


def _name(widget: tk.Misc) -> str:
    text = ""
    if isinstance(widget, TEXT):
        text = str(widget.cget("text"))[:40]
    if isinstance(widget, ttk.Entry):
        text = widget.get()
    return f"{widget.winfo_class()} “{text}”"


def _too_small(root: tk.Misc) -> Iterator[str]:
    for widget in mapped(root):
        if isinstance(widget, TEXT):
            needs = widget.winfo_reqwidth(), widget.winfo_reqheight()
            has = widget.winfo_width(), widget.winfo_height()
            if needs[0] > has[0] + 1 or needs[1] > has[1] + 1:
                yield f"{_name(widget)} needs {needs}, has {has}"


def cut_buttons(root: tk.Misc) -> Iterator[str]:
    """A button whose place says how wide it is asks for no width that fits its text."""
    for button in mapped(root):
        if isinstance(button, ttk.Button) and str(button.cget("compound")) != "image":
            style, name = ttk.Style(button), str(button.cget("style")) or "TButton"
            font = Letters(button, style.lookup(name, "font", button.state()))
            needs = font.measure(str(button.cget("text")))
            has = button.winfo_width() - _sides(button, style.lookup(name, "padding"))
            if needs > has:
                yield f"{_name(button)} needs {needs} px, has {has}"


def _cut_labels(root: tk.Misc) -> Iterator[str]:
    """A label of so many letters in width asks for that, whatever its words are."""
    for label in mapped(root):
        if isinstance(label, ttk.Label) and str(label.cget("width")) not in ("", "0"):
            style, name = ttk.Style(label), str(label.cget("style")) or "TLabel"
            font = Letters(label, label.cget("font") or style.lookup(name, "font"))
            limit = label.winfo_pixels(str(label.cget("wraplength") or 0))
            needs = max(font.measure(line) for line in str(label.cget("text")).split("\n"))
            if needs > label.winfo_width() + 1 and not limit:
                yield f"{_name(label)} needs {needs} px, has {label.winfo_width()}"


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


def _beside_canvas(root: tk.Misc) -> Iterator[str]:
    """A canvas scrolls down and up what is in it, never to the side."""
    for canvas in mapped(root):
        if isinstance(canvas, tk.Canvas):
            edge = canvas.winfo_rootx() + canvas.winfo_width()
            for widget in mapped(canvas):
                over = widget.winfo_rootx() + widget.winfo_width() - edge
                if over > 1:
                    yield f"{_name(widget)} reaches {over} px beyond its column"
            yield from _written_beside(canvas)


def _written_beside(canvas: tk.Canvas) -> Iterator[str]:
    """What is written on a canvas that scrolls down and up has to end before its right edge."""
    if canvas.cget("scrollregion"):
        for item in canvas.find_all():
            right = canvas.bbox(item)[2] if canvas.type(item) == "text" else 0
            if right > canvas.winfo_width():
                yield f"“{canvas.itemcget(item, 'text')}” is written beyond its list"


def _without_bar(root: tk.Misc) -> Iterator[str]:
    """What is taller than its canvas needs a bar beside it, or nobody knows that there is more."""
    for canvas in mapped(root):
        if not isinstance(canvas, tk.Canvas):
            continue
        inside = [i for i in canvas.find_all() if canvas.type(i) == "window"]
        tall = max((canvas.bbox(i)[3] - canvas.bbox(i)[1] for i in inside), default=0)
        parent = canvas.nametowidget(canvas.winfo_parent())
        bars = [w for w in parent.winfo_children() if isinstance(w, ttk.Scrollbar)]
        if tall > canvas.winfo_height() + 1 and not any(bar.winfo_ismapped() for bar in bars):
            yield f"{canvas} holds {tall} px, shows {canvas.winfo_height()} and has no bar"


# lists: what a cell holds against its column


def _cut_cells(root: tk.Misc) -> Iterator[str]:
    for tree in mapped(root):
        if isinstance(tree, ttk.Treeview):
            yield from _cut_headings(tree)
            yield from _too_wide(tree)
            for item in _items(tree):
                yield from _cut_in(tree, item)


def _too_wide(tree: ttk.Treeview) -> Iterator[str]:
    asked = sum(int(tree.column(column, "width")) for column in _columns(tree))
    if asked > tree.winfo_width() + 1:
        yield f"the columns of a list take {asked} px, it has {tree.winfo_width()}"


def _items(tree: ttk.Treeview, parent: str = "") -> Iterator[str]:
    for item in tree.get_children(parent):
        yield item
        yield from _items(tree, item)


def _columns(tree: ttk.Treeview) -> list[str]:
    shown = tuple(map(str, tree.cget("displaycolumns")))
    named = list(tree.cget("columns")) if shown == ("#all",) else list(shown)
    return ["#0", *named] if "tree" in str(tree.cget("show")) else named


def _cut_headings(tree: ttk.Treeview) -> Iterator[str]:
    if "headings" not in str(tree.cget("show")):
        return
    style = ttk.Style(tree)
    font = Letters(tree, style.lookup("Treeview.Heading", "font"))
    pad = _sides(tree, style.lookup("Treeview.Heading", "padding"))
    for column in _columns(tree):
        text = str(tree.heading(column, "text"))
        needs, has = font.measure(text) + pad, int(tree.column(column, "width"))
        if needs > has:
            yield f"the heading “{text}” needs {needs} px, its column has {has}"


def _cut_in(tree: ttk.Treeview, item: str) -> Iterator[str]:
    font = _row_font(tree, item)
    values = dict(zip(tree.cget("columns"), tree.item(item, "values"), strict=False))
    for column in _columns(tree):
        text = str(tree.item(item, "text") if column == "#0" else values.get(column, ""))
        longest = max(map(font.measure, text.split("\n")))
        needs = longest + _room_beside(tree, item, column)
        has = int(tree.column(column, "width"))
        if text and needs > has:
            yield f"“{text}” under “{tree.heading(column, 'text')}” needs {needs} px, has {has}"


def _room_beside(tree: ttk.Treeview, item: str, column: str) -> int:
    """What stands in a cell besides its text, px."""
    style = ttk.Style(tree)
    if column != "#0":
        return _sides(tree, style.lookup("Treeview.Cell", "padding") or (4, 0))
    image = tree.item(item, "image")
    picture = tree.tk.getint(tree.tk.call("image", "width", image)) if image else 0
    has_sign = "indicator" in str(style.layout("Treeview.Item"))
    left = tree.tk.splitlist(style.lookup("Treeview.Item", "padding") or (4,))[0]
    return tree.winfo_pixels(str(left)) + picture + (INDICATOR if has_sign else 0)


def _row_font(tree: ttk.Treeview, item: str) -> Letters:
    for tag in tree.item(item, "tags"):
        named = str(tree.tag_configure(tag, "font"))
        if named:
            return Letters(tree, named)
    return Letters(tree, ttk.Style(tree).lookup("Treeview", "font"))


def _sides(widget: tk.Misc, padding: Any) -> int:
    """Left and right padding together, px, from ttk's one to four numbers."""
    parts = widget.tk.splitlist(padding) if padding else ("0",)
    px = [widget.winfo_pixels(str(part)) for part in parts]
    return px[0] + (px[2] if len(px) > 2 else px[0])


# fields: what is shown or can be chosen against the inside


def _cut_fields(root: tk.Misc) -> Iterator[str]:
    for field in mapped(root):
        if not isinstance(field, ttk.Entry):
            continue
        font = Letters(field, field.cget("font"))
        inside = _inside(field)
        choices = field.cget("values") if isinstance(field, ttk.Combobox) else ()
        for text in dict.fromkeys((field.get(), *map(str, choices))):
            if len(text) <= TYPED and font.measure(text) > inside:
                yield f"{field.winfo_class()}: “{text}” needs {font.measure(text)}, has {inside}"


def _inside(field: ttk.Entry) -> int:
    style, kind = ttk.Style(field), field.winfo_class()
    arrow = 0
    if isinstance(field, ttk.Combobox):
        arrow = field.winfo_pixels(str(style.lookup(kind, "arrowsize") or 14))
    padding = _sides(field, style.lookup(kind, "padding"))
    return field.winfo_width() - padding - 2 * EDGE - arrow
