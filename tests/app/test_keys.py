"""Keys by name, on every system; bare letters never steal what is typed."""

import tkinter as tk

import pytest

from tapmark.app.actions import TABLE, by_name
from tapmark.app.menus import help_table
from tapmark.app.shell.keys import acts_in, sequence, sequences, spoken
from tapmark.app.state.pages import ASIDE, PAGES

KEYS = sorted({key for action in TABLE for key in action.keys})


@pytest.mark.parametrize(
    ("key", "system", "bound", "said"),
    [
        ("Mod+Z", "x11", "<Control-Key-z>", "Ctrl+Z"),
        ("Mod+Shift+Z", "aqua", "<Command-Shift-Key-Z>", "⌘+Shift+Z"),
        ("Shift+Tab", "x11", "<ISO_Left_Tab>", "Shift+Tab"),
        ("Shift+Tab", "win32", "<Shift-Key-Tab>", "Shift+Tab"),
        ("Left", "x11", "<Key-Left>", "←"),
        ("Plus", "x11", "<Key-plus>", "+"),
    ],
)
def test_a_key_is_bound_and_said(key: str, system: str, bound: str, said: str) -> None:
    assert bound == sequence(key, system)
    assert said == spoken(key, system)


@pytest.mark.parametrize("key", KEYS)
def test_the_event_loop_knows_every_key(key: str, screen: None) -> None:
    root = tk.Tk()
    try:
        for bound in sequences(key, root.tk.call("tk", "windowingsystem")):
            root.bind(bound, lambda event: None)
    finally:
        root.destroy()


def test_caps_lock_and_the_number_pad_mean_the_same_keys() -> None:
    assert sequences("G") == ("<Key-g>", "<Key-G>")
    assert sequences("3") == ("<Key-3>", "<Key-KP_3>")
    assert sequences("Plus") == ("<Key-plus>", "<Key-KP_Add>")
    assert sequences("Mod+S") == ("<Control-Key-s>", "<Control-Key-S>")
    assert sequences("Shift+Left") == ("<Shift-Key-Left>",)


def test_letters_and_arrows_stay_in_a_field_that_is_typed_in() -> None:
    assert not any(acts_in(key, "TEntry") for key in ("G", "1", "Left", "Delete", "Mod+Z"))
    assert acts_in("F5", "TEntry") and acts_in("Escape", "TEntry") and acts_in("Mod+S", "TEntry")


def test_a_list_keeps_its_arrows_and_a_button_its_return() -> None:
    assert not acts_in("Down", "Treeview") and acts_in("N", "Treeview")
    assert not acts_in("Return", "TButton") and acts_in("Return", "Canvas")


def clashes() -> list[tuple[str, str, str]]:
    """Return (key, first action, second action) where one key means two things on one page."""
    pages = (*PAGES, *ASIDE, "help")
    found = []
    for page in pages:
        taken: dict[str, str] = {}
        for action in TABLE:
            for key in action.keys if action.is_on(page) else ():
                if key in taken:
                    found.append((f"{page} {key}", taken[key], action.name))
                taken[key] = action.name
    return found


def test_no_key_means_two_things_on_one_page() -> None:
    assert clashes() == []


def test_every_action_is_in_the_menu_or_has_a_key() -> None:
    lost = [a.name for a in TABLE if not a.keys and not a.in_menu]
    assert lost == []
    assert len(TABLE) == len(by_name()), "two actions share a name"


def test_the_help_page_lists_every_action_once() -> None:
    rows = [row for rows in help_table().values() for row in rows]
    assert len(TABLE) == len(rows)
    assert all(group for group in help_table()), "an action has no group"
