"""Taking a run for writing and giving it free, with the pictures that belong to it.

A run whose last marks the disk has refused is not given free until they are saved, here or
elsewhere, or the coach has given them up in words.
"""

from collections.abc import Callable
from dataclasses import replace

from tapmark.app.desk import Desk
from tapmark.app.proposal import PAGE, Proposal, propose
from tapmark.errors import CannotWrite, HeldByAnother
from tapmark.marks.days import whose_run
from tapmark.marks.history import History
from tapmark.store.files import write_json
from tapmark.store.open_run import open_run as hold_run
from tapmark.store.schema import run_to_plain, visit_to_plain

PROGRAM = "the Tapmark window"
GIVE_UP = "give up"


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
    """Close the pictures and give the run free; raise NotSaved before anything is closed."""
    state = desk.state
    desk.refuse_unsaved()
    desk.jobs.cancel("stills")
    desk.jobs.cancel("pictures")
    if state.gallery:
        state.gallery.pictures.close()
        state.gallery = None
    if desk.held:
        desk.held.close()
        desk.held = None
    desk.is_read_only, desk.held_words = False, ""


def ask_about_unsaved(desk: Desk, deed: Callable[[], None]) -> None:
    """Show why a deed waits for marks that are not saved, and what can be done; then do it."""
    state = desk.state
    back = state.side.back if state.page == PAGE else state.page
    place = (state.visit.code, state.visit.dated, state.run_name) if state.visit else ("", "", "")
    whose = whose_run(*place) if state.run_name else place[0]

    def go_on() -> None:
        desk.go(back)
        deed()

    def give_up(desk: Desk) -> None:
        desk.give_up()
        go_on()

    def save_elsewhere(desk: Desk) -> None:
        if _save_elsewhere(desk):
            give_up(desk)

    def try_again(desk: Desk) -> None:
        desk.refuse_unsaved()
        go_on()

    proposal = Proposal(
        f"Not saved: the last marks of {whose}",
        (
            "They are only in this window, so it stays where it is until they are saved, here or "
            "elsewhere, or given up. The line below says why.",
            "As soon as the disk takes them they are saved by themselves, and this page goes.",
        ),
        confirm="Give up the last marks",
        deed=lambda d, choices: give_up(d),
        typed=GIVE_UP,
        more=(
            ("Try again", try_again),
            ("Save them elsewhere…", save_elsewhere),
        ),
        back=back,
    )
    propose(desk, proposal)
    desk.asked_about = proposal


def _save_elsewhere(desk: Desk) -> bool:
    """Write run and visit into a folder of the coach's choice; return whether it was done.

    Named so that both can be put back by hand. No consent is asked:
    the folder that says so may be the one that is gone, and nothing is given to anybody.
    """
    state = desk.state
    folder = desk.ask.folder("Save the last marks elsewhere: choose a folder")
    if folder is None or not state.work:
        return False
    visit, run = state.work.visit, state.work.run
    first, at = f"{visit.code} {visit.dated}", f"saved at {desk.now():%H%M%S}"
    if state.run_name:
        write_json(folder / f"{first} {state.run_name} {at}.json", run_to_plain(run))
    write_json(folder / f"{first} visit {at}.json", visit_to_plain(visit))
    return True
