"""The bench stands still from Film to Review, at any size of the text: only the column changes."""

import gc
import weakref
from collections.abc import Callable, Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from tapmark.app.shell.runs import open_run
from tapmark.marks.run import Step
from tests.app.clipping import clipped, cut_buttons, mapped
from tests.app.driving import Driver, OpenWindow

PAGES = ("film", "frames", "taps", "review")
Box = tuple[int, int, int, int]


@pytest.fixture
def app(open_app: OpenWindow, marked_squad: Callable[[], Path]) -> Driver:
    """The window on a marked run."""
    driver = open_app(marked_squad())
    driver.open_last_run()
    return driver


def box(widget: object) -> Box:
    """Return left, top, width and height on the screen."""
    return (
        widget.winfo_rootx(),  # type: ignore[attr-defined]
        widget.winfo_rooty(),  # type: ignore[attr-defined]
        widget.winfo_width(),  # type: ignore[attr-defined]
        widget.winfo_height(),  # type: ignore[attr-defined]
    )


def parts(app: Driver) -> Iterator[tuple[str, Box]]:
    """Yield what must not move from page to page."""
    bench = app.bench
    yield "picture", box(bench.pane.canvas)
    yield "transport", box(bench.transport.frame)
    yield "bar", box(bench.transport.scrubber.canvas)
    yield "step line", box(bench.strip.canvas)
    yield "column", box(bench.column.outer)
    yield "onward", box(bench.column.onward)


@pytest.mark.parametrize(
    ("size", "text"),
    [
        ("1366x736", 1.0),
        ("1024x600", 1.5),
        pytest.param("1366x736", 1.5, marks=pytest.mark.long),
        pytest.param("1024x600", 1.0, marks=pytest.mark.long),
    ],
)
def test_from_film_to_review_only_the_column_changes(app: Driver, text: float, size: str) -> None:
    app.root.geometry(f"{size}+0+0")
    app.context.settings.change(replace(app.context.settings.value, text_size=text))
    app.window.lay_out_again()
    app.pump()
    where, cut = {}, {}
    for page in PAGES:
        app.go(page)
        where[page], cut[page] = dict(parts(app)), list(cut_buttons(app.root))
    assert cut == {page: [] for page in PAGES}
    assert [page for page in PAGES if where[page] != where["film"]] == []
    column, picture = where["film"]["column"], where["film"]["picture"]
    assert column[2] <= 0.41 * app.root.winfo_width()
    assert picture[0] + picture[2] <= column[0], "beside each other"
    assert (
        app.bench.column.outer.winfo_rooty() + column[3]
        <= app.root.winfo_rooty() + app.root.winfo_height()
    )


@pytest.mark.parametrize(("text", "size"), [(1.0, "1024x568"), (1.5, "1366x736")])
def test_all_of_the_next_tap_is_seen_without_scrolling_on_a_small_screen_or_in_large_text(
    app: Driver, text: float, size: str
) -> None:
    app.root.geometry(f"{size}+0+0")
    app.context.settings.change(replace(app.context.settings.value, text_size=text))
    app.window.lay_out_again()
    app.pump()
    seen, cut = {}, {}
    for page in (*reversed(PAGES), "taps"):
        app.go(page)
        app.pump(lambda: app.state.review.reading or app.state.page != "review", "the reading")
        body, canvas = app.bench.column.body, app.bench.column.canvas
        seen[page] = body.winfo_reqheight() <= canvas.winfo_height()
        cut[page] = clipped(app.bench.frame)
    assert [page for page in ("film", "frames", "taps") if not seen[page]] == []
    assert cut == {page: [] for page in cut}

    def places() -> list[Box]:
        points, drawn = app.view.points.canvas, app.view.drawing.canvas
        widgets = [app.view.where, points, drawn, app.view.magnifier.canvas, app.view.points_asked]
        widgets += [*app.view.answers.values(), app.button("undo"), app.button("redo")]
        return [box(widget) for widget in widgets]

    before = places()
    for _ in range(2):
        app.press("Delete")
        app.click(app.bench.pane.canvas)
        app.press("Control-z", "Control-z", "Tab")
        assert places() == before, "nothing moves between two taps"


def test_no_words_of_the_key_frames_lie_over_others_on_a_small_screen(app: Driver) -> None:
    app.root.geometry("1024x600+0+0")
    for text in (1.0, 1.5):
        app.context.settings.change(replace(app.context.settings.value, text_size=text))
        app.window.lay_out_again()
        app.go("frames")
        canvas = app.view.list.canvas
        words = [item for item in canvas.find_all() if canvas.type(item) == "text"]
        assert len(words) >= 15
        for item in words:
            left, top, right, bottom = canvas.bbox(item)
            inside = canvas.find_overlapping(left, top + 2, right, bottom - 2)
            over = [canvas.itemcget(each, "text") for each in inside if each in words]
            assert over == [canvas.itemcget(item, "text")], text


