"""Opening the window: root, looks, state, workers, pages; nothing else."""

import contextlib
import os
import sys
import traceback
from datetime import datetime
from functools import partial
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from tapmark.errors import NoScreen

if TYPE_CHECKING:
    import tkinter as tk

    from tapmark.app.desk import Desk


def open_window(squad_folder: Path | None) -> int:
    """Open the window on a squad, or where it was left; return the exit code when it closes.

    Raises NoScreen where there is no display or no tkinter.
    """
    root = _root()
    from tapmark.app.assembly import assemble
    from tapmark.app.beginning import begin

    desk = assemble(root, dict(os.environ), sys.platform, datetime.now)
    root.report_callback_exception = partial(tell_own_mistake, desk)
    begin(desk, squad_folder)
    root.mainloop()
    return 0


def tell_own_mistake(
    desk: "Desk", kind: type[BaseException], mistake: BaseException, trace: TracebackType | None
) -> None:
    """Say that Tapmark itself went wrong, keep what can be kept, and go on."""
    traceback.print_exception(kind, mistake, trace)
    is_kept = False
    with contextlib.suppress(Exception):  # another mistake of ours, or this one again
        is_kept = desk.flush()
    marks = "Your marks are saved." if is_kept else "Your last marks are NOT saved."
    desk.state.trouble = (
        f"Tapmark itself made a mistake ({kind.__name__}: {mistake}). {marks} "
        "Go on; if it comes again, close the window and open it anew."
    )
    desk.state.tell()


def _root() -> "tk.Tk":
    try:
        import tkinter as tk
    except ImportError:
        raise NoScreen(
            "This Python has no tkinter, so the window cannot open. Install it (on many Linux "
            "systems the package is called python3-tk); every command works without it."
        ) from None
    _ask_for_sharp_pixels()
    try:
        return tk.Tk(className="Tapmark")
    except tk.TclError:
        raise NoScreen(
            "There is no screen here to open the window on. Start it at the computer itself; "
            "every command works without a screen: tapmark --help."
        ) from None


def _ask_for_sharp_pixels() -> None:
    """On Windows, say before the first window that we scale ourselves, or text is blurred."""
    if sys.platform == "win32":
        import ctypes

        ctypes.windll.shcore.SetProcessDpiAwareness(1)
