"""Nothing is clipped: every page, at several sizes of screen and text, with awkward contents."""

import shutil
from collections.abc import Callable
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.state.titles import travel_words
from tapmark.checklist.next_tap import NextTap
from tapmark.marks.people import Athlete
from tapmark.store.consent import give
from tapmark.store.squad import Squad, make_squad, open_squad
from tests.app.awkward import FORMS
from tests.app.clipping import clipped
from tests.app.driving import Driver, OpenWindow, skip_if_smaller
from tests.app.seasons import with_season
from tests.store.made import consenting

SCREEN = 1366
SIZES = [
    ("1366x700", 1.3333),
    ("1366x700", 1.3887),
    ("1708x875", 1.6667),
    ("2049x1050", 2.0),
    ("2732x1400", 2.6667),
    ("1024x568", 1.3333),  # a screen of 1024 × 600 without its menu bar
    ("1536x852", 2.0),
    ("2048x1136", 2.6667),
]


@pytest.mark.parametrize(
    ("size", "scaling"),
    [
        pytest.param(*SIZES[0], id="100 %", marks=pytest.mark.long),
        pytest.param(*SIZES[1], id="100 dots an inch", marks=pytest.mark.long),
        pytest.param(*SIZES[2], id="125 %", marks=pytest.mark.long),
        pytest.param(*SIZES[3], id="150 %", marks=pytest.mark.long),
        pytest.param(*SIZES[4], id="200 %", marks=pytest.mark.long),
        pytest.param(*SIZES[5], id="small, 100 %"),
        pytest.param(*SIZES[6], id="small, 150 %", marks=pytest.mark.long),
        pytest.param(*SIZES[7], id="small, 200 %", marks=pytest.mark.long),
    ],
)
def test_no_page_clips_its_text(
    open_app: OpenWindow,
    marked_squad: Callable[[], Path],
    size: str,
    scaling: float,
) -> None:
    width = int(size.split("x")[0])
    left = min(0, SCREEN - width)  # the words stand right: a canvas lays out only what is seen
    app = open_app(marked_squad(), size=f"{size}+{left}+0", scaling=scaling)
    skip_if_smaller(app, size)
    found = {page: clipped(app.root) for page in every_page(app)}
    assert found == {page: [] for page in found}


@pytest.mark.parametrize(("size", "scaling"), (SIZES[0], SIZES[4]), ids=["100 %", "200 %"])
def test_no_page_aside_clips_its_text(
    open_app: OpenWindow, awkward_squad: Squad, tmp_path: Path, size: str, scaling: float
) -> None:
    width = int(size.split("x")[0])
    left = min(0, SCREEN - width)
    app = open_app(awkward_squad.folder, size=f"{size}+{left}+0", scaling=scaling)
    skip_if_smaller(app, size)

    found = {page: clipped(app.root) for page in every_page_aside(app, tmp_path)}
    assert found == {page: [] for page in found}
    assert len(found) == 14


def test_a_form_opens_with_the_heading_that_says_whose_it_is(
    open_app: OpenWindow, awkward_squad: Squad
) -> None:
    app = open_app(awkward_squad.folder, size="1366x600+0+0")
    app.pick("K07")
    forms = ((FORMS[0][0], "Change K07", 9), (FORMS[1][0], "Consent of K07", 7))
    for key, title, tabs_to_the_last_field in forms:
        app.keyboard_on(app.view.list)
        app.press(key)
        title_at = app.view.form.title.winfo_rooty()
        assert title_at >= app.view.column.canvas.winfo_rooty()
        assert app.view.form.title.cget("text") == title
        app.press(*["Tab"] * tabs_to_the_last_field)
        column = app.view.column
        is_taller = column.body.winfo_reqheight() > column.canvas.winfo_height()
        assert is_taller or key == FORMS[1][0]
        assert (column.canvas.canvasy(0) > 0) == is_taller
        at = app.root.focus_get()
        assert at.winfo_viewable() and at.winfo_rooty() < column.foot.winfo_rooty()
        app.press("Escape")


@pytest.fixture
def awkward_squad(tmp_path: Path) -> Squad:
    """A season with long names, somebody without consent, somebody never filmed."""
    squad = make_squad(tmp_path / "big", "A squad with a rather long name for its evening")
    with_season(squad, "K07")
    squad.save_athlete(replace(consenting("JM-02-SP-MID"), group="400 and 800 m hurdles"))
    squad.save_athlete(give(Athlete("T14"), "film", "K", "2025-01-01", "2025-12-31"))
    return squad


LIST = """code,born,event,leg,notes
Z1,2010,400 and 800 m hurdles,86,{note}
K07,2010,,,
Z2,19,,,
"""
NOTE = (
    "runs on the inside lane on Tuesdays and comes by bus and may be late and has two pairs of "
    "spikes and says that the left shoe of the older pair is the narrow one"
)


