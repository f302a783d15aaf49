"""The one table of what a person can do. Menu, keys and the help page all come from it."""

from collections.abc import Mapping

from tapmark.app import (
    agreement_deeds,
    aside_deeds,
    beside_deeds,
    clip_deeds,
    copy_deeds,
    export_deeds,
    film_deeds,
    frame_deeds,
    group_deeds,
    import_deeds,
    leaving_deeds,
    mark_deeds,
    merge_deeds,
    naming_deeds,
    phone_deeds,
    practice_deeds,
    rate_deeds,
    retention_deeds,
    review_deeds,
    season_deeds,
    sheet_deeds,
    squad_deeds,
    step_deeds,
    stopwatch_deeds,
    view_deeds,
)
from tapmark.app.action import Action
from tapmark.app.keys import spoken

TABLE: tuple[Action, ...] = (
    *squad_deeds.ACTIONS,
    *import_deeds.ACTIONS,
    *retention_deeds.ACTIONS,
    *leaving_deeds.ACTIONS,
    *clip_deeds.ACTIONS,
    *export_deeds.ACTIONS,
    *naming_deeds.ACTIONS,
    *season_deeds.ACTIONS,
    *group_deeds.ACTIONS,
    *copy_deeds.ACTIONS,
    *practice_deeds.ACTIONS,
    *merge_deeds.ACTIONS,
    *agreement_deeds.ACTIONS,
    *aside_deeds.ACTIONS,
    *film_deeds.ACTIONS,
    *rate_deeds.ACTIONS,
    *stopwatch_deeds.ACTIONS,
    *frame_deeds.ACTIONS,
    *step_deeds.ACTIONS,
    *mark_deeds.ACTIONS,
    *review_deeds.ACTIONS,
    *beside_deeds.ACTIONS,
    *sheet_deeds.ACTIONS,
    *phone_deeds.ACTIONS,
    *view_deeds.ACTIONS,
)


_BY_NAME = {action.name: action for action in TABLE}


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
