"""Clips that moved are found again; clips that were marked may go, their other uses named first."""

from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.proposal import Choices, Line, Proposal, propose
from tapmark.app.squad_deeds import forget_run, needs_athlete, needs_squad
from tapmark.app.titles import several
from tapmark.errands.clips import (
    ClipPlan,
    Relinked,
    RunAt,
    Sought,
    delete_marked_clip,
    look_for,
    note_found,
    plan_clip_deletion,
)
from tapmark.errors import NotThere, StoreError
from tapmark.marks.days import long_day, run_words, short_day, whose_run
from tapmark.store.squad import Squad, open_squad

STAYS, GOES = "stays", "delete"


def find_again(desk: Desk) -> None:
    """Ask for a folder and look in it for clips that are not where they were."""
    desk.refuse_unsaved()
    folder = desk.ask.folder("Find clips again: choose the folder they lie in now")
    home = desk.state.folder
    if folder is None or home is None:
        return
    forget_run(desk)
    desk.state.said = f"Looking through “{folder.name}” …"
    desk.jobs.run(
        "copy",
        lambda task: look_for(open_squad(home, []), [folder], []),
        lambda sought: desk.attempt(lambda: _note_found(desk, sought)),
        desk.failed,
        by="squad",
    )
    desk.state.tell()


def _note_found(desk: Desk, sought: Sought) -> None:
    squad = desk.state.squad
    if squad:
        forget_run(desk)  # one of them may have been opened meanwhile
        propose(desk, found_again(note_found(squad, sought, desk.now())))


def found_again(found: Relinked) -> Proposal:
    """Return which clips were found, and which are still missing."""
    lines = [
        *(_found(at, path) for at, path in found.found),
        *(_missing(at) for at in found.missing),
        *(Line(f"held {i}", ("", "", words), "In use") for i, words in enumerate(found.held)),
    ]
    n = len(found.found)
    about = f"{several(n, 'clip')} found by what is in them, whatever they are called now."
    return Proposal(
        "Clips found again",
        (about,) if lines else ("Every clip is where it was.",),
        (("athlete", 5), ("visit", 8), ("clip", 22)),
        tuple(lines),
    )


def _found(at: RunAt, path: Path) -> Line:
    return Line(f"found {at}", (*_who(at), str(path)), "Found")


def _missing(at: RunAt) -> Line:
    return Line(f"missing {at}", (*_who(at), "not in that folder"), "Still missing")


def _who(at: RunAt) -> tuple[str, str]:
    code, dated, name = at
    return code, f"{short_day(dated)}, {run_words(name)}"


def ask_delete_clips(desk: Desk) -> None:
    """Show the clips of the athlete's last visit and everything that came from each."""
    state = desk.state
    if state.squad and state.athlete:
        dates = state.squad.visit_dates(state.athlete.code)
        plans = plans_of(state.squad, state.athlete.code, dates[-1]) if dates else ()
        propose(desk, goodbye(state.athlete.code, dates[-1] if dates else "", plans))


def plans_of(squad: Squad, code: str, dated: str) -> tuple[ClipPlan, ...]:
    """Return what deleting each clip of a visit would do; clips that are gone are left out."""
    plans: dict[Path, ClipPlan] = {}
    for name in squad.run_names(code, dated):
        try:
            plan = plan_clip_deletion(squad, (code, dated, name))
        except (NotThere, StoreError):
            continue
        plans.setdefault(plan.clip, plan)
    return tuple(plans.values())


def goodbye(code: str, dated: str, plans: tuple[ClipPlan, ...]) -> Proposal:
    """Return the list of clips of a visit that may go after marking."""
    if not plans:
        return Proposal("No clip to delete", (f"No clip of {code}'s last visit is where it was.",))
    return Proposal(
        f"Clips of {code}, {long_day(dated)}",
        (
            "A clip may go once all its runs are marked. The kept stills and every point stay; "
            "key frames can then no longer be moved.",
            "Copies on the phone are out of reach.",
        ),
        (("clip", 14), ("also used by", 20), ("stills kept", 5)),
        tuple(_line(i, plan) for i, plan in enumerate(plans)),
        "Delete the chosen clips",
        lambda desk, choices: _delete(desk, plans, choices),
    )


def _line(i: int, plan: ClipPlan) -> Line:
    others = [at for at in plan.uses if at != plan.run]
    named = "; ".join(whose_run(*at) for at in others)
    about = f"{plan.clip}\n\nUsed by {whose_run(*plan.run)}" + (
        f" and by {named}." if named else "."
    )
    cells = (plan.clip.name, named or "nobody else", str(plan.n_stills))
    return Line(str(i), cells, choices=(STAYS, GOES), about=about)


def _delete(desk: Desk, plans: tuple[ClipPlan, ...], choices: Choices) -> None:
    squad = desk.state.squad
    if squad is None:
        return
    forget_run(desk)
    chosen = [plan for i, plan in enumerate(plans) if choices.get(str(i)) == GOES]
    said = [delete_marked_clip(squad, plan, desk.cache_folder) for plan in chosen]
    desk.go("squad")
    desk.state.said = " ".join(said) or "No clip was chosen; all are where they were."
    desk.state.tell()


_SQUAD = ("squad",)

ACTIONS = (
    Action(
        "find clips",
        "Find moved clips again…",
        find_again,
        (),
        _SQUAD,
        "Squad",
        needs_squad,
    ),
    Action(
        "delete clips",
        "Delete clips after marking…",
        ask_delete_clips,
        (),
        _SQUAD,
        "Athlete",
        needs_athlete,
    ),
)
