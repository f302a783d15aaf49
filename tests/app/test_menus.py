"""The menu bar with real keys: every action where it applies, with its key; macOS and Windows."""

import tkinter as tk
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.actions import TABLE, by_name
from tapmark.app.menus import BELOW, MENU_ABOVE, MENUS, menu_entries, menu_of
from tapmark.app.shell.keys import spoken
from tapmark.app.state.pages import ASIDE, PAGES
from tests.app.driving import Driver, OpenWindow, drawn_by_tk

ALL_PAGES = (*PAGES, *ASIDE, "help")
MOST = 26  # entries of one menu: 600 px are not more


def entries(menu: tk.Menu) -> Iterator[tuple[str, str, str]]:
    """Yield (label, key, state) of a menu and of those below it."""
    last = menu.index("end")
    for i in range(0 if last is None else last + 1):
        kind = menu.type(i)
        if kind == "cascade" and menu.entrycget(i, "menu"):
            yield from entries(menu.nametowidget(menu.entrycget(i, "menu")))
        elif kind == "command":
            yield (
                str(menu.entrycget(i, "label")),
                str(menu.entrycget(i, "accelerator")),
                str(menu.entrycget(i, "state")),
            )


def filled(app: Driver) -> dict[str, list[tuple[str, str, str]]]:
    menus = app.window.menus
    for name in MENUS:
        menus.fill(name)
    return {name: list(entries(menus.menus[name])) for name in MENUS}


def test_every_action_of_a_page_stands_in_one_menu_with_its_key_and_no_other_does(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad())
    app.open_last_run()
    own = {"close": "Alt+F4"} if app.window.look.system == "win32" else {}
    for page in ALL_PAGES:
        app.state.page = page
        found = [(label, key) for menu in filled(app).values() for label, key, _ in menu]
        wanted = [
            (a.label, spoken(own.get(a.name, a.keys[0])) if a.keys else "")
            for a in TABLE
            if a.is_on(page) and a.name not in ("undo", "redo")
        ]
        shown = [each for each in found if not each[0].startswith(("Undo", "Redo"))]
        shown = [each for each in shown if not each[0].startswith("Nothing")]
        shown = [each for each in shown if not Path(each[0]).is_absolute()]  # a squad's folder
        assert sorted(shown) == sorted(wanted), page
    app.state.page = "squad"


def test_no_menu_is_too_long_for_a_small_screen_and_each_has_its_place() -> None:
    for page in ALL_PAGES:
        for name in MENUS:
            groups = menu_entries(name, page).get("", {})
            count = sum(map(len, groups.values())) + len(groups)
            assert count <= MOST, (page, name, count)
    assert {menu_of(action) for action in TABLE} == set(MENUS)
    assert set(BELOW.values()) == set(MENU_ABOVE)
    for action in TABLE:
        for page in ALL_PAGES:
            for below, groups in menu_entries(menu_of(action), page).items():
                if below and action in groups.get(action.group, ()):
                    assert MENU_ABOVE[below] == menu_of(action), action.name


def keys_in_menu(app: Driver, *keys: str) -> None:
    """Press keys where the keyboard is: Tk gives it to a menu by itself."""
    for key in keys:
        at = str(app.root.tk.call("focus")) or "."
        app.root.tk.call("event", "generate", at, f"<{key}>")
        app.pump()


@drawn_by_tk
def test_keys_alone_open_a_menu_and_do_what_it_says(
    open_app: OpenWindow, squad_folder: Path
) -> None:
    app = open_app(squad_folder)
    app.keyboard_on(app.root)
    keys_in_menu(app, "Alt-Key-h", "Return")
    assert app.state.page == "help"
    keys_in_menu(app, "Escape")
    assert app.state.page == "squad"
    keys_in_menu(app, "F10", "Right", "Right", "Right", "Return")
    assert app.state.page == "film" and not app.state.error


def test_what_cannot_be_done_now_is_grey(open_app: OpenWindow) -> None:
    app = open_app()
    states = {label: state for label, _, state in filled(app)["File"]}
    assert states["Open a squad…"] == "normal"
    assert states["Back up the squad…"] == "disabled"


def test_squads_opened_before_are_one_key_away(
    open_app: OpenWindow, squad_folder: Path, tmp_path: Path
) -> None:
    open_app(squad_folder).close()
    app = open_app()
    other = tmp_path / "Other"
    from tapmark.store.squad import make_squad

    make_squad(other, "Other")
    app.asked.ready.append(other)
    app.context.perform("open squad")
    app.pump(lambda: app.state.folder == other, "the other squad")
    filled(app)
    below = app.window.menus._below["Opened before"]  # noqa: SLF001
    labels = [below.entrycget(i, "label") for i in range(below.index("end") + 1)]
    assert labels == [str(other), str(squad_folder)]
    below.invoke(1)
    app.pump(lambda: app.state.folder == squad_folder, "the first squad again")


def test_menus_opened_many_times_leave_nothing_behind(
    open_app: OpenWindow, squad_folder: Path
) -> None:
    app = open_app(squad_folder)
    filled(app)

    def count() -> tuple[int, int]:
        commands = app.root.tk.splitlist(app.root.tk.call("info", "commands"))
        return len(commands), len(_all(app.root))

    before = count()
    for _ in range(20):
        filled(app)
    assert count() == before


def _all(widget: Any) -> list[Any]:
    below = widget.winfo_children()
    return [*below, *(each for child in below for each in _all(child))]


