"""How long pictures and points may stay, and whether the folder keeps them in the club."""

import re
from calendar import monthrange
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from tapmark.marks.days import long_day
from tapmark.marks.people import CONSENT_WORDS, Athlete
from tapmark.store import names
from tapmark.store.consent import FILM, KEEP_STILLS, PRINT_PHOTO, consent_state
from tapmark.store.pictures import (
    drop_photo_pages,
    drop_stills,
    kept_since,
    kept_stills,
    photo_pages,
)
from tapmark.store.squad import Squad, collected, folders

DAYS_FOR_STILLS = 7
ADULT_AFTER = 18  # this year − birth year; at 18 the birthday may still be to come

_COPIES_ITSELF = re.compile(r"cloud|sync|drive\b|\bmobile documents\b|box$", re.IGNORECASE)


@dataclass(frozen=True)
class DueStills:
    """Stills of one run that have to go, and why in words; name "" means pages with a photo."""

    code: str
    dated: str
    name: str
    why: str
    n_pictures: int


@dataclass(frozen=True)
class DueAthlete:
    """An athlete about whom the coach has to decide, and why in words."""

    code: str
    why: str


def stills_due(squad: Squad, today: str) -> tuple[DueStills, ...]:
    """Return the stills that have to go by today (ISO): the dry run of sweep.

    Athletes who cannot be read are left out; the listing of the squad tells of them.
    """

    def of_athlete(athlete: Athlete) -> list[DueStills]:
        why = why_not_kept(athlete, today)
        dates = squad.visit_dates(athlete.code)
        return [due for dated in dates for due in _due_of_visit(squad, athlete, dated, today, why)]

    found = collected(squad.athletes([]), of_athlete, [])
    return tuple(each for due in found for each in due)


def _due_of_visit(
    squad: Squad, athlete: Athlete, dated: str, today: str, why: str
) -> Iterator[DueStills]:
    """Yield the stills of a visit that are due, then its pages with a photo.

    why: stills of the athlete may not be kept. Such pages go as soon as a photo may not be printed
    or kept; no week is given.
    """
    code = athlete.code
    for folder in _stills_folders(squad, code, dated) if why else ():
        since = date.fromisoformat(kept_since(folder) or dated)
        n_days = (date.fromisoformat(today) - since).days  # below 0 by a clock set back: not due
        if "withdrawn" in why or n_days >= DAYS_FOR_STILLS:
            yield DueStills(code, dated, folder.name, why, len(kept_stills(folder)))
    n_pages = len(photo_pages(squad.visit_folder(code, dated)))
    may_print = consent_state(athlete, PRINT_PHOTO, today) in ("given", "not yet")
    if n_pages and (why or not may_print):
        words = why or f"there is no consent “{CONSENT_WORDS[PRINT_PHOTO]}”"
        yield DueStills(code, dated, "", words, n_pages)


def sweep(squad: Squad, today: str) -> tuple[DueStills, ...]:
    """Delete the stills that are due and return what went; points stay. Raises CannotWrite."""
    due = stills_due(squad, today)
    for each in due:
        if each.name:
            drop_stills(squad.stills_folder(each.code, each.dated, each.name))
        else:
            drop_photo_pages(squad.visit_folder(each.code, each.dated))
    return due


def drop_after_sheet(squad: Squad, code: str, dated: str, today: str) -> tuple[Path, ...]:
    """Delete the stills of a visit once its sheet is written, unless they may be kept.

    Returns what was deleted. Raises CannotWrite.
    """
    if not why_not_kept(squad.athlete(code), today):
        return ()
    found = _stills_folders(squad, code, dated)
    return tuple(path for folder in found for path in drop_stills(folder))


def why_not_kept(athlete: Athlete, today: str) -> str:
    """Return why stills of the athlete may not be kept, in words; "" when they may."""
    for use in (FILM, KEEP_STILLS):
        state = consent_state(athlete, use, today)
        if state == "withdrawn":
            return f"the consent “{CONSENT_WORDS[use]}” was withdrawn"
        if state not in ("given", "not yet"):
            return f"there is no consent “{CONSENT_WORDS[use]}”"
    return ""


def _stills_folders(squad: Squad, code: str, dated: str) -> list[Path]:
    found = folders(squad.visit_folder(code, dated))
    return [path for path in found if names.run_number(path.name)]


def retention_due(squad: Squad, today: str) -> tuple[DueAthlete, ...]:
    """Return the athletes kept longer than agreed, and the minors to be asked this season."""
    ends = squad.choices.season_ends
    if not ends or today <= ends:
        return ()
    last_day = months_later(ends, squad.choices.keep_months)

    def why_due(athlete: Athlete) -> DueAthlete:
        filmed, film, why = squad.filmed_dates(athlete.code), athlete.consent(FILM), ""
        if today > last_day and (not filmed or filmed[-1] <= ends):
            why = f"kept beyond {long_day(last_day)}: delete, or ask and set a later date"
        elif is_minor(athlete, today) and film and film.is_given and film.dated <= ends:
            why = f"asked on {long_day(film.dated) or 'no date'}: ask for this season"
        return DueAthlete(athlete.code, why)

    return tuple(due for due in collected(squad.athletes([]), why_due, []) if due.why)


def is_minor(athlete: Athlete, today: str) -> bool:
    """Say whether somebody is, or may be, under 18; an unknown age counts as under 18."""
    return athlete.birth_year is None or int(today[:4]) - athlete.birth_year <= ADULT_AFTER


def months_later(day: str, months: int) -> str:
    """Return the ISO date so many months later; the last of the month where it has fewer days."""
    start = date.fromisoformat(day)
    year, month = divmod(start.year * 12 + start.month - 1 + months, 12)
    _, last = monthrange(year, month + 1)
    return date(year, month + 1, min(start.day, last)).isoformat()


def copies_itself(folder: Path) -> str:
    """Return a warning when a folder seems to copy itself to the internet, else "".

    Told by the words in the names above it; there is no sure way to know.
    """
    for part in reversed(folder.absolute().parts[1:]):
        if _COPIES_ITSELF.search(part):
            return (
                f"The squad lies in “{part}”, which looks like a folder that copies itself to the "
                "internet. That takes pictures of your athletes out of the club. Keep the squad in "
                "an ordinary folder and back it up to a USB stick."
            )
    return ""
