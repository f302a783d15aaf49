"""Every page in light and awkward states, with large text on a small screen: whole, ours, in words.

One window goes through all states of `awkward`; what is asked of each is in `looks` and `clipping`.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from tkinter import font as tkfont
from typing import Any

import pytest

from tapmark.report.drawing.shapes import Label, Ring
from tests.app import awkward
from tests.app.clipping import clipped
from tests.app.driving import OpenWindow
from tests.app.looks import menu_fonts, raw_dates, strange, unreadable

TEXT = 1.5


def test_every_awkward_state_is_whole_in_our_fonts_and_says_dates_in_words(
    open_app: OpenWindow, tmp_path: Path, truth: dict[str, Any]
) -> None:
    squad = awkward.full_squad(tmp_path / "squad", truth)
    app = open_app(squad.folder)
    app.context.settings.change(replace(app.context.settings.value, text_size=TEXT))
    app.window.lay_out_again()
    app.pump()

    found, seen = {}, []
    for state in awkward.states(app, tmp_path, squad):
        seen.append(state)
        look = app.window.look
        faults = [*strange(app.root, look), *raw_dates(app.root), *clipped(app.root)]
        faults += unreadable(app.root)
        if faults:
            found[state] = faults

    assert not found, "\n".join(f"{state}: {fault}" for state in found for fault in found[state])
    assert len(seen) == len(set(seen)) == 39


@pytest.mark.parametrize(("scaling", "times"), [(4 / 3, 1.0), (8 / 3, 2.0)], ids=["96", "192"])
def test_marks_are_as_large_whatever_the_dots_of_the_screen(
    open_app: OpenWindow, marked_squad: Callable[[], Path], scaling: float, times: float
) -> None:
    size = f"{round(1366 * times)}x{round(700 * times)}+0+0"
    app = open_app(marked_squad(), size=size, scaling=scaling)
    app.keyboard_on(app.view.list)
    app.press("Return")
    app.pump(
        lambda: app.state.marking.gallery and app.state.marking.gallery.pictures.is_done, "the clip"
    )
    app.go("taps")
    app.press("Key-1")
    pane = app.bench.pane
    app.pump(lambda: pane.is_at_rest, "the smooth marks")

    drawn = pane._shapes  # noqa: SLF001
    letters = [shape for shape in drawn if isinstance(shape, Label)]
    radii = [ring.radius for ring in drawn if isinstance(ring, Ring)]
    assert letters and radii
    assert [letter.size for letter in letters] == pytest.approx(
        [13 * times] * len(letters), rel=0.01
    )
    assert radii == pytest.approx([6.5 * times] * len(radii), rel=0.01)
    x, y = pane.canvas.coords(pane._patch_item)  # noqa: SLF001
    right, bottom = x + pane._patch.width(), y + pane._patch.height()  # noqa: SLF001
    for letter in letters:
        reach = letter.size
        assert x <= letter.point[0] - reach and letter.point[0] + reach <= right, letter.text
        assert y <= letter.point[1] - reach and letter.point[1] <= bottom, letter.text


def test_the_menus_speak_in_our_font(open_app: OpenWindow) -> None:
    app = open_app()
    menus = app.window.menus
    for name in menus.menus:
        menus.fill(name)
    wanted = app.window.look.font("body").actual()
    fonts = {name: tkfont.Font(font=font).actual() for name, font in menu_fonts(menus.bar)}
    assert len(fonts) > 8
    assert [name for name, font in fonts.items() if font != wanted] == []
