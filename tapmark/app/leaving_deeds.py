"""Somebody leaves: first the list of what would go, then the code typed, then a receipt.

Deleting is the one deed that asks, because nothing brings it back.
"""

from collections.abc import Iterator
from pathlib import Path

from tapmark.app.action import Action
from tapmark.app.desk import Desk
from tapmark.app.proposal import Line, Proposal, propose
from tapmark.app.squad_deeds import forget_run, needs_athlete, refresh_roster
from tapmark.app.titles import several
from tapmark.clip.cache import Cache
from tapmark.marks.days import long_day
from tapmark.store.delete import DeletePlan, delete_athlete, plan_delete
from tapmark.store.files import write_bytes


def ask_delete(desk: Desk) -> None:
    """Show what deleting the athlete would do; nothing is touched."""
    state = desk.state
    if state.squad and state.athlete:
        plan = plan_delete(state.squad, state.athlete.code)
        propose(desk, dry_run(plan, state.squad.folder))


def dry_run(plan: DeletePlan, folder: Path) -> Proposal:
    """Return the list of what deleting would do."""
    return Proposal(
        f"Delete {plan.code}, everywhere in this squad",
        (
            f"{several(len(plan.own), 'file')} of {plan.code} would go. Nothing brings them back.",
            "Back-ups, sticks, phones and printed pages are out of reach: see to them by hand. "
            "To put somebody aside and keep everything, archive instead.",
        ),
        (("what", 12), ("file", 30)),
        tuple(_lines(plan, folder)),
        f"Delete {plan.code}",
        lambda desk, choices: _delete(desk, plan),
        typed=plan.code,
    )


def _lines(plan: DeletePlan, folder: Path) -> Iterator[Line]:
    kinds = (
        ("goes", plan.own, f"Of {plan.code}"),
        ("goes", plan.clips, "Clips in the squad"),
        ("goes", plan.pages, "Pages and tables of several athletes; make them again"),
        ("the code is taken out", plan.changed, "Files of others"),
        ("stays: delete it yourself", plan.outside, "Outside the squad"),
        ("stays: look yourself", (path for path, _ in plan.left), "In the squad, not known"),
        ("stays: look yourself", plan.beside, "Copies of the squad beside it"),
        ("cannot be looked into", plan.unread, "Please check yourself"),
    )
    shared = {
        clip: f"also used by {code} on {long_day(dated)}" for clip, code, dated, _ in plan.shared
    }
    shared |= {path: f"stays: {why}" for path, why in plan.left}
    for what, paths, group in kinds:
        for path in paths:
            shown = path.relative_to(folder) if path.is_relative_to(folder) else path
            said = shared.get(path, what)
            yield Line(str(path), (said, shown.as_posix()), group)


def _delete(desk: Desk, plan: DeletePlan) -> None:
    state = desk.state
    squad = state.squad
    if squad is None:
        return
    forget_run(desk)
    state.athlete = None
    try:
        words = delete_athlete(squad, plan, desk.now())
    finally:
        refresh_roster(desk)
    if desk.cache_folder.is_dir():
        Cache(desk.cache_folder).empty()  # pictures prepared from clips; they can be made again
    desk.note_saved()
    propose(desk, receipt_of(plan.code, words))


def receipt_of(code: str, words: str) -> Proposal:
    """Return the receipt as a page."""
    return Proposal(
        f"{code} is deleted",
        tuple(words.strip().splitlines()),
        more=(("Save the receipt…", lambda desk: _save_receipt(desk, code, words)),),
    )


def _save_receipt(desk: Desk, code: str, words: str) -> None:
    path = desk.ask.save_as("Save the receipt outside the squad", f"receipt-{code}.txt")
    if path:
        write_bytes(path, words.encode("utf-8"))
        desk.state.said = f"Receipt saved: {path}"


ACTIONS = (
    Action(
        "delete athlete",
        "Delete the athlete: see first what would go",
        ask_delete,
        ("Mod+Delete",),
        ("squad",),
        "Athlete",
        needs_athlete,
    ),
)
