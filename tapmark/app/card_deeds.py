"""What a second look leads to: a sentence now, and the coach's own card for every later measure."""

from tapmark.app.desk import Desk
from tapmark.errands.tap_card import own_errors, told, with_card
from tapmark.store.choices import OwnError


def finish_second_look(desk: Desk) -> None:
    """End the second look, say what it says, and renew the card beside the window."""
    state = desk.state
    state.is_again = False
    if not state.run or not state.squad:
        return
    desk.go("review")
    state.said = told(state.run)
    if not desk.flush():
        return
    marker, folder, today = state.run.marked_by, state.squad.folder, desk.now().date()

    def done(rows: tuple[OwnError, ...]) -> None:
        if state.squad:
            new = with_card(state.squad.choices, marker, rows)
            if new != state.squad.choices:
                state.squad.save_choices(new)
        state.read_of = None  # the doubt of every measure is another one now
        state.tell()

    desk.jobs.run("card", lambda task: own_errors(folder, marker, today), done, desk.failed)
