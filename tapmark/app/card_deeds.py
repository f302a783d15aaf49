"""What a second look leads to: a sentence now, and the coach's own card for every later measure."""

from tapmark.app.desk import Desk
from tapmark.errands.tap_card import own_errors, told, with_card
from tapmark.store.choices import OwnError
from tapmark.store.squad import Squad


def finish_second_look(desk: Desk) -> None:
    """End the second look, say what it says, and renew the card beside the window."""
    state = desk.state
    state.look = None
    if not state.run or not state.squad:
        return
    desk.go("review")
    state.said = told(state.run)
    if not desk.flush():
        return
    squad, marker, today = state.squad, state.run.marked_by, desk.now().date()

    def done(rows: tuple[OwnError, ...]) -> None:
        desk.attempt(lambda: _keep_card(desk, squad, marker, rows))

    desk.jobs.run(
        "card",
        lambda task: own_errors(squad.folder, marker, today),
        done,
        desk.failed,
        by="window",
    )


def _keep_card(desk: Desk, squad: Squad, marker: str, rows: tuple[OwnError, ...]) -> None:
    """Keep the card with the squad whose taps it comes from, open or not."""
    state = desk.state
    is_open = state.squad is not None and state.squad.folder == squad.folder
    own = state.squad if is_open and state.squad else squad
    choices = own.choices if is_open else own.reload_choices()
    new = with_card(choices, marker, rows)
    if new != choices:
        own.save_choices(new)
    if is_open:
        state.read_of = None  # the doubt of every measure is another one now
