"""What does not look like ours: a font or widget nobody chose, a date as the disk has it.

Every widget is asked that is on the screen, and what none of them shows by itself: the lists of
the choices, the menu, the words drawn on a canvas.
"""

import os
import re
import sys
import tkinter as tk
from collections.abc import Iterator
from tkinter import ttk
from typing import Any

from PIL import Image, ImageGrab

from tests.app.clipping import TEXT, mapped

OURS = ("body", "bold", "head", "title")
READABLE = 12  # letters of a name that say what is meant
SMALLEST_PX = 11.5  # of the em of a drawn letter: 12, and what rounding takes
BARE = (tk.Canvas, tk.Menu, tk.Toplevel)  # what ttk has not
ISO = re.compile(r"\b20\d\d-\d\d-\d\d\b(?!\S*[./”])")  # the name of a file or folder may hold one


def on_screen(box: tuple[int, int, int, int]) -> Image.Image:
    """Return what the screen shows there; Windows has one without a name."""
    return ImageGrab.grab(
        box, xdisplay=os.environ.get("DISPLAY") if sys.platform == "linux" else None
    )


def strange(root: tk.Misc, look: Any) -> list[str]:
    """Return a sentence for everything on the screen that is not in our fonts and widgets."""
    wanted = {_kind(root, str(look.font(name))) for name in OURS}
    found = []
    for widget in mapped(root):
        if isinstance(widget, ttk.Widget):
            fonts = _ttk_fonts(widget)
        elif isinstance(widget, tk.Canvas):
            found += _drawn(widget, look)
            continue
        elif isinstance(widget, BARE):
            continue
        else:
            found.append(f"{widget.winfo_class()} {widget} is no ttk widget")
            continue
        found += [
            f"{widget.winfo_class()} {widget}: {what} in {font!r}"
            for what, font in fonts
            if not font or _kind(root, font) not in wanted
        ]
    return found


def _kind(root: tk.Misc, font: str) -> tuple[str, ...]:
    """Return family, size, weight and slant of a font by its name or description."""
    told = root.tk.splitlist(root.tk.call("font", "actual", font))
    return tuple(str(value) for value in told[1:8:2])


def _ttk_fonts(widget: ttk.Widget) -> Iterator[tuple[str, str]]:
    style = ttk.Style(widget)
    name = str(widget.cget("style")) or widget.winfo_class()
    if isinstance(widget, ttk.Entry):
        yield "its text", str(widget.cget("font"))
        if isinstance(widget, ttk.Combobox):
            yield "its choices", _choices_font(widget)
    elif isinstance(widget, ttk.Treeview):
        yield "its rows", str(style.lookup(name, "font"))
        yield "its headings", str(style.lookup(f"{name}.Heading", "font"))
        for item in widget.get_children():
            for tag in widget.item(item, "tags"):
                font = str(widget.tag_configure(str(tag), "font"))
                if font:
                    yield f"its rows “{tag}”", font
    elif not isinstance(widget, ttk.Frame | ttk.Scrollbar):
        yield "its text", str(style.lookup(name, "font"))


def _choices_font(box: ttk.Combobox) -> str:
    window = box.tk.call("ttk::combobox::PopdownWindow", box)
    return str(box.tk.call(f"{window}.f.l", "cget", "-font"))


def _drawn(canvas: tk.Canvas, look: Any) -> Iterator[str]:
    family = look.font("body").actual("family")
    for item in _words_on(canvas):
        named = str(canvas.itemcget(item, "font"))
        is_chosen = named and not named.startswith("Tk")
        if not is_chosen:
            yield f"“{canvas.itemcget(item, 'text')}” is drawn in {named!r}"
            continue
        its_family, size, *_ = _kind(canvas, named)
        if its_family != family or _em_px(float(size), look) < SMALLEST_PX:
            yield f"“{canvas.itemcget(item, 'text')}” is drawn in {named!r}"


def _em_px(size: float, look: Any) -> float:
    return -size if size < 0 else size * float(look.root.tk.call("tk", "scaling"))


def menu_fonts(menu: tk.Menu) -> Iterator[tuple[str, str]]:
    """Yield what a menu and all below it are called and their font."""
    yield str(menu), str(menu.cget("font"))
    for child in menu.winfo_children():
        if isinstance(child, tk.Menu):
            yield from menu_fonts(child)


def unreadable(root: tk.Misc) -> list[str]:
    """Return what is cut so short, in the column that names a row, that nobody can tell it."""
    found = []
    for tree in mapped(root):
        if isinstance(tree, ttk.Treeview):
            for row in tree.get_children():
                name = str(tree.item(row, "text")).strip()
                if "…" in name and len(name.split("…")[0]) < READABLE:
                    found.append(f"a row is called “{name}”")
    return found


def raw_dates(root: tk.Misc) -> list[str]:
    """Return every text on the screen that says a date as the disk has it."""
    return [text for text in texts(root) if ISO.search(text)]


def texts(root: tk.Misc) -> Iterator[str]:
    """Yield every text that is on the screen: labels, buttons, fields, rows, drawn words."""
    for widget in mapped(root):
        if isinstance(widget, ttk.Treeview):
            for row in widget.get_children():
                yield from (str(widget.item(row, "text")), *map(str, widget.item(row, "values")))
        elif isinstance(widget, ttk.Entry):
            yield widget.get()
        elif isinstance(widget, tk.Canvas):
            yield from (str(widget.itemcget(item, "text")) for item in _words_on(widget))
        elif isinstance(widget, TEXT):
            yield str(widget.cget("text"))


def _words_on(canvas: tk.Canvas) -> list[int]:
    return [item for item in canvas.find_all() if canvas.type(item) == "text"]
