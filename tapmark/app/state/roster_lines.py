"""The list of athletes as lines: who is due, what each works on, and the notices above."""

import contextlib
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from tapmark.checklist.situation import PAIN
from tapmark.errors import NotThere, StoreError
from tapmark.marks.days import long_day, several
from tapmark.marks.people import CONSENTS, Athlete
from tapmark.store.choices import backup_reminder
from tapmark.store.consent import FILM, consent_state
from tapmark.store.files import json_value, read_bytes
from tapmark.store.retention import copies_itself, is_minor, retention_due
from tapmark.store.rota import RotaLine, due, evenings
from tapmark.store.squad import Squad

if TYPE_CHECKING:
    from tapmark.checklist.words import Words

NOW, LATER, NOT_NOW, ARCHIVED = "Film this week", "Later", "Not now", "Archived"
GROUPS = (NOW, LATER, NOT_NOW, ARCHIVED)


@dataclass(frozen=True)
class Row:
    """One athlete in the list, all as text.

    last:    day of the last visit; again: how long ago that is, or when the next one is due.
    thing:   what is worked on, or what stops filming; about: its cue, or what to do about that.
    evening: which of how many evenings the name is planned for, "" when one is enough.
    """

    group: str
    code: str
    event: str
    last: str
    again: str
    thing: str
    about: str
    evening: str = ""


@dataclass(frozen=True)
class Notice:
    """Something the coach should know, said above the list; never a dialog.

    action: the name of the action behind its button, "" where nothing can be done here.
    """

    label: str
    words: str
    action: str = ""
    button: str = ""


CHILD = 12  # called a child in the words to coaches up to that age: ours
SHORT = {
    "film": "film",
    "keep stills": "stills",
    "print photo": "print",
    "share with physio": "physio",
    "show to group": "group",
}


def rows(
    athletes: Sequence[Athlete],
    lines: Sequence[RotaLine],
    thing_of: Callable[[str], tuple[str, str]],
    today: date,
    rota_weeks: int,
    per_evening: int,
    hurt: Collection[str] = (),
) -> tuple[Row, ...]:
    """Return the list in the order of its groups, the longest not filmed first.

    lines: the rota. thing_of: code -> what is worked on and its cue, "" for nothing. hurt: codes of
    those with pain at their last visit. Archived ones come last.
    """
    by_code = {athlete.code: athlete for athlete in athletes}
    refused = {code for code, each in by_code.items() if why_not(each, today)} | {*hurt}
    waiting = [line for line in due(lines) if line.code not in refused]
    nights = evenings(waiting, per_evening) if waiting else ()
    evening_of = {
        line.code: f"evening {i}/{len(nights)}" if len(nights) > 1 else ""
        for i, night in enumerate(nights, start=1)
        for line in night
    }
    made = [
        _row(
            by_code[line.code],
            line,
            thing_of,
            today,
            rota_weeks,
            evening_of.get(line.code, ""),
            line.code in hurt,
        )
        for line in lines
        if line.code in by_code
    ]
    made.sort(key=lambda row: GROUPS.index(row.group))
    archived = (each for each in athletes if each.is_archived)
    return (*made, *(Row(ARCHIVED, each.code, each.group, "", "", "", "") for each in archived))


def _row(
    athlete: Athlete,
    line: RotaLine,
    thing_of: Callable[[str], tuple[str, str]],
    today: date,
    rota_weeks: int,
    evening: str,
    is_hurt: bool,
) -> Row:
    why = why_not(athlete, today)
    if why:
        thing, about = why, what_to_do(athlete, today)
    elif is_hurt:
        why = thing = f"Pain on {long_day(line.last, with_year=False)}"
        about = "no drills until cleared"
    elif line.last:
        thing, about = thing_of(athlete.code)
    else:
        thing, about = "first visit", f"consent: {consent_words(athlete, today)}"
    return Row(
        NOT_NOW if why else NOW if line.is_due else LATER,
        athlete.code,
        athlete.group,
        long_day(line.last, with_year=line.last[:4] != str(today.year)) if line.last else "–",
        _when(line, today, rota_weeks, is_stopped=bool(why)),
        thing,
        about,
        evening,
    )


