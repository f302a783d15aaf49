"""What was put off is done, unless the widget it was for has gone."""

import tkinter as tk
from pathlib import Path

from tapmark.app.widgets.pieces import soon
from tests.app.driving import OpenWindow


def test_a_deed_put_off_is_done_while_its_widget_stands(open_app: OpenWindow) -> None:
    app, done = open_app(), []
    frame = tk.Frame(app.root)

    soon(frame, 1, lambda: done.append("standing"))
    app.pump(lambda: done, "the action")


def test_a_deed_put_off_for_a_widget_that_went_is_not_done_and_calls_nothing_else(
    open_app: OpenWindow,
) -> None:
    app, done = open_app(), []
    frame = tk.Frame(app.root)

    soon(frame, 1, lambda: done.append("gone"))
    frame.destroy()
    app.root.after(30, lambda: done.append("later"))
    app.pump(lambda: done, "what was put off for longer")
    assert done == ["later"]


def test_a_deed_put_off_can_be_taken_back(open_app: OpenWindow) -> None:
    app, done = open_app(), []

    app.root.after_cancel(soon(app.root, 1, lambda: done.append("taken back")))
    app.root.after(30, lambda: done.append("later"))
    app.pump(lambda: done, "what was put off for longer")
    assert done == ["later"]


def test_no_page_puts_a_timer_on_a_widget_of_its_own() -> None:
    pages = (Path(__file__).parents[2] / "tapmark" / "app").rglob("*.py")

    found = {path.name for path in pages if ".after(" in path.read_text("utf-8")}
    # main.py listens for the system's signals, on the root that outlives every page
    assert found == {"pieces.py", "window.py", "main.py"}
