"""Putting the parts of a window together."""

import re
import sys
import tkinter as tk
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from tapmark.app import hand_over
from tapmark.app.action import Asker
from tapmark.app.asking import Dialogs
from tapmark.app.desk import Desk
from tapmark.app.jobs import Jobs
from tapmark.app.reading_ahead import FIRST, Actions, Views, read_ahead
from tapmark.app.state import AppState
from tapmark.app.style import Look
from tapmark.app.window import Window
from tapmark.clip.cache import user_cache_folder
from tapmark.store.settings import load_settings, settings_path

SWITCH_S = 0.001  # a worker gives the window its turn within a millisecond
SMALLEST = (960, 600)


def assemble(
    root: tk.Tk,
    environment: Mapping[str, str],
    platform: str,
    now: Callable[[], datetime],
    ask: Asker | None = None,
) -> Desk:
    """Build the window on a root and return its desk.

    environment, platform: os.environ and sys.platform; now: the clock.
    """
    sys.setswitchinterval(SWITCH_S)
    path = settings_path(environment, platform)
    settings, notes = load_settings(path)
    look, actions = Look(root, settings.text_size), Actions()
    state = AppState()
    desk = Desk(
        state=state,
        jobs=Jobs(root.after, root.after_cancel, _crash),
        painter=Jobs(root.after, root.after_cancel, _crash),
        ask=ask or Dialogs(root),
        now=now,
        actions=actions,
        settings_path=path,
        cache_folder=user_cache_folder(environment, Path.home(), platform),
        later=root.after,
        open_file=hand_over.open_file,
        print_file=hand_over.print_file,
        settings=settings,
    )
    state.trouble = " ".join(notes)
    _place_window(root, settings.window, settings.is_maximised)
    window = Window(root, desk, look, Views())

    def bind_all() -> None:
        window.bind_keys(tuple(actions.values()))

    if actions.is_whole:
        bind_all()
    else:
        window.bind_keys(FIRST)
        root.after_idle(lambda: read_ahead(root.after, bind_all))
    return desk


def fits(geometry: str, width: int, height: int) -> bool:
    """Say whether a remembered window can be reached on a screen of that size, px."""
    found = re.fullmatch(r"(\d+)x(\d+)([+-]-?\d+)([+-]-?\d+)", geometry)
    if not found:
        return False
    wide, tall = int(found[1]), int(found[2])
    left, top = (int(found[i].replace("+-", "-").replace("--", "-")) for i in (3, 4))
    return wide <= width and tall <= height and -wide / 2 < left < width - 100 and top < height - 60


def _crash(mistake: BaseException) -> None:
    """Our own mistake in a job comes up where every mistake of the window does."""
    raise mistake


def _place_window(root: tk.Tk, geometry: str, is_maximised: bool) -> None:
    root.minsize(*SMALLEST)
    width, height = root.winfo_screenwidth(), root.winfo_screenheight()
    usual = f"{min(1366, width)}x{min(768, height - 40)}+0+0"
    root.geometry(geometry if fits(geometry, width, height) else usual)
    if is_maximised and sys.platform != "linux":
        root.state("zoomed")
