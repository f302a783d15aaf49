"""What the window promises on every page: the keyboard is seen, targets can be hit, and so on."""

import re
import tkinter as tk
from collections.abc import Callable, Iterator
from pathlib import Path
from tkinter import ttk
from typing import Any

import pytest
from PIL import Image, ImageChops

from tapmark.app.actions import TABLE
from tapmark.app.state.pages import PAGES
from tapmark.app.widgets.painting import em_px
from tests.app.clipping import mapped
from tests.app.driving import Driver, OpenWindow
from tests.app.looks import on_screen, texts

TARGET_PX, RIM = 24, 3
PRESSED = (ttk.Button, ttk.Combobox, ttk.Checkbutton, ttk.Menubutton, ttk.Entry)


@pytest.fixture
def app(open_app: OpenWindow, marked_squad: Callable[[], Path]) -> Driver:
    """The window on a marked run."""
    driver = open_app(marked_squad())
    driver.open_last_run()
    return driver


def visit(app: Driver) -> Iterator[str]:
    """Bring every page to the front, and two forms."""
    for page in PAGES:
        app.go(page)
        for button, _ in app.window.top._steps.values():  # noqa: SLF001 - the pointer leaves
            button.event_generate("<Leave>")
        if page == "review":
            app.pump(lambda: app.state.review.reading, "the reading")
        yield page
    app.go("squad")
    app.keyboard_on(app.view.list)
    for key in ("Control-Key-e", "Control-Shift-Key-C"):
        app.press(key)
        yield f"form {app.state.around.squad.form}"
        app.press("Escape")


def picture_of(widget: tk.Misc) -> Image.Image:
    """Return what the screen shows where a widget is."""
    x, y = widget.winfo_rootx() - RIM, widget.winfo_rooty() - RIM
    box = (
        max(0, x),
        max(0, y),
        x + widget.winfo_width() + 2 * RIM,
        y + widget.winfo_height() + RIM,
    )
    return on_screen(box)


def reached_by_tab(app: Driver) -> Iterator[tk.Misc]:
    """Yield every widget that Tab or F9 would reach, once."""
    first = now = app.root.tk_focusNext()
    while now is not None:
        yield now
        now = now.tk_focusNext()
        if now is first:
            return


def test_the_keyboard_is_seen_wherever_it_is(app: Driver) -> None:
    unseen, tried = [], set()
    for page in visit(app):
        for widget in list(reached_by_tab(app)):
            kind = widget.winfo_class(), str(widget.cget("style") if _is_ttk(widget) else page)
            if not widget.winfo_viewable() or isinstance(widget, tk.Menu) or kind in tried:
                continue
            tried.add(kind)
            app.root.focus_force()
            app.pump(lambda: app.root.focus_get() is app.root, "no widget")
            without = picture_of(widget)
            app.keyboard_on(widget)
            if ImageChops.difference(without, picture_of(widget)).getbbox() is None:
                unseen.append(f"{page}: {widget.winfo_class()} {widget}")
    assert unseen == []
    assert len(tried) > 14, "every kind of button, field, list and canvas"


def _is_ttk(widget: tk.Misc) -> bool:
    return isinstance(widget, ttk.Widget)


def test_whatever_is_pressed_is_large_enough_and_the_step_line_is_there(app: Driver) -> None:
    small = [
        f"{page}: {widget.winfo_class()} {widget.winfo_width()} × {widget.winfo_height()}"
        for page in visit(app)
        for widget in mapped(app.root)
        if isinstance(widget, PRESSED)
        and min(widget.winfo_width(), widget.winfo_height()) < TARGET_PX
    ]
    assert small == []
    em = em_px(app.root)  # Windows' letters are smaller: 90 px on Linux
    for page in ("film", "frames", "taps", "review"):
        app.go(page)
        strip = app.bench.strip.canvas
        assert strip.winfo_viewable(), f"the step line on {page}"
        assert strip.winfo_height() > 6.75 * em, f"the step line on {page}"
        assert (
            strip.winfo_rooty() + strip.winfo_height()
            <= app.root.winfo_rooty() + app.root.winfo_height()
        )
    points: Any = app.window.views["taps"].points
    assert points.look.units(3.05) >= TARGET_PX, "a row of the list of points"


OLD = re.compile(r"\d\s*(°|% leg|ms\b)|±|\bseen\b|near the line|can't tell|\bfine\b")


def test_while_tapping_nothing_is_told_or_covered_and_undo_says_what_it_takes_back(
    app: Driver,
) -> None:
    app.go("review")
    app.pump(lambda: app.state.review.reading, "the reading")
    assert [text for text in texts(app.root) if OLD.search(text)], "there is something to tell"
    app.go("taps")
    for key in range(1, 6):
        app.press(f"Key-{key}", "Tab")
        when = app.bench.transport.number.cget("text")  # of the frame itself, as in the film
        assert [text for text in texts(app.root) if OLD.search(text) and text != when] == []

    glass, pane = app.view.magnifier.canvas, app.bench.pane.canvas
    assert glass.winfo_viewable()
    assert glass.winfo_rootx() >= pane.winfo_rootx() + pane.winfo_width()

    app.press("Key-1", "Tab", "Delete")
    assert app.button("undo").cget("text").startswith("Undo remove")
    assert app.view.count.cget("text") == "32 of 32"
    app.window.menus.fill("Edit")
    assert app.window.menus.menus["Edit"].entrycget(0, "label").startswith("Undo remove")
    app.go("frames")
    assert app.button("undo").cget("text").startswith("Undo remove")
    app.go("taps")
    app.press("Control-Key-z")
    assert app.button("redo").cget("text").startswith("Redo remove")


def test_the_help_page_tells_every_action_and_its_key(open_app: OpenWindow) -> None:
    app = open_app()
    app.keyboard_on(app.root)
    app.press("F1")
    told = set(texts(app.root))
    assert {action.label for action in TABLE} <= told