@pytest.mark.parametrize("system", ["aqua", "win32"])
def test_macos_and_windows_have_their_own_ways(
    open_app: OpenWindow, squad_folder: Path, system: str
) -> None:
    """Quit, About, the choices and opened documents of macOS; Alt+F4 and Ctrl+Y of Windows.

    Tried here with Tk's commands by name; on a Mac it was not.
    """
    from tapmark.app.menus import MenuBar

    app = open_app()
    app.window.look.system = system
    menus = MenuBar(app.root, app.context, app.window.look)
    found: dict[str, dict[str, str]] = {}
    for name in MENUS:
        menus.fill(name)
        found[name] = {label: key for label, key, _ in entries(menus.menus[name])}
    if system == "win32":
        assert found["File"]["Close the window"] == "Alt+F4"
        return
    assert "Close the window" not in found["File"] and "About Tapmark" not in found["Help"]
    assert found["File"]["Open a squad…"] == "Command+O"
    call = app.root.tk.call
    call("tk::mac::OpenDocument", str(squad_folder / "squad.json"))
    app.pump(lambda: app.state.folder == squad_folder, "the squad")
    call("tk::mac::ShowPreferences")
    app.pump(lambda: app.state.around.squad.form == "squad", "its choices")
    call("tk::mac::Quit")
    assert not app.root.children
    app.context.places = None


def test_the_version_is_told(open_app: OpenWindow) -> None:
    from tapmark import __version__

    app = open_app()
    app.context.perform("about")
    app.pump()
    assert __version__ in app.window.status.line.cget("text") and app.state.page == "help"
    assert by_name()["about"].label == "About Tapmark"


class Mouse:
    """Presses menus as the system shows them: Tk draws the bar and each open menu as a copy."""

    def __init__(self, app: Driver) -> None:
        self.app, self.call = app, app.root.tk.call
        self.bar = next(
            path
            for path in map(str, app.root.tk.splitlist(self.call("winfo", "children", ".")))
            if path.startswith(".#") and int(self.call("winfo", "viewable", path))
        )

    def _index(self, menu: str, label: str) -> int:
        for i in range(int(self.call(menu, "index", "end")) + 1):
            is_named = self.call(menu, "type", i) in ("command", "cascade")
            if is_named and str(self.call(menu, "entrycget", i, "-label")) == label:
                return i
        raise AssertionError(f"{label} is not in the menu")

    def send(self, widget: str, event: str, x: int, y: int) -> None:
        left, top = (int(self.call("winfo", side, widget)) for side in ("rootx", "rooty"))
        at = ("-x", x, "-y", y, "-rootx", left + x, "-rooty", top + y)
        self.call("event", "generate", widget, event, *at)
        self.app.pump()

    def click(self, menu: str, label: str) -> None:
        """Move to an entry of the bar or of an open menu, press and let go."""
        i = self._index(menu, label)
        x, y = (int(self.call(menu, f"{side}position", i)) + 8 for side in ("x", "y"))
        for event in ("<Enter>", "<Motion>", "<ButtonPress-1>", "<ButtonRelease-1>"):
            if int(self.call("winfo", "viewable", menu)):
                self.send(menu, event, x, y)

    def open(self) -> list[str]:
        """Return the menus that are open now, from the bar down."""
        found, todo = [], [self.bar]
        while todo:
            here = todo.pop()
            below = map(str, self.app.root.tk.splitlist(self.call("winfo", "children", here)))
            shown = [path for path in below if int(self.call("winfo", "viewable", path))]
            found += shown
            todo += shown
        return found


@drawn_by_tk
def test_the_mouse_alone_opens_a_menu_and_the_one_below_it_and_does_what_it_says(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad())
    app.open_last_run()
    app.go("taps")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Key-1", "Tab", "Delete")
    asked, before = app.state.marking.prompt, app.state.run
    mouse = Mouse(app)
    mouse.click(mouse.bar, "Run")
    assert len(mouse.open()) == 1
    mouse.click(mouse.open()[0], "Hidden")
    assert app.state.step.key_frame("touchdown").tap(asked.point).certainty == "hidden"
    assert mouse.open() == [], "done, and the menu is gone"

    mouse.click(mouse.bar, "Edit")
    mouse.click(mouse.open()[0], f"Undo {asked.point}, hidden")
    assert app.state.run == before

    mouse.click(mouse.bar, "View")
    mouse.click(mouse.open()[0], "Zoom and light")
    scale = app.state.viewport().scale
    mouse.click(mouse.open()[1], "Zoom in")
    assert app.state.viewport().scale > scale and mouse.open() == []


@drawn_by_tk
def test_a_press_beside_a_menu_or_on_a_grey_entry_does_nothing(open_app: OpenWindow) -> None:
    app = open_app()
    mouse, page = Mouse(app), app.state.page
    mouse.click(mouse.bar, "File")
    for event in ("<Motion>", "<Leave>", "<ButtonPress-1>", "<ButtonRelease-1>"):
        mouse.send(mouse.bar, event, 700, 400)
    assert mouse.open() == [] and app.state.page == page
    mouse.click(mouse.bar, "File")
    mouse.click(mouse.open()[0], "Back up the squad…")
    assert (app.state.page, app.state.error, app.asked.boxes) == (page, "", [])


@drawn_by_tk
def test_the_menu_of_a_mark_is_chosen_from_by_the_mouse(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad())
    app.open_last_run()
    app.go("taps")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Key-1")
    pane, hip = app.bench.pane, app.state.step.key_frame("touchdown").at("hip")
    x, y = (round(c) + 2 for c in pane.view.to_canvas(hip))
    mouse = Mouse(app)
    mouse.send(str(pane.canvas), "<ButtonPress-3>", x, y)
    mouse.send(str(pane.canvas), "<ButtonRelease-3>", x, y)
    mouse.bar = str(pane.canvas)
    mouse.click(mouse.open()[0], "Hip: Guess")
    assert app.state.step.key_frame("touchdown").tap("hip").certainty == "guess"
    assert mouse.open() == []
