"""The form for an athlete: what it shows, and what it makes of what was typed."""

from dataclasses import replace

from tapmark.app.form import Entries, Field, FieldTrouble, day_of, number
from tapmark.errors import StoreError
from tapmark.marks.days import long_day, short_day
from tapmark.marks.people import Athlete, Length
from tapmark.store.names import check_new_code
from tapmark.store.season import length_on

SPANS = {"leg": (50.0, 130.0), "height": (100.0, 230.0)}
MASS = (15.0, 200.0)
TREATMENT = {
    "no treatment known": "",
    "under treatment": "under treatment",
    "cleared by a clinician": "cleared",
}
LAST_DAY = "9999-12-31"


def athlete_fields(athlete: Athlete | None) -> tuple[Field, ...]:
    """Return the fields of the form; the code of a known athlete is fixed."""
    return (
        Field("code", "Code or initials", "never a full name", is_fixed=athlete is not None),
        Field("birth_year", "Year of birth"),
        Field("group", "Event group", "e.g. 400 and 800 m"),
        Field("leg_cm", "Leg length, cm", "bony knob of the hip to the floor, in shoes"),
        Field("height_cm", "or height, cm"),
        Field("measured", "measured on", _measured(athlete)),
        Field("mass_kg", "Mass, kg", "may stay empty"),
        Field("clearance", "Physio", choices=tuple(TREATMENT)),
        Field("goal_race", "Goal race on", "the two weeks before stay quiet"),
        Field("own_cue", "Their word for it"),
        Field("notes", "Note on the sides", "e.g. jumps off the left; no diagnoses here"),
    )


def _measured(athlete: Athlete | None) -> str:
    last = athlete and (
        length_on(athlete, "leg", LAST_DAY) or length_on(athlete, "height", LAST_DAY)
    )
    return f"last {short_day(last.dated)}; empty: today" if last else "empty: today"


def athlete_entries(athlete: Athlete | None) -> dict[str, str]:
    """Return what is known as it stands in the form."""
    if athlete is None:
        return {"clearance": next(iter(TREATMENT))}
    lengths = {what: length_on(athlete, what, LAST_DAY) for what in SPANS}
    names = {state: words for words, state in TREATMENT.items()}
    return {
        "code": athlete.code,
        "birth_year": str(athlete.birth_year or ""),
        "group": athlete.group,
        **{f"{what}_cm": f"{length.cm:g}" for what, length in lengths.items() if length},
        "mass_kg": f"{athlete.mass_kg:g}" if athlete.mass_kg else "",
        "clearance": names[athlete.clearance],
        "goal_race": long_day(athlete.goal_race),
        "own_cue": athlete.own_cue,
        "notes": athlete.notes,
    }


def athlete_from(
    entries: Entries, old: Athlete | None, taken: tuple[str, ...], today: str
) -> Athlete:
    """Return the athlete that the form describes; raise FieldTrouble for what cannot be used.

    taken: codes of the squad. Lengths are added with their day; one of the same day is mended.
    """
    athlete = old or Athlete(_new_code(entries.get("code", ""), taken))
    measured = day_of(entries.get("measured", ""), "measured") or today
    if measured > today:
        raise FieldTrouble("measured", f"{long_day(measured)} lies after today, {long_day(today)}.")
    for what in SPANS:
        athlete = _with_length(athlete, what, entries.get(f"{what}_cm", ""), measured)
    return replace(
        athlete,
        birth_year=_year(entries.get("birth_year", ""), int(today[:4])),
        group=entries.get("group", "").strip()[:200],
        mass_kg=number(entries.get("mass_kg", ""), "mass_kg", "mass in kg", *MASS),
        clearance=TREATMENT.get(entries.get("clearance", ""), ""),
        goal_race=day_of(entries.get("goal_race", ""), "goal_race"),
        own_cue=entries.get("own_cue", "").strip()[:200],
        notes=entries.get("notes", "").strip(),
    )


def _new_code(text: str, taken: tuple[str, ...]) -> str:
    code = text.strip()
    if not code:
        raise FieldTrouble("code", "Give the athlete a code or initials, e.g. K07.")
    try:
        return check_new_code(code, taken)
    except StoreError as trouble:
        raise FieldTrouble("code", str(trouble)) from None


def _year(text: str, this_year: int) -> int | None:
    text = text.strip()
    if not text:
        return None
    is_year = text.isascii() and text.isdecimal()
    if not is_year or not this_year - 100 <= int(text) <= this_year - 4:
        raise FieldTrouble("birth_year", f"“{text}” is no year of birth. Write four digits.")
    return int(text)


def _with_length(athlete: Athlete, what: str, text: str, dated: str) -> Athlete:
    words = "the leg length in cm" if what == "leg" else "height in cm"
    cm = number(text, f"{what}_cm", words, *SPANS[what])
    old = length_on(athlete, what, LAST_DAY)
    if cm is None or (old and old.cm == cm):
        return athlete
    others = (each for each in athlete.lengths if (each.what, each.dated) != (what, dated))
    lengths = sorted((*others, Length(what, cm, dated)), key=lambda length: length.dated)
    return replace(athlete, lengths=tuple(lengths))
