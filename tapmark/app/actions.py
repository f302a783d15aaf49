"""The one table of all actions, from the pages' own: menus, keys and help page come from it."""

from collections.abc import Mapping
from typing import Final

from tapmark.app.film import actions as film_actions
from tapmark.app.film import naming
from tapmark.app.mark import frames_actions, taps_actions
from tapmark.app.review import actions as review_actions
from tapmark.app.review import compare_actions, drawing_actions, page_actions
from tapmark.app.season import actions as season_actions
from tapmark.app.season import group
from tapmark.app.shell import proposals, rates, stepping, view_actions
from tapmark.app.shell.context import Action
from tapmark.app.shell.keys import spoken
from tapmark.app.squad import actions as squad_actions
from tapmark.app.squad import copies, practice

TABLE: tuple[Action, ...] = (
    *squad_actions.ACTIONS,
    *naming.ACTIONS,
    *season_actions.ACTIONS,
    *group.ACTIONS,
    *copies.ACTIONS,
    *practice.ACTIONS,
    *proposals.PROPOSAL_ACTIONS,
    *film_actions.ACTIONS,
    *rates.ACTIONS,
    *film_actions.STOPWATCH_ACTIONS,
    *stepping.ACTIONS,
    *frames_actions.ACTIONS,
    *frames_actions.STEP_ACTIONS,
    *taps_actions.ACTIONS,
    *review_actions.ACTIONS,
    *drawing_actions.ACTIONS,
    *compare_actions.ACTIONS,
    *page_actions.ACTIONS,
    *page_actions.PHONE_ACTIONS,
    *view_actions.ACTIONS,
)


_BY_NAME = {action.name: action for action in TABLE}


MENUS: Final = ("File", "Edit", "View", "Run", "Help")
_MENU_OF_GROUP: Final = {
    "Squad": "File",
    "Copies": "File",
    "Sheet": "File",
    "Edit": "Edit",
    "View": "View",
    "Play": "View",
    "Go to": "View",
    "Group": "View",
    "Practice": "Help",
    "Help": "Help",
}
"""Group of actions -> the menu it stands in; every other group is about the run."""
_MENU_OF: Final = {
    **dict.fromkeys(
        (
            "open clip",
            "open folder",
            "open stills",
            "delete clips",
            "export",
            "show trend",
            "print trend",
            "print last page",
            "show group sheet",
            "print group sheet",
            "compare picture",
            "compare stills",
            "film",
            "film photo",
            "film covered",
            "close",
        ),
        "File",
    ),
    **dict.fromkeys(
        (
            "change squad",
            "find athlete",
            "ask for the season",
            "add athlete",
            "edit athlete",
            "consent",
            "archive",
            "delete athlete",
            "type ticks",
            "forget frame",
            "remove tap",
            "delete mark",
            "clear path",
            "leave",
        ),
        "Edit",
    ),
    **dict.fromkeys(
        (
            "show archived",
            "group",
            "season",
            "measure on",
            "measure back",
            "left right",
            "picture on",
            "picture back",
            "ten on",
            "ten back",
            "first picture",
            "last picture",
            "next key frame",
            "last key frame",
            "page on",
            "page back",
        ),
        "View",
    ),
}
"""The few actions that stand in another menu than their group."""
BELOW: Final = {
    "View": "Zoom and light",
    "Group": "Read the signs",
    "Taps": "Move the cross-hair",
}
"""Group -> the name of the menu one level down that holds its many small movements."""


def menu_of(action: Action) -> str:
    """Return which of MENUS an action stands in."""
    return _MENU_OF.get(action.name) or _MENU_OF_GROUP.get(action.group, "Run")


def menu_entries(menu: str, page: str) -> Mapping[str, Mapping[str, tuple[Action, ...]]]:
    """Return what a menu holds on a page: name of the menu below, "" for itself, -> group -> them.

    What does not apply on that page is left out; a group of its own stands between two lines.
    """
    found: dict[str, dict[str, tuple[Action, ...]]] = {}
    for action in sorted(TABLE, key=lambda action: action.group != menu):  # undo leads Edit
        if action.is_on(page) and menu_of(action) == menu:
            is_seen = action.group == "View" and bool(action.pages)
            below = BELOW.get(action.group, "") if is_seen or not action.in_menu else ""
            groups = found.setdefault(below, {})
            groups[action.group] = (*groups.get(action.group, ()), action)
    return found


def by_name() -> Mapping[str, Action]:
    """Return name -> action, in the order of the table."""
    return _BY_NAME


def help_table(system: str = "x11") -> dict[str, list[tuple[str, str]]]:
    """Return group -> (keys as a person reads them, what they do)."""
    table: dict[str, list[tuple[str, str]]] = {}
    for action in TABLE:
        keys = " or ".join(spoken(key, system) for key in action.keys)
        table.setdefault(action.group, []).append((keys, action.label))
    return table
