"""Three pairs of hands: keyboard only, mouse only, and a touchpad without wheel or right button."""

import copy
import tkinter as tk
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tapmark.app.shell.stepping import CHECK_MS
from tapmark.app.state.viewport import Viewport
from tapmark.app.widgets import columns
from tapmark.app.widgets.picture_pane import Hands, PicturePane
from tests.app.clipping import mapped
from tests.app.driving import Driver, OpenWindow


@pytest.fixture
def app(open_app: OpenWindow, squad_folder: Path, unmarked_run: Callable[[Path], None]) -> Driver:
    """The window on a run with its clip, nothing chosen or tapped yet."""
    unmarked_run(squad_folder)
    driver = open_app(squad_folder)
    driver.open_last_run()
    driver.pump(lambda: driver.state.page == "frames", "Frames")
    driver.pump(lambda: driver.state.run.source.n_pictures, "what the whole clip tells")
    driver.pump(lambda: driver.bench.pane.is_at_rest, "the page as it will stand")
    return driver


def choose_by_keys(app: Driver, pictures: list[int]) -> None:
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Home")
    at = 0
    for i, picture in enumerate(pictures, start=1):
        tens, ones = divmod(picture - at, 10)
        app.press(*["Shift-Key-Right"] * tens, *["Key-period"] * ones, f"Key-{i}")
        at = picture


def steps_to(start: tuple[float, float], end: tuple[float, float]) -> list[str]:
    """Return the arrow keys that move the cross-hair from one place to another."""
    keys = []
    for a, b, less, more in ((start[0], end[0], "Left", "Right"), (start[1], end[1], "Up", "Down")):
        tens, ones = divmod(round(abs(b - a)), 10)
        key = more if b > a else less
        keys += [f"Shift-Key-{key}"] * tens + [f"Key-{key}"] * ones
    return keys


def test_keyboard_alone_chooses_taps_and_reviews(app: Driver, truth: dict[str, Any]) -> None:
    pictures = list(truth["clip"]["key_pictures"].values())
    choose_by_keys(app, pictures)
    assert [frame.picture for frame in app.state.step.key_frames] == pictures
    app.press("F5")
    for _ in range(6):
        prompt = app.state.marking.prompt
        x, y = truth["stills"][prompt.event]["points"][prompt.point]
        app.press("Key-Right")  # the cross-hair appears where the last tap was
        app.press(*steps_to(app.state.marking.aim, (x, y)), "Return")
    frame = app.state.step.key_frame("touchdown")
    for tap in frame.taps:
        wanted = truth["stills"]["touchdown"]["points"][tap.point]
        assert tap.at_px == pytest.approx(wanted, abs=1.0), "within a pixel by arrows alone"
    app.press("Key-h", "Key-g", "Tab", "Shift-Tab")
    app.press("F6")
    app.pump(lambda: app.state.review.reading, "the reading")
    assert app.state.page == "review"


def test_tab_leaves_the_picture_by_the_key_for_the_next_part(app: Driver) -> None:
    app.press("F5")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("F9")
    assert app.root.focus_get() is not app.bench.pane.canvas


def test_mouse_alone_chooses_and_taps(app: Driver, truth: dict[str, Any]) -> None:
    for i, picture in enumerate(truth["clip"]["key_pictures"].values()):
        scrub_to(app, picture)
        app.click(app.view.takers[i])
    chosen = [frame.picture for frame in app.state.step.key_frames]
    assert chosen == list(truth["clip"]["key_pictures"].values())
    app.click(app.bench.column.onward)
    app.pump(lambda: app.state.page == "taps", "Taps")
    for _ in range(6):
        prompt = app.state.marking.prompt
        app.tap(truth["stills"][prompt.event]["points"][prompt.point])
    assert len(app.state.step.key_frame("touchdown").taps) == 6
    app.pump(lambda: not app.state.is_pausing, "the next frame")
    app.click(app.button("hidden"))
    assert app.state.step.key_frame("mid-stance").tap("shoulder").certainty == "hidden"
    app.click(app.button("undo"))
    assert app.state.step.key_frame("mid-stance").tap("shoulder") is None
    app.go("review")


