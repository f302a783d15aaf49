"""Nothing changes by itself: no wheel answers, no click misses, nothing is carried to the next."""

import sys
import tkinter as tk
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.review.page_actions import choose_copy
from tapmark.app.shell.runs import open_run
from tapmark.app.shell.squads import choose_athlete
from tapmark.app.state.viewport import Viewport
from tests.app.driving import Driver, OpenWindow

DAY = "2026-05-14"
ANSWERING = ("TCombobox", "TSpinbox", "Spinbox", "TScale", "Scale", "TCheckbutton")
WHEEL = ("<Button-4>", "<Button-5>", "<MouseWheel>")


@pytest.fixture
def app(
    open_app: OpenWindow, marked_squad: Callable[[], Path], monkeypatch: pytest.MonkeyPatch
) -> Driver:
    """A small window with large text, two athletes with a marked run each, P02's open."""
    monkeypatch.setattr("tapmark.app.review.view.keep", lambda context: None)
    driver = open_app(marked_squad(), size="960x600+0+0")
    squad = driver.state.squad
    squad.add_athlete(replace(squad.athlete("P02"), code="P03"))
    squad.new_run("P03", DAY, squad.load_run("P02", DAY, "run-1"))
    open_run(driver.context, "P02", DAY, "run-1")
    driver.wait_for_clip()
    driver.pump(lambda: driver.state.review.reading, "the reading")
    return driver


def below(widget: tk.Misc) -> Iterator[tk.Misc]:
    for child in widget.winfo_children():
        yield child
        yield from below(child)


def pages(app: Driver) -> Iterator[str]:
    """Bring every page to the front on which something can be answered."""
    for page in ("film", "frames", "taps", "review", "sheet"):
        app.context.go(page)
        app.pump()
        yield page
        if page == "film":
            app.ask_more()
            yield "more about the film"
    app.context.perform("compare")
    app.pump()
    yield "compare"
    app.context.go("squad")
    for form in ("edit athlete", "consent", "change squad"):
        app.context.perform(form)
        app.pump()
        yield form
        app.context.perform("leave")
    app.context.perform("season")
    app.pump(lambda: app.state.around.season.shown, "the season")
    yield "season"


def column_of(app: Driver) -> tk.Canvas:
    """Return what scrolls the questions about filming."""
    return next(
        w
        for w in below(app.root)
        if isinstance(w, tk.Canvas) and str(app.view.more.frame).startswith(f"{w}.")
    )


def answer(field: Any) -> Any:
    """Return what stands in a field; of a box to tick, whether it is ticked."""
    return field.instate(["selected"]) if field.winfo_class() == "TCheckbutton" else field.get()


def show_other_questions(app: Driver) -> None:
    """Show more fields on Film than the column has room for."""
    app.root.geometry("1366x560")
    app.context.go("film")
    app.pump()
    app.ask_more()


def test_the_wheel_over_a_field_never_changes_an_answer(app: Driver) -> None:
    work, copy, n = app.state.work, app.state.sheet.copy, 0
    for page in pages(app):
        fields = [w for w in below(app.root) if w.winfo_class() in ANSWERING and w.winfo_viewable()]
        n += len(fields)
        for field in fields:
            before = answer(field)
            for wheel in WHEEL:
                delta = {"delta": -120} if wheel == "<MouseWheel>" else {}
                for _ in range(3):
                    field.event_generate(wheel, x=5, y=5, **delta)
            app.pump()
            assert answer(field) == before, f"{page}: {field}"
    assert n > 20
    assert (app.state.work, app.state.sheet.copy) == (work, copy)


def test_the_wheel_over_a_field_scrolls_its_column(app: Driver) -> None:
    show_other_questions(app)
    column = column_of(app)
    assert column.yview()[1] < 1, "the questions do not fit here"
    app.view.more.top.event_generate("<Button-5>", x=5, y=5)
    app.pump()
    assert column.yview()[0] > 0


def test_a_press_in_a_scrolled_column_moves_nothing_below_the_pointer(
    app: Driver, monkeypatch: pytest.MonkeyPatch
) -> None:
    if sys.platform != "linux":  # there the list of a field comes back only after an answer
        monkeypatch.setattr(app.window.look.choices.menu, "tk_popup", lambda x, y: None)
    show_other_questions(app)
    column = column_of(app)
    app.keyboard_on(app.bench.pane.canvas)
    more = app.view.more
    fields = [*more.entries.values(), more.view, more.top, more.rate]
    low = column.winfo_rooty() + column.winfo_height()
    for at in (0.0, 0.13, 0.31, 1.0):
        column.yview_moveto(at)
        app.pump()
        for field in fields:
            top = field.winfo_rooty()
            half_seen = top < low < top + field.winfo_height() or (
                top < column.winfo_rooty() < top + field.winfo_height()
            )
            if not half_seen and field is not fields[0]:
                continue
            seen, where = column.yview(), field.winfo_rooty()
            field.event_generate("<ButtonPress-1>", x=3, y=3)
            app.pump()
            assert (column.yview(), field.winfo_rooty()) == (seen, where)
            field.event_generate("<ButtonRelease-1>", x=3, y=3)
            if field.winfo_class() == "TCombobox":
                app.root.tk.call("ttk::combobox::Unpost", field)
                app.pump()
            assert column.yview() == seen
            app.keyboard_on(app.bench.pane.canvas)


def test_the_keyboard_still_scrolls_to_where_it_goes(app: Driver) -> None:
    show_other_questions(app)
    column = column_of(app)
    wind = app.view.more.entries["wind"]
    app.keyboard_on(wind)
    app.pump()
    assert wind.winfo_rooty() + wind.winfo_height() <= column.winfo_rooty() + column.winfo_height()
    assert column.yview()[0] > 0


@pytest.mark.parametrize("how", ["opened", "chosen"])
def test_copy_page_zoom_and_places_are_not_carried_to_the_next_athlete(
    app: Driver, how: str
) -> None:
    show_other_questions(app)
    columns = [column_of(app)]
    columns[0].yview_moveto(1.0)
    app.context.go("sheet")
    app.context.attempt(lambda: choose_copy(app.state, "coach"))
    app.pump(lambda: len(app.state.sheet.pages) > 1, "the coach's pages")
    app.context.perform("page on")
    app.context.go("taps")
    view: Viewport = app.state.viewport()
    app.state.look_through(view.zoomed(4.0, None))
    app.state.review.row = 7
    assert (app.state.sheet.copy, app.state.sheet.i_page) == ("coach", 1)
    choose_athlete(app.context, "P03")
    if how == "opened":
        open_run(app.context, "P03", DAY, "run-1")
        app.wait_for_clip()
    app.pump()
    assert (app.state.sheet.copy, app.state.sheet.i_page, app.state.sheet.pages) == (
        "athlete",
        0,
        (),
    )
    following = app.state.marking.following
    assert (following.factor, following.shift, following.zoom) == (1.0, (0.0, 0.0), 1.0)
    assert (app.state.marking.spots, app.state.review.row) == ({}, 0)
    assert [canvas.yview()[0] for canvas in columns] == [0.0]
