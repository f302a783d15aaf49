"""Reading a squad for its page: the list, and what the coach should know about it."""

from collections.abc import Callable
from datetime import date
from typing import TYPE_CHECKING

from tapmark.app.roster import rows
from tapmark.app.squad_side import Notice, Row
from tapmark.app.titles import several
from tapmark.errors import StoreError
from tapmark.marks.people import Athlete
from tapmark.store.choices import backup_reminder
from tapmark.store.retention import copies_itself, retention_due
from tapmark.store.rota import rota
from tapmark.store.squad import Squad

if TYPE_CHECKING:
    from tapmark.checklist.words import Words


def list_of(
    squad: Squad, athletes: tuple[Athlete, ...], words: "Words", today: date
) -> tuple[Row, ...]:
    """Return the list of a squad; files that cannot be read are left out of it."""
    choices = squad.choices
    lines = rota(squad, today.isoformat(), [])
    thing = thing_of(squad, words)
    return rows(athletes, lines, thing, today, choices.rota_weeks, choices.per_evening)


def thing_of(squad: Squad, words: "Words") -> Callable[[str], str]:
    """Return a function code -> what the athlete works on, "" when nothing was chosen."""

    def named(code: str) -> str:
        slots = last_slots(squad, code)
        return words.item(slots[0]) if slots else ""

    return named


def last_slots(squad: Squad, code: str) -> tuple[int, ...]:
    """Return the items of the newest visit that left any; visits are read from the newest on."""
    for dated in reversed(squad.visit_dates(code)):
        try:
            visit = squad.visit(code, dated)
        except StoreError:
            continue
        if visit.slots:
            return tuple(slot.item for slot in visit.slots)
    return ()


def told_once(squad: Squad, told: tuple[str, ...], today: date) -> tuple[str, ...]:
    """Return the sentences of the opening that notices_of does not say with a button."""
    day = today.isoformat()
    own = {copies_itself(squad.folder), backup_reminder(squad.choices, day)}
    own |= {f"{due.code}: {due.why}." for due in retention_due(squad, day)}
    return tuple(words for words in told if words not in own)


def notices_of(
    squad: Squad, told: tuple[str, ...], n_troubles: int, today: date
) -> tuple[Notice, ...]:
    """Return what to say above the list, what may be lost first.

    told: sentences of the opening that have no button of their own, see told_once.
    """
    day = today.isoformat()
    found = []
    if n_troubles:
        files = several(n_troubles, "file")
        words = f"{files} of this squad cannot be read. Nothing was changed; the rest is here."
        found.append(Notice("Damaged", words, "check squad", "See which"))
    copies, late = copies_itself(squad.folder), backup_reminder(squad.choices, day)
    asked = retention_due(squad, day)
    found += [Notice("Note", words) for words in told]
    if copies:
        found.append(Notice("Copies itself", copies))
    if asked:
        words = f"The season is over: {several(len(asked), 'athlete')} to ask, or to let go."
        found.append(Notice("New season", words, "ask for the season", "Go through"))
    if late and squad.codes():
        found.append(Notice("Back-up", late, "back up", "Back up…"))
    return tuple(found)
