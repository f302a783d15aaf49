"""Nothing is clipped: every page, at several sizes of screen and text, with awkward contents."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.app.clipping import clipped
from tests.app.driving import Driver, OpenWindow

SCREEN = 1366
SIZES = [
    ("1366x700", 1.3333),
    ("1366x700", 1.3887),
    ("1708x875", 1.6667),
    ("2049x1050", 2.0),
    ("2732x1400", 2.6667),
]


@pytest.mark.parametrize(
    ("size", "scaling"), SIZES, ids=["100 %", "100 dots an inch", "125 %", "150 %", "200 %"]
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
    found = {page: clipped(app.root) for page in every_page(app)}
    assert found == {page: [] for page in found}


def every_page(app: Driver) -> Any:
    """Open the marked run and yield each page when it stands."""
    yield from ("squad",)
    app.keyboard_on(app.view.list)
    app.press("Return")
    app.pump(lambda: app.state.gallery, "the pictures")
    for page in ("film", "frames", "taps", "review", "sheet"):
        app.go(page)
        if page == "review":
            app.pump(lambda: app.state.reading, "the reading")
        if page == "sheet":
            app.pump(lambda: app.state.pages, "the page")
        yield page
    app.press("F1")
    yield "help"