def scrub_to(app: Driver, picture: int) -> None:
    """Press the bar near a picture, then the buttons for the last few."""
    scrubber = app.bench.transport.scrubber
    app.click(scrubber.canvas, scrubber._x(picture), 20)  # noqa: SLF001
    buttons = app.bench.transport.buttons
    for _ in range(40):
        apart = picture - app.state.marking.picture
        if not apart:
            return
        app.click(buttons["picture on" if apart > 0 else "picture back"])
    raise AssertionError(f"picture {picture} cannot be reached by pressing")


def test_a_touchpad_zooms_by_keys_pans_by_a_drag_and_still_taps(app: Driver) -> None:
    choose_by_keys(app, [14])
    app.press("F5")
    canvas = app.bench.pane.canvas
    app.keyboard_on(canvas)
    app.press("plus", "plus", "plus")
    view = app.state.viewport()
    assert view.zoom == pytest.approx(1.5**3)
    drag(app, canvas, (400, 300), (250, 220))
    moved = app.state.viewport()
    assert moved.middle != view.middle
    assert app.state.step.key_frame("touchdown").taps == (), "a drag is no tap"
    app.click(canvas, 300, 200)
    placed = app.state.step.key_frame("touchdown").taps[0].at_px
    assert placed == pytest.approx(moved.to_picture((298, 198)))
    app.press("0")
    assert app.state.viewport().fits


def drag(app: Driver, widget: Any, start: tuple[int, int], end: tuple[int, int]) -> None:
    """Press, move in ten steps, let go."""
    widget.event_generate("<ButtonPress-1>", x=start[0], y=start[1])
    for i in range(1, 11):
        x = start[0] + (end[0] - start[0]) * i // 10
        y = start[1] + (end[1] - start[1]) * i // 10
        widget.event_generate("<B1-Motion>", x=x, y=y)
        app.pump()
    widget.event_generate("<ButtonRelease-1>", x=end[0], y=end[1])
    app.pump()


def test_a_placed_tap_is_dragged_and_one_undo_puts_it_back(app: Driver) -> None:
    choose_by_keys(app, [14])
    app.press("F5")
    app.tap((600.0, 300.0))
    first = app.state.step.key_frame("touchdown").at("shoulder")
    canvas, view = app.bench.pane.canvas, app.bench.pane.view
    x, y = view.to_canvas(first)
    drag(app, canvas, (round(x + 2), round(y + 2)), (round(x + 42), round(y + 32)))
    dragged = app.state.step.key_frame("touchdown").at("shoulder")
    assert dragged == pytest.approx(view.to_picture((round(x + 42) - 2, round(y + 32) - 2)))
    app.press("Control-Key-z")
    assert app.state.step.key_frame("touchdown").at("shoulder") == first


def test_the_wheel_zooms_about_the_pointer(app: Driver) -> None:
    canvas, view = app.bench.pane.canvas, app.state.viewport()
    x, y = view.canvas[0] // 2, 150  # beside the middle the picture must first fill the canvas
    spot = view.to_picture((x, y))
    for _ in range(3):
        canvas.event_generate("<Button-4>", x=x + 2, y=y + 2)
        app.pump()
    zoomed = app.state.viewport()
    assert zoomed.zoom > 1.5
    assert zoomed.to_picture((x, y)) == pytest.approx(spot, abs=0.6)


class Turned:
    """Stands for the event of a touchpad: Tk 9 packs the ways right and down into one number."""

    def __init__(self, right: int, down: int) -> None:
        self.delta = (right << 16) | (down & 0xFFFF)


