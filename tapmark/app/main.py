"""Opening the window: root, looks, state, workers, pages, and where it begins."""

import contextlib
import os
import re
import signal
import sys
import tkinter as tk
import traceback
from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from pathlib import Path
from types import TracebackType

from tapmark import disk
from tapmark.app.actions import by_name
from tapmark.app.film.naming_view import NamingView
from tapmark.app.film.view import FilmView
from tapmark.app.jobs import Jobs
from tapmark.app.mark.frames_view import FramesView
from tapmark.app.mark.taps_view import TapView
from tapmark.app.menus import HelpView
from tapmark.app.review.compare_view import CompareView
from tapmark.app.review.drawing_view import DrawingView
from tapmark.app.review.page_view import SheetView
from tapmark.app.review.view import ReviewView
from tapmark.app.season.group_view import GroupView
from tapmark.app.season.view import SeasonView
from tapmark.app.shell import hand_over
from tapmark.app.shell.context import Context
from tapmark.app.shell.dialogs import Dialogs
from tapmark.app.shell.run_lock import ask_about_unsaved
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.saving import KeptSettings, Saver
from tapmark.app.shell.squads import use_squad
from tapmark.app.squad.proposal_view import ProposalView
from tapmark.app.squad.view import SquadView
from tapmark.app.state.session import AppState
from tapmark.app.widgets.bench import BenchPage
from tapmark.app.widgets.theme import Look
from tapmark.app.window import View, Window
from tapmark.clip.cache import user_cache_folder
from tapmark.errors import NoScreen, StoreError
from tapmark.leftovers import remove_temporary
from tapmark.store.settings import load_settings, settings_path

VIEWS: Mapping[str, Callable[[], View | BenchPage]] = {
    "squad": SquadView,
    "film": FilmView,
    "frames": FramesView,
    "taps": TapView,
    "review": ReviewView,
    "drawing": DrawingView,
    "sheet": SheetView,
    "proposal": ProposalView,
    "naming": NamingView,
    "season": SeasonView,
    "group": GroupView,
    "compare": CompareView,
    "help": HelpView,
}


class Views(dict[str, View | BenchPage]):
    """Page -> the object that shows it, made when the page is first asked for."""

    def __missing__(self, page: str) -> View | BenchPage:
        self[page] = VIEWS[page]()
        return self[page]


def open_window(squad_folder: Path | None, place: str = "") -> int:
    """Open the window on a squad, or where it was left; return the exit code when it closes.

    place: code, date, run, page, key frame and point with a "/" between, where to go in it.

    Raises NoScreen where there is no display or no tkinter.
    """
    root = _root()
    context = assemble(root, dict(os.environ), sys.platform, datetime.now)
    root.report_callback_exception = partial(tell_own_mistake, context)
    begin(context, squad_folder, place)
    close_when_told(root, context)
    root.mainloop()
    return 0


LISTEN_MS = 200  # so often it is looked whether the system has told the program to end


def close_when_told(root: tk.Tk, context: Context) -> None:
    """Save and close, as by its own button, when the system tells the program to end.

    Within Tk a signal may raise nothing, so it only leaves a note. Where marks cannot be saved the
    window stays and says so; told once more, the program ends as it is.
    """
    told: list[int] = []

    def note(number: int, frame: object) -> None:
        told.append(number)
        signal.signal(number, signal.SIG_DFL)

    def listen() -> None:
        if told:
            told.clear()
            context.perform("close")
        if context.places and root.children:
            root.after(LISTEN_MS, listen)

    with contextlib.suppress(ValueError):  # not the first thread: nobody tells us anything
        for name in ("SIGTERM", "SIGHUP", "SIGINT"):
            if number := getattr(signal, name, None):
                signal.signal(number, note)
        listen()


def tell_own_mistake(
    context: Context,
    kind: type[BaseException],
    mistake: BaseException,
    trace: TracebackType | None,
) -> None:
    """Say that Tapmark itself went wrong, keep what can be kept, and go on."""
    traceback.print_exception(kind, mistake, trace)
    is_kept = False
    with contextlib.suppress(Exception):  # another mistake of ours, or this one again
        is_kept = context.saver.flush()
    marks = "Your marks are saved." if is_kept else "Your last marks are NOT saved."
    context.state.error = (
        f"Tapmark itself made a mistake ({kind.__name__}: {mistake}). {marks} "
        "Go on; if it comes again, close the window and open it anew."
    )
    context.state.notify()


def _root() -> tk.Tk:
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


M_MMAP_THRESHOLD, LARGE_BYTES = -3, 500_000  # of malloc.h; a frame takes 2 MB or more


def give_memory_back() -> None:
    """Let glibc give a frame that is let go back to the system; by itself it keeps most of them.

    Its own threshold grows with the first frames that are freed, and frames then lie in a heap that
    cannot shrink. Other systems give such large pieces back.
    """
    if sys.platform == "linux":
        import ctypes

        with contextlib.suppress(OSError, AttributeError):  # another C library
            ctypes.CDLL(None).mallopt(M_MMAP_THRESHOLD, LARGE_BYTES)


