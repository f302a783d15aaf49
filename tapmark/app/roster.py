"""The list of athletes as the Squad page shows it: who is due, who waits, who cannot be filmed."""

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta

from tapmark.app.squad_side import ARCHIVED, GROUPS, LATER, NOT_NOW, NOW, Row
from tapmark.marks.days import long_day
from tapmark.marks.people import CONSENTS, Athlete
from tapmark.store.gates import FILM, consent_state
from tapmark.store.retention import is_minor
from tapmark.store.rota import RotaLine, due, evenings

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
    thing_of: Callable[[str], str],
    today: date,
    rota_weeks: int,
    per_evening: int,
) -> tuple[Row, ...]:
    """Return the list in the order of its groups, the longest not filmed first.

    lines: the rota. thing_of: code -> what is worked on, "" for nothing. Archived ones come last.
    """
    waiting = [line for line in due(lines) if not _why_not_of(athletes, line.code, today)]
    evening_of = _evenings(waiting, per_evening)
    by_code = {athlete.code: athlete for athlete in athletes}
    made = [
        _row(by_code[line.code], line, thing_of, today, rota_weeks, evening_of)
        for line in lines
        if line.code in by_code
    ]
    made.sort(key=lambda row: GROUPS.index(row.group))
    return (*made, *(_archived(athlete) for athlete in athletes if athlete.is_archived))


def _evenings(waiting: Sequence[RotaLine], per_evening: int) -> Mapping[str, str]:
    nights = evenings(waiting, per_evening) if waiting else ()
    if len(nights) < 2:
        return {}
    return {
        line.code: f"evening {i}/{len(nights)}"
        for i, night in enumerate(nights, start=1)
        for line in night
    }


def _row(
    athlete: Athlete,
    line: RotaLine,
    thing_of: Callable[[str], str],
    today: date,
    rota_weeks: int,
    evening_of: Mapping[str, str],
) -> Row:
    why = why_not(athlete, today)
    return Row(
        NOT_NOW if why else NOW if line.is_due else LATER,
        athlete.code,
        athlete.group,
        long_day(line.last, with_year=line.last[:4] != str(today.year)) if line.last else "–",
        thing_of(athlete.code) if line.last else "" if why else "first visit",
        why or _when(line, today, rota_weeks),
        consent_words(athlete, today),
        evening_of.get(athlete.code, ""),
    )


def _archived(athlete: Athlete) -> Row:
    return Row(ARCHIVED, athlete.code, athlete.group, "", "", "", "")


def _when(line: RotaLine, today: date, rota_weeks: int) -> str:
    """Return when the athlete is to be filmed again: the first day past the squad's weeks."""
    if line.is_due:
        return "this week"
    first = date.fromisoformat(line.last) + timedelta(weeks=rota_weeks, days=1)
    if first.isocalendar()[:2] == today.isocalendar()[:2]:
        return f"from {first:%A}"
    return f"week {first.isocalendar().week}"


def _why_not_of(athletes: Sequence[Athlete], code: str, today: date) -> str:
    return next((why_not(a, today) for a in athletes if a.code == code), "")


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
    """Return who answers for pictures, by this year − birth year: the birthday is not known.

    Who may be under 18 answers together with a parent; at an unknown age that is asked first.
    """
    if athlete.birth_year is None:
        return "athlete; under 18 a parent too"
    if not is_minor(athlete, today.isoformat()):
        return "athlete"
    return f"{'child' if today.year - athlete.birth_year <= CHILD else 'athlete'} and parent"
