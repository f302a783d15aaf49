"""Doing something a little later in a widget that may have gone by then.

Tk takes a widget's commands away with it but not its timers, and Python may give a new command the
name of an old one: a timer of a page that was laid out again then called the new page's keys.
"""

import tkinter as tk
from collections.abc import Callable


def soon(widget: tk.Misc, ms: int, deed: Callable[[], object]) -> str:
    """Do a deed after so many milliseconds, unless the widget has gone; after_cancel takes it back.

    The window waits, because it outlives its pages.
    """
    return widget.winfo_toplevel().after(ms, lambda: deed() if widget.winfo_exists() else None)