SWITCH_S = 0.001  # a worker gives the window its turn within a millisecond
SMALLEST = (960, 540)  # px at 96 dots an inch, below the menu bar
USUAL = (1366, 768)  # of the first window, with its menu bar
PANEL = 40  # px of the screen that the desktop keeps for itself


def assemble(
    root: tk.Tk,
    environment: Mapping[str, str],
    platform: str,
    now: Callable[[], datetime],
    ask: Dialogs | None = None,
) -> Context:
    """Build the window on a root and return its context.

    environment, platform: os.environ and sys.platform; now: the clock.
    """
    sys.setswitchinterval(SWITCH_S)
    give_memory_back()
    path = settings_path(environment, platform)
    settings, notes = load_settings(path)
    look, actions = Look(root, settings.text_size), by_name()
    state = AppState()
    context = Context(
        state=state,
        jobs=Jobs(root.after, root.after_cancel, _crash),
        painter=Jobs(root.after, root.after_cancel, _crash),
        ask=ask or Dialogs(root),
        now=now,
        actions=actions,
        cache_folder=user_cache_folder(environment, Path.home(), platform),
        later=root.after,
        open_file=hand_over.open_file,
        print_file=hand_over.print_file,
        when_unsaved=ask_about_unsaved,
        saver=Saver(state, root.after, now),
        settings=KeptSettings(path, root.after, settings),
    )
    state.error = " ".join(notes)
    _place_window(root, look, settings.window, settings.is_maximised)
    window = Window(root, context, look, Views())
    window.bind_keys(tuple(actions.values()))
    return context


def fits(geometry: str, width: int, height: int) -> bool:
    """Say whether a remembered window can be reached on a screen of that size, px."""
    found = re.fullmatch(r"(\d+)x(\d+)([+-]-?\d+)([+-]-?\d+)", geometry)
    if not found:
        return False
    wide, tall = int(found[1]), int(found[2])
    left, top = (int(found[i].replace("+-", "-").replace("--", "-")) for i in (3, 4))
    return wide <= width and tall <= height and -wide / 2 < left < width - 100 and top < height - 60


def _crash(mistake: BaseException) -> None:
    """Raise an error of our own in a job again, so that report_callback_exception gets it."""
    raise mistake


def first_size(screen: tuple[int, int], unit: float, bar: int) -> tuple[int, int]:
    """Return width and height of the first window in px, as large on every kind of screen.

    unit: px a px of a screen with 96 dots an inch. bar: height of the menu bar, which comes on top.
    """
    width, height = (round(unit * px) for px in USUAL)
    return min(width, screen[0]), min(height, screen[1] - round(unit * PANEL)) - bar


def _place_window(root: tk.Tk, look: Look, geometry: str, is_maximised: bool) -> None:
    screen = root.winfo_screenwidth(), root.winfo_screenheight()
    bar = 0 if look.system == "aqua" else look.units(2) + BAR_PX
    width, height = first_size(screen, look.unit, bar)
    root.minsize(
        *(min(round(look.unit * a), b) for a, b in zip(SMALLEST, (width, height), strict=True))
    )
    root.geometry(geometry if fits(geometry, *screen) else f"{width}x{height}+0+0")
    if is_maximised and sys.platform != "linux":
        root.state("zoomed")


BAR_PX = 10  # that Tk keeps around the words of a menu bar


PARTS = 6  # code, date, run, page, key frame, point


def begin(context: Context, folder: Path | None, at: str = "") -> None:
    """Open the squad in the folder, or the last one used, and go on where the coach left off.

    at: a place to go to instead, see open_window.
    """
    remove_temporary()
    place = at or context.settings.value.place
    last = Path(context.settings.value.recent[0]) if context.settings.value.recent else None
    if folder is None and (last is None or not is_there(last)):
        return
    wanted = folder or last
    if wanted is None or not context.attempt(lambda: use_squad(context, wanted)):
        return
    is_same = last is not None and (wanted == last or disk.resolved(wanted) == disk.resolved(last))
    if place and (at or is_same):
        context.attempt(lambda: _go_on(context, place))


def is_there(folder: Path) -> bool:
    """Say whether the folder used last can be read; a USB stick may be unplugged."""
    try:
        return disk.is_folder(folder)
    except StoreError:
        return False


def _go_on(context: Context, place: str) -> None:
    """Open the run that was open last; nothing is said where it is gone."""
    parts = place.split("/")
    squad = context.state.squad
    if len(parts) != PARTS or not squad:
        return
    code, dated, name, *where = parts
    if code in squad.codes() and name in squad.run_names(code, dated):
        open_run(context, code, dated, name, tuple(where))
