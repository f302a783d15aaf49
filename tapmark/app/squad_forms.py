"""The forms of the Squad page by name, and what saving each of them does."""

from tapmark.app.athlete_entry import athlete_entries, athlete_fields, athlete_from
from tapmark.app.choices_entry import choices_entries, choices_fields, choices_from
from tapmark.app.consent_entry import (
    all_no,
    consent_entries,
    consent_fields,
    taken_back,
    with_consents,
)
from tapmark.app.desk import Desk
from tapmark.app.form import Entries, Form
from tapmark.app.squad_deeds import choose_athlete, open_form, refresh_roster, today
from tapmark.marks.people import Athlete
from tapmark.store.choices import SquadChoices
from tapmark.store.retention import sweep
from tapmark.store.season import growth


def form_of(desk: Desk, name: str) -> Form:
    """Return the form of that name for what is chosen now: "new athlete", "athlete" …"""
    squad, athlete = desk.state.squad, desk.state.athlete
    if name == "consent" and athlete:
        return consent_form(desk, athlete)
    if name == "squad" and squad:
        return squad_form(desk, squad.choices)
    return athlete_form(desk, athlete if name == "athlete" else None)


def athlete_form(desk: Desk, athlete: Athlete | None) -> Form:
    """Return the form for a new or a known athlete."""
    return Form(
        f"Change {athlete.code}" if athlete else "New athlete",
        "",
        athlete_fields(athlete),
        athlete_entries(athlete),
        lambda entries: _save_athlete(desk, entries, athlete),
        "birth_year" if athlete else "code",
    )


def consent_form(desk: Desk, athlete: Athlete) -> Form:
    """Return the form for consent."""
    season_ends = desk.state.squad.choices.season_ends if desk.state.squad else ""
    return Form(
        f"Consent of {athlete.code}",
        "What is held on paper. A no, or a yes taken back, counts at once and everywhere.",
        consent_fields(athlete, today(desk)),
        consent_entries(athlete, season_ends, today(desk)),
        lambda entries: _save_consent(desk, entries, athlete),
        "film",
        ("No to everything", all_no(athlete)),
    )


def squad_form(desk: Desk, choices: SquadChoices) -> Form:
    """Return the form for what the squad has chosen."""
    return Form(
        "This squad",
        "",
        choices_fields(),
        choices_entries(choices),
        lambda entries: _save_choices(desk, entries, choices),
        "name",
    )


def _save_athlete(desk: Desk, entries: Entries, old: Athlete | None) -> None:
    squad = desk.state.squad
    if squad is None:
        return
    athlete = athlete_from(entries, old, squad.codes(), today(desk))
    _write(desk, athlete, old)
    desk.state.form = ""
    if old is None:
        open_form(desk, "consent")
        desk.state.said = f"{athlete.code} is in the squad. Which consents do you hold on paper?"
    else:
        desk.state.said = _grown(athlete, today(desk))
    desk.state.tell()


def _write(desk: Desk, athlete: Athlete, old: Athlete | None) -> None:
    """Write a new athlete, or what the form changed of a known one; show what is there then."""
    state = desk.state
    if state.squad is None:
        return
    if old is None:
        state.squad.add_athlete(athlete)
    else:
        state.squad.save_athlete(athlete, old)
    desk.note_saved()
    refresh_roster(desk)
    if state.athlete and state.athlete.code == athlete.code:
        state.athlete = state.squad.athlete(athlete.code)
    else:
        choose_athlete(desk, athlete.code)


def _grown(athlete: Athlete, day: str) -> str:
    """Return a sentence when the newest length is longer than the one before it."""
    for what in ("leg", "height"):
        dates = [length.dated for length in athlete.lengths if length.what == what]
        found = growth(athlete, dates[-2], day, what) if len(dates) > 1 else None
        if found:
            return f"{athlete.code} grew {found.cm:.1f} cm: changes are compared in % of leg."
    return ""


def _save_consent(desk: Desk, entries: Entries, old: Athlete) -> None:
    squad = desk.state.squad
    if squad is None:
        return
    athlete = with_consents(old, entries, today(desk))
    _write(desk, athlete, old)
    desk.state.form = ""
    back = taken_back(old, athlete)
    if back:
        went = sum(due.n_pictures for due in sweep(squad, today(desk)))
        desk.state.said = _taken_back_words(athlete.code, back, went)
    desk.state.tell()


def _taken_back_words(code: str, uses: tuple[str, ...], n_stills: int) -> str:
    gone = f" {n_stills} stills went with it." if n_stills else ""
    return (
        f"{code}: {', '.join(uses)} taken back.{gone} Back-ups and printed pages are out of "
        "reach: see to them by hand."
    )


def _save_choices(desk: Desk, entries: Entries, old: SquadChoices) -> None:
    squad = desk.state.squad
    if squad is None:
        return
    squad.save_choices(choices_from(entries, old), old)
    desk.note_saved()
    refresh_roster(desk)
    desk.state.form = ""
    desk.state.tell()