def test_a_touchpad_of_tk_9_scrolls_as_far_as_the_fingers_went(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Bindings that are asked for by name: no Tk 9 was at hand."""
    monkeypatch.setattr(columns.tk, "TkVersion", 9.0)
    bound: dict[str, Callable[[Any], object]] = {}
    units: list[int] = []
    columns.bind_wheel(bound.__setitem__, lambda event, by: units.append(by))
    touch = bound["<TouchpadScroll>"]

    for _ in range(8):
        touch(Turned(-3, 1))
    assert units == [-1], "eight px, however slowly; fingers that go down show what lies above"
    touch(Turned(0, -80))
    assert units == [-1, 10]
    touch(Turned(7, 0))
    assert sum(units) == 9

    monkeypatch.setattr(columns.tk, "TkVersion", 8.6)
    bound.clear()
    columns.bind_wheel(bound.__setitem__, lambda event, by: None)
    assert "<TouchpadScroll>" not in bound, "an error in Tk 8.6"


@pytest.mark.parametrize("system", ["aqua", "x11"])
def test_the_second_button_opens_a_points_menu_and_moves_the_picture_on_every_system(
    app: Driver, system: str
) -> None:
    """On a Mac it is number 2, or Control with the first; drawn by X11 under macOS' name."""
    asked: list[tuple[float, float]] = []
    taps: list[tuple[float, float]] = []
    look = copy.copy(app.window.look)
    look.system = system
    top = tk.Toplevel(app.root)
    hands = Hands(tap=taps.append, menu=lambda at, reach, where: asked.append(at))
    pane = PicturePane(top, look, hands)
    pane.canvas.pack()
    pane.canvas.configure(width=200, height=200)
    pane.view = Viewport((200, 200), (200, 200), zoom=2.0)
    app.pump(pane.canvas.winfo_viewable, "the canvas")

    def press(*names: str, to: int = 0) -> None:
        for name in names:
            pane.canvas.event_generate(f"<{name}>", x=50 + to * ("Press" not in name), y=50)

    ways = [("ButtonPress-3", "B3-Motion", "ButtonRelease-3")]
    if system == "aqua":
        ways.append(("ButtonPress-2", "B2-Motion", "ButtonRelease-2"))
        ways.append(("Control-ButtonPress-1", "Control-B1-Motion", "Control-ButtonRelease-1"))
    for n, (down, move, up) in enumerate(ways, start=1):
        press(down, up)
        assert len(asked) == n, down
        before = pane.view
        press(down, move, up, to=20)
        assert len(asked) == n and pane.view != before, f"{move} moves the picture"
    press("Control-ButtonPress-1", "ButtonRelease-1")
    assert len(taps) == (system == "x11"), "Control let go first is no tap on a Mac"
    top.destroy()


def tapped(app: Driver, truth: dict[str, Any], pictures: int, points: int) -> None:
    """Choose so many key frames and tap so many points where they truly are."""
    choose_by_keys(app, list(truth["clip"]["key_pictures"].values())[:pictures])
    app.press("F5")
    for _ in range(points):
        prompt = app.state.marking.prompt
        app.tap(truth["stills"][prompt.event]["points"][prompt.point])
    app.pump(lambda: not app.state.is_pausing, "the next frame")


def test_the_picture_finds_the_runner_at_the_second_tap_and_then_stands_still(
    app: Driver, truth: dict[str, Any], monkeypatch: pytest.MonkeyPatch
) -> None:
    waiting: list[Any] = []  # what comes when a finished figure has been seen, however slow we are
    monkeypatch.setattr(app.context, "later", lambda ms, action: waiting.append(action))
    choose_by_keys(app, list(truth["clip"]["key_pictures"].values()))
    app.press("F5")
    assert app.state.viewport().fits
    moved = []
    for k in range(32):
        app.pump(lambda: not app.state.is_pausing, "the next frame")
        prompt, before = app.state.marking.prompt, app.state.viewport()
        at = truth["stills"][prompt.event]["points"][prompt.point]
        seen = before.to_canvas(at)
        assert 0 <= seen[0] <= before.canvas[0] and 0 <= seen[1] <= before.canvas[1], prompt
        app.tap(at)
        if app.state.viewport() != before:
            moved.append(k)
        while waiting:
            waiting.pop()()
    assert moved == [1], "once, at the second tap; a new frame comes when its figure has been seen"
    view = app.state.viewport()
    points = truth["stills"]["opposite touchdown"]["points"].values()
    tall = max(y for _, y in points) - min(y for _, y in points)
    assert 0.5 < tall * view.scale / view.canvas[1] < 0.92, "shoulder to shoe of a whole runner"


def test_zoom_and_shift_go_with_the_runner_from_frame_to_frame_and_page_to_page(
    app: Driver, truth: dict[str, Any]
) -> None:
    tapped(app, truth, 5, 32)
    app.press("Key-1")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("plus")
    scale = app.state.viewport().scale
    hips = {}
    for key, event in ((1, "touchdown"), (3, "toe-off"), (5, "opposite touchdown")):
        app.press(f"Key-{key}")
        assert app.state.viewport().scale == pytest.approx(scale)
        hips[key] = app.state.viewport().to_canvas(truth["stills"][event]["points"]["hip"])
    assert hips[3][0] == pytest.approx(hips[1][0], abs=4)
    assert hips[5][0] == pytest.approx(hips[1][0], abs=4)
    for page in ("F4", "F6", "F3"):
        app.press(page)
        assert app.state.viewport().scale == pytest.approx(scale)
    app.press("z")
    assert app.state.viewport().fits
    app.press("z")
    assert app.state.viewport().scale == pytest.approx(scale / 1.5)
    app.press("0")
    assert app.state.viewport().fits


def test_a_point_that_is_asked_for_is_in_view_however_far_it_is_zoomed(
    app: Driver, truth: dict[str, Any]
) -> None:
    tapped(app, truth, 5, 6)
    app.keyboard_on(app.bench.pane.canvas)
    app.press(*["plus"] * 4)
    for _ in range(26):
        app.pump(lambda: not app.state.is_pausing, "the next frame")
        prompt, view = app.state.marking.prompt, app.state.viewport()
        x, y = view.to_canvas(truth["stills"][prompt.event]["points"][prompt.point])
        assert 0 <= x <= view.canvas[0] and 0 <= y <= view.canvas[1], prompt
        app.tap(truth["stills"][prompt.event]["points"][prompt.point])
    assert app.state.marking.prompt is None


def test_a_box_or_a_click_on_the_hip_shows_where_the_runner_is(
    app: Driver, truth: dict[str, Any]
) -> None:
    pane, points = app.bench.pane, truth["stills"]["touchdown"]["points"]
    choose_by_keys(app, [truth["clip"]["key_pictures"]["touchdown"]])
    assert app.state.viewport().fits
    head, shoe = points["shoulder"][1] - 60, max(y for _, y in points.values()) + 20
    corners = [pane.view.to_canvas(at) for at in ((540.0, head), (760.0, shoe))]
    drag(app, pane.canvas, *[(round(x) + 2, round(y) + 2) for x, y in corners])
    view = app.state.viewport()
    assert (shoe - head) * view.scale == pytest.approx(0.92 * view.canvas[1], rel=0.02)
    assert app.state.step.key_frame("touchdown").taps == (), "a box is no tap"
    app.press("Escape", "0")
    app.tap(points["hip"])
    assert not app.state.viewport().fits
    assert app.state.step.key_frame("touchdown").taps == ()


def test_a_corner_of_the_box_is_dragged_where_the_pointer_says_so_and_the_view_follows_at_its_end(
    app: Driver, truth: dict[str, Any]
) -> None:
    state, pane = app.state, app.bench.pane
    choose_by_keys(app, [truth["clip"]["key_pictures"]["touchdown"]])
    for page, start in (("frames", (600.0, 200.0)), ("film", (540.0, 150.0))):
        app.go(page)
        app.press("0")
        end = (720.0, 500.0)
        at = [tuple(round(c) + 2 for c in pane.view.to_canvas(each)) for each in (start, end)]
        drag(app, pane.canvas, *at)
        view, spot = state.viewport(), state.marking.spots[state.marking.picture]
        assert spot.corners[0] == pytest.approx(start, abs=3)
        corner = tuple(round(c) + 2 for c in view.to_canvas(spot.corners[2]))
        pane.canvas.event_generate("<Motion>", x=corner[0], y=corner[1])
        app.pump()
        assert str(pane.canvas.cget("cursor")) == "fleur", "it would be dragged"
        pane.canvas.event_generate("<Motion>", x=corner[0] - 60, y=corner[1] - 60)
        app.pump()
        assert str(pane.canvas.cget("cursor")) == "crosshair", "it would be marked"
        pane.canvas.event_generate("<ButtonPress-1>", x=corner[0], y=corner[1])
        pane.canvas.event_generate("<B1-Motion>", x=corner[0] + 40, y=corner[1] - 50)
        app.pump()
        assert state.viewport() == view, "nothing moves below the hand"
        pane.canvas.event_generate("<ButtonRelease-1>", x=corner[0] + 40, y=corner[1] - 50)
        app.pump()
        mended = state.marking.spots[state.marking.picture]
        assert mended.corners[0] == pytest.approx(spot.corners[0]), "the opposite corner stays"
        moved = view.to_picture((corner[0] + 38, corner[1] - 52))
        assert mended.corners[2] == pytest.approx(moved)
        now = state.viewport()
        assert mended.tall_px * now.scale == pytest.approx(0.92 * now.canvas[1], rel=0.02)
        assert state.step.key_frame("touchdown").taps == ()


def test_a_click_on_the_hip_keeps_what_was_zoomed_to_by_hand(
    app: Driver, truth: dict[str, Any]
) -> None:
    tapped(app, truth, 2, 13)
    app.press("F4", "Key-2")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("plus")
    scale = app.state.viewport().scale
    app.press("Key-Right")
    x, y = app.state.viewport().canvas
    app.click(app.bench.pane.canvas, x / 2, y / 2)
    assert app.state.viewport().scale == pytest.approx(scale)


def test_escape_while_a_mark_is_dragged_puts_it_back_and_the_head_names_it(
    app: Driver, truth: dict[str, Any]
) -> None:
    tapped(app, truth, 1, 3)
    pane, asked = app.bench.pane, app.state.marking.prompt
    hip = app.state.frame.at("hip")
    x, y = (round(c + 2) for c in pane.view.to_canvas(hip))
    pane.canvas.event_generate("<ButtonPress-1>", x=x + 3, y=y)
    pane.canvas.event_generate("<B1-Motion>", x=x + 40, y=y + 30)
    app.pump()
    assert app.state.frame.at("hip") != hip
    assert app.view.title.cget("text") == "Hip"
    assert str(pane.canvas.cget("cursor")) == "none"
    app.press("Escape")
    assert app.state.frame.at("hip") == pytest.approx(hip)
    pane.canvas.event_generate("<B1-Motion>", x=x + 60, y=y + 30)
    pane.canvas.event_generate("<ButtonRelease-1>", x=x + 60, y=y + 30)
    app.pump()
    assert app.state.frame.at("hip") == pytest.approx(hip), "what was left stays left"
    assert app.state.marking.prompt == asked and str(pane.canvas.cget("cursor")) != "none"


def test_a_click_on_a_mark_marks_the_point_asked_for_and_drags_nothing(
    app: Driver, truth: dict[str, Any]
) -> None:
    tapped(app, truth, 1, 3)
    hip, asked = app.state.frame.at("hip"), app.state.marking.prompt
    app.tap(hip)
    assert app.state.frame.at("hip") == hip
    assert app.state.frame.at(asked.point) == pytest.approx(hip, abs=1.0)


def test_a_tap_anew_leaves_no_cross_hair_at_the_old_place(
    app: Driver, truth: dict[str, Any]
) -> None:
    tapped(app, truth, 1, 3)
    app.press("Shift-Tab")
    assert app.state.marking.aim == app.state.frame.at("hip")
    x, y = truth["stills"]["touchdown"]["points"]["hip"]
    app.tap((x + 30.0, y))
    assert app.state.marking.aim is None
    assert not app.bench.pane.canvas.find_withtag("aim")


def test_the_finished_figure_stays_a_moment_and_any_key_goes_on_at_once(
    app: Driver, truth: dict[str, Any]
) -> None:
    choose_by_keys(app, list(truth["clip"]["key_pictures"].values()))
    app.press("F5")
    for _ in range(6):
        prompt = app.state.marking.prompt
        app.tap(truth["stills"][prompt.event]["points"][prompt.point])
    down, whole = app.state.step.key_frame("touchdown"), app.state.run
    assert app.state.is_pausing and app.state.marking.picture == down.picture
    assert app.view.title.cget("text") == "Touchdown is done"
    app.press("Return")
    assert app.state.marking.event == "mid-stance" and app.state.run == whole


def test_nothing_in_the_window_moves_between_two_taps(app: Driver, truth: dict[str, Any]) -> None:
    """Every widget that can be seen has the same box before and after each of 32 taps."""
    choose_by_keys(app, list(truth["clip"]["key_pictures"].values()))
    app.press("F5")
    before, n = boxes(app), 0
    while app.state.marking.prompt:
        app.pump(lambda: not app.state.is_pausing, "the next frame")
        prompt = app.state.marking.prompt
        app.tap(truth["stills"][prompt.event]["points"][prompt.point])
        n += 1
        after = boxes(app)
        assert {w: b for w, b in after.items() if before.get(w) != b} == {}, f"tap {n}: {prompt}"
        assert before.keys() == after.keys(), f"tap {n}: {prompt}"
    assert n == 32 and len(before) > 60


def boxes(app: Driver) -> dict[str, tuple[int, ...]]:
    """Return the place and size on the screen of everything that is shown."""
    return {
        str(widget): (
            widget.winfo_rootx(),
            widget.winfo_rooty(),
            widget.winfo_width(),
            widget.winfo_height(),
        )
        for widget in mapped(app.root)
    }


def test_swapped_legs_are_doubted_at_the_third_wrong_point(
    app: Driver, truth: dict[str, Any]
) -> None:
    """Of opposite touchdown: far knee, far ankle and near knee, each on the other leg."""
    tapped(app, truth, 5, 28)
    other = {"far": "near", "near": "far"}
    doubts = []
    for _ in range(3):
        prompt = app.state.marking.prompt
        side, joint = prompt.point.split()
        assert prompt.event == "opposite touchdown"
        app.tap(truth["stills"][prompt.event]["points"][f"{other[side]} {joint}"])
        wait(app, 2 * CHECK_MS)
        app.pump(lambda: app.context.jobs.is_idle, "the look for slips")
        doubts.append([check.name for check in app.state.review.checks])
    assert doubts[0] == [] and "legs" in doubts[2], doubts
    assert app.state.marking.prompt is not None, "before the last point"
    assert "swapped" in app.window.status.line.cget("text")
    assert app.view.again.winfo_viewable()


def wait(app: Driver, ms: int) -> None:
    rested: list[bool] = []
    app.root.after(ms, rested.append, True)
    app.pump(lambda: rested, "a pause of the hand")


def test_before_the_last_frame_there_is_a_break_for_the_other_leg(
    app: Driver, truth: dict[str, Any]
) -> None:
    choose_by_keys(app, list(truth["clip"]["key_pictures"].values()))
    app.press("F5")
    for _ in range(25):
        app.pump(lambda: not app.state.is_pausing, "the next frame")
        prompt = app.state.marking.prompt
        app.tap(truth["stills"][prompt.event]["points"][prompt.point])
    assert app.view.title.cget("text") == "Now the other leg"
    assert "right" in app.view.where.cget("text"), "P02 shows the left side"


def test_the_cross_hair_takes_a_zoomed_picture_along(app: Driver) -> None:
    choose_by_keys(app, [14])
    app.press("F5")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("plus", "plus", "plus", "plus", "Key-Right")
    app.press(*["Shift-Key-Right"] * 40)
    view = app.state.viewport()
    x, _ = view.to_canvas(app.state.marking.aim)
    assert 0 < x < view.canvas[0]
    assert view.seen[2] > 1000.0, "the right part of the picture has come into sight"


def test_holding_a_walk_button_runs_through_the_pictures(app: Driver) -> None:
    app.keyboard_on(app.bench.pane.canvas)
    app.press("Home")
    button = app.bench.transport.buttons["picture on"]
    button.event_generate("<Enter>")
    button.event_generate("<ButtonPress-1>", x=5, y=5)
    app.pump(lambda: app.state.marking.picture >= 4, "four pictures")
    button.event_generate("<ButtonRelease-1>", x=5, y=5)
    app.pump()
    stopped = app.state.marking.picture
    app.pump()
    assert app.state.marking.picture == stopped


def test_trouble_is_a_line_that_stays_until_mended_and_no_dialog(app: Driver) -> None:
    choose_by_keys(app, [14, 30])
    app.press("End", "Key-1")
    app.pump()
    line = app.window.status.line.cget("text")
    assert line.startswith("Touchdown") and "mid-stance" in line
    assert "Choose one of the two again" in line
    assert app.asked.boxes == []
    assert not [w for w in app.root.winfo_children() if w.winfo_class() == "Toplevel"]
    app.press("Home", "Key-1")
    assert "before" not in app.window.status.line.cget("text")


def test_the_window_opens_where_it_was_left(app: Driver, open_app: OpenWindow) -> None:
    choose_by_keys(app, [14, 30])
    app.press("F5")
    app.tap((600.0, 300.0))
    app.tap((610.0, 320.0))
    prompt, page = app.state.marking.prompt, app.state.page
    app.root.geometry("1200x680+0+0")
    app.pump()
    app.close()
    again = open_app(None, size="")
    assert (again.state.marking.prompt, again.state.page) == (prompt, page)
    assert again.root.winfo_width() == 1200
    assert again.state.marking.picture == 14


def test_a_large_text_makes_everything_larger_and_left_hands_swap_the_sides(app: Driver) -> None:
    app.press("F5")
    before = app.window.look.u
    app.press("Control-Key-plus")
    app.pump()
    assert app.window.look.u > before
    canvas = app.bench.pane.canvas
    right_handed = canvas.winfo_rootx()
    app.context.perform("other hand")
    app.pump()
    assert app.bench.pane.canvas.winfo_rootx() > right_handed + 100


def test_every_page_shows_where_the_keyboard_is(app: Driver) -> None:
    for page in ("film", "frames", "taps", "review"):
        app.go(page)
        canvas = app.bench.pane.canvas
        assert app.root.focus_get() is canvas
        assert int(canvas.cget("highlightthickness")) >= 2
        assert canvas.cget("highlightcolor") != canvas.cget("highlightbackground")


def test_controls_are_large_enough_to_hit(app: Driver) -> None:
    from tkinter import ttk

    for page in ("squad", "film", "frames", "taps", "review", "sheet"):
        app.go(page)
        for widget in mapped(app.root):
            if isinstance(widget, ttk.Button | ttk.Combobox | ttk.Checkbutton | ttk.Menubutton):
                assert widget.winfo_height() >= 24, f"{page}: {widget.winfo_class()}"


def test_the_magnifier_shows_the_pixels_under_the_pointer(app: Driver) -> None:
    choose_by_keys(app, [14])
    app.press("F5")
    app.pump(lambda: app.state.marking.gallery.has_full(14), "the full picture")
    pane = app.bench.pane
    x, y = pane.view.to_canvas((700.5, 310.5))
    pane.canvas.event_generate("<Motion>", x=round(x + 2), y=round(y + 2))
    app.pump()
    at = pane.view.to_picture((round(x + 2) - 2, round(y + 2) - 2))
    photo = app.view.magnifier._photo._PhotoImage__photo  # noqa: SLF001
    middle = app.view.magnifier.side // 2
    shown = photo.get(middle, middle)
    wanted = app.state.marking.gallery.best(14).getpixel((int(at[0]), int(at[1])))
    assert shown == wanted