def _when(line: RotaLine, today: date, rota_weeks: int, *, is_stopped: bool) -> str:
    """Return how long ago the last visit is, or when the next is due: past the squad's weeks."""
    if not line.last:
        return "never filmed"
    if line.weeks is not None and (line.is_due or is_stopped):
        return f"{several(line.weeks, 'week')} ago" if line.weeks else "this week"
    first = date.fromisoformat(line.last) + timedelta(weeks=rota_weeks, days=1)
    if first.isocalendar()[:2] == today.isocalendar()[:2]:
        return f"from {first:%A}"
    return f"week {first.isocalendar().week}"


def why_not(athlete: Athlete, today: date) -> str:
    """Return why the athlete cannot be filmed now, "" when they can."""
    if athlete.is_archived:
        return "archived"
    state = consent_state(athlete, FILM, today.isoformat())
    if state == "expired":
        answer = athlete.consent(FILM)
        return f"consent ended {long_day(answer.expires, with_year=False)}" if answer else ""
    if athlete.clearance == "under treatment" and state == "given":
        return "under treatment"
    words = {
        "never asked": "consent missing",
        "refused": "consent refused",
        "withdrawn": "consent withdrawn",
        "not yet": "consent starts later",
    }
    return words.get(state, "")


def what_to_do(athlete: Athlete, today: date) -> str:
    """Return what has to happen before the athlete can be filmed again."""
    if consent_state(athlete, FILM, today.isoformat()) == "given":
        return "no drills until cleared"
    return f"ask {whom_to_ask(athlete, today)}"


def due_rule(rota_weeks: int) -> str:
    """Return the rule by which an athlete is due, in words."""
    return f"never filmed, or more than {several(rota_weeks, 'week')} ago"


def consent_words(athlete: Athlete, today: date) -> str:
    """Return what is allowed in short words, or what to do."""
    given = [
        SHORT[use] for use in CONSENTS if consent_state(athlete, use, today.isoformat()) == "given"
    ]
    if len(given) == len(CONSENTS):
        return "all five uses"
    if "film" in given:
        return ", ".join(given)
    return "ask again" if athlete.consents else f"ask {whom_to_ask(athlete, today)}"


def whom_to_ask(athlete: Athlete, today: date) -> str:
    """Return who gives consent, by this year − birth year: the birthday is not known.

    Who may be under 18 answers together with a parent; at an unknown age that is asked first.
    """
    if athlete.birth_year is None:
        return "athlete; under 18 a parent too"
    if not is_minor(athlete, today.isoformat()):
        return "athlete"
    return f"{'child' if today.year - athlete.birth_year <= CHILD else 'athlete'} and parent"


def thing_of(squad: Squad, words: "Words") -> Callable[[str], tuple[str, str]]:
    """Return a function code -> what the athlete works on and its cue, "" for nothing chosen.

    It is the first choice of the newest visit that left any.
    """

    def named(code: str) -> tuple[str, str]:
        for dated in reversed(squad.visit_dates(code)):
            with contextlib.suppress(StoreError):
                for slot in squad.visit(code, dated).slots or ():
                    return words.item(slot.item), slot.cue
        return "", ""

    return named


def hurts(squad: Squad, code: str, lines: Sequence[RotaLine]) -> bool:
    """Say whether pain was answered at the athlete's last visit; a file that cannot be read: no."""
    dated = next((line.last for line in lines if line.code == code), "")
    for name in squad.run_names(code, dated) if dated else ():
        with contextlib.suppress(StoreError, NotThere):
            path = squad.run_path(code, dated, name)
            plain = json_value(read_bytes(path, follow=False), path.name)
            if isinstance(plain, dict) and (plain.get("set_up") or {}).get("pain") == PAIN:
                return True
    return False


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
