"""Taking a run for writing and giving it free, with the clip that belongs to it.

A run whose last marks the disk has refused is not given free until they are saved, here or
elsewhere, or the coach has given them up in words.
"""

from collections.abc import Callable
from dataclasses import replace

from tapmark.app.shell.context import Context
from tapmark.app.shell.proposals import propose
from tapmark.app.state.proposal import PAGE, Proposal
from tapmark.marks.days import whose_run
from tapmark.marks.history import History
from tapmark.store.files import write_json
from tapmark.store.schema import RUN_FILE, VISIT_FILE

GIVE_UP = "give up"


def take_over(context: Context) -> None:
    """Take a run that another window seems to have forgotten."""
    state, saver = context.state, context.saver
    if state.visit and state.run_name and saver.is_read_only:
        saver.hold(state.where, take_over=True)
        if saver.held and state.history and saver.held.run != state.run:  # written meanwhile
            state.session.history = History(replace(state.history.value, run=saver.held.run))
            state.settle()


def let_go(context: Context) -> None:
    """Close the clips and give the run free; raise NotSaved before anything is closed."""
    context.saver.refuse_unsaved()
    context.jobs.cancel("stills")
    context.jobs.cancel("pictures")
    context.jobs.cancel("compare")
    context.state.close_pictures()
    context.state.compare.close()
    context.state.review.drop_film()
    context.saver.release()


def ask_about_unsaved(context: Context, action: Callable[[], None]) -> None:
    """Show why an action waits for marks that are not saved, and what can be done; then do it."""
    state = context.state
    back = state.back if state.page == PAGE else state.page
    whose = whose_run(*state.where) if state.run_name else state.where[0]

    def go_on() -> None:
        context.go(back)
        action()

    def give_up(context: Context) -> None:
        context.saver.give_up()
        go_on()

    def save_elsewhere(context: Context) -> None:
        if _save_elsewhere(context):
            give_up(context)

    def try_again(context: Context) -> None:
        context.saver.refuse_unsaved()
        go_on()

    proposal = Proposal(
        f"Not saved: the last marks of {whose}",
        (
            "They are only in this window, so it stays where it is until they are saved, here or "
            "elsewhere, or given up. The line below says why.",
            "As soon as the disk takes them they are saved by themselves, and this page goes.",
        ),
        confirm="Give up the last marks",
        action=lambda d, choices: give_up(d),
        typed=GIVE_UP,
        more=(
            ("Try again", try_again),
            ("Save them elsewhere…", save_elsewhere),
        ),
        back=back,
    )
    propose(context, proposal)

    def leave_question() -> None:
        if state.page == PAGE and state.around.proposal.proposal is proposal:
            context.go(back)

    context.saver.when_saved = leave_question


def _save_elsewhere(context: Context) -> bool:
    """Write run and visit into a folder of the coach's choice; return whether it was done.

    Named so that both can be put back by hand. No consent is asked:
    the folder that says so may be the one that is gone, and nothing leaves the squad.
    """
    state = context.state
    folder = context.ask.folder("Save the last marks elsewhere: choose a folder")
    if folder is None or not state.work:
        return False
    visit, run = state.work.visit, state.work.run
    first, at = f"{visit.code} {visit.dated}", f"saved at {context.now():%H%M%S}"
    if state.run_name:
        write_json(folder / f"{first} {state.run_name} {at}.json", RUN_FILE.write(run))
    write_json(folder / f"{first} visit {at}.json", VISIT_FILE.write(visit))
    return True
