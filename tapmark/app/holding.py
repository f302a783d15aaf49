"""Taking a run for writing and giving it free, with the pictures that belong to it."""

from dataclasses import replace

from tapmark.app.desk import Desk
from tapmark.errors import CannotWrite, HeldByAnother
from tapmark.marks.history import History
from tapmark.store.open_run import open_run as hold_run

PROGRAM = "the Tapmark window"


def hold(desk: Desk, code: str, dated: str, name: str, *, take_over: bool = False) -> None:
    """Take the run for writing; when another has it, it can be looked at and nothing is saved."""
    squad = desk.state.squad
    if not squad:
        return
    try:
        desk.held = hold_run(squad, code, dated, name, PROGRAM, desk.now(), take_over)
        desk.is_read_only, desk.held_words = False, ""
    except (HeldByAnother, CannotWrite) as held:
        desk.is_read_only, desk.held_words = True, str(held)
    desk.state.trouble = desk.held_words


def take_over(desk: Desk) -> None:
    """Take a run that another window seems to have forgotten."""
    state = desk.state
    if state.visit and state.run_name and desk.is_read_only:
        hold(desk, state.visit.code, state.visit.dated, state.run_name, take_over=True)
        if desk.held and state.history and desk.held.run != state.run:  # written meanwhile
            state.history = History(replace(state.history.value, run=desk.held.run))
            state.settle()


def let_go(desk: Desk) -> None:
    """Close the pictures and give the run free."""
    state = desk.state
    desk.flush()
    desk.jobs.cancel("stills")
    desk.jobs.cancel("pictures")
    if state.gallery:
        state.gallery.pictures.close()
        state.gallery = None
    if desk.held:
        desk.held.close()
        desk.held = None
    desk.is_read_only, desk.held_words = False, ""
