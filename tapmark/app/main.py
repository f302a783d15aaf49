"""Opening the window: root, looks, state, workers, pages; nothing else."""

import os
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from tapmark.errors import NoScreen

if TYPE_CHECKING:
    import tkinter as tk


def open_window(squad_folder: Path | None) -> int:
    """Open the window on a squad, or where it was left; return the exit code when it closes.

    Raises NoScreen where there is no display or no tkinter.
    """
    root = _root()
    from tapmark.app.assembly import assemble
    from tapmark.app.beginning import begin

    desk = assemble(root, dict(os.environ), sys.platform, datetime.now)
    begin(desk, squad_folder)
    root.mainloop()
    return 0


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
    except tk.TclError as trouble:
        raise NoScreen(
            f"There is no screen to open the window on ({trouble}). "
            "Every command works without it: tapmark --help."
        ) from None


def _ask_for_sharp_pixels() -> None:
    """On Windows, say before the first window that we scale ourselves, or text is blurred."""
    if sys.platform == "win32":
        import ctypes

        ctypes.windll.shcore.SetProcessDpiAwareness(1)
