"""The one table of all actions, from the pages' own: menus, keys and help page come from it."""

from collections.abc import Mapping

from tapmark.app.film import actions as film_actions
from tapmark.app.film import naming
from tapmark.app.mark import frames_actions, taps_actions
from tapmark.app.review import actions as review_actions
from tapmark.app.review import compare_actions, drawing_actions, page_actions
from tapmark.app.season import actions as season_actions
from tapmark.app.season import group
from tapmark.app.shell import proposals, rates, stepping, view_actions
from tapmark.app.shell.context import Action
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


def by_name() -> Mapping[str, Action]:
    """Return name -> action, in the order of the table."""
    return _BY_NAME
