"""The bench stands still from Film to Review, at any size of the text: only the column changes."""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from tapmark.marks.run import Step
from tests.app.clipping import mapped
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
    yield "onward", box(bench.column.onward.button)


@pytest.mark.parametrize("text", [1.0, 1.5])
@pytest.mark.parametrize("size", ["1366x736", "1024x600"])
def test_from_film_to_review_only_the_column_changes(app: Driver, text: float, size: str) -> None:
    app.root.geometry(f"{size}+0+0")
    app.context.settings.change(replace(app.context.settings.value, text_size=text))
    app.window.lay_out_again()
    app.pump()
    where = {}
    for page in PAGES:
        app.go(page)
        where[page] = dict(parts(app))
    assert [page for page in PAGES if where[page] != where["film"]] == []
    column, picture = where["film"]["column"], where["film"]["picture"]
    assert column[2] <= 0.41 * app.root.winfo_width()
    assert picture[0] + picture[2] <= column[0], "beside each other"
    assert app.bench.column.outer.winfo_rooty() + column[3] <= app.root.winfo_height()


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
