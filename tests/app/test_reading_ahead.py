"""The window stands before all is read, and nothing is missing afterwards."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tapmark.app import reading_ahead
from tapmark.app.actions import TABLE
from tapmark.app.reading_ahead import AHEAD, FIRST, VIEWS, Actions, Views, read_ahead
from tapmark.app.state import ASIDE, PAGES
from tests.app.driving import OpenWindow

ROOT = Path(__file__).parents[2]


def told_by(code: str) -> set[str]:
    """Return what a fresh Python prints, by words."""
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    return set(done.stdout.split())


def test_first_page_is_there_without_reading_clips_measures_sheets_or_practice() -> None:
    code = "import sys, tapmark.app.assembly, tapmark.app.beginning, tapmark.app.squad_view\n"

    read = told_by(code + "print(*sys.modules)")

    assert "tapmark.app.squad_view" in read
    late = (
        *("tapmark.clip.frames", "tapmark.measures.compute", "tapmark.checklist.criteria"),
        *("tapmark.sheet.athlete_page", "tapmark.practice", "tapmark.app.actions", "imageio"),
    )
    assert not read & set(late)


def test_once_all_is_read_no_page_and_no_action_reads_more() -> None:
    code = (
        "import sys\nfrom tapmark.app import assembly, beginning\n"
        "from tapmark.app import reading_ahead as r\nr.read_all()\n"
        "before = set(sys.modules)\nviews, actions = r.Views(), r.Actions()\n"
        "pages = [views[page] for page in views]\nwhole = [actions[name] for name in actions]\n"
        "print('read', len(pages), *(set(sys.modules) - before))"
    )

    assert {"read", str(len(VIEWS))} == told_by(code)


def test_every_page_has_a_view() -> None:
    assert {*PAGES, *ASIDE, "help"} == set(Views())


def test_a_view_is_made_once() -> None:
    views = Views()

    assert views["squad"] is views["squad"]


def test_actions_are_those_of_the_table_in_its_order() -> None:
    assert list(TABLE) == list(Actions().values())


def test_first_actions_are_the_very_ones_of_the_table() -> None:
    assert not [action.name for action in FIRST if action not in TABLE]


def test_one_module_is_read_a_turn_and_then_all_are_there(monkeypatch: pytest.MonkeyPatch) -> None:
    turns: list[Callable[[], None]] = []
    read: list[str] = []
    monkeypatch.setattr(reading_ahead, "import_module", read.append)
    monkeypatch.setattr(reading_ahead, "AHEAD", ("one.module", "another.module"))

    read_ahead(lambda ms, deed: turns.append(deed), lambda: read.append("all there"))
    heard = []
    while turns:
        turns.pop()()
        heard.append(tuple(read))

    one, two = ("one.module",), ("one.module", "another.module")
    assert heard == [one, two, (*two, "all there")]


def test_nothing_is_named_twice() -> None:
    assert sorted(set(AHEAD)) == sorted(AHEAD)


def test_keys_of_the_first_page_act_at_once_and_the_others_when_all_is_read(
    open_app: OpenWindow, marked_squad: Callable[[], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    later: list[Callable[[], None]] = []
    monkeypatch.setattr(Actions, "is_whole", False)
    monkeypatch.setattr("tapmark.app.assembly.read_ahead", lambda after, done: later.append(done))
    app = open_app(marked_squad())

    app.keyboard_on(app.view.list)
    app.press("a")
    assert app.state.form == "new athlete"
    app.press("Escape", "g")
    assert app.state.page == "squad"

    for done in later:
        done()
    app.keyboard_on(app.view.list)
    app.press("g")
    app.pump(lambda: app.state.page == "group", "the group")