def test_the_window_builds_one_picture_whatever_page_is_shown(app: Driver) -> None:
    pane = app.bench.pane.canvas
    for page in (*PAGES, "squad", *PAGES[::-1]):
        app.go(page)
        seen = [w for w in mapped(app.root) if w is pane]
        assert len(seen) == (page != "squad")
    assert app.bench.pane.canvas is pane


def test_a_pass_from_behind_or_without_key_frames_moves_nothing(app: Driver) -> None:
    app.go("frames")
    before = dict(parts(app))
    app.state.record("nothing chosen", replace(app.state.run, steps=(Step(),)))
    app.pump()
    assert dict(parts(app)) == before
    app.state.record("from behind", replace(app.state.run, view="rear", steps=(Step(),)))
    app.pump()
    assert dict(parts(app)) == before


# playing


class Clock:
    """The clock that frames are played by: it stands, and goes on only when a test lets it.

    It goes to the moment at which the next frame is due, once that frame is prepared, so that no
    frame is ever too late, however busy the computer is.
    """

    def __init__(self, app: Driver) -> None:
        self.app, self.player, self.now_s = app, app.bench.player, 0.0
        self.player.clock = lambda: self.now_s

    def go_on(self, until: Callable[[], object], what: str) -> None:
        """Play until something holds, then stand still."""

        def is_reached() -> bool:
            if until():
                return True
            queue = self.player._queue  # noqa: SLF001
            if queue and self.player._is_ready(queue[0]):  # noqa: SLF001
                self.now_s = max(self.now_s, queue[0].at_s)
            return False

        self.app.pump(is_reached, what)

    def play_for(self, shown: int) -> None:
        """Press Space and let so many frames be played."""
        before = self.player.n_shown
        self.app.press("space")
        self.go_on(lambda: self.player.n_shown >= before + shown, f"{shown} frames played")


@pytest.fixture
def clock(app: Driver) -> Clock:
    return Clock(app)


def test_space_plays_and_holds_on_every_page(app: Driver, clock: Clock) -> None:
    for page in PAGES:
        app.go(page)
        app.keyboard_on(app.bench.pane.canvas)
        run, start = app.state.run, app.state.marking.picture
        clock.play_for(4)
        assert app.bench.transport.play.cget("text") == "Hold", page
        app.press("space")
        held = app.state.marking.picture
        assert held > start and not app.bench.player.is_on, page
        app.pump()
        assert (app.state.marking.picture, app.state.run) == (held, run), page
        assert app.bench.pane._shown.key[0] == held, page  # noqa: SLF001
        assert app.bench.transport.play.cget("text") == "Play", page


def test_a_first_tap_stops_playing_the_next_brings_the_frame_back_and_then_one_marks(
    app: Driver, clock: Clock
) -> None:
    app.go("taps")
    app.press("Key-1", "Tab", "Delete")
    asked = app.state.marking.prompt
    whole = app.state.run
    clock.play_for(3)
    app.tap((600.0, 300.0))
    assert not app.bench.player.is_on and app.state.run == whole
    app.tap((600.0, 300.0))
    assert app.state.run == whole and app.state.marking.prompt == asked
    assert app.state.marking.picture == app.state.frame.picture
    app.tap((600.0, 300.0))
    assert app.state.step.key_frame("touchdown").at(asked.point)


def test_stepping_another_page_or_a_key_frame_ends_playing(app: Driver, clock: Clock) -> None:
    app.go("frames")
    for by in ("Key-Left", "Home", "F6", "F3"):
        app.keyboard_on(app.bench.pane.canvas)
        clock.play_for(2)
        app.press(by)
        assert not app.bench.player.is_on and not app.state.marking.playing.is_on, by


@pytest.mark.parametrize("by_hand", ["another frame", "held"])
def test_a_frame_that_was_due_when_a_key_came_moves_nothing(
    app: Driver, clock: Clock, by_hand: str
) -> None:
    """The turn of the next frame may come before the page is drawn anew."""
    app.go("frames")
    clock.play_for(2)
    player, marking = app.bench.player, app.state.marking
    app.pump(lambda: player._queue and player._is_ready(player._queue[0]), "the next frame")  # noqa: SLF001
    clock.now_s = player._queue[0].at_s  # noqa: SLF001
    if by_hand == "held":
        marking.playing = replace(marking.playing, is_on=False)
    else:
        marking.picture = 3
    stands = marking.picture
    player._tick()  # noqa: SLF001

    assert marking.picture == stands and not player.is_on and not marking.playing.is_on