def every_page_aside(app: Driver, place: Path) -> Any:
    """Bring forms, lists and pages of the squad to the front, one after the other."""

    def back(page: str = "squad") -> None:
        app.press("Escape")
        app.pump(lambda: app.state.page == page and not app.state.around.squad.form, page)
        if page == "squad":
            app.keyboard_on(app.view.list)

    app.pick("K07")
    app.keyboard_on(app.view.list)
    yield "squad"
    for key in ("Control-Shift-Key-A", *(key for key, _ in FORMS)):
        app.press(key)
        assert app.state.around.squad.form
        yield f"form {app.state.around.squad.form}"
        back()
    app.press("Control-Key-t")
    app.pump(lambda: app.state.around.season.shown, "the season")
    yield "season"
    app.press("l")
    yield "left against right"
    app.press("b")
    app.pump(lambda: app.state.compare.content, "side by side")
    yield "compare"
    back("season")
    back()
    app.press("Control-Key-g")
    app.pump(lambda: app.state.around.group.content, "the group")
    yield "group"
    back()
    (place / "list.csv").write_text(LIST.format(note=NOTE), "utf-8")
    shutil.copytree(app.state.folder, place / "other")
    theirs = open_squad(place / "other")
    theirs.save_athlete(replace(theirs.athlete("K07"), notes="theirs"))
    app.asked.ready += [place / "list.csv", place / "other"]
    for name in ("import list", "merge", "delete athlete", "export"):
        app.context.perform(name)
        app.pump(lambda: app.state.page == "proposal", name)
        yield name
        if name == "import list":
            app.view.list.selection_set("line athlete 0")
            app.pump(lambda: "narrow one" in app.view.line_about.cget("text"), "the whole note")
        back()
    (clips := place / "phone").mkdir()
    (clips / "VID_20260514_184502_slow_motion_240.MOV").write_text("no clip", "utf-8")
    app.asked.ready.append(clips)
    app.press("Control-Key-k")
    app.pump(lambda: app.state.page == "naming" and app.state.around.naming.glances, "the naming")
    yield "naming"


def every_page(app: Driver) -> Any:
    """Open the marked run and yield each page when it stands."""
    yield from ("squad",)
    app.keyboard_on(app.view.list)
    app.press("Return")
    app.pump(lambda: app.state.marking.gallery, "the pictures")
    far = replace(app.state.run.set_up, zone="flying zone 40–60 m", shoes="spikes", wind="−0.4 m/s")
    app.state.record("zone", replace(app.state.run, set_up=far))
    for page in ("film", "frames", "taps", "review", "sheet"):
        app.go(page)
        if page == "review":
            app.pump(lambda: app.state.review.reading, "the reading")
        if page == "sheet":
            app.pump(lambda: app.state.sheet.pages, "the page")
        yield page
        if page == "review":
            tap = NextTap(
                0, "opposite touchdown", ("hip", "far knee", "far ankle"), True, 2.0, (1,)
            )

            def asks(tap: NextTap = tap) -> bool:
                found = app.state.review.reading  # a later reading may come in between
                if tap not in found.next_taps:
                    app.state.review.reading = replace(found, untold=9, next_taps=(tap,))
                    app.state.notify()
                app.state.review.line = "tap 0"
                return "tap 0" in app.view.list.tree.selection()

            app.pump(asks, "the tap that tells most")
            yield "review, with a tap to take once more"
    app.press("F1")
    yield "help"


def test_the_corner_says_the_frame_shown_where_the_bar_has_no_room_for_it(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad())
    app.open_last_run()
    app.context.settings.change(replace(app.context.settings.value, text_size=1.5))
    app.window.lay_out_again()
    app.go("frames")
    app.keyboard_on(app.bench.pane.canvas)
    for _ in range(2):
        app.press("Right")
        corner = app.window.status.corner.cget("text")
        assert corner.startswith(f"frame {app.state.marking.picture + 1} of")


def test_a_chosen_button_has_room_for_its_bold_letters(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad())
    app.open_last_run()
    app.go("frames")
    app.press("Key-u")
    app.pump(lambda: app.button("unsure").instate(["selected"]), "the chosen button")
    assert clipped(app.root) == []
    app.context.go("drawing")
    app.pump()
    for name, tool in app.view.tools.items():
        app.click(tool)
        app.pump(partial(tool.instate, ["selected"]), name)
        assert clipped(app.root) == []


def test_what_undo_takes_back_is_said_whole_or_left_to_the_menu(
    open_app: OpenWindow, marked_squad: Callable[[], Path]
) -> None:
    app = open_app(marked_squad())
    app.open_last_run()
    said = "unsure by two of opposite touchdown"
    app.state.record(said, replace(app.state.the_run, tap_set="deep look"))
    for page in ("frames", "taps"):
        app.go(page)
        assert app.button("undo").cget("text") == "Undo", page
        assert travel_words(app.state, "undo") == f"Undo {said}"  # as the Edit menu has it
        assert clipped(app.root) == []
