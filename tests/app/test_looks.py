"""Every page in light and awkward states, with large text on a small screen: whole, ours, in words.

One window goes through all states of `awkward`; what is asked of each is in `looks` and `clipping`.
"""

from dataclasses import replace
from pathlib import Path
from tkinter import font as tkfont
from typing import Any

from tests.app import awkward
from tests.app.clipping import clipped
from tests.app.driving import OpenWindow
from tests.app.looks import menu_fonts, raw_dates, strange

TEXT = 1.5


def test_every_awkward_state_is_whole_in_our_fonts_and_says_dates_in_words(
    open_app: OpenWindow, tmp_path: Path, truth: dict[str, Any]
) -> None:
    squad = awkward.full_squad(tmp_path / "squad", truth)
    app = open_app(squad.folder)
    app.desk.remember(replace(app.desk.settings, text_size=TEXT))
    app.window.lay_out_again()
    app.pump()

    found, seen = {}, []
    for state in awkward.states(app, tmp_path, squad):
        seen.append(state)
        look = app.window.look
        faults = [*strange(app.root, look), *raw_dates(app.root), *clipped(app.root)]
        if faults:
            found[state] = faults

    assert not found, "\n".join(f"{state}: {fault}" for state in found for fault in found[state])
    assert len(seen) == len(set(seen)) == 40


def test_the_menu_speaks_in_our_font(open_app: OpenWindow) -> None:
    app = open_app()
    top = app.window.top
    top.fill_menu()
    wanted = app.window.look.font("body").actual()
    fonts = {name: tkfont.Font(font=font).actual() for name, font in menu_fonts(top.menu)}
    assert len(fonts) > 8
    assert [name for name, font in fonts.items() if font != wanted] == []