def test_speed_and_loop_are_pressed_and_seen_and_kept_on_every_page(app: Driver) -> None:
    app.go("film")
    bench = app.bench.transport
    app.click(bench.speeds[2])
    app.click(bench.loop)
    app.go("review")
    assert (app.state.marking.playing.i_speed, app.state.marking.playing.loops) == (2, True)
    assert str(bench.speeds[2].cget("style")) == str(bench.loop.cget("style"))
    app.press("Control-Key-Down", "Control-Key-j")
    assert (app.state.marking.playing.i_speed, app.state.marking.playing.loops) == (1, False)


def test_a_loop_comes_round_within_ten_frames_of_the_step(app: Driver, clock: Clock) -> None:
    app.go("frames")
    app.state.marking.playing = replace(app.state.marking.playing, i_speed=3, loops=True)
    first, last = (app.state.step.key_frames[i].picture for i in (0, -1))
    seen: list[int] = []
    show = app.bench.transport.show_place
    app.bench.transport.show_place = lambda state: (seen.append(state.marking.picture), show(state))
    app.keyboard_on(app.bench.pane.canvas)
    app.press("space")
    clock.go_on(lambda: any(b < a for a, b in pairwise(seen)), "the loop to come round")
    app.press("space")
    assert first - 10 <= min(seen) and max(seen) <= last + 10


def test_playing_waits_at_a_key_frame_with_its_figure_and_clears_it_as_it_goes_on(
    app: Driver, clock: Clock
) -> None:
    app.go("taps")
    app.press("Key-1")
    state, pane = app.state, app.bench.pane
    state.marking.playing = replace(state.marking.playing, holds=True)
    held = state.step.key_frame("mid-stance").picture
    app.press("space")
    clock.go_on(lambda: state.marking.picture >= held, "the key frame")
    app.pump(lambda: pane._shapes, "the figure")  # noqa: SLF001
    assert (state.marking.picture, state.marking.event) == (held, "mid-stance")
    clock.go_on(lambda: state.marking.picture > held, "going on")
    assert not pane._shapes  # noqa: SLF001
    app.press("space")


def test_a_view_changed_while_it_plays_changes_what_is_played(app: Driver, clock: Clock) -> None:
    app.go("frames")
    state, player = app.state, app.bench.player
    state.marking.playing = replace(state.marking.playing, loops=True)
    app.keyboard_on(app.bench.pane.canvas)
    clock.play_for(3)
    for key in ("plus", "0", "z", "Alt-Key-Left"):
        app.press(key)
        shown, view = player.n_shown, state.viewport(state.marking.picture)
        clock.go_on(lambda shown=shown: player.n_shown >= shown + 6, f"playing on after {key}")
        assert app.bench.pane.view.scale == pytest.approx(view.scale), key
        assert player.is_on, key
    app.press("space")


def test_where_the_rate_is_not_known_the_readout_says_it_is_the_files_time(app: Driver) -> None:
    app.go("frames")
    app.press("F4", "Key-1")
    app.root.geometry("1366x736+0+0")
    app.pump(lambda: app.root.winfo_width() == 1366, "the width")
    number = app.bench.transport.number
    assert number.cget("text").endswith("0 ms")
    set_up = replace(app.state.run.set_up, slow_factor=None)
    app.state.record("rate not known", replace(app.state.run, set_up=set_up))
    app.pump()
    assert "file’s time" in number.cget("text")


def test_the_way_onward_leads_nowhere_before_the_page_has_said_where(
    open_app: OpenWindow, squad_folder: Path
) -> None:
    app = open_app(squad_folder)  # with no run open
    for page in PAGES:
        app.go(page)
        app.click(app.bench.column.onward)  # an error in a callback fails the test
        app.go(page)
        app.window.lay_out_again()
        app.window._refresh()  # noqa: SLF001 - the column is filled a moment after this
        app.bench.column.onward.invoke()
        app.pump()


def test_a_run_that_was_left_holds_no_frames_whatever_was_shown_of_it(app: Driver) -> None:
    """Players, workers and pages remember whose frames they showed last; a run's take 150 MB."""
    app.go("frames")
    app.keyboard_on(app.bench.pane.canvas)
    app.press("space")
    app.pump(lambda: app.bench.player.n_shown > 3, "three frames")
    app.press("space")
    app.go("taps")
    app.pump(lambda: app.state.marking.gallery.has_full(app.state.marking.picture), "full size")
    app.window.lay_out_again()
    app.pump()
    gallery, squad = app.state.marking.gallery, app.state.the_squad
    left = weakref.ref(gallery), weakref.ref(gallery.pictures)
    del gallery
    other = squad.new_run("P02", "2026-05-14", squad.load_run("P02", "2026-05-14", "run-1"))

    open_run(app.context, "P02", "2026-05-14", other)
    app.wait_for_clip()
    app.pump(lambda: app.context.jobs.is_idle and app.context.painter.is_idle, "the workers")
    gc.collect()

    assert [each() for each in left] == [None, None]
