"""Typed text counts: every field commits before any action acts, whatever starts it."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.widgets.form_panel import HALF_TYPED
from tapmark.store.squad import open_squad
from tests.app.driving import Driver, OpenWindow

DAY = "2026-05-14"


@pytest.fixture
def app(open_app: OpenWindow, marked_squad: Callable[[], Path]) -> Driver:
    """The window on Review of a marked run."""
    driver = open_app(marked_squad())
    driver.open_last_run()
    driver.pump(lambda: driver.state.review.reading, "the reading")
    return driver


def film(app: Driver) -> dict[str, Any]:
    app.context.go("film")
    app.pump()
    return app.ask_more().entries


def on_disk(app: Driver) -> Any:
    app.context.saver.flush()
    return open_squad(app.state.folder).load_run("P02", DAY, "run-1")


def typed(app: Driver, field: Any, text: str) -> None:
    """Type over what stands in a field; the keyboard stays in it."""
    app.keyboard_on(field)
    field.delete(0, "end")
    app.write(field, text)


def test_a_cue_that_is_being_typed_stands_on_the_sheet(app: Driver) -> None:
    typed(app, app.view.slots.cue, "push tall")
    app.press("Control-Key-s")
    app.pump(lambda: app.state.sheet.written, "the sheet")
    visit = open_squad(app.state.folder).visit("P02", DAY)
    assert visit.slots[0].cue == "push tall"
    html = app.state.sheet.written.with_suffix(".html").read_text("utf-8")
    assert "push tall" in html.lower()


ACTS = {
    "a key": lambda app: app.press("F6"),
    "a button": lambda app: app.click(app.bench.column.onward),
    "the step line": lambda app: app.go("taps"),
    "a menu": lambda app: app.context.perform("page review"),
    "back to the five": lambda app: app.click(app.view.back),
    "larger text": lambda app: app.press("Control-Key-plus"),
    "another box": lambda app: app.choose(app.view.more.view, "side"),
}


def test_text_in_a_film_field_counts_whatever_is_done_next(app: Driver) -> None:
    for i, (how, act) in enumerate(ACTS.items()):
        zone = film(app)["zone"]
        typed(app, zone, f"lane {i}")
        act(app)
        assert on_disk(app).set_up.zone == f"lane {i}", how


def test_text_left_while_another_field_is_to_be_mended_is_kept_after_that(app: Driver) -> None:
    """It was taken for kept although nothing acts while a field holds what cannot be used."""
    entries = film(app)
    typed(app, entries["camera_distance_m"], "far")
    typed(app, entries["wind"], "calm")
    app.keyboard_on(app.bench.pane.canvas)
    assert entries["wind"].get() == "calm" and not on_disk(app).set_up.wind
    assert "no number" in app.view.more.trouble.cget("text")
    typed(app, entries["camera_distance_m"], "15")
    app.keyboard_on(app.bench.pane.canvas)
    assert (on_disk(app).set_up.wind, on_disk(app).set_up.camera_distance_m) == ("calm", 15.0)


def test_text_in_a_film_field_survives_closing(app: Driver, open_app: OpenWindow) -> None:
    entries = film(app)
    typed(app, entries["camera_distance_m"], "12.5")
    folder = app.state.folder
    app.root.tk.call(*app.root.tk.splitlist(app.root.protocol("WM_DELETE_WINDOW")))
    assert open_squad(folder).load_run("P02", DAY, "run-1").set_up.camera_distance_m == 12.5


def test_what_cannot_be_used_is_told_and_nothing_is_done(app: Driver) -> None:
    distance = film(app)["camera_distance_m"]
    before = app.state.run
    typed(app, distance, "far")
    for name in ("make sheet", "page review", "close", "larger text"):
        app.context.perform(name)
        app.pump()
        assert "“far” is no number" in app.state.error, name
        assert app.state.page == "film"
    assert (distance.get(), app.state.run) == ("far", before)
    typed(app, distance, "9")
    app.press("F6")
    assert (app.state.page, app.state.run.set_up.camera_distance_m) == ("review", 9.0)


def test_what_is_being_typed_is_not_overwritten_by_what_comes_meanwhile(app: Driver) -> None:
    from dataclasses import replace

    zone = film(app)["zone"]
    typed(app, zone, "lane 7")
    run = app.state.run
    app.state.amend(replace(run, set_up=replace(run.set_up, wind="none")))
    app.state.notify()
    app.pump()
    assert zone.get() == "lane 7"
    assert app.state.run.set_up.zone == "", "and it is not kept before somebody acts"
    app.press("F5")
    assert app.state.run.set_up.zone == "lane 7"


def test_undo_twice_takes_two_steps_back_with_the_keyboard_in_a_field(app: Driver) -> None:
    entries = film(app)
    before = app.state.run.set_up
    typed(app, entries["zone"], "lane 1")
    typed(app, entries["wind"], "some")
    app.context.perform("undo")
    app.context.perform("undo")
    assert app.state.run.set_up == before
    app.pump()
    assert (entries["zone"].get(), entries["wind"].get()) == ("", "")


def test_typed_text_is_never_kept_with_another_athlete(app: Driver) -> None:
    from dataclasses import replace

    from tapmark.app.shell.runs import open_run

    squad = app.state.squad
    squad.add_athlete(replace(squad.athlete("P02"), code="P03"))
    squad.new_run("P03", DAY, squad.load_run("P02", DAY, "run-1"))
    typed(app, film(app)["zone"], "of P02")
    open_run(app.context, "P03", DAY, "run-1")
    app.context.go("film")
    app.pump()
    assert app.ask_more().entries["zone"].get() == ""
    app.press("F5")
    assert app.state.run.set_up.zone == ""
    assert open_squad(app.state.folder).load_run("P03", DAY, "run-1").set_up.zone == ""


def test_a_form_that_is_half_typed_is_saved_or_left_before_anything_else(app: Driver) -> None:
    app.context.go("squad")
    app.pump()
    app.context.perform("edit athlete")
    app.pump()
    field = app.view.form.fields["birth_year"]
    typed(app, field, "1999")
    for name in ("page film", "close", "open last", "archive"):
        app.context.perform(name)
        app.pump()
        assert (app.state.page, app.state.around.squad.form) == ("squad", "athlete"), name
        assert app.state.error == HALF_TYPED
    app.press("Return")
    assert open_squad(app.state.folder).athlete("P02").birth_year == 1999
    app.context.perform("page film")
    assert app.state.page == "film"


def test_boxes_typed_on_the_season_page_count_before_it_is_left(app: Driver) -> None:
    app.context.go("squad")
    app.context.perform("season")
    app.pump(lambda: app.state.around.season.shown, "the season")
    panel = app.view.ticks
    said = str(panel.saw.cget("values")[0])
    app.choose(panel.saw, said)
    app.context.perform("page squad")
    assert open_squad(app.state.folder).visit("P02", DAY).coach_saw == said
