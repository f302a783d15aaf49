"""The form for what a squad has chosen: name, rota, season, who marks."""

from dataclasses import replace

from tapmark.app.form import Entries, Field, FieldTrouble, day_of, whole
from tapmark.marks.days import long_day
from tapmark.store.choices import SquadChoices

NECK = {"shoulder": "no", "neck base": "yes", "not asked": "not asked"}


def choices_fields() -> tuple[Field, ...]:
    """Return the fields of the form."""
    return (
        Field("name", "Name of the squad"),
        Field("marker", "Marked by", "initials of whoever taps here"),
        Field("rota_weeks", "Film again after weeks", "due once it is longer ago than that"),
        Field("per_evening", "Names an evening", "6 to 8 can be marked in one night"),
        Field("season_ends", "Season ends on", "then everybody is asked again"),
        Field("keep_months", "Months kept after it", "pictures and points; then they are to go"),
        Field(
            "neck_base",
            "Upper point tapped",
            "the neck base is better for the trunk",
            tuple(NECK),
        ),
    )


def choices_entries(choices: SquadChoices) -> dict[str, str]:
    """Return what is chosen as it stands in the form."""
    return {
        "name": choices.name,
        "marker": choices.marker,
        "rota_weeks": str(choices.rota_weeks),
        "per_evening": str(choices.per_evening),
        "season_ends": long_day(choices.season_ends),
        "keep_months": str(choices.keep_months),
        "neck_base": next(words for words, kept in NECK.items() if kept == choices.neck_base),
    }


def choices_from(entries: Entries, old: SquadChoices) -> SquadChoices:
    """Return the choices that the form describes; raise FieldTrouble."""
    name = entries.get("name", "").strip()[:200]
    if not name:
        raise FieldTrouble("name", "Give the squad a name, e.g. Thursday group.")
    return replace(
        old,
        name=name,
        marker=entries.get("marker", "").strip()[:200],
        rota_weeks=whole(entries.get("rota_weeks", ""), "rota_weeks", "the weeks", 1, 52),
        per_evening=whole(entries.get("per_evening", ""), "per_evening", "the names", 1, 60),
        season_ends=day_of(entries.get("season_ends", ""), "season_ends"),
        keep_months=whole(entries.get("keep_months", ""), "keep_months", "the months", 0, 120),
        neck_base=NECK[entries.get("neck_base", "not asked")],
    )
