"""The list of athletes as the Squad page shows it: who is due, who waits, who cannot be filmed."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta

from tapmark.app.titles import day
from tapmark.marks.people import CONSENTS, Athlete
from tapmark.store.gates import FILM, consent_state

NOW, LATER, NOT_NOW = "Film this week", "Later", "Not now"
SHORT = {
    "film": "film",
    "keep stills": "stills",
    "print photo": "print",
    "share with physio": "physio",
    "show to group": "group",
}


@dataclass(frozen=True)
class Row:
    """One athlete in the list, all as text."""

    group: str
    code: str
    event: str
    last: str
    thing: str
    again: str
    consent: str


def rows(
    athletes: tuple[Athlete, ...],
    dates_of: Callable[[str], tuple[str, ...]],
    thing_of: Callable[[str], str],
    today: date,
    rota_weeks: int,
) -> tuple[Row, ...]:
    """Return the list in the order of its groups, the longest not filmed first.

    dates_of: code -> ISO dates of visits, oldest first. thing_of: code -> what is worked on.
    """
    keyed = [
        (row, (dates_of(athlete.code) or ("",))[-1])
        for athlete in athletes
        for row in [_row(athlete, dates_of(athlete.code), thing_of, today, rota_weeks)]
    ]
    order = (NOW, LATER, NOT_NOW)
    keyed.sort(key=lambda pair: (order.index(pair[0].group), pair[1] or "9", pair[0].code))
    return tuple(row for row, _ in keyed)


def _row(
    athlete: Athlete,
    dates: tuple[str, ...],
    thing_of: Callable[[str], str],
    today: date,
    rota_weeks: int,
) -> Row:
    why = why_not(athlete, today)
    due = _due(dates[-1], rota_weeks) if dates else today
    is_due = due <= today + timedelta(days=6 - today.weekday())
    return Row(
        NOT_NOW if why else NOW if is_due else LATER,
        athlete.code,
        athlete.group,
        day(dates[-1], with_year=dates[-1][:4] != str(today.year)) if dates else "–",
        "" if why else thing_of(athlete.code) if dates else "first visit",
        why or ("this week" if is_due else f"week {due.isocalendar().week}"),
        consent_words(athlete, today),
    )


def _due(last: str, rota_weeks: int) -> date:
    return date.fromisoformat(last) + timedelta(weeks=rota_weeks)


def why_not(athlete: Athlete, today: date) -> str:
    """Return why the athlete cannot be filmed now, "" when they can."""
    if athlete.is_archived:
        return "archived"
    state = consent_state(athlete, FILM, today.isoformat())
    if state == "expired":
        answer = athlete.consent(FILM)
        return f"consent ended {day(answer.expires, with_year=False)}" if answer else ""
    if athlete.clearance == "under treatment" and state == "given":
        return "under treatment"
    words = {
        "never asked": "consent missing",
        "refused": "consent refused",
        "withdrawn": "consent withdrawn",
        "not yet": "consent starts later",
    }
    return words.get(state, "")


def consent_words(athlete: Athlete, today: date) -> str:
    """Return what is allowed in short words, or what to do."""
    given = [
        SHORT[use] for use in CONSENTS if consent_state(athlete, use, today.isoformat()) == "given"
    ]
    if "film" in given:
        return ", ".join(given)
    return "ask again" if athlete.consents else "ask child and parent"
