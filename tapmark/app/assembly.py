"""Putting the parts of a window together."""

import re
import sys
import tkinter as tk
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from tapmark.app import hand_over
from tapmark.app.action import Asker
from tapmark.app.actions import by_name
from tapmark.app.asking import Dialogs
from tapmark.app.beside_view import BesideView
from tapmark.app.desk import Desk
from tapmark.app.film_view import FilmView
from tapmark.app.frames_view import FramesView
from tapmark.app.group_view import GroupView
from tapmark.app.help_view import HelpView
from tapmark.app.jobs import Jobs
from tapmark.app.naming_view import NamingView
from tapmark.app.proposal_view import ProposalView
from tapmark.app.review_view import ReviewView
from tapmark.app.season_view import SeasonView
from tapmark.app.sheet_view import SheetView
from tapmark.app.squad_view import SquadView
from tapmark.app.state import AppState
from tapmark.app.style import Look
from tapmark.app.tap_view import TapView
from tapmark.app.window import View, Window
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
    look = Look(root, settings.text_size)
    state = AppState()
    desk = Desk(
        state=state,
        jobs=Jobs(root.after, root.after_cancel, _crash),
        painter=Jobs(root.after, root.after_cancel, _crash),
        ask=ask or Dialogs(root),
        now=now,
        actions=by_name(),
        settings_path=path,
        cache_folder=user_cache_folder(environment, Path.home(), platform),
        later=root.after,
        open_file=hand_over.open_file,
        print_file=hand_over.print_file,
        settings=settings,
    )
    state.trouble = " ".join(notes)
    _place_window(root, settings.window, settings.is_maximised)
    Window(root, desk, look, views())
    return desk


def views() -> dict[str, View]:
    """Return page -> the object that shows it."""
    return {
        "squad": SquadView(),
        "film": FilmView(),
        "frames": FramesView(),
        "taps": TapView(),
        "review": ReviewView(),
        "sheet": SheetView(),
        "proposal": ProposalView(),
        "naming": NamingView(),
        "season": SeasonView(),
        "group": GroupView(),
        "beside": BesideView(),
        "help": HelpView(),
    }


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
