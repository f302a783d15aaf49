"""The yearly round: who is to be asked again, who is kept longer than agreed."""

from dataclasses import replace

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.proposal import Choices, Line, Proposal, propose
from tapmark.app.squad_deeds import needs_squad, open_form, refresh_roster, today
from tapmark.app.titles import several
from tapmark.marks.days import long_day
from tapmark.store.choices import SquadChoices
from tapmark.store.retention import DueAthlete, months_later, retention_due

STILL_ASK, ARCHIVE = "still to ask", "archive"


def ask_for_season(desk: Desk) -> None:
    """Show who has to be asked, or let go, now that the season is over."""
    squad = desk.state.squad
    if squad:
        propose(desk, round_of(squad.choices, retention_due(squad, today(desk))))


def round_of(choices: SquadChoices, due: tuple[DueAthlete, ...]) -> Proposal:
    """Return the round of questions of a season."""
    return Proposal(
        "The round of a new season",
        _about(choices, due),
        (("code", 8), ("what is to be done", 26)),
        tuple(
            Line(each.code, (each.code, each.why), choices=(STILL_ASK, ARCHIVE), about=HOW)
            for each in due
        ),
        "Archive those who left" if due else "",
        _archive if due else None,
        more=(("Dates of the season", lambda desk: open_form(desk, "squad")),),
    )


HOW = (
    "When the new paper is signed, press C on the Squad page and enter who signed and until when: "
    "the name leaves this list by itself. Deleting is Ctrl+Delete there."
)


def _about(choices: SquadChoices, due: tuple[DueAthlete, ...]) -> tuple[str, ...]:
    if not choices.season_ends:
        return (
            "No end of the season is set, so nobody is asked again by itself. Set it once a year.",
        )
    last = long_day(months_later(choices.season_ends, choices.keep_months))
    ended = f"The season ended on {long_day(choices.season_ends)}."
    kept = f"{ended} Pictures and points are kept to {last}."
    if not due:
        return (kept.replace("ended", "ends"), "Nobody is to be asked now.")
    return (kept, f"{several(len(due), 'athlete')} to ask again, child and parent, or to let go.")


def _archive(desk: Desk, choices: Choices) -> None:
    squad = desk.state.squad
    if squad is None:
        return
    leavers = [code for code, choice in choices.items() if choice == ARCHIVE]
    for code in leavers:
        squad.save_athlete(replace(squad.athlete(code), is_archived=True))
    desk.note_saved()
    refresh_roster(desk)
    desk.go("squad")
    desk.state.said = f"{several(len(leavers), 'athlete')} archived." if leavers else ""
    desk.state.tell()


ACTIONS = (
    Action(
        "ask for the season",
        "The round of a new season",
        ask_for_season,
        (),
        (),
        "Squad",
        needs_squad,
    ),
)
